"""Pictures of a fitted turf and player, and of how well fits and intervals have predicted."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.fitting.chips import SEEN
from golfphys.fitting.intervals import cell
from golfphys.show import style
from golfphys.show.fit_tables import parameter_words
from golfphys.show.markup import escape
from golfphys.show.style import Axes
from golfphys.show.tables import restitution_by_speed, restitutions_of


# --- turf and player -------------------------------------------------------------------------------------------------
@style.picture()
def plot_drops(fit: Any, *, ax: Axes | None = None) -> Axes:
    """Draw restitution against landing speed: each drop, and the fitted law with its 90 % band; ValueError without."""
    drops = fit.seen.drops
    if drops is None:
        raise ValueError("no drops were fitted; give fit their sheet as well")
    ax = style.new_axes(ax)
    law, shown = restitution_by_speed(fit, np.linspace(2.0, 9.0, 80)), restitutions_of(drops)
    ax.axvspan(4.0, 9.0, color=style.OKABE_ITO["yellow"], alpha=0.18, label="chips land with 4 to 9 m/s")
    ax.fill_between(law["speed"], law["low"], law["high"], color=style.CYCLE[0], alpha=0.2, label="its 90 % band")
    ax.plot(law["speed"], law["estimate"], color=style.CYCLE[0], label="fitted law, grass included")
    ax.plot(shown["speed"], shown["seen"], "o", color=style.CYCLE[1], label="drops by rebound height")
    ax.plot(shown["speed"], shown["heard"], "s", color=style.CYCLE[2], label="drops by sound")
    ax.set_xlim(2.0, 9.0)
    words = "landing speed (m/s)", "speed of take-off over speed of landing"
    return style.finish(ax, *words, "A faster landing gives back less", zero="y", legend="lower left")


@style.picture()
def plot_landing_scatter(fit: Any, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how far chips land from their aim, club by club, with the fitted scatter; ValueError without chips."""
    chips, length = fit.seen.chips, style.LengthUnit(unit)
    if chips is None:
        raise ValueError("no chips were fitted; give fit their sheet as well")
    ax = style.new_axes(ax, height=1.4 + 0.6 * len(chips.clubs))
    error = length.show(np.where(chips.landing_seen, chips.landing - chips.target, np.nan))
    clubs = style.by_club(chips.clubs, style.points)
    for row, (club, look) in enumerate(clubs.items()):
        mine = chips.club == chips.clubs.index(club)
        ends = [cell(fit.estimates, f"club {club}", "landing_sd_at_6_m", name) for name in ("low", "estimate", "high")]
        low, value, high = length.show(np.array(ends))
        ax.plot(error[mine], np.full(mine.sum(), float(row)), alpha=0.75, **look)
        for side in (-1, 1):
            ax.plot([side * low, side * high], [row - 0.22, row - 0.22], color=style.GREY, linewidth=2.5)
            ax.plot([side * value], [row - 0.22], "|", color="black", markersize=10)
    ax.axvline(0.0, color=style.GREY, linewidth=0.8)
    style.name_rows(ax, list(clubs))
    seen = f"{int(np.isfinite(error).sum())} of {error.size} chips were seen to land"
    title = f"Errors of landing; bars: standard deviation at {length.show(6.0):.2g} {length.symbol}, 90 % interval"
    return style.finish(ax, f"{length.label('landed beyond the aim')}; {seen}", "", title, legend="")


