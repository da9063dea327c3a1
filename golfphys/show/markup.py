"""Text from a sheet on a page: the one place where it becomes HTML, Markdown or words in a figure, and cannot be more.

A spot may be called ``<img src=x>``, ``$x_1$`` or ``_low``: whatever stands in a cell is shown as it stands there.
"""

import html
import re
import string
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from golfphys.core.names import Key

Form = Literal["html", "markdown", "figure"]
NO_MATHS = "tex2jax_ignore mathjax_ignore"
"""Class of HTML whose dollars and backslashes are text to a notebook, not mathematics."""


def escape(text: object, form: Form = "html") -> str:
    r"""Return text so that it is shown letter by letter.

    Anything but text is turned into text first; line breaks and control characters become blanks. Form ``html`` is for
    between tags (and between quotation marks of an attribute, if it has no dollar and no backslash), ``markdown`` for
    within a line, ``figure`` for a label, title or legend.

    >>> escape("<b>low</b>"), escape("*a* [b](c)", "markdown"), escape("$x_1$", "figure")
    ('&lt;b&gt;low&lt;/b&gt;', '\\*a\\* \\[b\\]\\(c\\)', '\\$x_1\\$')
    """
    plain = re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+", " ", str(text))
    if form == "figure":
        # matplotlib leaves labels that begin with _ out of the legend; a space without width keeps them in
        return ("\u200b" if plain.startswith("_") else "") + plain.replace("$", r"\$")
    if form == "html":
        return "".join(_apart(letter) for letter in html.escape(plain))
    marks = set(string.punctuation)
    return "".join(html.escape(c) if c in "<>&" else "\\" + c if c in marks - set("$\\") else _apart(c) for c in plain)


def _apart(letter: str) -> str:
    """Mathematics on a page begins with a dollar or a backslash; alone within a tag neither is one."""
    return f"<span>&#{ord(letter)};</span>" if letter in "$\\" else letter


@dataclass(frozen=True)
class Shown:
    """Markdown written by us, which a notebook renders: derivations, and sentences of a page's own."""

    text: str

    def __repr__(self) -> str:
        """Return the Markdown itself, for readers without a renderer."""
        return self.text

    def _repr_markdown_(self) -> str:
        return self.text


@dataclass(frozen=True)
class Said:
    """Sentences for showing in a notebook, where they wrap as prose; what they say is shown letter by letter."""

    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        """Return the sentences one below the other."""
        return "\n".join(f"- {sentence}" for sentence in self.sentences)

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{escape(sentence)}</li>" for sentence in self.sentences)
        return f'<ul class="{NO_MATHS}">{items}</ul>'


def said(*sentences: str | Iterable[str], markdown: bool = False) -> Said | Shown:
    """Return sentences, or lists of them, for showing as a list.

    For example a plan's `verdict` and its `cautions`. They may be `markdown` written for the page, with ``**bold**``
    and the like; never text from a sheet. ``print`` works too.

    >>> said("Too close to call.", ["Only one speed.", "Few rolls."])
    - Too close to call.
    - Only one speed.
    - Few rolls.
    """
    lists = ([item] if isinstance(item, str) else list(item) for item in sentences)
    found = Said(tuple(sentence for items in lists for sentence in items))
    return Shown(repr(found)) if markdown else found


class Words(pd.DataFrame):
    """A table for reading: its cells are text, whatever stands in them, and no mathematics to a notebook."""

    @property
    def _constructor(self) -> "type[Words]":
        return Words

    def _repr_html_(self) -> str | None:
        with pd.option_context("display.html.use_mathjax", False):
            found: str | None = super()._repr_html_()  # type: ignore[misc]
        return found


def in_rows(columns: Mapping[str, Any], index: Iterable[Any], name: str) -> Words:
    """Return a table for reading from columns of text or numbers; `name` heads the index."""
    return Words({head: list(cells) for head, cells in columns.items()}, index=pd.Index(list(index), name=name))


def fixed(values: Any, digits: int = 1, none: str = "none") -> list[str]:
    """Return numbers as text with a fixed number of digits, `none` where there is no number."""
    return [f"{value:z.{digits}f}" if np.isfinite(value) else none for value in np.asarray(values, dtype=float)]


