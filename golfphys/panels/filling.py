"""What a form shows while a sheet is filled in: fields that check and offer what is typed, and what is known so far.

Estimates are quick on purpose: only the place or the club of the row just entered is looked at. The full fits are in
`golfphys.fitting`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Any, NamedTuple

import ipywidgets
import numpy as np
import pandas as pd

from golfphys.fitting.course_fit import fit_observed
from golfphys.fitting.course_model import Observed, Settings
from golfphys.fitting.results import about_mean, cell, explained
from golfphys.fitting.rollout_fit import RolloutFit
from golfphys.fitting.rollout_layout import Rolls, rolls_of
from golfphys.panels import settings
from golfphys.panels.panel import ABOVE, LINES, length
from golfphys.physics.bounce import drop_restitution
from golfphys.sheets import Log, Sheet, name_key
from golfphys.sheets.dictionary import UNIT_WORDS, Column, Misread, kinds, read_cell
from golfphys.sheets.table import KNOWN_NAMES
from golfphys.sheets.writing import HERS
from golfphys.show.markup import escape

MEASURED = (
    "distance", "side", "rebound_height", "first_flight", "second_flight", "carry", "landing_side", "hang_time",
    "first_hop", "hop_time", "rest", "strike", "made", "time", "note", "height", "hits",
)  # fmt: skip
"""Quantities that are new in every row; the fields of the others keep what was typed."""
CYCLING = ("heading", "ramp_run", "release_speed", "club")  # quantities whose next value is offered


def offered(values: Sequence[str]) -> str:
    """Return what probably comes next after `values`, a column read downwards.

    A value is repeated as often as the one before it was; then the value that followed it earlier comes, or for
    numbers one more step like the last.
    """
    runs = [(value, len(list(same))) for value, same in groupby(values)]
    last, count = runs[-1]
    if len(runs) == 1 or count < runs[-2][1]:
        return str(last)
    for (value, _), (following, _) in zip(runs[-2::-1], runs[:0:-1], strict=True):
        if value == last:
            return str(following)
    try:
        return f"{(float(last) + float(last) - float(runs[-2][0])) % 360:g}"
    except ValueError:
        return str(last)


class Field:
    """One input, its label with the unit above it, its message below."""

    def __init__(self, column: Column) -> None:
        self.column = column
        unit = f" ({UNIT_WORDS[column.unit]})" if column.unit else ""
        look: dict[str, Any] = {
            "description": f"{column.quantity.replace('_', ' ')}{unit}{' *' if column.required else ''}",
            "tooltip": column.description,
            "style": {"description_width": "auto"},
            "layout": {"flex_flow": "column", "width": "13em", "height": "auto", "align_items": "stretch"},
            "placeholder": column.example,
            "continuous_update": False,  # the value comes whole, when the field is left or Enter is pressed
        }
        self.words = column.choices or KNOWN_NAMES.get(column.quantity, ())  # offered, though any other may be typed
        offers = column.type == "string" and column.quantity != "note"
        self.input: Any = ipywidgets.Combobox(options=self.words, **look) if offers else ipywidgets.Text(**look)
        self.input.add_class(ABOVE)
        self.message = ipywidgets.HTML(layout={"width": "13em"})
        self.widget = ipywidgets.VBox([self.input, self.message], layout={"margin": "0 0.8em 0 0"})
        self.before: str | None = None  # while a row waits to be saved: its cell, if that of the next one is typed
        self.input.observe(lambda _change: self.check(), names="value")

    @property
    def text(self) -> str:
        """What is typed, without outer blanks."""
        return str(self.input.value if self.before is None else self.before).strip()

    def offer(self, frame: pd.DataFrame) -> None:
        """Offer the words that a sheet has in this column, before those that any sheet may have."""
        if self.column.quantity in frame and isinstance(self.input, ipywidgets.Combobox):
            self.input.options = tuple(dict.fromkeys([*filter(None, frame[self.column.quantity]), *self.words]))

    def check(self) -> str:
        """Say below the input what is wrong with it, unless it is blank, and return it; empty if nothing is."""
        found = read_cell(self.text, self.column) if self.text else None
        said = "to be filled in" if self.column.required and not self.text else ""
        if isinstance(found, Misread):
            said = f"expected {found.expected}. {found.advice}"
        shown = f"<div role='alert' style='color: #A03C00; {LINES}'>{escape(said)}</div>"
        self.message.value = shown if said and self.text else ""
        return said


def places(course: Any) -> dict[str, tuple[Any, str]]:
    """Return whose sheet of which kind may be filled in, by its name: the chosen course's, or its player's own."""
    found, folder = {kind: (course, kind) for kind in kinds()}, settings.folder_of(course.player)
    if folder is not None:
        hers = replace(course, name=folder.name, folder=folder, units=settings.units_of(folder))
        found |= {f"{kind} of {folder.name}, on any course": (hers, kind) for kind in HERS}
    return found


# what is known so far

DRAWS = 500  # from which it is told what further rolls would add
HEADINGS_DEG = (0.0, 90.0, 180.0, 270.0)
MOST_HEADINGS = 8
FARTHEST = 100.0  # m, where a roll is taken to end that would not stop
HALF = 0.6  # ratio of intervals that is called a half
ALIKE = 0.05  # difference of such ratios that so few draws cannot tell; then the first heading is taken
ENOUGH_GAIN = 0.9  # ratio of the interval with two more rolls to the one without below which they are worth mentioning


class Interval(NamedTuple):
    """A mean of `n` measurements, half of its 90 % interval by their own scatter, and that; one alone has none."""

    mean: float
    half: float
    scatter: float
    n: int


def mean_interval(values: Any) -> Interval:
    """Return the mean of measurements with its interval by Student's t; those that are not numbers are left out."""
    from scipy.stats import t as student

    known: Any = pd.Series(values, dtype=float).dropna()
    half = float(student.ppf(0.95, len(known) - 1) * known.sem()) if len(known) > 1 else math.inf
    return Interval(float(known.mean()), half, float(known.std()), len(known))


