"""Results as tables that read like prose: headings in words with units, numbers rounded to what they can bear.

Each function takes a result and returns a table for showing, and computes little beyond changes of unit. `unit` is that
of lengths, m, ft, yd, cm or in; left out, that of `golfphys.style.show_lengths_in`, or else m. Names from a sheet are
shown letter by letter.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.units import FACTORS_TO_SI, from_si
from golfphys.fitting.rollout_fit import RolloutFit
from golfphys.physics.club import Launch
from golfphys.physics.green import Green, Ground
from golfphys.physics.ramp import two_way_mean
from golfphys.physics.rows import Status
from golfphys.physics.shot import simulate
from golfphys.planning import ChipPlan
from golfphys.planning.carry_sheet import CarrySheet
from golfphys.planning.wedge_gaps import WedgeGaps
from golfphys.planning.what_if import HabitPrices, costs_in_words
from golfphys.show.markup import Answered, Said, Words, fixed, in_rows, parameter_words, said
from golfphys.show.style import LengthUnit


def _interval(row: Any, digits: int, scale: float = 1.0) -> str:
    """Return an estimate with its 90 % interval, or what stands for one that the sheets do not inform."""
    if not np.isfinite(row["estimate"]):
        return "not known"
    numbers = (scale * float(row[name]) for name in ("low", "estimate", "high"))
    low, value, high = (f"{x % 360 if row['unit'] == 'deg' and x != 360 else x:.{digits}f}" for x in numbers)
    return f"{value}  ({low} to {high})"


# --- greens -----------------------------------------------------------------------------------------------
def greens(fit: RolloutFit, *, unit: str = "ft") -> Words:
    """Return the fitted greens, a row for each spot: value and 90 % interval."""
    length = LengthUnit(unit)
    columns = {
        length.label("green speed"): ("stimp_m", 1 if unit == "ft" else 2, length.show(1.0)),
        "slope (%)": ("grade", 1, 100.0),
        "falls towards (deg)": ("fall_direction_deg", 0, 1.0),
    }
    table = {
        head: [_interval(fit.estimates.loc[(spot, name)], digits, scale) for spot in fit.spots]
        for head, (name, digits, scale) in columns.items()
    }
    return in_rows(table, fit.spots, "spot")


def two_way(fit: RolloutFit, *, unit: str = "ft") -> Words:
    """Return the trade's two-way mean and the fitted green speed, for spots rolled in two opposite directions only."""
    length, rows = LengthUnit(unit), {}
    for spot, rolls in fit.sheet.frame.groupby("spot", sort=False):
        by_heading = rolls.groupby(rolls["heading"].round(6))["distance"].mean()
        headings = by_heading.index.to_numpy()
        if len(headings) != 2 or abs(abs(headings[1] - headings[0]) - np.pi) > 1e-3:
            continue
        longer, shorter = (float(value) for value in sorted(by_heading, reverse=True))
        shown = length.show(np.array([longer, shorter, two_way_mean(shorter, longer)]))
        rows[spot] = [*fixed(shown), _interval(fit.estimates.loc[(spot, "stimp_m")], 1, length.show(1.0))]
    heads = [length.label(words) for words in ("downhill", "uphill", "two-way mean", "fitted green speed")]
    return in_rows(dict(zip(heads, zip(*rows.values(), strict=True), strict=True)) if rows else {}, rows, "spot")


def laws(comparison: Any) -> Words:
    """Return a comparison of laws, best first, by how well they predict observations left out of the fit."""
    columns = {
        "predictive score (higher is better)": comparison.table["elpd"].round(1),
        "behind the best by": comparison.table["behind"].round(1),
        "standard error": comparison.table["behind_se"].round(1),
    }
    return in_rows(columns, comparison.table.index, "law")


