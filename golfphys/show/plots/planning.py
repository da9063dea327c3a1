"""Pictures of decisions: regret, habits, green speed, sensitivities, wedge gaps; style as in `golfphys.show.plots`."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from golfphys.show.plots.axes import (
    club_looks,
    club_points,
    in_bag_order,
    legend_beside,
    name_rows,
    new_axes,
    points,
)
from golfphys.show.style import GREY, OKABE_ITO, LengthUnit, looks, styled
from golfphys.show.tables.planning import slope_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_regret(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw what keeping a plan costs when the world turns out otherwise.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.what_if` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A field of numbers, clubs down and changes across; darker costs more. Boxed: the best club had one known.

    Examples
    --------
    >>> from golfphys import Green, plan_chip, what_if
    >>> plan = plan_chip(Green.from_stimp(10.0), to_edge=3.0, to_pin=14.0, landings=15, shots=64)
    >>> len(plot_regret(what_if(plan)).texts)
    30
    """
    clubs, changes = in_bag_order(table["club"]), list(dict.fromkeys(table["change"]))
    field = table.pivot(index="club", columns="change", values="regret").loc[clubs, changes]
    ax = new_axes(ax, 1.6 + 1.3 * len(changes), 1.4 + 0.42 * len(clubs))
    values = field.to_numpy(float)
    top = max(0.1, float(np.nanmax(values)))
    ax.imshow(values, cmap="Blues", vmin=0.0, vmax=1.3 * top, aspect="auto")
    best = table.groupby("change")["best_club"].first()
    for row, club in enumerate(clubs):
        for column, change in enumerate(changes):
            value = values[row, column]
            ink = "white" if value > 0.7 * top else "black"
            ax.text(column, row, f"{value:.2f}", ha="center", va="center", color=ink)
            if best[change] == club:
                box = {"fill": False, "edgecolor": OKABE_ITO["vermilion"], "linewidth": 2.0}
                ax.add_patch(_rectangle((column - 0.47, row - 0.44), 0.94, 0.88, **box))
    ax.set_xticks(range(len(changes)), [change.replace(" ", "\n", 1) for change in changes])
    ax.set_yticks(range(len(clubs)), clubs)
    ax.grid(visible=False)
    ax.tick_params(length=0)
    ax.set_title("Strokes lost by keeping the plan (boxed: best club had one known)")
    return ax


def _rectangle(corner: tuple[float, float], width: float, height: float, **options: Any) -> Any:
    from matplotlib.patches import Rectangle

    return Rectangle(corner, width, height, **options)