def so_far(kind: str, sheet: Sheet, typed: Mapping[str, str], unit: str) -> list[str]:
    """Say in plain sentences what a sheet shows so far, of the spot or club that is `typed` or else came last.

    Of the rows of the player that is typed, and of those that name nobody, as a fit takes them.
    """
    frame: pd.DataFrame = sheet.frame
    if (player := typed.get("player")) and "player" in frame:
        hers = frame["player"].map(lambda name: not name or name_key(name) == name_key(player))
        frame = frame[hers.astype(bool)]
    if frame.empty:
        return []

    def about(quantity: str) -> str:
        seen = [*filter(None, dict.fromkeys(frame[quantity]))] or [""]
        return typed[quantity] if typed.get(quantity) in seen else str(seen[-1])

    said = {
        "rollouts": lambda: _rollouts(frame, about("spot")),
        "drops": lambda: _drops(frame, about("spot")),
        "chips": lambda: _chips(frame, about("club"), unit),
        "putts": lambda: [f"{frame['tries'].sum():.0f} putts, {frame['made'].sum():.0f} holed."],
        "films": lambda: [f"{len(frame)} frames of {frame['roll'].nunique()} rolls."],
    }
    return said.get(kind, lambda: [f"{len(frame)} rows."])()


PAUSE = pd.Timedelta(hours=2)  # without a roll, after which a place that is rolled again is a green of its own (judged)


def session_of(frame: pd.DataFrame, rolls: pd.DataFrame) -> pd.Series:
    """Return to which of the `rolls`, by session, the rows of a sheet belong: "" where they have no date.

    A session is a day, 2025-05-06, or of a place that was rolled again that day after a `PAUSE` the start of an earlier
    session, 2025-05-06 08:10. A row belongs to the roll of its place that day that is nearest in time; one without a
    time, and all of other places, to the day.
    """
    here, there = ({"spot": rows["spot"], "day": rows["date"], "time": rows["measured_at"]} for rows in (frame, rolls))
    timed = pd.DataFrame(there).query("time.notna() and time != day").sort_values("time", kind="stable")
    number = (timed["time"].diff() > PAUSE).cumsum()
    again = number < number.groupby([timed["spot"], timed["day"]]).transform("max")
    start = timed.groupby([number, "day"])["time"].transform("min").dt.strftime(" %H:%M")
    rows = (
        pd.DataFrame(here).rename_axis("line").reset_index().query("time.notna() and time != day").sort_values("time")
    )
    near = pd.merge_asof(
        rows, timed.assign(start=start.where(again, "")), on="time", by=["spot", "day"], direction="nearest"
    )
    found = near.set_index("line")["start"].reindex(frame.index)
    return pd.Series(frame["date"].dt.strftime("%Y-%m-%d").fillna("") + found.fillna(""))


