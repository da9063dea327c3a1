"""What sheets of rollouts and films do not inform, and what looks wrong in them, in plain words."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy.stats import linregress

from golfphys.core import constants
from golfphys.core.units import METRES_PER_INCH
from golfphys.fitting.films import Films, TraceLayout, join_films
from golfphys.fitting.results import Posterior, cell, moments
from golfphys.fitting.rollout_layout import RAMP_SD, TERMS, Layout, Priors, Rolls
from golfphys.fitting.rollout_model import MANY, build, one_axis
from golfphys.fitting.search import find_mode
from golfphys.sheets.errors import at_head, placed

OUTLIER = 4.0  # a roll or frame counts as set aside if it misses by more than this many ordinary scatters
# Standard errors from which growth counts as seen, by chance in one course of fifty; and the share of the prior's
# variance above which the data do not inform of it
SEEN, LITTLE = 2.3, 0.8
MOST_SPOTS = 12  # spots that growth is looked for at: the filmed ones and those with most rolls


@dataclass(frozen=True, kw_only=True)
class Rolled:
    """Rolls as they were fitted."""

    sheet: Any  # None where only chips name the spots
    posterior: Posterior
    layout: Layout
    films: Films | None  # those fitted with the rolls

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots, in the order of the sheet."""
        return self.layout.rolls.spots


def cautions(fit: Rolled, table: pd.DataFrame, residuals: pd.DataFrame) -> list[str]:
    """Return every caution that a fit with these estimates and residuals deserves, the gravest first."""
    found = [*_doubts(fit.posterior), *_outliers(fit, residuals), *_many(fit), *_headings(fit), *_few(fit, table)]
    found += [*_speeds(fit), *_slopes(fit, table), *_growth(fit), *_times(fit, residuals), *_scatter(fit, table)]
    return [*found, *standing(fit)]


def standing(fit: Rolled) -> list[str]:
    """Return what is so of every sheet of rolls, and therefore comes last."""
    return [_grain(fit), _scale(fit)]


def counted(number: int, noun: str) -> str:
    """Return so many things in words: no rolls, 1 roll, 2 rolls."""
    return f"{number or 'no'} {noun}{'s' * (number != 1)}"


def _outliers(fit: Rolled, residuals: pd.DataFrame) -> Iterator[str]:
    rolls = fit.layout.rolls
    if (none := rolls.distance < 0.05).any():
        rows = placed(rolls.row[none], rolls.file[none])
        yield f"A distance of nothing stands in {rows}: did the ball leave the ramp, or is it a blank?"
    yield from _odd(
        *(rolls, residuals, 12),
        "{where} ({spot}) was taken as an outlier: {distance:.2f} m was measured where {fitted:.2f} m is expected. "
        "Check the entry; it counts for little.",
        "{} more rolls were taken as outliers; see the column 'standardised' of the residuals.",
    )
    odd = residuals[residuals["standardised"].abs() > OUTLIER]
    if len(odd) > 0.15 * len(residuals) and len(odd) > 1:
        yield (
            f"{len(odd)} of {len(residuals)} rolls do not fit with the others. So many outliers can hide a mixed-up "
            "heading, unit or spot: check the sheet before using the fit."
        )


def _many(fit: Rolled) -> Iterator[str]:
    if len(fit.spots) > MANY and fit.posterior.failure:
        yield (
            f"{len(fit.spots)} spots in one fit, whose draws have failed: what they share, above all the ramp's true "
            "release speed, can be far off, and all resistances and slopes with it, whatever their intervals say. Use "
            "none of its numbers; fit a course or a day at a time."
        )


def _headings(fit: Rolled) -> Iterator[str]:
    rolls = fit.layout.rolls
    spots: dict[str, list[str]] = {kind: [] for kind in HEADINGS}
    for i, spot in enumerate(rolls.spots):
        count = np.unique(np.round(np.degrees(rolls.heading[rolls.spot == i])) % 360.0).size
        if count == 1:
            spots["single"].append(spot)
        elif count and one_axis(rolls, i):
            drifted = spot in fit.layout.chipped or rolls.has_side[rolls.spot == i].any()
            spots["with drift" if drifted else "opposite"].append(spot)
        elif count == 2:
            spots["two"].append(spot)
    yield from (HEADINGS[kind].format(", ".join(names)) for kind, names in spots.items() if names)


HEADINGS = {
    "single": "One heading only at {}: slope along it and resistance are mixed, a slope makes the green look faster or "
    "slower. Roll back the opposite way, and across.",
    "opposite": "Only two opposite headings at {}: they say nothing of cross slope, so steepest grade and fall "
    "direction there are mostly assumption. Add rolls across.",
    "with drift": "Only two opposite headings at {}: cross slope there comes from side drift alone. Rolls across would "
    "show it better.",
    "two": "Two headings at {}, not opposite: resistance and slope there lean on the assumptions. Add the opposite "
    "headings.",
}


