"""What a sheet of rollouts does not inform, and what looks wrong in it, in plain words."""

import math
from typing import Any, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_INCH
from golfphys.fitting.growth import SEEN, growth
from golfphys.fitting.intervals import cell, direction_resolved, moments
from golfphys.fitting.results import Posterior
from golfphys.fitting.rollout_layout import TERMS, Law, Layout
from golfphys.fitting.rollout_model import headings_tell, one_axis
from golfphys.fitting.trace_model import TraceLayout

Array = NDArray[np.float64]

NARROWED = 0.5
"""A parameter counts as informed by the sheet if its spread fell below this fraction of the prior's."""

MANY = 48
"""Spots in one fit above which a caution says that the intervals of their slopes are too narrow, if they are."""

OUTLIER = 4.0
"""A roll counts as set aside if it misses by more than this many ordinary scatters."""


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


def narrowed(source: Posterior, name: str) -> bool:
    """Whether the sheet made a parameter's spread clearly smaller than its prior's."""
    index = source.model.index(name)
    parameter = source.model.parameters[index]
    if source.failure:
        # draws that have collapsed are narrow without anything being known
        return False
    if not math.isfinite(parameter.spread):
        return True
    return moments(source.transformed[:, index], source.weights)[1] < NARROWED * parameter.spread


def informed(one: Layout, natural: Array, weights: Array, source: Posterior) -> dict[str, bool]:
    """Which quantities of the only spot of a layout the sheet informs, rather than the prior."""
    rolls = one.rolls
    (spot,) = rolls.spots
    column = source.model.index(f"resistance[{spot}]")
    own = source.model.parameters[column].spread
    if not math.isfinite(own):
        own = source.model.parameters[source.model.index("resistance_median")].spread
    resistance = moments(source.transformed[:, column], weights)[1] < NARROWED * own
    along, left = (part[:, 0] for part in one.fall(natural))
    spread = source.model.parameters[source.model.index(f"fall_along[{spot}]")].spread
    if not math.isfinite(spread):
        spread = source.model.parameters[source.model.index("steepness")].location
    parts = [moments(part, weights)[1] < NARROWED * spread for part in (along, left)]
    spanned = headings_tell(rolls, 0) or bool(rolls.has_side.any())
    major = spanned and _largest_spread(along, left, weights) < NARROWED * spread
    if not spanned:
        # what distances alone show is the slope along the headings; across them it is assumption
        axes = rolls.heading
        crossed = [np.abs(np.sin(axes)).max(initial=0.0), np.abs(np.cos(axes)).max(initial=0.0)]
        opposite = len(axes) > 1 and np.ptp(np.cos(axes - axes[0])) > 1.0
        parts = [part and opposite and share < 0.1 for part, share in zip(parts, crossed, strict=True)]
    if source.failure:
        resistance = major = False
        parts = [False, False]
    return {
        "resistance": resistance,
        "grade": major,
        "direction": major and direction_resolved(along, left, weights),
        "grade_along": parts[0],
        "grade_left": parts[1],
        **{term: narrowed(source, term) for term in TERMS[one.law]},
    }


def _largest_spread(x: Array, y: Array, weights: Array) -> float:
    covariance = np.cov(np.stack([x, y]), aweights=weights)
    return float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0)))


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
        if any(not narrowed(fit.posterior, term) for term in TERMS[fit.law][:1]):
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
    if not fit.posterior.mode.converged:
        found.append("The search for the best fit did not settle: look at the residuals before using the numbers.")
    if fit.posterior.failure:
        found.append(fit.posterior.failure)
    return found