def plans(compared: pd.DataFrame) -> Words:
    """Return how precise planned sheets would be: halves of 90 % intervals."""
    columns: dict[str, Sequence[Any]] = {"rolls": compared["rolls"].astype(int).to_list()}
    if "stimp_ft" in compared:
        columns["green speed to (ft)"] = fixed(compared["stimp_ft"], 2)
    if "grade" in compared:
        columns["slope to (%)"] = fixed(100 * compared["grade"], 2)
    if "fall_direction_deg" in compared:
        known = compared["fall_direction_deg"].where(compared["fall_direction_deg"] < 90)
        columns["direction of fall to (deg)"] = fixed(known, 0, none="not known")
    return in_rows(columns, compared.index, "plan")


# --- sheets ----------------------------------------------------------------------------------------------------------
def rollouts(sheet: Any, *, unit: str = "") -> Words:
    """Return the rolls of a sheet as they are read, by their row in the file."""
    rolls, length = sheet.frame, LengthUnit(unit)
    columns = {
        "spot": rolls["spot"],
        "heading (deg)": fixed(np.degrees(rolls["heading"]), 0),
        f"release speed ({length.symbol}/s)": fixed(length.show(rolls["release_speed"]), 2),
        length.label("distance"): fixed(length.show(rolls["distance"]), 2),
        length.label("to the left"): fixed(length.show(rolls["side"]), 2, none=""),
    }
    return in_rows(columns, rolls["row"], "row in the file")


def drops(sheet: Any, *, unit: str = "") -> Words:
    """Return the drops of a sheet as they are read, by their row in the file; blank is what was not measured."""
    table, length = sheet.frame, LengthUnit(unit)
    columns = {
        "spot": table["spot"],
        length.label("dropped from"): fixed(length.show(table["drop_height"]), 2),
        length.label("came back to"): fixed(length.show(table["rebound_height"]), 2, none=""),
        "first to second touch (s)": fixed(table["first_flight"], 3, none=""),
        "second to third touch (s)": fixed(table["second_flight"], 3, none=""),
    }
    return in_rows(columns, table["row"], "row in the file")


def chips(sheet: Any, *, unit: str = "") -> Words:
    """Return the chips of a sheet as they are read, by their row in the file; blank is what was not measured."""
    table, length = sheet.frame, LengthUnit(unit)
    names = {"target_carry": "aimed to land at", "carry": "landed at", "first_hop": "first hop came down at"}
    names |= {"rest": "stopped at", "side": "to the left"}
    columns = {name: table[name] for name in ("club", "lie", "spot")}
    columns |= {length.label(words): fixed(length.show(table[name]), 1, none="") for name, words in names.items()}
    columns["hang time (s)"] = fixed(table["hang_time"], 2, none="")
    return in_rows(columns, table["row"], "row in the file")


# --- fits ------------------------------------------------------------------------------------------------------------
def estimates(table: pd.DataFrame) -> Words:
    """Return estimates of a fit in words, each to the digits that are known, with where it comes from."""
    known = table[np.isfinite(table["estimate"].to_numpy(float))]
    sd = known["sd"].to_numpy(dtype=float)
    digits = [int(np.clip(1 - np.floor(np.log10(one)), 0, 6)) if np.isfinite(one) and one > 0 else 3 for one in sd]
    value, low, high = (
        [fixed([number], places, none="not known")[0] for number, places in zip(known[name], digits, strict=True)]
        for name in ("estimate", "low", "high")
    )
    columns = {
        "value": [f"{number} {unit}".removesuffix(" 1") for number, unit in zip(value, known["unit"], strict=True)],
        "90 % interval": [" to ".join(pair) for pair in zip(low, high, strict=True)],
        "known from": ["your sheets" if informed else "assumption" for informed in known["informed"]],
    }
    index = [(name,) if isinstance(name, str) else name for name in known.index]
    names = [", ".join([*map(str, name[:-1]), parameter_words(str(name[-1]))]) for name in index]
    return in_rows(columns, names, "parameter")


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
    return in_rows(columns, predicted["club"], "club")


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
    return in_rows(columns, [f"{interval} %" for interval in table.index], "interval")


