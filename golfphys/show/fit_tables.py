"""Sheets as they are read, and what fits make of them, as tables; see `golfphys.show.tables`."""

from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.names import Key
from golfphys.show.markup import Words, fixed, rows
from golfphys.show.style import LengthUnit

PARAMETERS = {
    "attack_error_deg": "error of the attack",
    "attack_deg": "attack (minus is downwards)",
    "between_clubs": "how much clubs differ in errors",
    "carry_bias": "lands beyond the aim, of the carry",
    "carry_beside_usual": "lands beyond her usual, of the carry",
    "cushion": "cushion of the grass",
    "dent_speed": "landing speed from which turf dents",
    "direction_error_deg": "error of face and path",
    "drop_scatter": "scatter from place to place",
    "edge_aim": "height aimed at, 1 just thin",
    "errors_over_usual": "errors over those of her usual delivery",
    "fall_direction_deg": "fall direction (deg)",
    "friction": "friction",
    "grade_along": "slope along the reference line, uphill +",
    "grade_left": "slope to the left of the reference line, uphill +",
    "grain_along": "grain along the reference line",
    "hop_loss": "height lost to the grass at each hop",
    "height_error_mm": "error of the arc's height",
    "kept_by_angle": "kept at a landing, by its angle",
    "kept_by_speed": "kept at a landing, by its speed",
    "lean_beside_stated_deg": "lean beside that of the option's name",
    "landing_sd_at_6_m": "scatter of clean landings at 6 m",
    "local_slope_pct": "slope at single landings",
    "low_point_error_mm": "error of the low point",
    "mis_hit_share": "share of mis-hits",
    "patchiness": "scatter of what landings keep",
    "release_speed_scale": "true release speed over the one written",
    "resistance_linear": "growth of resistance with speed (s/m)",
    "restitution_at_5_m_s": "speed given back, of a landing at 5 m/s",
    "shaft_lean_deg": "lean of the shaft",
    "skid_friction": "friction in the skid",
    "shaft_lean_error_deg": "error of the lean",
    "speed_error_pct": "error of the head speed",
    "spin_factor": "spin, over that of a rigid impact",
    "start_beside_stated_deg": "starts to the left of her usual line",
    "start_direction_deg": "starts to the left of the aim",
    "stimp_ft": "green speed (ft)",
    "tilt_deg": "tilt of the dent",
    "unevenness": "what it adds to the errors, over what such lies do",
}
"""Parameters in words, where their own names would not do on an axis or in a table."""


def parameter_words(parameter: str) -> str:
    """Return a parameter of a fit in words, for an axis or a heading."""
    name, of = Key.read(parameter)
    words = PARAMETERS.get(name, name.replace("_", " "))
    return f"{words}, {of}" if of else words


# --- sheets ----------------------------------------------------------------------------------------------------------
def rollouts(sheet: Any, *, unit: str = "") -> Words:
    """Return the rolls of a sheet as they are read, by their row in the file."""
    rolls, length = sheet.rolls, LengthUnit(unit)
    columns = {
        "spot": rolls["spot"],
        "heading (deg)": fixed(np.degrees(rolls["heading"]), 0),
        f"release speed ({length.symbol}/s)": fixed(length.show(rolls["release_speed"]), 2),
        length.label("distance"): fixed(length.show(rolls["distance"]), 2),
        length.label("to the left"): fixed(length.show(rolls["side"]), 2, none=""),
    }
    return rows(columns, rolls["row"], "row in the file")


def drops(sheet: Any, *, unit: str = "") -> Words:
    """Return the drops of a sheet as they are read, by their row in the file; blank is what was not measured."""
    table, length = sheet.drops, LengthUnit(unit)
    columns = {
        "spot": table["spot"],
        length.label("dropped from"): fixed(length.show(table["drop_height"]), 2),
        length.label("came back to"): fixed(length.show(table["rebound_height"]), 2, none=""),
        "first to second touch (s)": fixed(table["first_flight"], 3, none=""),
        "second to third touch (s)": fixed(table["second_flight"], 3, none=""),
    }
    return rows(columns, table["row"], "row in the file")


