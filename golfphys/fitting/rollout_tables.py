"""Tables of a rollout fit: estimates by spot and for the whole sheet, and draws."""

import textwrap

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting import identifiability
from golfphys.fitting.intervals import (
    Interval,
    Row,
    cell,
    direction_interval,
    length_interval,
    scalar_interval,
    scale_interval,
)
from golfphys.fitting.motion import MOST_GRADE, MOST_GRAIN, MOST_RESISTANCE
from golfphys.fitting.results import Posterior
from golfphys.fitting.rollout_layout import TERMS, UNITS, Layout

Array = NDArray[np.float64]
ALL = "all"
"""Index of the rows that hold for the whole sheet."""


def spot_rows(layout: Layout, natural: Array, weights: Array, position: int, source: Posterior) -> dict[str, Row]:
    """Estimates of one spot by parameter."""
    one = layout.at(position)
    level = one.by_spot(natural, "resistance")[:, 0]
    law = {name: part[:, 0] for name, part in one.coefficients(natural).items()}
    along, left = (part[:, 0] for part in one.fall(natural))
    roll = one.level_roll(natural)[:, 0]
    informed = identifiability.informed(one, natural, weights, source)
    stimp = scalar_interval(roll, weights)
    rows: dict[str, Row] = {"resistance": (scalar_interval(law["constant"], weights), "1", informed["resistance"])}
    for term in TERMS[layout.law]:
        rows[f"resistance_{term}"] = (scalar_interval(law[term], weights), UNITS[term], informed[term])
    if TERMS[layout.law]:
        rows["resistance_at_speed"] = (scalar_interval(level, weights), "1", informed["resistance"])
    rows["grade"] = (length_interval(along, left, weights), "1", informed["grade"])
    # clockwise in sheets: the part to the left counts negative
    rows["fall_direction_deg"] = (direction_interval(along, -left, weights), "deg", informed["direction"])
    rows["grade_along"] = (scalar_interval(-along, weights), "1", informed["grade_along"])
    rows["grade_left"] = (scalar_interval(-left, weights), "1", informed["grade_left"])
    feet = Interval(*(value / METRES_PER_FOOT for value in (stimp.estimate, stimp.sd, stimp.low, stimp.high)))
    rows["stimp_m"] = (stimp, "m", informed["resistance"])
    rows["stimp_ft"] = (feet, "ft", informed["resistance"])
    return rows


def sheet_rows(layout: Layout, natural: Array, weights: Array, source: Posterior) -> dict[str, Row]:
    """Estimates that hold for the whole sheet."""
    rows: dict[str, Row] = {}
    for name, unit in (("scatter_absolute", "m"), ("scatter_relative", "1"), ("scatter_direction", "rad")):
        if name in layout.names:
            values = layout.get(natural, name)
            rows[name] = (scale_interval(values, weights), unit, identifiability.narrowed(source, name))
    typical = float(np.median(layout.rolls.distance))
    single = np.hypot(layout.get(natural, "scatter_absolute"), layout.get(natural, "scatter_relative") * typical)
    enough = len(layout.rolls.row) > 3 and not source.failure
    rows["scatter_single_roll"] = (scalar_interval(single, weights), "m", enough)
    if "release_speed_scale" in layout.names:
        scale = scalar_interval(layout.get(natural, "release_speed_scale"), weights)
        rows["release_speed_scale"] = (scale, "1", identifiability.narrowed(source, "release_speed_scale"))
    for name in ("resistance_median", "between_spots", "steepness"):
        if name in layout.names:
            common = scalar_interval(layout.get(natural, name), weights)
            rows[name] = (common, "1", identifiability.narrowed(source, name))
    if layout.grain:
        x, y = layout.grain_parts(natural)
        informed = identifiability.narrowed(source, "grain_along") and identifiability.narrowed(source, "grain_left")
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
    columns: dict[tuple[str, str], Array] = {}
    law = layout.coefficients(natural)
    along, left = layout.fall(natural)
    roll = layout.level_roll(natural)
    for i, spot in enumerate(layout.rolls.spots):
        columns[(spot, "resistance")] = law["constant"][:, i]
        for term in TERMS[layout.law]:
            columns[(spot, f"resistance_{term}")] = law[term][:, i]
        columns[(spot, "grade")] = np.hypot(along[:, i], left[:, i])
        columns[(spot, "fall_direction_deg")] = np.degrees(np.arctan2(-left[:, i], along[:, i])) % 360.0
        columns[(spot, "grade_along")] = -along[:, i]
        columns[(spot, "grade_left")] = -left[:, i]
        columns[(spot, "stimp_m")] = roll[:, i]
        columns[(spot, "stimp_ft")] = roll[:, i] / METRES_PER_FOOT
    for name in layout.names:
        if "[" not in name:
            columns[(ALL, name)] = natural[:, layout.names.index(name)]
    frame = pd.DataFrame(columns)
    frame.columns.names = ["spot", "parameter"]
    return frame


def rollout_report(fit: identifiability.Rolling) -> str:
    """Return a page of text on a rollout fit.

    Returns
    -------
    str
        Spot by spot green speed, resistance and slope with 90 % intervals, then scatter and cautions.
    """
    table = fit.estimates
    rolls = fit.layout.rolls
    lines = [
        f"{len(rolls.row)} rolls at {len(fit.spots)} spot(s), resistance {fit.law} in speed"
        + (" with grain" if fit.layout.grain else "")
        + "; brackets hold 90 %.",
        "",
    ]
    for i, spot in enumerate(fit.spots):
        lines.append(f"{spot} ({int((rolls.spot == i).sum())} rolls)")
        lines.append("  green speed  " + _line(table, spot, "stimp_ft", "{:.2f}", " ft"))
        lines.append("  resistance   " + _line(table, spot, "resistance", "{:.4f}", ""))
        for term in TERMS[fit.law][:1]:
            lines.append("  its growth   " + _line(table, spot, f"resistance_{term}", "{:.4f}", f" {UNITS[term]}"))
        lines.append("  steepest     " + _line(table, spot, "grade", "{:.2f}", " %", 100.0))
        if cell(table, spot, "fall_direction_deg", "high") - cell(table, spot, "fall_direction_deg", "low") >= 360:
            lines.append("  falls        in a direction that the rolls do not show")
        else:
            lines.append("  falls to     " + _line(table, spot, "fall_direction_deg", "{:.0f}", " deg clockwise"))
        lines.append("")
    lines.append("Single rolls scatter by " + _line(table, "all", "scatter_single_roll", "{:.3f}", " m") + ".")
    if fit.cautions:
        lines += ["", "What to bear in mind"]
        for caution in fit.cautions:
            lines += textwrap.wrap(caution, 100, initial_indent="- ", subsequent_indent="  ")
    return "\n".join(lines)


def _line(table: pd.DataFrame, spot: str, parameter: str, shape: str, unit: str, factor: float = 1.0) -> str:
    middle, low, high = (
        shape.format(factor * cell(table, spot, parameter, column)) for column in ("estimate", "low", "high")
    )
    return f"{middle}{unit}  [{low} to {high}]"