def _few(fit: Rolled, table: pd.DataFrame) -> Iterator[str]:
    rolls = fit.layout.rolls
    if few := [spot for i, spot in enumerate(rolls.spots) if np.sum(rolls.spot == i) < 4]:
        borrowed = " It borrows from the other spots." if fit.layout.names.has("between_spots") else ""
        yield f"Fewer than four rolls at {', '.join(few)}: too few for resistance and slope.{borrowed}"
    if len(rolls.row) < 8:
        yield (
            f"Only {counted(len(rolls.row), 'roll')} in all: how much single rolls scatter rests on the published "
            f"figure ({constants.ROLLOUT_SCATTER.value / METRES_PER_INCH:.2f} in), and so do all intervals."
        )
    vague = [spot for spot in fit.spots if cell(table, spot, "resistance", "informed") == 0]
    if vague and not fit.posterior.failure:  # with which nothing counts as informed
        yield f"Resistance and green speed at {', '.join(vague)} rest mostly on what greens usually are."


def _speeds(fit: Rolled) -> Iterator[str]:
    speed, law = fit.layout.rolls.speed, fit.layout.law
    known = all(fit.posterior.narrowed(term) for term in TERMS[law][:1])
    if fit.films is not None and known:  # which show how the ball slows down
        return
    if float(speed.max()) > 1.15 * float(speed.min()):
        if not known:
            yield "The release speeds are too close, or the rolls too few, to show how resistance depends on speed."
    elif law == "constant":
        yield (
            "One release speed only: the sheet cannot show whether resistance depends on speed. The fit holds for "
            "rolls of about this length."
        )
    else:
        yield (
            "One release speed only: growth of resistance with speed is the assumption, not a result; resistance at "
            "rest and its growth are mixed."
        )


def _grain(fit: Rolled) -> str:
    if not fit.layout.grain:
        return "In general: a grain, if there is one, shows here as slope, for distances alone cannot tell them apart."
    if fit.layout.rolls.has_side.any():
        return "Side drift alone separates grain from slope (slope turns a ball, grain does not): its interval is wide."
    return (
        "Distances alone cannot separate grain from slope: how they share what the headings show is assumption. "
        "Noting side drift would help, as would a level."
    )


def _slopes(fit: Rolled, table: pd.DataFrame) -> Iterator[str]:
    known = [spot for spot in fit.spots if cell(table, spot, "grade", "informed") > 0]
    if flat := [spot for spot in known if cell(table, spot, "grade", "low") == 0.0]:
        yield f"Slope is not resolved at {', '.join(flat)}: it may be level, and its direction is not known."
    for spot in fit.spots:
        grade, resistance = (cell(table, spot, name) for name in ("grade", "resistance"))
        steepest, most = (cell(table, spot, name, "high") for name in ("grade", "resistance"))
        if (spot in known or fit.posterior.failure) and grade > 0.5 * resistance:
            yield (
                f"The slope at {spot} ({100 * grade:.1f} %, up to {100 * steepest:.1f} %) is near what never stops a "
                f"ball ({100 * most:.1f} %): downhill rolls there are very long and sensitive."
            )


def _growth(fit: Rolled) -> Iterator[str]:
    rolls, names = fit.layout.rolls, fit.layout.names
    if fit.layout.law != "constant" or rolls.session is not None:
        return
    if fit.films is None and np.ptp(np.log(rolls.speed)) < 0.15:
        return
    model = fit.posterior.model
    sd = model.parameter("release_speed_scale").spread if names.has("release_speed_scale") else 0.0
    grown, error = growth(rolls, fit.films, release_speed_sd=sd)
    if abs(grown) >= SEEN * error:
        yield (
            f"Resistance seems to depend on speed: it {'grows' if grown > 0 else 'falls'} by {abs(grown):.4f} for each "
            f"m/s, give or take {error:.4f}. Compare the laws (fit.rollouts.comparison) and refit with law='linear'."
        )


def _times(fit: Rolled, residuals: pd.DataFrame) -> Iterator[str]:
    times = fit.sheet.frame.get("measured_at")
    if times is None or bool(times.isna().any()) or fit.layout.rolls.session is not None:
        return
    hours = times.to_numpy().astype("datetime64[s]").astype(float) / 3600.0
    ordered = np.sort(hours)
    session = pd.Series(np.searchsorted(ordered[1:][np.diff(ordered) > 1.0], hours, side="right"), times.index)
    if (session.groupby(fit.sheet.frame["spot"]).nunique() > 1).any():  # else every green is of one session
        yield (
            f"The rolls were measured over {ordered[-1] - ordered[0]:.0f} hours with pauses: the fit averages over "
            "them. Greens change within hours (fit the sheet with session_gap_hours=1)."
        )
        return
    u = residuals["standardised"].to_numpy(dtype=float)
    kept = np.abs(u) <= OUTLIER
    hours, u = hours[kept], u[kept]
    if len(u) >= 12 and np.ptp(hours) > 0.5:
        trend = linregress(hours, u)
        if abs(trend.slope) > 3.0 * trend.stderr:
            way = "longer" if trend.slope > 0 else "shorter"
            yield f"Later rolls run {way} than earlier ones: the green seems to have changed while it was measured."