def chips(sheet: Any, *, unit: str = "") -> Words:
    """Return the chips of a sheet as they are read, by their row in the file; blank is what was not measured."""
    table, length = sheet.chips, LengthUnit(unit)
    names = {"target_carry": "aimed to land at", "carry": "landed at", "first_hop": "first hop came down at"}
    names |= {"rest": "stopped at", "side": "to the left"}
    columns = {name: table[name] for name in ("club", "lie", "spot")}
    columns |= {length.label(words): fixed(length.show(table[name]), 1, none="") for name, words in names.items()}
    columns["hang time (s)"] = fixed(table["hang_time"], 2, none="")
    return rows(columns, table["row"], "row in the file")


# --- fits ------------------------------------------------------------------------------------------------------------
def estimates(table: pd.DataFrame, *, detail: bool = False) -> Words:
    """Return estimates of a fit in words, each to the digits that are known, with where it comes from.

    `detail` gives an analyst's columns instead: estimate, standard deviation, interval, informed by the data or not.
    """
    known = table[np.isfinite(table["estimate"].to_numpy(float))] if not detail else table
    sd = known["sd"].to_numpy(dtype=float)
    digits = [int(np.clip(1 - np.floor(np.log10(one)), 0, 6)) if np.isfinite(one) and one > 0 else 3 for one in sd]
    numbers = {
        name: [fixed([value], places, none="not known")[0] for value, places in zip(known[name], digits, strict=True)]
        for name in ("estimate", "sd", "low", "high")
    }
    if detail:
        columns: dict[str, Any] = {**numbers, "unit": known["unit"]}
        columns["informed"] = ["yes" if informed else "no" for informed in known["informed"]]
    else:
        units = ["" if unit == "1" else f" {unit}" for unit in known["unit"]]
        columns = {"value": [value + unit for value, unit in zip(numbers["estimate"], units, strict=True)]}
        pairs = zip(numbers["low"], numbers["high"], strict=True)
        columns["90 % interval"] = [" to ".join(pair) for pair in pairs]
        columns["known from"] = ["your sheets" if informed else "assumption" for informed in known["informed"]]
    index = [(name,) if isinstance(name, str) else name for name in known.index]
    names = [", ".join([*map(str, name[:-1]), parameter_words(str(name[-1]))]) for name in index]
    return rows(columns, names, "parameter")


def rests(predicted: pd.DataFrame, *, unit: str = "") -> Words:
    """Return where chips are predicted to stop: from the table of a prediction, ``fit.predict(...).table()``."""
    length = LengthUnit(unit)
    names = ("rest_low", "rest", "rest_high", "rest_known_sd")
    low, value, high, known = (fixed(length.show(predicted[name])) for name in names)
    columns = {
        length.label("lands at"): fixed(length.show(predicted["landing"])),
        length.label("stops at"): value,
        "nine of ten between": [" and ".join(pair) for pair in zip(low, high, strict=True)],
        length.label("uncertainty of the fit alone"): known,
    }
    return rows(columns, predicted["club"], "club")


def calibration(checked: Any) -> Words:
    """Return how many new chips stopped inside their predicted intervals, and how many chance alone would put there."""
    table = checked.calibration
    chance = zip(100 * table["chance_low"], 100 * table["chance_high"], strict=True)
    columns = {
        "chips": table["chips"],
        "stopped inside": table["within"],
        "which is (%)": fixed(100 * table["share"], 0),
        "chance alone gives (%)": [f"{low:.0f} to {high:.0f}" for low, high in chance],
    }
    return rows(columns, [f"{interval} %" for interval in table.index], "interval")


def groups(checked: Any, *, unit: str = "") -> Words:
    """Return by how much new chips ran farther than predicted, club by club, lie by lie and spot by spot."""
    table, length = checked.groups, LengthUnit(unit)
    columns = {
        "chips": table["chips"],
        length.label("ran farther by"): [f"{value:+.1f}" for value in length.show(table["longer_m"])],
        "in standard deviations": [f"{value:+.1f}" for value in table["score"]],
    }
    return rows(columns, [str(name) for _, name in table.index], "group")


def drift(found: pd.DataFrame) -> Words:
    """Return by how much greens have quickened since they were fitted, from `golfphys.green_drift`."""
    ends = zip(found["low"], found["high"], strict=True)
    columns = {
        "rolls": found["rolls"],
        "balls roll farther by (%)": [f"{value:+.0f}" for value in found["change_pct"]],
        "90 % interval": [f"{low:+.0f} to {high:+.0f}" for low, high in ends],
        "changed": ["yes" if changed else "no" for changed in found["changed"]],
    }
    return rows(columns, found.index, "spot")
