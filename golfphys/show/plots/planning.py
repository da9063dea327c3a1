"""Pictures of decisions: regret, habits, green speed, sensitivities, wedge gaps, what to measure next, predictions."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from golfphys.physics.club import named_by_loft
from golfphys.show import style
from golfphys.show.markup import escape
from golfphys.show.style import Axes
from golfphys.show.tables import slope_words


# --- decisions -------------------------------------------------------------------------------------------------------
@style.picture("golfphys.what_if")
def plot_regret(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw what keeping a plan costs when conditions differ: clubs down, changes across; darker costs more.

    Boxed: the club that would be best had one known. A club that cannot be played then has no number.
    """
    clubs, changes = style.in_bag_order(table["club"]), list(dict.fromkeys(table["change"]))
    ax = style.new_axes(ax, 1.6 + 1.3 * len(changes), 1.4 + 0.42 * len(clubs))
    values = table.pivot(index="club", columns="change", values="regret").loc[clubs, changes].to_numpy(float)
    top = max(0.1, float(np.max(values[np.isfinite(values)], initial=0.0)))
    ax.imshow(np.ma.masked_invalid(values), cmap="Blues", vmin=0.0, vmax=1.3 * top, aspect="auto")
    best = table.groupby("change")["best_club"].first()
    for row, club in enumerate(clubs):
        for column, change in enumerate(changes):
            value = float(values[row, column])
            ink, text = "white" if value > 0.7 * top else "black", f"{value:.2f}" if np.isfinite(value) else "-"
            ax.text(column, row, text, ha="center", va="center", color=ink)
            if best[change] == club:
                box = {"fill": False, "edgecolor": style.OKABE_ITO["vermilion"], "linewidth": 2.0}
                style.rectangle(ax, (column - 0.47, row - 0.44), 0.94, 0.88, **box)
    ax.set_xticks(range(len(changes)), [escape(change, "figure").replace(" ", "\n", 1) for change in changes])
    style.name_rows(ax, clubs)
    ax.grid(visible=False)
    ax.tick_params(length=0)
    return style.finish(ax, "", "", "Strokes lost by keeping the plan (boxed: best club had one known)", legend="")


@style.picture("golfphys.price_habits")
def plot_habits(prices: Any, *, ax: Axes | None = None) -> Axes:
    """Draw what each habit costs a chip, with its interval, cheapest at the top."""
    table = prices.table
    ax = style.new_axes(ax, 7.5, 1.4 + 0.38 * len(table))
    bars = np.abs([table["cost"] - table["cost_low"], table["cost_high"] - table["cost"]])
    ax.errorbar(table["cost"], range(len(table)), xerr=bars, fmt="o", color=style.OKABE_ITO["blue"], capsize=3)
    ax.axvline(0.0, color=style.GREY, linewidth=1.0)
    style.name_rows(ax, list(table["habit"]))
    words = "strokes a chip over choosing each time (bar: 90 % interval)"
    return style.finish(ax, words, "", "What a simple habit costs this player", legend="")


