"""Tables of fitted rolls and films: estimates by spot, by film and for the whole sheet, and draws."""

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.films import TraceLayout
from golfphys.fitting.results import (
    NARROWED,
    Interval,
    Posterior,
    direction_interval,
    direction_resolved,
    length_interval,
    moments,
    scalar_interval,
    scale_interval,
)
from golfphys.fitting.rollout_layout import SCATTER, TERMS, UNITS, Layout
from golfphys.fitting.rollout_model import headings_tell

Array = NDArray[np.float64]
ALL = "all"
"""Index of the rows that hold for the whole sheet."""

Rows = dict[tuple[str, str], Interval]


def rolling_rows(layout: Layout, source: Posterior, whole: str = ALL) -> Rows:
    """Estimates by spot, and under `whole` of what all rolls share, by parameter."""
    natural = source.natural
    rows = {
        (spot, name): row
        for position, spot in enumerate(layout.rolls.spots)
        for name, row in _spot_rows(layout.at(position), natural, source).items()
    }
    if layout.rolls.row.size:
        rows |= {(whole, name): row for name, row in _sheet_rows(layout, natural, source).items()}
    return rows


def _spot_rows(one: Layout, natural: Array, source: Posterior) -> dict[str, Interval]:
    """Estimates of the only spot of a layout by parameter."""
    weights, known = source.weights, _informed(one, natural, source)
    law = {name: values[:, 0] for name, values in one.coefficients(natural).items()}
    along, left = (values[:, 0] for values in one.fall(natural))
    rows = {"resistance": scalar_interval(law["constant"], weights, "1", known["resistance"])}
    for term in TERMS[one.law]:
        rows[f"resistance_{term}"] = scalar_interval(law[term], weights, UNITS[term], known[term])
    if TERMS[one.law]:
        level = one.by_spot(natural, "resistance")[:, 0]
        rows["resistance_at_speed"] = scalar_interval(level, weights, "1", known["resistance"])
    rows["grade"] = length_interval(along, left, weights, known["grade"])
    # clockwise in sheets: the part to the left counts negative
    rows["fall_direction_deg"] = direction_interval(along, -left, weights, known["direction"])
    rows["grade_along"] = scalar_interval(-along, weights, "1", known["grade_along"])
    rows["grade_left"] = scalar_interval(-left, weights, "1", known["grade_left"])
    stimp = scalar_interval(one.level_roll(natural)[:, 0], weights, "m", known["resistance"])
    return {**rows, "stimp_m": stimp, "stimp_ft": stimp.mapped(lambda value: value / METRES_PER_FOOT, "ft")}


def _informed(one: Layout, natural: Array, source: Posterior) -> dict[str, bool]:
    """Which quantities of the only spot of a layout the sheet informs, rather than the prior."""
    rolls, model, weights = one.rolls, source.model, source.weights
    (spot,) = rolls.spots
    own, spread = (model.parameter(name, spot).spread for name in ("resistance", "fall_along"))
    if not math.isfinite(own):
        own = model.parameter("resistance_median").spread
    if not math.isfinite(spread):
        spread = model.parameter("steepness").location
    level = source.transformed[:, model.names.column("resistance", spot)]
    resistance = moments(level, weights)[1] < NARROWED * own
    along, left = (values[:, 0] for values in one.fall(natural))
    parts = [moments(values, weights)[1] < NARROWED * spread for values in (along, left)]
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
        **{term: source.narrowed(term) for term in TERMS[one.law]},
    }


def _largest_spread(x: Array, y: Array, weights: Array) -> float:
    covariance = np.cov(np.stack([x, y]), aweights=weights)
    return float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0)))


def _sheet_rows(layout: Layout, natural: Array, source: Posterior) -> dict[str, Interval]:
    """Estimates that hold for the whole sheet."""
    weights, has = source.weights, layout.names.has
    rows = {name: source.estimate(name, shown=scale_interval) for name in SCATTER if has(name)}
    typical = float(np.median(layout.rolls.distance))
    single = np.hypot(layout.get(natural, "scatter_absolute"), layout.get(natural, "scatter_relative") * typical)
    enough = len(layout.rolls.row) > 3 and not source.failure
    rows["scatter_single_roll"] = scalar_interval(single, weights, "m", enough)
    common = ("release_speed_scale", "resistance_median", "between_spots", "steepness")
    rows |= {name: source.estimate(name) for name in common if has(name)}
    if layout.grain:
        x, y = layout.grain_parts(natural)
        informed = source.narrowed("grain_along") and source.narrowed("grain_left")
        rows["grain"] = length_interval(x, y, weights, informed)
        rows["grain_direction_deg"] = direction_interval(x, -y, weights, informed)
    return rows


def film_rows(layout: TraceLayout, source: Posterior) -> Rows:
    """Estimates by film or spot, and of what all films share, by parameter."""
    films, weights = layout.films, source.weights
    by_roll = {name: values.T for name, values in layout.by_roll(source.natural).items()}
    rolls = [dict(zip(by_roll, values, strict=True)) for values in zip(*by_roll.values(), strict=True)]
    rows: Rows = {}
    for name, roll, skids in zip(films.names, rolls, films.skids, strict=True):
        level = roll["constant"] + roll["linear"] * layout.reference_speed
        rows[name, "start_speed"] = scalar_interval(roll["start_speed"], weights, "m/s")
        rows[name, "resistance_and_grade"] = scalar_interval(level + roll["rise"], weights)
        if skids:
            time, informed = roll["skid_time"], source.narrowed("slip", name)
            length = time * (roll["start_speed"] - roll["braking"] * time / 2)
            rows[name, "rolling_speed"] = scalar_interval(roll["rolling_speed"], weights, "m/s")
            rows[name, "skid_time"] = scalar_interval(time, weights, "s", informed)
            rows[name, "skid_length"] = scalar_interval(length, weights, "m", informed)
    for name, spot, roll, shared in zip(films.names, films.spots, rolls, layout.shared, strict=True):
        subject, known = spot if shared else name, shared and source.narrowed("resistance", spot)
        rows[subject, "resistance"] = scalar_interval(roll["constant"], weights, "1", known)
        if films.law == "linear":
            informed = source.narrowed("linear")
            rows[subject, "resistance_linear"] = scalar_interval(roll["linear"], weights, "s/m", informed)
    if layout.names.has("friction"):
        rows[ALL, "friction"] = source.estimate("friction")
    return rows | {(ALL, name): source.estimate(name, shown=scale_interval) for name in ("reading", "frame_jitter")}


def all_columns(layout: Layout, natural: Array) -> pd.DataFrame:
    """Draws of everything as a table, columns (spot, parameter)."""
    law, roll = layout.coefficients(natural), layout.level_roll(natural)
    along, left = layout.fall(natural)
    found = {
        "resistance": law["constant"],
        **{f"resistance_{term}": law[term] for term in TERMS[layout.law]},
        "grade": np.hypot(along, left),
        "fall_direction_deg": np.degrees(np.arctan2(-left, along)) % 360.0,
        **{"grade_along": -along, "grade_left": -left, "stimp_m": roll, "stimp_ft": roll / METRES_PER_FOOT},
    }
    spots = enumerate(layout.rolls.spots)
    columns = {(spot, name): values[:, i] for i, spot in spots for name, values in found.items()}
    columns |= {(ALL, key.name): natural[:, i] for i, key in enumerate(layout.names) if not key.of}
    return pd.DataFrame(columns).rename_axis(columns=["spot", "parameter"])
