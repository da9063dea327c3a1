"""Pictures of fits: rolls, films, turf and player, and plans of what to roll."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.names import Key
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.chips import SEEN
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.results import cell
from golfphys.fitting.rollout_fit import RolloutFit, TraceFit
from golfphys.fitting.rollout_layout import POWERS
from golfphys.fitting.turf import GRAVITY, take_off
from golfphys.show import style
from golfphys.show.markup import escape, parameter_words
from golfphys.show.style import Axes

AnyFit = RolloutFit | CourseFit


# --- rolls and greens ------------------------------------------------------------------------------------------------
@style.picture()
def plot_rollout_fit(fit: RolloutFit, spot: str | None = None, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw measured rolls by heading as seen from above, with the fitted distance, its 90 % band and the fall.

    Headings are clockwise from the sheet's reference line, which points up; an arrow points downhill, with an arc for
    its 90 % interval. The spot is the first if left out; ValueError if there is none such or `ax` is not polar.
    """
    ax, length = style.new_axes(ax, 6.6, 5.8, projection="polar"), style.LengthUnit(unit)
    if ax.name != "polar":
        raise ValueError('ax is not polar; make it with projection="polar"')
    spots = list(dict.fromkeys(fit.sheet.frame["spot"]))
    spot = spots[0] if spot is None else spot
    if spot not in spots:
        raise ValueError(f"spot is {spot!r}; expected one of {', '.join(map(repr, spots))}")
    polar: Any = ax
    polar.set_theta_zero_location("N")
    polar.set_theta_direction(-1)
    farthest = _rolls_around(ax, fit, spot, length)
    _fall(ax, fit.estimates, spot, 1.12 * farthest)
    polar.set_rlim(0.0, 1.2 * farthest)
    pointing = getattr(fit.sheet, "reference_line", None)
    title = [f"{spot}: rolls by heading ({length.symbol}), fit and 90 % band of single rolls"]
    title.append(f"0 deg is the reference line: {pointing}" if pointing else "0 deg is the sheet's reference line")
    beside: dict[str, Any] = {"title": "released at", "bbox_to_anchor": (0.98, 0.0)}
    return style.finish(ax, "", "", "\n".join(escape(line, "figure") for line in title), legend="lower left", **beside)


def _rolls_around(ax: Axes, fit: RolloutFit, spot: str, length: style.LengthUnit) -> float:
    """Draw rolls and fit in one colour for each release speed; return the farthest."""
    rolls = fit.sheet.frame[fit.sheet.frame["spot"] == spot]
    around = np.linspace(0.0, 2.0 * math.pi, 73)
    speeds = rolls["release_speed"].round(2)
    named = {f"{speed:.2f} m/s": speed for speed in sorted(speeds.unique())}
    farthest = float(length.show(rolls["distance"].max()))
    for name, look in style.looks(named, "points").items():
        expected = fit.predict(spot, around, named[name])
        low, value, high = (length.show(expected[n].to_numpy()) for n in ("roll_low", "distance", "roll_high"))
        ax.fill_between(around, low, high, color=look["color"], alpha=0.18, linewidth=0)
        ax.plot(around, value, color=look["color"], label=f"_fit {name}")
        same = rolls[speeds == named[name]]
        ax.plot(same["heading"], length.show(same["distance"]), alpha=0.8, **look)
        farthest = max(farthest, float(np.max(high[np.isfinite(high)], initial=0.0)))
    return farthest