def groups(checked: Any, *, unit: str = "") -> Words:
    """Return by how much new chips ran farther than predicted, club by club, lie by lie and spot by spot."""
    table, length = checked.groups, LengthUnit(unit)
    columns = {
        "chips": table["chips"],
        length.label("ran farther by"): [f"{value:+.1f}" for value in length.show(table["longer_m"])],
        "in standard deviations": [f"{value:+.1f}" for value in table["score"]],
    }
    return in_rows(columns, [str(name) for _, name in table.index], "group")


def drift(found: pd.DataFrame) -> Words:
    """Return by how much greens have quickened since they were fitted, from `golfphys.green_drift`."""
    ends = zip(found["low"], found["high"], strict=True)
    columns = {
        "rolls": found["rolls"],
        "balls roll farther by (%)": [f"{value:+.0f}" for value in found["change_pct"]],
        "90 % interval": [f"{low:+.0f} to {high:+.0f}" for low, high in ends],
        "changed": ["yes" if changed else "no" for changed in found["changed"]],
    }
    return in_rows(columns, found.index, "spot")


# --- shots and plans -------------------------------------------------------------------------------------------------
def shots(launches: Mapping[str, Launch], ground: Green | Ground, *, unit: str = "") -> Words:
    """Return single shots from launch to rest, side by side, in words."""
    length, columns = LengthUnit(unit), {}
    facts: dict[str, str] = {}
    for name, launch in launches.items():
        played = simulate(launch, ground)
        rows: dict[str, tuple[Any, int]] = {
            f"ball speed ({length.symbol}/s)": (length.show(launch.speed), 1),
            "launch angle (deg)": (np.degrees(launch.angle), 0),
            "backspin (rpm)": (from_si(float(np.asarray(launch.backspin)), "rpm"), 0),
            length.label("highest point"): (length.show(played.apex), 2),
            "time in the air (s)": (played.flight_time, 2),
            length.label("lands after"): (length.show(played.carry), 2),
            f"landing speed ({length.symbol}/s)": (length.show(played.landing_speed), 1),
            "landing angle (deg below level)": (np.degrees(played.landing_angle), 0),
            "bounces": (played.bounces, 0),
            length.label("from landing to rest"): (length.show(played.run), 2),
        }
        facts = {words: f"{float(np.asarray(value)):.{digits}f}" for words, (value, digits) in rows.items()}
        facts["how it ended"] = Status(played.status).name.lower().replace("_", " ")
        columns[name] = facts.values()
    return in_rows(columns, facts, "the shot")


def answer(planned: ChipPlan, *, unit: str = "") -> Answered:
    """Return the answer of a plan at a glance, its cautions after it."""
    unit = "m" if LengthUnit(unit).metric else "ft"
    sentences, cautions = planned.said(unit)
    choices = tuple(choice.words(unit) for choice in planned.answer.choices)
    return Answered((*sentences, *cautions), choices, sentences[-1], tuple(cautions))


def plan(planned: ChipPlan, *, unit: str = "") -> Words:
    """Return a plan as a player reads it: a row for each club, best first; an analyst's columns are in its table."""
    table, length = planned.table, LengthUnit(unit)
    near, words, _ = length.circle

    def lengths(name: str) -> list[str]:
        return fixed(length.show(table[name]), 1)

    aside = length.show(planned.position.to_pin * np.tan(np.radians(table["aim_deg"].to_numpy(float))))
    sides = [f"{abs(off):.1f} {'left' if off > 0 else 'right'}" for off in aside.tolist()]
    aims = ["straight" if abs(off) < 0.05 else words for off, words in zip(aside, sides, strict=True)]
    strokes = [
        f"{value:.2f} ({low:.2f} to {high:.2f})" if high > low else f"{value:.2f}"
        for value, low, high in table[["strokes", "strokes_low", "strokes_high"]].to_numpy(float)
    ]
    putts = zip(lengths("landing_m"), table["onto_green_m"].isna(), strict=True)
    columns = {
        length.label("land it at"): [f"stop at {at}" if putt else at for at, putt in putts],
        length.label("it runs"): lengths("roll_m"),
        length.label("aim off the pin"): aims,
        length.label("may land short by"): lengths("short_by_m"),
        length.label("may land long by"): lengths("long_by_m"),
        words: [f"{100 * value:.0f} %" for value in table[near]],
        "strokes to hole out": [words.replace(" ", "\N{NO-BREAK SPACE}") for words in strokes],
    }
    return in_rows(columns, table["club"], "club")