def _last_session(rows: pd.DataFrame, spot: str) -> pd.DataFrame:
    """Return the rows of a spot of the session in which its last one was measured: any other is of another green."""
    here = rows[rows["spot"] == spot]
    times = session_of(here, here) if "date" in here else pd.Series("", here.index)
    return here[times == times.iloc[-1]]


def _rollouts(rolls: pd.DataFrame, spot: str) -> list[str]:
    """Say what the rolls of one spot tell so far, and which two more would help most."""
    rolls = rolls.assign(row=range(1, len(rolls) + 1))  # as the form counts them, not as a spreadsheet does
    here = _last_session(rolls, spot)
    fit = _fit(here)
    found = [f"{spot}, {counted(len(here), 'roll')}: {_green(fit, spot)}"]
    # how well the sampler mixed is for the pages of analysis; what contradicts is named row by row
    found += [sentence for sentence in fit.cautions if spot in sentence and sentence != fit.posterior.failure]
    return [*found, next_rolls(here, fit)]


def _fit(rolls: pd.DataFrame) -> RolloutFit:
    sheet = Sheet(kind="rollouts", frame=rolls)  # whatever ground it is of
    seen = Observed(rolls=rolls_of(sheet))
    return fit_observed(seen, Settings(pool=False), {"rollouts": sheet}).rollouts


def _green(fit: RolloutFit, spot: str) -> str:
    """Green speed and slope of a spot in words, as far as its rolls tell them."""
    words = {
        "stimp_ft": (1.0, "green speed {estimate:.1f} ft ({low:.1f} to {high:.1f}, nine times in ten)"),
        "grade": (100.0, "slope {estimate:.1f} % ({low:.1f} to {high:.1f})"),
    }
    parts = []
    for parameter, (scale, said) in words.items():
        if cell(fit.estimates, spot, parameter, "informed"):
            ends = ("low", "estimate", "high")
            parts.append(said.format(**{name: scale * cell(fit.estimates, spot, parameter, name) for name in ends}))
    return f"{', '.join(parts)}." if parts else "nothing known yet beyond what greens usually are."


def next_rolls(rolls: pd.DataFrame, fit: RolloutFit) -> str:
    """Say which two more rolls at a spot would narrow its green speed or its slope most, from the speed used last."""
    headings = sorted({*HEADINGS_DEG, *np.degrees(rolls["heading"]).round(3)})[:MOST_HEADINGS]
    ratios = narrowing(fit, headings, float(rolls["release_speed"].iloc[-1]))
    best = min(ratios.values()) + ALIKE
    heading, parameter = next(named for named, ratio in ratios.items() if ratio <= best)
    ratio = ratios[heading, parameter]
    if not ratio < ENOUGH_GAIN:
        return "Two more rolls at this spot would change little; go on to the next."
    what, scale, sign = ("green speed", 1.0, "ft") if parameter == "stimp_ft" else ("slope", 100.0, "%")
    low, high = (cell(fit.estimates, fit.spots[0], parameter, end) for end in ("low", "high"))
    before = scale * (high - low) / 2
    now = f"\N{PLUS-MINUS SIGN}{before:#.2g}"
    if ratio <= HALF:  # so far off, how far it narrows is a guess
        return f"Two more at heading {heading:.0f} would at least halve the interval of the {what}, {now} {sign} now."
    then = f"\N{PLUS-MINUS SIGN}{ratio * before:#.2g}"
    return f"Two more at heading {heading:.0f} would narrow the {what} from {now} to about {then} {sign}."


