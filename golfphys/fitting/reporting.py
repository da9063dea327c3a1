"""Fits as pages of text."""

import textwrap

import pandas as pd

from golfphys.fitting.asked import FittedRolls
from golfphys.fitting.intervals import cell
from golfphys.fitting.rollout_layout import TERMS, UNITS


def rollout_report(fit: FittedRolls) -> str:
    """Return a page of text on a rollout fit.

    Parameters
    ----------
    fit : RolloutFit
        The fit.

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