@dataclass(frozen=True, repr=False)
class Answered(Said):
    """An answer at a glance for showing in a notebook: what to play in large type, how sure, then what to know of it.

    `choices` have for each choice what is asked under its heading, the play itself first.
    """

    choices: tuple[Mapping[str, str], ...] = ()
    sure: str = ""
    cautions: tuple[str, ...] = ()

    def _repr_html_(self) -> str:
        boxes = "".join(_box(choice) for choice in self.choices)
        items = "".join(f"<li>{escape(sentence)}</li>" for sentence in self.cautions)
        sure = f'<div style="margin: 0.5em 0; font-size: 110%">{escape(self.sure)}</div>'
        listed = f'<ul style="margin: 0.2em 0; font-size: 90%">{items}</ul>' if items else ""
        return f'<div class="{NO_MATHS}">{boxes}{sure}{listed}</div>'


def _box(choice: Mapping[str, str]) -> str:
    """Return the HTML of one choice: what to play, and a line for each thing asked."""
    (_, play), *asked = choice.items()
    cell = "padding: 0.05em 1em 0.05em 0; text-align: left; background: none; border: none"
    rows = "".join(
        f'<tr><td style="{cell}">{escape(name)}</td><td style="{cell}"><b>{escape(value)}</b></td></tr>'
        for name, value in asked
    )
    head = f'<div style="font-size: 150%; font-weight: bold">{escape(play)}</div>'
    look = "display: inline-block; vertical-align: top; margin-right: 3em"
    return f'<div style="{look}">{head}<table style="font-size: 115%; margin: 0.2em 0">{rows}</table></div>'


# --- parameters in words ----------------------------------------------------------------------------------------------
PARAMETERS = {
    "attack_error_deg": "error of the attack",
    "attack_deg": "attack (minus is downwards)",
    "between_clubs": "how much clubs differ in errors",
    "carry_bias": "lands beyond the aim, of the carry",
    "carry_beside_usual": "lands beyond her usual, of the carry",
    "cushion": "cushion of the grass",
    "dent_speed": "landing speed from which turf dents",
    "direction_error_deg": "error of face and path",
    "drop_scatter": "scatter from place to place",
    "edge_aim": "height aimed at, 1 just thin",
    "errors_over_usual": "errors over those of her usual delivery",
    "fall_direction_deg": "fall direction (deg)",
    "grade_along": "slope along the reference line, uphill +",
    "grade_left": "slope to the left of the reference line, uphill +",
    "grain_along": "grain along the reference line",
    "hop_loss": "height lost to the grass at each hop",
    "height_error_mm": "error of the arc's height",
    "kept_by_angle": "kept at a landing, by its angle",
    "kept_by_speed": "kept at a landing, by its speed",
    "lean_beside_stated_deg": "lean beside that of the option's name",
    "landing_sd_at_6_m": "scatter of clean landings at 6 m",
    "lie_carry": "lands beyond the aim from one lie, over the others",
    "club_carry": "lands beyond the aim with one club, over the others",
    "local_slope_pct": "slope at single landings",
    "low_point_error_mm": "error of the low point",
    "mis_hit_share": "share of mis-hits",
    "patchiness": "scatter of what landings keep",
    "release_speed_scale": "true release speed over the one written",
    "resistance_linear": "growth of resistance with speed (s/m)",
    "restitution_linear": "change of restitution with landing speed",
    "restitution_at_5_m_s": "speed given back, of a landing at 5 m/s",
    "shaft_lean_deg": "lean of the shaft",
    "skid_friction": "friction in the skid",
    "shaft_lean_error_deg": "error of the lean",
    "speed_error_pct": "error of the head speed",
    "spin_factor": "spin, over that of a rigid impact",
    "start_beside_stated_deg": "starts to the left of her usual line",
    "start_direction_deg": "starts to the left of the aim",
    "stimp_ft": "green speed (ft)",
    "tilt_deg": "tilt of the dent",
    "unevenness": "what it adds to the errors, over what such lies do",
}
"""Parameters in words, where their own names would not do on an axis or in a table."""


def parameter_words(parameter: str) -> str:
    """Return a parameter of a fit in words, for an axis or a heading."""
    name, of = Key.read(parameter)
    words = PARAMETERS.get(name, name.replace("_", " "))
    return f"{words}, {of}" if of else words
