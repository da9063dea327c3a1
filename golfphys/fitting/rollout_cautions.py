"""What a sheet of rollouts does not inform, and what looks wrong in it, in plain words."""

import math
from dataclasses import replace
from typing import Any, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_INCH
from golfphys.fitting.films import Films, TraceLayout, join_films
from golfphys.fitting.intervals import cell
from golfphys.fitting.results import Posterior
from golfphys.fitting.rollout_layout import RAMP_SD, TERMS, Law, Layout, Priors, Rolls
from golfphys.fitting.rollout_model import build, one_axis
from golfphys.fitting.search import find_mode

Array = NDArray[np.float64]

MANY = 48
"""Spots in one fit above which a caution says that the intervals of their slopes are too narrow, if they are."""

OUTLIER = 4.0
"""A roll counts as set aside if it misses by more than this many ordinary scatters."""


SEEN = 2.3
"""Standard errors from which growth counts as seen: by chance in one course of fifty."""

LITTLE = 0.8
"""Part of the prior's variance above which the data do not inform of growth."""

MOST_SPOTS = 12
"""Spots that are looked at: the filmed ones and those with most rolls."""


class Rolling(Protocol):
    """What cautions and reports ask of a fit of rolls, `golfphys.fitting.rollout_fit.RolloutFit`."""

    @property
    def sheet(self) -> Any:
        """The sheet of rollouts."""

    @property
    def law(self) -> Law:
        """How resistance was taken to depend on speed."""

    @property
    def posterior(self) -> Posterior:
        """Draws of all parameters."""

    @property
    def layout(self) -> Layout:
        """Where each quantity stands among the parameters."""

    @property
    def film_layout(self) -> TraceLayout | None:
        """The same for filmed rolls."""

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots."""

    @property
    def estimates(self) -> pd.DataFrame:
        """By spot and parameter."""

    @property
    def residuals(self) -> pd.DataFrame:
        """One line for each roll."""

    @property
    def cautions(self) -> list[str]:
        """In plain sentences."""


def cautions(fit: Rolling) -> list[str]:
    """Return every caution that a fit deserves, the gravest first."""
    found = [*_zeros(fit), *_outliers(fit), *_many(fit), *_headings(fit), *_few(fit), *_speeds(fit)]
    return [*found, *_grain(fit), *_slopes(fit), *_patterns(fit), *_scatter(fit), *_scale(fit), *_shape(fit)]


def _zeros(fit: Rolling) -> list[str]:
    rolls = fit.layout.rolls
    rows = [str(row) for row in rolls.row[rolls.distance < 0.05]]
    if not rows:
        return []
    return [f"A distance of nothing stands in row(s) {', '.join(rows)}: did the ball leave the ramp, or is it a blank?"]


def _outliers(fit: Rolling) -> list[str]:
    residuals = fit.residuals
    odd = residuals[residuals["standardised"].abs() > OUTLIER]
    found = []
    for _, line in odd.head(12).iterrows():
        found.append(
            f"Row {int(line['row'])} ({line['spot']}) was taken as an outlier: {line['distance']:.2f} m was measured "
            f"where {line['fitted']:.2f} m is expected. Check the entry; it counts for little."
        )
    if len(odd) > 12:
        found.append(
            f"{len(odd) - 12} more rolls were taken as outliers; see the column 'standardised' of the residuals."
        )
    if len(odd) > 0.15 * len(residuals) and len(odd) > 1:
        found.append(
            f"{len(odd)} of {len(residuals)} rolls do not fit with the others. So many outliers can hide a mixed-up "
            "heading, unit or spot: check the sheet before using the fit."
        )
    return found


def _many(fit: Rolling) -> list[str]:
    if len(fit.spots) <= MANY or "steepness" in fit.posterior.model.names:
        return []
    text = (
        f"{len(fit.spots)} spots in one fit: what they share, above all the ramp's true release speed, leans on how "
        "steep greens are assumed to be, and intervals of the slopes come out too narrow. On invented sheets those "
        "of 90 % held 89 % of the slopes at 32 spots, and 80 % at 110 fitted so: fit a course or a day at a time."
    )
    return [text]


def _headings(fit: Rolling) -> list[str]:
    rolls = fit.layout.rolls
    single: list[str] = []
    opposite: list[str] = []
    missing: list[str] = []
    almost: list[str] = []
    for i, spot in enumerate(rolls.spots):
        headings = rolls.headings_at(i)
        side = rolls.has_side[rolls.spot == i].any()
        if len(headings) == 0:
            continue
        if len(headings) == 1:
            single.append(spot)
        elif one_axis(rolls, i):
            (almost if side else opposite).append(spot)
        elif len(headings) == 2:
            missing.append(spot)
    found = []
    if single:
        found.append(
            f"One heading only at {', '.join(single)}: slope along it and resistance are mixed, a slope makes the "
            "green look faster or slower. Roll back the opposite way, and across."
        )
    if opposite:
        found.append(
            f"Only two opposite headings at {', '.join(opposite)}: they say nothing of cross slope, so steepest grade "
            "and fall direction there are mostly assumption. Add rolls across."
        )
    if almost:
        found.append(
            f"Only two opposite headings at {', '.join(almost)}: cross slope there comes from side drift alone. "
            "Rolls across would show it better."
        )
    if missing:
        found.append(
            f"Two headings at {', '.join(missing)}, not opposite: resistance and slope there lean on the assumptions. "
            "Add the opposite headings."
        )
    return found


def _few(fit: Rolling) -> list[str]:
    rolls = fit.layout.rolls
    few = [spot for i, spot in enumerate(rolls.spots) if np.sum(rolls.spot == i) < 4]
    found = []
    if few:
        borrowed = " It borrows from the other spots." if "between_spots" in fit.layout.names else ""
        found.append(f"Fewer than four rolls at {', '.join(few)}: too few for resistance and slope.{borrowed}")
    if len(rolls.row) < 8:
        found.append(
            f"Only {len(rolls.row)} roll(s) in all: how much single rolls scatter rests on the published figure "
            f"({constants.ROLLOUT_SCATTER.value / METRES_PER_INCH:.2f} in), and so do all intervals."
        )
    table = fit.estimates
    vague = [spot for spot in fit.spots if cell(table, spot, "resistance", "informed") == 0]
    if vague:
        found.append(f"Resistance and green speed at {', '.join(vague)} rest mostly on what greens usually are.")
    return found


def _speeds(fit: Rolling) -> list[str]:
    rolls = fit.layout.rolls
    lowest, highest = float(rolls.speed.min()), float(rolls.speed.max())
    if highest > 1.15 * lowest:
        if any(not fit.posterior.narrowed(term) for term in TERMS[fit.law][:1]):
            return ["The release speeds are too close, or the rolls too few, to show how resistance depends on speed."]
        return []
    if fit.law == "constant":
        text = (
            "One release speed only: the sheet cannot show whether resistance depends on speed. The fit holds for "
            "rolls of about this length."
        )
        return [text]
    text = (
        "One release speed only: growth of resistance with speed is the assumption, not a result; resistance at rest "
        "and its growth are mixed."
    )
    return [text]


def _grain(fit: Rolling) -> list[str]:
    if not fit.layout.grain:
        text = (
            "No grain was assumed: distances alone cannot separate it from slope, so a grain would show here as slope."
        )
        return [text]
    if fit.layout.rolls.has_side.any():
        text = "Side drift alone separates grain from slope (slope turns a ball, grain does not): its interval is wide."
        return [text]
    text = (
        "Distances alone cannot separate grain from slope: how they share what the headings show is assumption. "
        "Noting side drift would help, as would a level."
    )
    return [text]


def _slopes(fit: Rolling) -> list[str]:
    table = fit.estimates
    found = []
    flat = [
        spot
        for spot in fit.spots
        if cell(table, spot, "grade", "low") == 0.0 and cell(table, spot, "grade", "informed") > 0
    ]
    if flat:
        found.append(f"Slope is not resolved at {', '.join(flat)}: it may be level, and its direction is not known.")
    for spot in fit.spots:
        grade, resistance = (cell(table, spot, name) for name in ("grade", "resistance"))
        steepest, most = (cell(table, spot, name, "high") for name in ("grade", "resistance"))
        seen = cell(table, spot, "grade", "informed") > 0 or bool(fit.posterior.failure)
        if seen and grade > 0.5 * resistance:
            found.append(
                f"The slope at {spot} ({100 * grade:.1f} %, up to {100 * steepest:.1f} %) is near what never stops a "
                f"ball ({100 * most:.1f} %): downhill rolls there are very long and sensitive."
            )
    return found


def _patterns(fit: Rolling) -> list[str]:
    residuals = fit.residuals
    kept = (residuals["standardised"].abs() <= OUTLIER).to_numpy()
    ordinary = residuals[kept]
    u = ordinary["standardised"].to_numpy(dtype=float)
    found = _growth(fit) if fit.law == "constant" and fit.layout.rolls.session is None else []
    return found + _times(fit, kept, u)


def _growth(fit: Rolling) -> list[str]:
    films = None if fit.film_layout is None else fit.film_layout.films
    rolls, sds = fit.layout.rolls, {p.name: p.spread for p in fit.posterior.model.parameters}
    if films is None and np.ptp(np.log(rolls.speed)) < 0.15:
        return []
    grown, error = growth(rolls, films, release_speed_sd=sds.get("release_speed_scale", 0.0))
    if abs(grown) < SEEN * error:
        return []
    text = (
        f"Resistance seems to depend on speed: it {'grows' if grown > 0 else 'falls'} by {abs(grown):.4f} for each "
        f"m/s, give or take {error:.4f}. Compare the laws (fit.comparison) and refit with law='linear'."
    )
    return [text]


def _times(fit: Rolling, kept: NDArray[np.bool_], u: Array) -> list[str]:
    times = fit.sheet.rolls.get("measured_at")
    if times is None or bool(times.isna().any()) or fit.layout.rolls.session is not None:
        return []
    hours = times.to_numpy().astype("datetime64[s]").astype(float) / 3600.0
    ordered = np.sort(hours)
    if np.any(np.diff(ordered) > 1.0):
        text = (
            f"The rolls were measured over {ordered[-1] - ordered[0]:.0f} hours with pauses: the fit averages over "
            "them. Greens change within hours (fit the sheet with session_gap_hours=1)."
        )
        return [text]
    hours = hours[kept]
    if len(u) >= 12 and np.ptp(hours) > 0.5 and abs(_slope_ratio(hours, u)) > 3.0:
        way = "longer" if _slope_ratio(hours, u) > 0 else "shorter"
        return [f"Later rolls run {way} than earlier ones: the green seems to have changed while it was measured."]
    return []


def _slope_ratio(x: Array, u: Array) -> float:
    """Slope of standardised residuals over its standard error."""
    x = x - x.mean()
    total = float(np.sum(x * x))
    if total <= 0 or len(u) < 4:
        return 0.0
    slope = float(np.sum(x * u)) / total
    rest = u - u.mean() - slope * x
    return slope / math.sqrt(max(float(np.sum(rest * rest)) / (len(u) - 2), 1e-12) / total)


def _scatter(fit: Rolling) -> list[str]:
    typical = float(np.median(fit.layout.rolls.distance))
    single = cell(fit.estimates, "all", "scatter_single_roll")
    if single > max(0.25, 0.09 * typical) and len(fit.layout.rolls.row) >= 8:
        text = (
            f"Single rolls scatter by {single:.2f} m, far more than on a good green "
            f"({constants.ROLLOUT_SCATTER.value:.2f} m published): check headings, ramp and marks."
        )
        return [text]
    return []


def _scale(fit: Rolling) -> list[str]:
    if "release_speed_scale" not in fit.layout.names:
        return ["Release speeds were taken as exact: an error of 1 % in them is one of 2 % in resistance and grade."]
    spread = next(p.spread for p in fit.posterior.model.parameters if p.name == "release_speed_scale")
    text = (
        f"Release speed scales everything: its uncertainty of {100 * spread:.1f} % puts {200 * spread:.1f} % on every "
        "resistance and grade together. The green speed is what this ramp reads, so it is spared."
    )
    return [text]


def _shape(fit: Rolling) -> list[str]:
    found = []
    if not fit.posterior.converged:
        found.append("The search for the best fit did not settle: look at the residuals before using the numbers.")
    if fit.posterior.failure:
        found.append(fit.posterior.failure)
    return found


def growth(
    rolls: Rolls, films: Films | None = None, *, release_speed_sd: float = RAMP_SD, priors: Priors | None = None
) -> tuple[float, float]:
    """Return how resistance grows with speed, s/m, and its standard error, from the data alone.

    The normal approximation at the mode of the linear law, for rolls of one release speed or several and films on the
    same spots; the prior of the growth itself is taken out again. The error is infinite where nothing informs it.
    """
    known = priors or Priors()
    filmed = np.isin(rolls.spots, () if films is None else films.spots)
    most = np.argsort(-np.bincount(rolls.spot, minlength=len(rolls.spots)) - 1e6 * filmed, kind="stable")[:MOST_SPOTS]
    rolls = rolls.at_spots(sorted(most.tolist()))
    model, layout = build(rolls, law="linear", release_speed_sd=release_speed_sd, priors=known)
    if films is not None:
        model, _ = join_films(model, replace(films, law="linear"), reference_speed=layout.reference_speed, priors=known)
    mode = find_mode(model)
    inner = [name for name, is_outer in zip(model.names, model.outer, strict=True) if not is_outer]
    at, value = inner.index("linear"), float(mode.point[model.index("linear")])
    variance, usual = float(mode.covariance[at, at]), known.term_spread["linear"] ** 2
    if variance > LITTLE * usual:
        return 0.0, math.inf
    error = 1.0 / (1.0 / variance - 1.0 / usual)
    return value * error / variance, math.sqrt(error)