def _scatter(fit: Rolled, table: pd.DataFrame) -> Iterator[str]:
    rolls, single = fit.layout.rolls, cell(table, "all", "scatter_single_roll")
    if single > max(0.25, 0.09 * float(np.median(rolls.distance))) and len(rolls.row) >= 8:
        yield (
            f"Single rolls scatter by {single:.2f} m, far more than on a good green "
            f"({constants.ROLLOUT_SCATTER.value:.2f} m published): check headings, ramp and marks."
        )


def _scale(fit: Rolled) -> str:
    if not fit.layout.names.has("release_speed_scale"):
        return "Release speeds were taken as exact: an error of 1 % in them is one of 2 % in resistance and grade."
    spread = fit.posterior.model.parameter("release_speed_scale").spread
    if fit.posterior.narrowed("release_speed_scale"):  # films time the ball
        spread = moments(fit.posterior.column("release_speed_scale"), fit.posterior.weights)[1]
    return (
        f"In general: the ramp's true release speed is known to {100 * spread:.1f} %, so all resistances and slopes "
        f"may be off by {200 * spread:.1f} % together. Green speed is what this ramp reads, so it is spared."
    )


def _doubts(source: Posterior) -> Iterator[str]:
    if not source.converged:
        yield "The search for the best fit did not settle: look at the residuals before using the numbers."
    if source.failure:
        yield source.failure


def film_cautions(layout: TraceLayout, source: Posterior, residuals: pd.DataFrame) -> list[str]:
    """Return every caution that a fit of films with these residuals deserves, the gravest first."""
    films = layout.films
    odd = "{where} ({roll}, {time:.3f} s) was set aside: {distance:.2f} m was read where {fitted:.2f} m is expected."
    found = [*_doubts(source), *_odd(films, residuals, 8, odd, "{} more frames were set aside.")]
    if alone := [name for name, shared in zip(films.names, layout.shared, strict=True) if not shared]:
        found.append(
            f"Films of {', '.join(alone)} show how fast the ball slows down, which is resistance plus the slope along "
            "the path; how the two share it is assumption. Film the opposite heading at the same spot as well, or join "
            "the films to a sheet of rollouts."
        )
    if layout.names.has("friction") and not source.narrowed("friction"):
        found.append(
            "The films hardly inform the sliding friction: the skid is short, and the spin at its start is not "
            "known. Film from closer with more frames a second, or note that the putt was struck without spin."
        )
    if blank := [name for name, kind in zip(films.names, films.kinds, strict=True) if kind == ""]:
        found.append(f"How the ball was set off is not noted for {', '.join(blank)}: it was taken as rolling at once.")
    return [*found, *film_standing(layout, source)]


def film_standing(layout: TraceLayout, source: Posterior) -> list[str]:
    """Return what is so of every film, and therefore comes last."""
    percent = 100 * max(source.model.parameters[i].spread for i in source.model.names.columns("film_scale"))
    allowed = f"In general: an error of scale of a film ({percent:.1f} % allowed)"
    law = {"constant": "Resistance was taken as constant; law='linear' asks the films whether it grows with speed."}
    straight = "With a linear law the path is taken as straight: film up and down the fall line."
    scale = f"{allowed} goes straight into resistance: speeds and distances share it."
    return [scale, law.get(layout.films.law, straight)]


def _odd(sheet: Any, residuals: pd.DataFrame, most: int, said: str, more: str) -> Iterator[str]:
    """Name so many of the rows at most that are far from the others."""
    odd = residuals[residuals["standardised"].abs() > OUTLIER]
    for at, line in odd.head(most).iterrows():
        yield said.format(where=at_head(sheet, residuals.index == at), **line)
    if len(odd) > most:
        yield more.format(len(odd) - most)


def growth(rolls: Rolls, films: Films | None = None, *, release_speed_sd: float = RAMP_SD) -> tuple[float, float]:
    """Return how resistance grows with speed, s/m, and its standard error, from the data alone.

    The normal approximation at the mode of the linear law, for rolls of one release speed or several and films on the
    same spots; the prior of the growth itself is taken out again. The error is infinite where nothing informs it.
    """
    filmed = np.isin(rolls.spots, () if films is None else films.spots)
    most = np.argsort(-np.bincount(rolls.spot, minlength=len(rolls.spots)) - 1e6 * filmed, kind="stable")[:MOST_SPOTS]
    rolls = rolls.at_spots(sorted(most.tolist()))
    model, layout = build(rolls, law="linear", release_speed_sd=release_speed_sd)
    if films is not None:
        model, _ = join_films(model, replace(films, law="linear"), reference_speed=layout.reference_speed)
    mode = find_mode(model)
    column = model.names.column("linear")
    at, value = int((~model.outer[:column]).sum()), float(mode.point[column])
    variance, usual = float(mode.covariance[at, at]), Priors().term_spread["linear"] ** 2
    if variance > LITTLE * usual:
        return 0.0, math.inf
    error = 1.0 / (1.0 / variance - 1.0 / usual)
    return value * error / variance, math.sqrt(error)