def carry(sheet: CarrySheet) -> Words:
    """Return a sheet to carry, a row for each distance: what to play, and landing / run by club in its unit."""
    columns, table = {"play": sheet.best.tolist()}, sheet.table.map("{:.1f}".format)
    for club in sheet.clubs:
        rows = pd.DataFrame(table[club]).to_dict("records")
        cells = ["{land} / {run} ({run_low} to {run_high})".format_map(row) for row in rows]
        # a club that is no choice at this distance has no numbers
        columns[club] = ["" if "nan" in cell else cell for cell in cells]
    distances = [f"{distance:g}" for distance in sheet.table.index]
    return in_rows(columns, distances, f"ball to pin ({sheet.unit})")


# --- decisions -------------------------------------------------------------------------------------------------------
def regret(table: pd.DataFrame) -> Words:
    """Return the strokes lost by keeping a plan when conditions differ, by club, and the best club had one known."""
    changes, clubs = list(dict.fromkeys(table["change"])), list(dict.fromkeys(table["club"]))
    field = table.pivot(index="change", columns="club", values="regret").loc[changes, clubs].round(2)
    best = table.groupby("change")["best_club"].first().loc[changes]
    columns = {"best club had one known": best, **{club: field[club] for club in clubs}}
    return in_rows(columns, changes, "strokes lost when")


def habits(prices: HabitPrices) -> Words:
    """Return what each habit costs."""
    rows, costs = prices.table, [costs_in_words(row) for row in prices.table.to_dict("records")]
    columns = {
        "strokes to hole out": rows["strokes"].round(2),
        "costs (strokes a chip)": [cost for cost, _, _ in costs],
        "90 % interval": [f"{low} to {high}" if low != high else "" for _, low, high in costs],
        "choosing is better in": [f"{100 * share:.0f} %" if share == share else "" for share in rows["sure"]],
    }
    return in_rows(columns, rows["habit"], "habit")


def decisions(summary: pd.DataFrame) -> Words:
    """Return what each way of deciding loses, from the study of decision quality."""
    columns = {
        "strokes lost a chip": summary["loss"].round(3),
        "standard error": summary["se"].round(3),
        "19 cases in 20 lose less than": summary["loss_95"].round(2),
    }
    return in_rows(columns, summary["plan"], "way of deciding")


def sensitivities(table: pd.DataFrame, *, unit: str = "") -> Words:
    """Return what moves the rest distance, largest first."""
    length = LengthUnit(unit)
    per = (f"{length.show(row.derivative):+.3g} {length.symbol} per {row.unit}" for row in table.itertuples())
    columns = {
        "belongs to": table["of"],
        "rest distance changes by": [words.replace(" per 1", " per unit") for words in per],
        "usual uncertainty": [f"{row.uncertainty:.3g} {row.unit}".removesuffix(" 1") for row in table.itertuples()],
        length.label("which moves the ball by"): length.show(table["effect_m"]).round(2),
    }
    return in_rows(columns, table["parameter"], "parameter")


# --- green speed -----------------------------------------------------------------------------------------------------
def rule(table: pd.DataFrame) -> Words:
    """Return the rule of 12 beside the model, club by club."""
    columns = {
        "run by the rule": fixed(table["rule"], 0),
        "run by the model": fixed(table["model"], 1),
        "model over rule": fixed(table["model over rule"], 2),
        "the rule holds at (ft)": fixed(table["speed_for_rule_ft"], 1),
    }
    return in_rows(columns, table.index, "club")