def narrowing(fit: RolloutFit, headings_deg: Sequence[float], speed: float) -> dict[tuple[float, str], float]:
    """Return by what factor two more rolls at each heading would narrow green speed and slope, before they are rolled.

    As for `golfphys.further`, with logarithms of distances and of green speed: they answer most evenly.
    """
    natural = fit.posterior.sample(DRAWS, 0)
    planned = replace(fit.layout, rolls=Rolls.planned(fit.spots, 0, -np.radians(headings_deg), speed))
    away = np.minimum(np.hypot(*planned.rest(natural)), FARTHEST)
    noise = np.sqrt(np.mean((fit.layout.scatter(natural, away) / away) ** 2, axis=0))
    green = np.concatenate([np.log(fit.layout.level_roll(natural)), *fit.layout.fall(natural)], axis=1)
    green, told, ratios = about_mean(green), about_mean(np.log(away)), {}
    before = np.var(green, axis=0, ddof=1)
    for number, heading in enumerate(headings_deg):
        two = [number, number]
        left = before - np.diag(explained(green, told[:, two], noise[two]))
        ratios[heading, "stimp_ft"] = math.sqrt(left[0] / before[0])
        ratios[heading, "grade"] = math.sqrt(left[1:].sum() / before[1:].sum())
    return ratios


def _drops(drops: pd.DataFrame, spot: str) -> list[str]:
    """Say how high balls came back at a spot, as a share of the height they were dropped from."""
    here = _last_session(drops, spot)
    seen = here[here["rebound_height"].notna() & here["drop_height"].notna()]
    found = []
    if len(seen):
        ratio = mean_interval(drop_restitution(seen["drop_height"].to_numpy(), seen["rebound_height"].to_numpy()))
        error = f" \N{PLUS-MINUS SIGN} {ratio.half:.3f}, nine times in ten" if ratio.n > 1 else ""
        speed = f"the ball comes back with {ratio.mean:.3f} of its speed{error}."
        found += [f"{spot}, {counted(ratio.n, 'drop')}: {speed}", _more(ratio, "drop")]
    if len(here) > len(seen):
        found.append(f"{counted(len(here) - len(seen), 'drop')} timed only: left to the full fit.")
    return found


def _chips(chips: pd.DataFrame, club: str, unit: str) -> list[str]:
    """Say how the chips with one club have carried and run."""
    here = chips[chips["club"] == club]
    miss = mean_interval(here["carry"] - here["target_carry"])
    run = mean_interval(here["rest"] - here["carry"])
    found, mean = [f"{club}, {counted(len(here), 'chip')}."], " on average" if len(here) > 1 else ""
    if miss.n:
        sense = "beyond" if miss.mean >= 0 else "short of"
        error = f" \N{PLUS-MINUS SIGN} {length(miss.half, unit)}" if miss.n > 1 else ""
        found.append(f"Landed {length(abs(miss.mean), unit)}{error} {sense} the target{mean}.")
        if miss.n > 1:
            found.append(f"Single carries scatter by {length(miss.scatter, unit)} (standard deviation).")
        found.append(_more(miss, "chip"))
    if run.n:
        found.append(f"Ran {length(run.mean, unit)} from there{mean}.")
    return found


def counted(count: int, what: str) -> str:
    """Return how many there are in words: "1 row", "2 rows"."""
    return f"{count} {what}{'s' if count != 1 else ''}"


def counts(log: Log) -> str:
    """Say how much of each kind was measured or tried."""
    said = []
    for kind, sheet in log.sheets.items():
        count, what = len(sheet.frame), {"survey": "survey point", "targets": "target shot"}.get(kind, kind[:-1])
        if kind == "films":  # which have a row for each frame
            count = sheet.frame["roll"].nunique()
        elif "tries" in sheet.frame:
            count = int(sheet.frame["tries"].sum())
        said.append(counted(count, what))
    return ", ".join(said)


def _more(known: Interval, what: str) -> str:
    """Say how many more would halve the interval of a mean: its width goes with one over the root of their number."""
    if known.n < 2:
        return f"One more {what} shows how much they scatter."
    return f"{3 * known.n} more {what}s would about halve this interval."
