"""Tables of a rollout fit: estimates by spot and for the whole sheet, and draws."""

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.results import (
    NARROWED,
    Interval,
    Posterior,
    Row,
    direction_interval,
    direction_resolved,
    length_interval,
    moments,
    scalar_interval,
    scale_interval,
)
from golfphys.fitting.rollout_layout import MOST_GRADE, MOST_GRAIN, MOST_RESISTANCE, TERMS, UNITS, Layout
from golfphys.fitting.rollout_model import headings_tell

Array = NDArray[np.float64]
ALL = "all"
"""Index of the rows that hold for the whole sheet."""


def rolling_rows(layout: Layout, source: Posterior, whole: str = ALL) -> dict[tuple[str, str], Row]:
    """Estimates by spot, and under `whole` of what all rolls share, by parameter."""
    natural, weights = source.natural, source.weights
    rows = {
        (spot, name): row
        for position, spot in enumerate(layout.rolls.spots)
        for name, row in _spot_rows(layout, natural, weights, position, source).items()
    }
    if layout.rolls.row.size:
        rows |= {(whole, name): row for name, row in _sheet_rows(layout, natural, weights, source).items()}
    return rows


def _spot_rows(layout: Layout, natural: Array, weights: Array, position: int, source: Posterior) -> dict[str, Row]:
    """Estimates of one spot by parameter."""
    one = layout.at(position)
    level = one.by_spot(natural, "resistance")[:, 0]
    law = {name: part[:, 0] for name, part in one.coefficients(natural).items()}
    along, left = (part[:, 0] for part in one.fall(natural))
    roll = one.level_roll(natural)[:, 0]
    known = _informed(one, natural, weights, source)
    stimp = scalar_interval(roll, weights)
    rows: dict[str, Row] = {"resistance": (scalar_interval(law["constant"], weights), "1", known["resistance"])}
    for term in TERMS[layout.law]:
        rows[f"resistance_{term}"] = (scalar_interval(law[term], weights), UNITS[term], known[term])
    if TERMS[layout.law]:
        rows["resistance_at_speed"] = (scalar_interval(level, weights), "1", known["resistance"])
    rows["grade"] = (length_interval(along, left, weights), "1", known["grade"])
    # clockwise in sheets: the part to the left counts negative
    rows["fall_direction_deg"] = (direction_interval(along, -left, weights), "deg", known["direction"])
    rows["grade_along"] = (scalar_interval(-along, weights), "1", known["grade_along"])
    rows["grade_left"] = (scalar_interval(-left, weights), "1", known["grade_left"])
    feet = Interval(*(value / METRES_PER_FOOT for value in (stimp.estimate, stimp.sd, stimp.low, stimp.high)))
    rows["stimp_m"] = (stimp, "m", known["resistance"])
    rows["stimp_ft"] = (feet, "ft", known["resistance"])
    return rows


def _informed(one: Layout, natural: Array, weights: Array, source: Posterior) -> dict[str, bool]:
    """Which quantities of the only spot of a layout the sheet informs, rather than the prior."""
    rolls = one.rolls
    (spot,) = rolls.spots
    column = source.model.names.column("resistance", spot)
    own = source.model.parameters[column].spread
    if not math.isfinite(own):
        own = source.model.parameter("resistance_median").spread
    resistance = moments(source.transformed[:, column], weights)[1] < NARROWED * own
    along, left = (part[:, 0] for part in one.fall(natural))
    spread = source.model.parameter("fall_along", spot).spread
    if not math.isfinite(spread):
        spread = source.model.parameter("steepness").location
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
        **{term: source.narrowed(term) for term in TERMS[one.law]},
    }


def _largest_spread(x: Array, y: Array, weights: Array) -> float:
    covariance = np.cov(np.stack([x, y]), aweights=weights)
    return float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0)))


def _sheet_rows(layout: Layout, natural: Array, weights: Array, source: Posterior) -> dict[str, Row]:
    """Estimates that hold for the whole sheet."""
    rows: dict[str, Row] = {}
    for name, unit in (("scatter_absolute", "m"), ("scatter_relative", "1"), ("scatter_direction", "rad")):
        if layout.names.has(name):
            values = layout.get(natural, name)
            rows[name] = (scale_interval(values, weights), unit, source.narrowed(name))
    typical = float(np.median(layout.rolls.distance))
    single = np.hypot(layout.get(natural, "scatter_absolute"), layout.get(natural, "scatter_relative") * typical)
    enough = len(layout.rolls.row) > 3 and not source.failure
    rows["scatter_single_roll"] = (scalar_interval(single, weights), "m", enough)
    for name in ("release_speed_scale", "resistance_median", "between_spots", "steepness"):
        if layout.names.has(name):
            common = scalar_interval(layout.get(natural, name), weights)
            rows[name] = (common, "1", source.narrowed(name))
    if layout.grain:
        x, y = layout.grain_parts(natural)
        informed = source.narrowed("grain_along") and source.narrowed("grain_left")
        rows["grain"] = (length_interval(x, y, weights), "1", informed)
        rows["grain_direction_deg"] = (direction_interval(x, -y, weights), "deg", informed)
    return rows


def green_draws(layout: Layout, natural: Array, position: int) -> dict[str, Array]:
    """Draws of the green at one spot, by field of green and resistance, each of shape (D,)."""
    one = layout.at(position)
    law = {name: part[:, 0] for name, part in one.coefficients(natural).items()}
    along, left = (part[:, 0] for part in one.fall(natural))
    grain_x, grain_y = layout.grain_parts(natural)
    return {
        **{**law, "constant": np.clip(law["constant"], 1e-4, MOST_RESISTANCE)},
        "grain": np.minimum(np.hypot(grain_x, grain_y), MOST_GRAIN),
        "grain_direction": np.arctan2(grain_y, grain_x),
        "grade": np.minimum(np.hypot(along, left), MOST_GRADE),
        "fall_direction": np.arctan2(left, along),
    }


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
    frame = pd.DataFrame(columns)
    frame.columns.names = ["spot", "parameter"]
    return frame