def runs(table: pd.DataFrame, *, firmness: str = "middling", grade: float = 0.0) -> Words:
    """Return run over carry by club (rows) and green speed, from `golfphys.carry_and_roll`."""
    field = _field(table, "stimp_ft", "roll_per_carry", firmness=firmness, grade=grade)
    return in_rows({f"{speed:g} ft": field[speed] for speed in field}, field.index, "club")


def slopes(table: pd.DataFrame, *, stimp_ft: float = 10.0, firmness: str = "middling") -> Words:
    """Return run over carry by club (rows) and slope at one green speed, from `golfphys.carry_and_roll`."""
    field = _field(table, "grade", "roll_per_carry", firmness=firmness, stimp_ft=stimp_ft)
    grades: Any = field.columns
    runs = field.replace(np.inf, "never stops")
    return in_rows({slope_words(grade): runs[grade] for grade in grades}, field.index, "club")


def landing_moves(table: pd.DataFrame, *, stimp_ft: float = 10.0, grade: float = 0.0, unit: str = "") -> Words:
    """Return by how much (cm or in) the landing spot moves for each foot of green speed, by club (rows) and pin."""
    length = LengthUnit(unit)
    moves = table.assign(moves=length.small.show(FACTORS_TO_SI["ft"] * table["shift_ft_per_ft"]))
    field = _field(moves, "to_pin_m", "moves", stimp_ft=stimp_ft, grade=grade)
    heads = {f"{length.small.label('moves')}, pin at {length.show(pin):.3g} {length.symbol}": pin for pin in field}
    return in_rows({head: field[pin].map("{:.0f}".format) for head, pin in heads.items()}, field.index, "club")


def _field(table: pd.DataFrame, across: str, value: str, **kept: Any) -> pd.DataFrame:
    """Return one value of the kept rows by club, in the table's order, and another column."""
    rows = table[np.logical_and.reduce([table[name] == wanted for name, wanted in kept.items()])]
    if rows.empty:
        raise ValueError(f"no rows for {kept}; see the table's columns")
    field = rows.pivot(index="club", columns=across, values=value).round(1)
    return field.loc[list(dict.fromkeys(rows["club"]))]


def slope_words(grade: float) -> str:
    """Return a slope along the line of play in words."""
    return f"{abs(100 * grade):g} % {'up' if grade > 0 else 'down'}" if grade else "level"


# --- wedges ----------------------------------------------------------------------------------------------------------
def wedges(gaps: WedgeGaps, *, unit: str = "") -> Words:
    """Return measured wedge distances, shortest first, and the gaps between them."""
    rows, length = gaps.table, LengthUnit(unit)
    columns = {
        length.label("carry"): fixed(length.show(rows["carry_m"]), 0),
        length.label("scatter"): fixed(length.show(rows["sd_m"]), 1, none="one shot"),
        "shots": rows["shots"].to_list(),
        "head speed by the model (m/s)": fixed(rows["head_speed"], 1, none="not known"),
        length.label("to the next"): [*fixed(length.show(gaps.gaps["gap_m"]), 0), ""],
        "which is": [*gaps.gaps["kind"].replace("fine", ""), ""],
    }
    return Words(columns, index=pd.MultiIndex.from_frame(rows[["club", "swing"]]))


def filled(table: pd.DataFrame, *, unit: str = "") -> Words:
    """Return what another wedge would do, swing by swing."""
    length = LengthUnit(unit)
    names = ("carry_m", "low_m", "high_m", "widest_before_m", "widest_after_m")
    carry, low, high, before, after = (fixed(length.show(table[name]), 0) for name in names)
    columns = {
        length.label("carry"): carry,
        "90 % interval": [" to ".join(pair) for pair in zip(low, high, strict=True)],
        "where that falls": table["fills"],
        length.label("widest gap before"): before,
        length.label("widest gap after"): after,
    }
    return in_rows(columns, table["swing"], "swing")