@styled
def plot_habits(prices: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw what each habit costs a chip, with its interval.

    Parameters
    ----------
    prices : HabitPrices
        What `golfphys.price_habits` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A point with a bar for each habit, cheapest at the top.
    """
    table = prices.table
    ax = new_axes(ax, 7.5, 1.4 + 0.38 * len(table))
    height = np.arange(len(table))
    bars = np.abs(np.stack([table["cost"] - table["cost_low"], table["cost_high"] - table["cost"]]))
    ax.errorbar(table["cost"], height, xerr=bars, fmt="o", color=OKABE_ITO["blue"], capsize=3)
    ax.axvline(0.0, color=GREY, linewidth=1.0)
    name_rows(ax, list(table["habit"]))
    ax.set_xlabel("strokes a chip over choosing each time (bar: 90 % interval)")
    ax.set_title("What a simple habit costs this player")
    return ax


@styled
def plot_carry_and_roll(
    table: pd.DataFrame, *, firmness: str = "middling", grade: float = 0.0, ax: "Axes | None" = None
) -> "Axes":
    """Draw how far each club's ball runs for each part carried, against green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.carry_and_roll` returned.
    firmness : str
        Which firmness is drawn as lines; the others as pale bands between softest and firmest.
    grade : float
        Which slope.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each club.
    """
    ax = new_axes(ax, 8.0, 4.6)
    rows = table[table["grade"] == grade]
    for club, look in club_looks(rows["club"]).items():
        own = rows[rows["club"] == club]
        field = own.pivot(index="stimp_ft", columns="firmness", values="roll_per_carry")
        ax.plot(field.index, field[firmness], label=club, **look)
        ax.fill_between(field.index, field.min(axis=1), field.max(axis=1), color=look["color"], alpha=0.13, linewidth=0)
    ax.set(xlabel="green speed (ft)", ylabel="run for each part carried")
    ax.set_ylim(bottom=0.0)
    ax.set_title(f"Run over carry by club ({firmness} turf; bands: soft to firm)")
    legend_beside(ax)
    return ax


@styled
def plot_rule_of_twelve(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw the rule of 12 beside the model.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.rule_of_twelve` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Two bars for each club.
    """
    ax = new_axes(ax, 6.5, 3.6)
    at = np.arange(len(table))
    ax.bar(at - 0.2, table["rule"], 0.38, color=OKABE_ITO["orange"], label="rule of 12 (practice)")
    ax.bar(at + 0.2, table["model"], 0.38, color=OKABE_ITO["blue"], hatch="//", edgecolor="white", label="model")
    ax.set_xticks(at, list(table.index))
    ax.grid(visible=False, axis="x")
    ax.set_ylabel("parts of run for each part carried")
    ax.set_title("The rule of 12 beside the model")
    ax.legend()
    return ax


@styled
def plot_best_club(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw the best club over green speed and distance to the pin.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.best_club_map` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A coloured field with the club's short name in it; hatched where the second club is too close to call.
    """
    ax, length = new_axes(ax, 8.0, 4.8), LengthUnit(unit)
    stimps, pins = sorted(table["stimp_ft"].unique()), sorted(table["to_pin_m"].unique())
    colours = club_looks(table["club"])
    for stimp, pin, club, close in table[["stimp_ft", "to_pin_m", "club", "close"]].itertuples(index=False, name=None):
        column, line = stimps.index(stimp), pins.index(pin)
        cell = {"facecolor": colours[club]["color"], "alpha": 0.25 if close else 0.55, "edgecolor": "white"}
        ax.add_patch(_rectangle((column - 0.5, line - 0.5), 1.0, 1.0, hatch="///" if close else None, **cell))
        ax.text(column, line, short_name(club), ha="center", va="center", fontsize=9)
    ax.set_xticks(range(len(stimps)), [f"{stimp:g}" for stimp in stimps])
    ax.set_yticks(range(len(pins)), [f"{length.show(pin):.0f}" for pin in pins])
    ax.set(xlim=(-0.5, len(stimps) - 0.5), ylim=(-0.5, len(pins) - 0.5))
    ax.grid(visible=False)
    ax.tick_params(length=0)
    ax.set(xlabel="green speed (ft)", ylabel=length.label("ball to pin"))
    ax.set_title("Best club (pale and hatched: the second is too close to call)")
    return ax


def short_name(club: str) -> str:
    """Return a club's name as short as a cell needs it: ``"8-iron"`` to ``"8i"``, ``"sand wedge"`` to ``"SW"``."""
    if club.endswith("-iron"):
        return club.removesuffix("-iron") + "i"
    words = club.split()
    return "".join(word[0].upper() for word in words) if len(words) > 1 else club


@styled
def plot_landing_shift(
    table: pd.DataFrame, *, to_pin: float, grade: float = 0.0, ax: "Axes | None" = None, unit: str = "ft"
) -> "Axes":
    """Draw where to land each club against green speed, for one pin.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.landing_shift` returned.
    to_pin : float
        Which pin, m.
    grade : float
        Which slope.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each club.

    Raises
    ------
    ValueError
        If the table has no such pin and slope.
    """
    rows = table[(table["to_pin_m"] == to_pin) & (table["grade"] == grade)]
    if rows.empty:
        raise ValueError(f"no rows for to_pin {to_pin!r} and grade {grade!r}; see the table's columns")
    ax, length = new_axes(ax, 8.0, 4.4), LengthUnit(unit)
    dots = club_points(rows["club"])
    for club, look in club_looks(rows["club"]).items():
        own = rows[rows["club"] == club]
        ax.plot(own["stimp_ft"], length.show(own["landing_m"]), label=club, **(look | dots[club]))
    ax.set(xlabel="green speed (ft)", ylabel=length.label("landing spot from the ball"))
    slope = slope_words(grade) + ("hill" if grade else "")
    ax.set_title(f"Where to land it for a pin {length.show(to_pin):.0f} {unit} away, {slope}")
    legend_beside(ax)
    return ax


@styled
def plot_sensitivities(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw what each doubt does to where a chip comes to rest.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.sensitivities` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A bar for each parameter, by what it belongs to.
    """
    ax, length = new_axes(ax, 8.0, 1.2 + 0.3 * len(table)), LengthUnit(unit)
    height = np.arange(len(table))
    kinds = {kind: look["color"] for kind, look in looks(["green", "turf", "launch", "air", "strike"]).items()}
    for kind, colour in kinds.items():
        own = (table["of"] == kind).to_numpy()
        ax.barh(height[own], length.show(table["effect_m"].to_numpy()[own]), color=colour, label=kind)
    name_rows(ax, [f"{row.parameter} ({row.of})" for row in table.itertuples()])
    ax.set_xlabel(length.label("change of rest distance for one standard deviation"))
    ax.set_title("What matters most to where the ball stops")
    ax.legend(loc="lower right")
    return ax


@styled
def plot_wedge_gaps(gaps: Any, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw carries by club and swing, with gaps and overlaps.

    Parameters
    ----------
    gaps : WedgeGaps
        What `golfphys.find_wedge_gaps` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A row for each club, a point with a bar of one standard deviation for each swing; gaps shaded, overlaps dotted.
    """
    ax, length = new_axes(ax, 8.5, 3.8), LengthUnit(unit)
    clubs = in_bag_order(gaps.table["club"])
    order = list(gaps.swings.index) + [name for name in gaps.table["swing"].unique() if name not in gaps.swings.index]
    for swing, look in points(order).items():
        own = gaps.table[gaps.table["swing"] == swing]
        at = [clubs.index(club) for club in own["club"]]
        bars = length.show(own["sd_m"].fillna(0.0))
        ax.errorbar(length.show(own["carry_m"]), at, xerr=bars, linestyle="none", capsize=3, label=swing, **look)
    for row in gaps.gaps.itertuples():
        ends = length.show(row.from_m), length.show(row.to_m)
        if row.kind == "gap":
            ax.axvspan(*ends, color=OKABE_ITO["orange"], alpha=0.25, linewidth=0, zorder=0)
            ax.text(sum(ends) / 2, -0.62, f"gap {ends[1] - ends[0]:.0f}", ha="center", va="bottom", fontsize=8)
        elif row.kind == "overlap":
            ax.axvline(sum(ends) / 2, color=GREY, linewidth=1.0, linestyle=(0, (1, 2)), zorder=0)
    ax.set_yticks(range(len(clubs)), clubs)
    ax.set_ylim(len(clubs) - 0.4, -0.9)
    ax.set_xlabel(length.label("carry"))
    ax.set_title("Carry by club and swing (shaded: gap; dotted: two shots for one distance)")
    legend_beside(ax, title="swing")
    return ax


@styled
def plot_next_measurement(found: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw what each further measurement would save by making a decision surer.

    Parameters
    ----------
    found : NextMeasurement
        What `golfphys.next_measurement` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A bar for each measurement, and a line where knowing everything would be.
    """
    table = found.table
    ax = new_axes(ax, 7.0, 1.5 + 0.34 * len(table))
    place = np.arange(len(table))[::-1]
    bars = ax.barh(place, 100 * table["saved"], color=OKABE_ITO["blue"])
    ax.bar_label(bars, fmt="%.1f", padding=3)
    ax.axvline(100 * found.at_most, color=GREY, linewidth=1.2, linestyle=(0, (4, 3)))
    top = len(table) - 0.35
    ax.annotate("knowing everything ", (100 * found.at_most, top), ha="right", va="center", color=GREY, fontsize=9)
    ax.set_yticks(place, labels=[str(name) for name in table.index])
    ax.set(xlabel="strokes saved in 100 such chips", xlim=(0.0, 112.0 * found.at_most + 1e-9))
    ax.set_ylim(-0.6, top + 0.4)
    ax.set_title("What to measure next, for this decision")
    return ax


@styled
def plot_decision_quality(summary: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw what each way of deciding loses against knowing the truth.

    Parameters
    ----------
    summary : DataFrame
        Columns ``plan``, ``loss`` and ``se`` (strokes a chip), as the study of decision quality writes it.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A bar for each way, least loss at the top.

    Examples
    --------
    >>> table = pd.DataFrame({"plan": ["measured", "handbook"], "loss": [0.02, 0.2], "se": [0.002, 0.02]})
    >>> plot_decision_quality(table).get_xlabel()
    'strokes lost a chip against knowing the truth (line: two standard errors)'
    """
    rows = summary.sort_values("loss")
    ax = new_axes(ax, 7.5, 1.3 + 0.36 * len(rows))
    at = np.arange(len(rows))
    ax.barh(at, rows["loss"], xerr=2 * rows["se"], color=OKABE_ITO["sky"], ecolor="black", capsize=3)
    name_rows(ax, list(rows["plan"]))
    ax.set_xlabel("strokes lost a chip against knowing the truth (line: two standard errors)")
    ax.set_title("What measuring is worth")
    return ax