def _fall(ax: Axes, estimates: pd.DataFrame, spot: str, radius: float) -> None:
    """Draw an arrow at the rim that points downhill, and an arc for the 90 % interval, where the rolls show it."""
    if (spot, "fall_direction_deg") not in estimates.index:
        return
    ends = (cell(estimates, spot, "fall_direction_deg", name) for name in ("low", "estimate", "high"))
    low, towards, high = map(math.radians, ends)
    if not np.isfinite(towards):
        ax.text(0.02, 0.02, "fall not known", transform=ax.transAxes, fontsize=9, color=style.GREY)
        return
    if np.isfinite([low, high]).all() and high - low < 2 * math.pi:
        arc = np.linspace(low, high, 60)
        ax.plot(arc, np.full(60, radius), color="black", linewidth=4, alpha=0.25, label="_fall")
    arrow = {"arrowstyle": "-|>", "color": "black", "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0}
    polar: Any = ax
    polar.set_rlabel_position(np.degrees(towards) + 135.0)  # out of the arrow's way
    ax.annotate("", (towards, 1.07 * radius), (towards, 0.86 * radius), arrowprops=arrow, annotation_clip=False)
    box = {"boxstyle": "round,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.7}
    place: dict[str, Any] = {"ha": "center", "va": "center", "fontsize": 9, "color": "black"}
    ax.annotate("downhill", (towards, 0.83 * radius), bbox=box, **place)


@style.picture()
def plot_green_speeds(fit: AnyFit, *, ax: Axes | None = None, unit: str = "ft") -> Axes:
    """Draw each spot's green speed with its 90 % interval; ValueError if the fit has none."""
    if "stimp_m" not in fit.estimates.index.get_level_values(1):
        raise ValueError("the fit's estimates have no parameter stimp_m")
    length = style.LengthUnit(unit)
    ax = _by_spot({"": length.show(_intervals(fit, "stimp_m"))}, ax)
    words = length.label("green speed on the level, with 90 % interval")
    return style.finish(ax, words, "", "Green speed by spot", legend="")


@style.picture()
def plot_agreement(
    fits: Mapping[str, AnyFit], parameter: str, *, scale: float = 1.0, label: str = "", ax: Axes | None = None
) -> Axes:
    """Draw the 90 % intervals of one parameter of the estimates at every spot, as several fits, by name, have them."""
    ax = _by_spot({name: scale * _intervals(fit, parameter) for name, fit in fits.items()}, ax)
    title = "The same sheet, fitted in several ways (bars: 90 %)"
    return style.finish(ax, label or parameter_words(parameter), "", title, legend="beside")


def _intervals(fit: AnyFit, parameter: str) -> pd.DataFrame:
    return pd.DataFrame(fit.estimates.xs(parameter, level=1)[["low", "estimate", "high"]])


def _by_spot(tables: Mapping[str, pd.DataFrame], ax: Axes | None) -> Axes:
    """Draw an interval from each table for every spot that any of them has."""
    spots = list(dict.fromkeys(spot for table in tables.values() for spot in table.index))
    ax = style.new_axes(ax, 7.0, 1.4 + (0.36 + 0.12 * len(tables)) * len(spots))
    for number, (name, look) in enumerate(style.looks(tables, "points").items()):
        height = style.beside_each_other(len(tables), number, len(spots), 0.18 * len(tables))
        table = tables[name].reindex(spots)
        for at in height[~np.isfinite(table["estimate"].to_numpy(float))]:
            ax.annotate(" not known", (0.0, at), xycoords=("axes fraction", "data"), va="center", color=look["color"])
        (low, value, high), cap = table.to_numpy(float).T, 3 if len(tables) > 1 else 4
        ax.errorbar(value, height, xerr=np.abs([value - low, high - value]), elinewidth=1.8, capsize=cap, **look)
    style.name_rows(ax, spots)
    return ax


@style.picture()
def plot_residuals(fit: RolloutFit, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how far each roll lies from its fit, against the distance expected; outliers are ringed."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    table = fit.residuals
    rolls = {spot: length.show(own[["fitted", "residual"]]) for spot, own in table.groupby("spot", sort=False)}
    style.curves(ax, {spot: (own["fitted"], own["residual"]) for spot, own in rolls.items()}, "points", alpha=0.85)
    x, y = (length.show(table.loc[table["ordinary"] < 0.5, name]) for name in ("fitted", "residual"))
    ax.plot(x, y, "o", label="taken as outlier", **style.RING)
    ax.axhline(0.0, color=style.GREY, linewidth=1.0)
    words = length.label("distance expected"), length.label("measured less expected")
    return style.finish(ax, *words, "Residuals of the rolls", legend="beside")


@style.picture("golfphys.compare_laws(...).fits")
def plot_resistance_by_speed(fits: Mapping[str, RolloutFit], spot: str, *, ax: Axes | None = None) -> Axes:
    """Draw the resistance against speed that each fit has at a spot, with 90 % bands."""
    ax, speeds, lines = style.new_axes(ax), np.linspace(0.0, 2.0, 41), {}
    for name, fit in fits.items():
        law = fit.greens(spot, 2000, seed=0).resistance
        terms = {"constant": 0.0, **POWERS}
        along = sum(np.reshape(getattr(law, term), (-1, 1)) * speeds**power for term, power in terms.items())
        lines[f"{name} in speed"] = speeds, *_band(along)
    style.curves(ax, lines)
    words = "speed of the ball (m/s)", "rolling resistance"
    return style.finish(ax, *words, "Does resistance depend on speed?", zero="x")


def _band(drawn: Any) -> Any:
    """Return median, low and high of draws."""
    return np.quantile(drawn, [0.5, 0.05, 0.95], axis=0)


@style.picture("golfphys.fit(sheet, session_gap_hours=1.0).series.table")
def plot_series(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "ft") -> Axes:
    """Draw green speed against time of day, spot by spot, with 90 % intervals."""
    from matplotlib import dates

    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    shown = length.show(table[["stimp_low", "stimp_ft", "stimp_high"]] * METRES_PER_FOOT)
    for spot, look in style.looks(table["spot"].unique(), "both").items():
        own = table["spot"] == spot
        low, value, high = shown[own].to_numpy().T
        ax.errorbar(table.loc[own, "time"], value, yerr=np.abs([value - low, high - value]), capsize=4, **look)
    if table["time"].nunique() == 1:  # an axis without width has no ticks
        hour, time = pd.Timedelta(hours=1), table["time"].iloc[0]
        ax.set_xlim(time - hour, time + hour)
    locator: Any = dates.AutoDateLocator(maxticks=8)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_locator(locator)
    ax.xaxis.set_major_formatter(dates.ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]
    return style.finish(ax, "time", length.label("green speed, with 90 % interval"), "How the green changed")


@style.picture("fit.draws of each fit, by name,")
def plot_mixed(
    draws: Mapping[str, pd.DataFrame], x: tuple[str, str], y: tuple[str, str], *, ax: Axes | None = None
) -> Axes:
    """Draw two parameters against each other, as several fits leave them open: a long thin cloud is a mixture.

    `x` and `y` are columns of the draws, as (spot, parameter); the vaguest fit comes first.
    """
    ax = style.new_axes(ax, 5.2, 4.4)
    clouds = {name: (drawn[x], drawn[y]) for name, drawn in draws.items()}
    style.curves(ax, clouds, "points", markersize=2.5, alpha=0.3, markeredgewidth=0)
    words = parameter_words(x[1]), parameter_words(y[1])
    style.finish(ax, *words, "Two parameters that one sheet may confound", markerscale=3.0)
    for handle in ax.get_legend().legend_handles:  # type: ignore[union-attr]
        if handle is not None:
            handle.set_alpha(1.0)
    return ax


@style.picture("golfphys.compare_plans")
def plot_plans(
    table: pd.DataFrame, parameter: str, *, scale: float = 1.0, label: str = "", ax: Axes | None = None
) -> Axes:
    """Draw the interval of a parameter that each planned sheet promises, on a logarithmic axis, with the rolls."""
    from matplotlib import ticker

    ax = style.new_axes(ax, 7.0, 1.3 + 0.42 * len(table))
    height, width = np.arange(len(table)), scale * table[parameter].to_numpy(float)
    known = np.isfinite(width) & (width > 0)
    ax.hlines(height[known], 0.0, width[known], color=style.GREY, linewidth=0.8, linestyle=(0, (1, 2)))
    ax.plot(width[known], height[known], "o", color=style.CYCLE[0], markersize=8)
    usual = width[known] if known.any() else np.ones(1)
    beside: dict[str, Any] = {"xytext": (9, 0), "textcoords": "offset points", "va": "center"}
    for at, wide, rolls, there in zip(height, width, table["rolls"], known, strict=True):
        words = f"{wide:.2g}  ({int(rolls)} rolls)" if there else f"not known  ({int(rolls)} rolls)"
        ax.annotate(words, (wide if there else 0.7 * usual.min(), at), **beside)
    style.name_rows(ax, list(table.index))
    ax.set_xscale("log")
    ax.set_xlim(0.7 * float(usual.min()), 4.0 * float(usual.max()))
    ax.xaxis.set_major_locator(ticker.LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter("{x:g}")
    ax.xaxis.set_minor_formatter(ticker.NullFormatter())
    words = label or f"half of the 90 % interval: {parameter_words(parameter)}"
    return style.finish(ax, words, "", "How precise each plan would be", legend="")


# --- films -----------------------------------------------------------------------------------------------------------
@style.picture()
def plot_trace(fit: TraceFit, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw distance against time of every filmed roll: frames as points, the fit as lines."""
    length = style.LengthUnit(unit)
    films = {str(name): own for name, own in fit.residuals.groupby("roll", sort=False)}
    pale: dict[str, Any] = {"markersize": 6, "alpha": 0.35, "markeredgewidth": 0, "markevery": 4}
    ax = _filmed(films, "distance", length.show, ax, **pale)
    return style.finish(ax, "time (s)", length.label("distance along the path"), "Filmed rolls: frames and fit")


@style.picture()
def plot_trace_speeds(fit: TraceFit, *, over: float = 0.2, ax: Axes | None = None) -> Axes:
    """Draw the speed of filmed rolls against time, as read from the frames (points) and as fitted (lines).

    Each over stretches of `over` s: frames nearer to each other would show the reading error.
    """
    speeds = {}
    for name, frames in fit.residuals.groupby("roll", sort=False):
        picked = frames.iloc[:: max(1, round(over / float(np.median(np.diff(frames["time"])))))]
        steps = picked[["time", "distance", "fitted"]].diff().iloc[1:]
        rates = {"speed": steps["distance"] / steps["time"], "fitted": steps["fitted"] / steps["time"]}
        speeds[str(name)] = pd.DataFrame({"time": picked["time"].iloc[1:] - steps["time"] / 2, **rates})
    ax = _filmed(speeds, "speed", lambda speed: speed, ax)
    title = "Speed of filmed rolls: frames (points) and fit (line)"
    return style.finish(ax, "time (s)", "speed (m/s)", title, zero="xy")


def _filmed(films: Mapping[str, pd.DataFrame], column: str, show: Any, ax: Axes | None, **dots: Any) -> Axes:
    ax = style.new_axes(ax)
    for name, look in style.looks(films, "points").items():
        ax.plot(films[name]["time"], show(films[name][column]), **(look | dots | {"label": f"_{name}"}))
    style.curves(ax, {name: (film["time"], show(film["fitted"])) for name, film in films.items()})
    return ax


# --- turf and player -------------------------------------------------------------------------------------------------
@style.picture()
def plot_drops(fit: CourseFit, *, ax: Axes | None = None) -> Axes:
    """Draw restitution against landing speed: each drop, and the fitted law with its 90 % band; ValueError without."""
    drops = fit.seen.drops
    if drops is None:
        raise ValueError("no drops were fitted; give fit their sheet as well")
    ax = style.new_axes(ax)
    drawn, speeds = fit.posterior.draws(400, 0), np.linspace(2.0, 9.0, 80)
    values = drawn.names.by_member(drawn.natural[:, None], "turf")
    law, low, high = _band(take_off(values, speeds) / speeds)
    landing = np.sqrt(2 * GRAVITY * drops.height)
    seen, heard = np.sqrt(drops.rebound / drops.height), GRAVITY * drops.first / (2 * landing)
    ax.axvspan(4.0, 9.0, color=style.OKABE_ITO["yellow"], alpha=0.18, label="chips land with 4 to 9 m/s")
    ax.fill_between(speeds, low, high, color=style.CYCLE[0], alpha=0.2, label="90 % band of the law")
    ax.plot(speeds, law, color=style.CYCLE[0], label="fitted law, grass included")
    ax.plot(landing, seen, "o", color=style.CYCLE[1], label="drops by rebound height")
    ax.plot(landing, heard, "s", color=style.CYCLE[2], label="drops by sound")
    ax.set_xlim(2.0, 9.0)
    words = "landing speed (m/s)", "speed of take-off over speed of landing"
    return style.finish(ax, *words, "A faster landing gives back less", zero="y", legend="lower left")


@style.picture()
def plot_landing_scatter(fit: CourseFit, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how far chips land from their aim, club by club, with the fitted scatter; ValueError without chips."""
    chips, length = fit.seen.chips, style.LengthUnit(unit)
    if chips is None:
        raise ValueError("no chips were fitted; give fit their sheet as well")
    ax = style.new_axes(ax, height=1.4 + 0.6 * len(chips.clubs))
    error = length.show(np.where(chips.landing_seen, chips.landing - chips.target, np.nan))
    clubs = style.by_club(chips.clubs, "points")
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
def plot_weeks(fits: Sequence[CourseFit], parameter: str, *, ax: Axes | None = None) -> Axes:
    """Draw a parameter of a player visit by visit with its 90 % intervals, for each club and lie that it has.

    Of the estimates, as ``landing_sd_at_6_m``, ``mis_hit_share``, ``shaft_lean_deg``; ValueError for others. The fits
    of her visits come oldest first.
    """
    rows: dict[str, list[tuple[int, Any]]] = {}
    for visit, fit in enumerate(fits):
        for line, (part, name) in enumerate(fit.estimates.index):
            key = Key.read(name)
            if key.name == parameter:
                whose = ", ".join(filter(None, (part.removeprefix("club "), key.of)))
                rows.setdefault(whose, []).append((visit, fit.estimates.iloc[line]))
    if not rows:
        raise ValueError(f"parameter is {parameter!r}; expected one in the estimates of the fits")
    ax = style.new_axes(ax)
    for number, (name, look) in enumerate(style.looks(rows, "both").items()):
        at = style.beside_each_other(len(rows), number, len(fits), 0.5)[[visit for visit, _ in rows[name]]]
        low, value, high = np.array([row[["low", "estimate", "high"]] for _, row in rows[name]], float).T
        ax.errorbar(at, value, yerr=np.abs([value - low, high - value]), capsize=3, **look)
    ax.set_xticks(range(len(fits)), labels=[f"visit {number + 1}" for number in range(len(fits))])
    unit = next(iter(rows.values()))[0][1]["unit"]
    words = parameter_words(parameter) + ("" if unit == "1" else f" ({unit})")
    return style.finish(ax, "", words, "From visit to visit, with 90 % intervals", legend="beside")


@style.picture()
def plot_chip_residuals(fit: CourseFit, *, what: str = "rest", ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw standardised residuals of chips against where they landed; mis-hits are ringed, those beyond 6 stand at 6.

    `what` is rest, hang_time, first_hop, carry, landing_side, side or hop_time; ValueError for another.
    """
    if what not in SEEN:
        raise ValueError(f"what is {what!r}; expected one of: {', '.join(SEEN)}")
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    table = fit.residuals[fit.residuals["what"] == what]
    shown = {"landing": length.show(table["landing"]), "off": table["standardised"].clip(-6.0, 6.0)}
    for club, look in style.by_club(table["club"], "points").items():
        own = table["club"] == club
        ax.plot(shown["landing"][own], shown["off"][own], **look)
    odd = table["mis_hit"] > 0.5
    ax.plot(shown["landing"][odd], shown["off"][odd], "o", label="taken as mis-hit", **style.RING)
    ax.axhspan(-constants.NORMAL_90, constants.NORMAL_90, color=style.GREY, alpha=0.12)
    ax.set_ylim(-6.4, 6.4)
    words = length.label("landed"), f"{what.replace('_', ' ')}: measured less expected\n(standard deviations)"
    return style.finish(ax, *words, "Residuals of the chips; the band holds 90 %", legend="lower center", ncols=3)