@style.picture("golfphys.fit_weeks")
def plot_weeks(fits: Sequence[Any], parameter: str, *, ax: Axes | None = None) -> Axes:
    """Draw a parameter of a player visit by visit with its 90 % intervals, for each club and lie that it has.

    Parameters
    ----------
    fits : sequence of CourseFit
        Of her visits, oldest first.
    parameter : str
        Of their ``estimates``, as ``landing_sd_at_6_m``, ``mis_hit_share``, ``shaft_lean_deg``; ValueError for others.
    """
    rows: dict[str, list[tuple[int, Any]]] = {}
    for visit, fit in enumerate(fits):
        for (part, name), row in fit.estimates.iterrows():
            if name.partition("[")[0] == parameter:
                whose = ", ".join((part.removeprefix("club "), *name.rstrip("]").split("[")[1:]))
                rows.setdefault(whose, []).append((visit, row))
    if not rows:
        raise ValueError(f"parameter is {parameter!r}; expected one in the estimates of the fits")
    ax = style.new_axes(ax)
    for number, (name, look) in enumerate(style.marked(rows).items()):
        at = style.beside_each_other(len(rows), number, len(fits), 0.5)[[visit for visit, _ in rows[name]]]
        low, value, high = np.array([row[["low", "estimate", "high"]] for _, row in rows[name]], float).T
        ax.errorbar(at, value, yerr=np.abs([value - low, high - value]), capsize=3, **look)
    ax.set_xticks(range(len(fits)), labels=[f"visit {number + 1}" for number in range(len(fits))])
    unit = next(iter(rows.values()))[0][1]["unit"]
    words = parameter_words(parameter) + ("" if unit == "1" else f" ({unit})")
    return style.finish(ax, "", words, "From visit to visit, with 90 % intervals")


@style.picture()
def plot_chip_residuals(fit: Any, *, what: str = "rest", ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw standardised residuals of chips against where they landed; mis-hits are ringed, those beyond 6 stand at 6.

    Parameters
    ----------
    what : {"rest", "hang_time", "first_hop", "carry", "landing_side", "side", "hop_time"}
        Which observation; ValueError for another.
    """
    if what not in SEEN:
        raise ValueError(f"what is {what!r}; expected one of: {', '.join(SEEN)}")
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    table = fit.residuals[fit.residuals["what"] == what]
    shown = {"landing": length.show(table["landing"]), "off": table["standardised"].clip(-6.0, 6.0)}
    for club, look in style.by_club(table["club"], style.points).items():
        own = table["club"] == club
        ax.plot(shown["landing"][own], shown["off"][own], **look)
    odd = table["mis_hit"] > 0.5
    ax.plot(shown["landing"][odd], shown["off"][odd], "o", label="taken as mis-hit", **style.RING)
    ax.axhspan(-constants.NORMAL_90, constants.NORMAL_90, color=style.GREY, alpha=0.12)
    ax.set_ylim(-6.4, 6.4)
    words = length.label("landed"), f"{what.replace('_', ' ')}: measured less expected\n(standard deviations)"
    return style.finish(ax, *words, "Residuals of the chips; the band holds 90 %", legend="lower center", ncols=3)


# --- prediction ------------------------------------------------------------------------------------------------------
@style.picture()
def plot_known_rest(known: Mapping[str, pd.DataFrame], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how well the rest of chips is known after each kind of sheet, a bar for each club and sheet.

    Parameters
    ----------
    known : mapping of str to DataFrame
        By what had been measured, the table of a prediction of the same chips (`CourseFit.predict(...).table()`).
    """
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
        ax.hlines(
            place, length.show(table[low]), length.show(table[high]), color=style.CYCLE[0], linewidth=width, label=words
        )
    inside, rest = table["within_90"].to_numpy(bool), length.show(table["rest"].to_numpy(float))
    ax.plot(rest[inside], place[inside], "o", color="black", label="came to rest inside")
    ax.plot(rest[~inside], place[~inside], "X", color=style.CYCLE[1], markersize=8, label="came to rest outside")
    style.name_rows(ax, [f"{club}, {lie}" for club, lie in zip(table["club"], table["lie"], strict=True)])
    ax.tick_params(axis="y", labelsize=8)
    title = f"{int(inside.sum())} of {len(table)} new chips stopped inside their 90 % intervals"
    return style.finish(ax, length.label("rest along the line of play"), "", title, legend="upper right")