@style.picture("golfphys.read_study")
def plot_decision_quality(summary: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw what each way of deciding loses against knowing the truth, least loss at the top."""
    rows = summary.sort_values("loss")
    ax = style.new_axes(ax, 7.5, 1.3 + 0.36 * len(rows))
    look: dict[str, Any] = {"color": style.OKABE_ITO["sky"], "ecolor": "black", "capsize": 3}
    ax.barh(range(len(rows)), rows["loss"], xerr=2 * rows["se"], **look)
    ax.locator_params(axis="x", nbins=6)
    cases = [f" ({count:.0f} cases)" for count in rows["cases"]] if "cases" in rows else [""] * len(rows)
    style.name_rows(ax, [plan + count for plan, count in zip(rows["plan"], cases, strict=True)])
    words = "strokes lost a chip (line: two standard errors)"
    return style.finish(ax, words, "", "Against knowing the truth", legend="")


@style.picture("golfphys.next_measurement")
def plot_next_measurement(found: Any, *, ax: Axes | None = None) -> Axes:
    """Draw what each further measurement would save by informing a decision; dashed: what knowing everything would."""
    table = found.table
    ax = style.new_axes(ax, 7.0, 1.5 + 0.34 * len(table))
    bars = ax.barh(range(len(table)), 100 * table["saved"], color=style.OKABE_ITO["blue"])
    ax.bar_label(bars, fmt="%.1f", padding=3)
    most = 100 * found.at_most
    ax.axvline(most, color=style.GREY, linewidth=1.2, linestyle=(0, (4, 3)))
    ax.annotate("knowing everything ", (most, -0.75), ha="right", va="center", color=style.GREY, fontsize=9)
    style.name_rows(ax, list(table.index))
    ax.set_xlim(0.0, 1.12 * most + 1e-9)
    ax.set_ylim(len(table) - 0.4, -1.1)
    return style.finish(ax, "strokes saved in 100 such chips", "", "What to measure next, for this decision", legend="")


# --- green speed -----------------------------------------------------------------------------------------------------
@style.picture("golfphys.carry_and_roll")
def plot_carry_and_roll(
    table: pd.DataFrame, *, firmness: str = "middling", grade: float = 0.0, ax: Axes | None = None
) -> Axes:
    """Draw how far each club's ball runs for each unit of carry, against green speed, on one slope.

    One firmness is drawn as lines; the others as pale bands between softest and firmest.
    """
    rows = table[table["grade"] == grade]
    if firmness not in set(rows["firmness"]):
        raise ValueError(f"no rows for firmness {firmness!r} and grade {grade!r}; see the table's columns")
    ax = style.new_axes(ax, 8.0, 4.6)
    for club, look in style.by_club(rows["club"]).items():
        field = rows[rows["club"] == club].pivot(index="stimp_ft", columns="firmness", values="roll_per_carry")
        ax.plot(field.index, field[firmness], **look)
        ax.fill_between(field.index, field.min(axis=1), field.max(axis=1), color=look["color"], alpha=0.13, linewidth=0)
    title = f"Run over carry by club ({firmness} turf; bands: soft to firm)"
    return style.finish(ax, "green speed (ft)", "run over carry", title, zero="y", legend="beside")


@style.picture("golfphys.rule_of_twelve")
def plot_rule_of_twelve(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw the rule of 12 beside the model, two bars for each club."""
    ax, at = style.new_axes(ax, 6.5, 3.6), np.arange(len(table))
    ax.bar(at - 0.2, table["rule"], 0.38, color=style.OKABE_ITO["orange"], label="rule of 12 (practice)")
    ax.bar(at + 0.2, table["model"], 0.38, color=style.OKABE_ITO["blue"], hatch="//", edgecolor="white", label="model")
    ax.set_xticks(at, [escape(club, "figure") for club in table.index])
    ax.grid(visible=False, axis="x")
    return style.finish(ax, "", "run over carry", "The rule of 12 beside the model")


@style.picture("golfphys.best_club_map")
def plot_best_club(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw the best club over green speed and distance to the pin; hatched where the second is too close to call."""
    ax, length = style.new_axes(ax, 8.0, 4.8), style.LengthUnit(unit)
    stimps, pins = sorted(table["stimp_ft"].unique()), sorted(table["to_pin_m"].unique())
    colours = style.by_club(table["club"])
    for stimp, pin, club, close in table[["stimp_ft", "to_pin_m", "club", "close"]].itertuples(index=False, name=None):
        x, y = stimps.index(stimp), pins.index(pin)
        cell = {"facecolor": colours[club]["color"], "alpha": 0.25 if close else 0.55, "edgecolor": "white"}
        style.rectangle(ax, (x - 0.5, y - 0.5), 1.0, 1.0, hatch="///" if close else None, **cell)
        box = {"boxstyle": "square,pad=0.15", "color": "white", "alpha": 0.6, "linewidth": 0}
        ax.text(x, y, escape(short_name(club), "figure"), ha="center", va="center", fontsize=9, bbox=box)
    ax.set_xticks(range(len(stimps)), [f"{stimp:g}" for stimp in stimps])
    ax.set_yticks(range(len(pins)), [f"{length.show(pin):.0f}" for pin in pins])
    ax.set(xlim=(-0.5, len(stimps) - 0.5), ylim=(-0.5, len(pins) - 0.5))
    ax.grid(visible=False)
    ax.tick_params(length=0)
    title = "Best club (pale and hatched: the second is too close to call)"
    return style.finish(ax, "green speed (ft)", length.label("ball to pin"), title, legend="")


def short_name(club: str) -> str:
    """Return a club's name as short as a cell needs it: ``"8-iron"`` to ``"8i"``, ``"sand wedge"`` to ``"SW"``."""
    if club.endswith("-iron"):
        return club.removesuffix("-iron") + "i"
    if loft := named_by_loft(club):
        return f"{loft[:2]}°"
    words = club.split()
    return "".join(word[0].upper() for word in words) if len(words) > 1 else club


@style.picture("golfphys.landing_shift")
def plot_landing_shift(
    table: pd.DataFrame, *, to_pin: float, grade: float = 0.0, ax: Axes | None = None, unit: str = "ft"
) -> Axes:
    """Draw where to land each club against green speed, for one pin (m) and slope; ValueError without such rows."""
    rows = table[(table["to_pin_m"] == to_pin) & (table["grade"] == grade)]
    if rows.empty:
        raise ValueError(f"no rows for to_pin {to_pin!r} and grade {grade!r}; see the table's columns")
    ax, length = style.new_axes(ax, 8.0, 4.4), style.LengthUnit(unit)
    for club, look in style.by_club(rows["club"], "both").items():
        own = rows[rows["club"] == club]
        ax.plot(own["stimp_ft"], length.show(own["landing_m"]), **look)
    title = f"Where to land it for a pin {length.show(to_pin):.0f} {length.symbol} away, {slope_words(grade)}"
    words = "green speed (ft)", length.label("landing spot from the ball")
    return style.finish(ax, *words, title + ("hill" if grade else ""), legend="beside")


@style.picture("golfphys.sensitivities")
def plot_sensitivities(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw what the usual uncertainty of each parameter does to where a chip comes to rest."""
    ax, length = style.new_axes(ax, 8.0, 1.2 + 0.3 * len(table)), style.LengthUnit(unit)
    known = ["green", "turf", "launch", "air", "strike"]
    for kind, look in style.looks(dict.fromkeys([*known, *table["of"]])).items():
        own = np.flatnonzero(table["of"] == kind)
        if len(own):
            ax.barh(own, length.show(table["effect_m"].to_numpy()[own]), color=look["color"], label=look["label"])
    style.name_rows(ax, [f"{row.parameter} ({row.of})" for row in table.itertuples()])
    words = length.label("change of rest distance for one standard deviation")
    return style.finish(ax, words, "", "What matters most to where the ball stops", legend="lower right")


# --- wedges ----------------------------------------------------------------------------------------------------------
@style.picture("golfphys.find_wedge_gaps")
def plot_wedge_gaps(gaps: Any, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw carries by club and swing, bars of one standard deviation; gaps are shaded, overlaps dotted."""
    ax, length = style.new_axes(ax, 8.5, 3.8), style.LengthUnit(unit)
    clubs = style.in_bag_order(gaps.table["club"])
    swings = dict.fromkeys([*gaps.swings.index, *gaps.table["swing"]])  # those that the model knows first
    for swing, look in style.looks(swings, "points").items():
        own = gaps.table[gaps.table["swing"] == swing]
        at, bars = [clubs.index(club) for club in own["club"]], length.show(own["sd_m"].fillna(0.0))
        ax.errorbar(length.show(own["carry_m"]), at, xerr=bars, capsize=3, **look)
    for row in gaps.gaps.itertuples():
        ends = length.show(row.from_m), length.show(row.to_m)
        if row.kind == "gap":
            ax.axvspan(*ends, color=style.OKABE_ITO["orange"], alpha=0.25, linewidth=0, zorder=0)
            ax.text(sum(ends) / 2, -0.62, f"gap {ends[1] - ends[0]:.0f}", ha="center", va="bottom", fontsize=8)
        elif row.kind == "overlap":
            ax.axvline(sum(ends) / 2, color=style.GREY, linewidth=1.0, linestyle=(0, (1, 2)), zorder=0)
    ax.set_yticks(range(len(clubs)), [escape(club, "figure") for club in clubs])
    ax.set_ylim(len(clubs) - 0.4, -0.9)
    title = "Carry by club and swing (shaded: gap; dotted: two shots for one distance)"
    return style.finish(ax, length.label("carry"), "", title, legend="beside", title="swing")


# --- how far the rest is known ---------------------------------------------------------------------------------------
@style.picture("CourseFit.predict(...).table, of the same chips, by what had been measured,")
def plot_known_rest(known: Mapping[str, pd.DataFrame], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how well the rest of chips is known after each kind of sheet, a bar for each club and sheet."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    for number, (name, look) in enumerate(style.looks(known).items()):
        rows, width = known[name], 0.8 / len(known)
        places = style.beside_each_other(len(known), number, len(rows))
        height = length.show(rows["rest_known_sd"])
        bars = ax.bar(places, height, 0.92 * width, color=look["color"], label=look["label"])
        ax.bar_label(bars, fmt="%.1f", fontsize=8, padding=1)
        ax.set_xticks(range(len(rows)), labels=[escape(club, "figure") for club in rows["club"]])
    words = length.label("uncertainty of the expected rest\nstandard deviation")
    return style.finish(ax, "", words, "Where a chip will stop becomes known, sheet by sheet")


@style.picture("golfphys.further")
def plot_further(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw by how much each further measurement would reduce the uncertainty of a decision, a bar for each."""
    ax, length = style.new_axes(ax, height=1.2 + 0.34 * len(table)), style.LengthUnit(unit)
    bars = ax.barh(range(len(table)), 100 * table["shrinkage"], color=style.CYCLE[0])
    ax.bar_label(bars, fmt="%.0f %%", padding=3)
    style.name_rows(ax, list(table.index))
    ax.set_xlim(0.0, max(10.0, 118.0 * float(table["shrinkage"].max())))
    now = f"{length.show(float(table['rest_sd_now'].iloc[0])):.2f} {length.symbol} now"
    return style.finish(ax, f"less uncertainty of the rest (%, of {now})", "", "What to measure next", legend="")


@style.picture("golfphys.check_back")
def plot_check_back(checked: Any, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw new chips against their predictions: for each its 50 % and 90 % intervals, and where it came to rest."""
    table, length = checked.table.sort_values("expected").reset_index(drop=True), style.LengthUnit(unit)
    ax = style.new_axes(ax, height=1.6 + 0.2 * len(table))
    place = np.arange(len(table))
    for low, high, width, words in (("low", "high", 1.6, "90 % predicted"), ("low_50", "high_50", 5.0, "50 %")):
        ends = length.show(table[low]), length.show(table[high])
        ax.hlines(place, *ends, color=style.CYCLE[0], linewidth=width, label=words)
    inside, rest = table["within_90"].to_numpy(bool), length.show(table["rest"].to_numpy(float))
    ax.plot(rest[inside], place[inside], "o", color="black", label="came to rest inside")
    ax.plot(rest[~inside], place[~inside], "X", color=style.CYCLE[1], markersize=8, label="came to rest outside")
    style.name_rows(ax, [f"{club}, {lie}" for club, lie in zip(table["club"], table["lie"], strict=True)])
    ax.tick_params(axis="y", labelsize=8)
    title = f"{int(inside.sum())} of {len(table)} new chips stopped inside their 90 % intervals"
    return style.finish(ax, length.label("rest along the line of play"), "", title, legend="upper right")
