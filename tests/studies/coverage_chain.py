"""Do 90 % intervals of a course fit cover 90 %? Green, turf and player together, down to where new chips come to rest.

    python tests/studies/coverage_chain.py                     # everything, about an hour
    python tests/studies/coverage_chain.py --courses 20        # a try

Every course and player has a truth of its own, drawn from the priors that the fit states; the sheets are what a coach
would fill in: 12 rolls (four headings, three ramp runs) at one spot, 10 drops, 40 chips with four clubs from two
lies, cells missing as they go, and one chip struck thin. Four new chips of each course are then predicted: for one
aim, where a single chip will come to rest; and where the chip as meant would. Landings scatter just as drawn, as the
fit takes it; further scenarios make the world differ from the model on purpose and count how often the fit says so.
The result goes to ``coverage_chain.csv`` and ``coverage_chain.md``.
"""

import math
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
from tally import Tally, near, run, says_so
from worlds import Sheets

import golfphys
from golfphys import BAG, LIES, CourseTruth, Delivery, Green, LinearTurf, Player, Turf
from golfphys.core import constants
from golfphys.core.names import Key, Sample
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.player import MOST, PlayerPriors, between_levels, prior_correlation
from golfphys.fitting.prediction import completed, predict
from golfphys.fitting.rollout_layout import Priors
from golfphys.fitting.turf import turf_parameters
from golfphys.physics.club import ERROR_KINDS, StrikeErrors, uneven
from golfphys.physics.flight import Aerodynamics

GREENS, PLAYER = Priors(), PlayerPriors()
RAMP = constants.RAMP_RELEASE_SPEED
SPOT = "practice-low"
CLUBS = ("8-iron", "pitching wedge", "sand wedge", "lob wedge")
LIE_NAMES = ("fairway", "light rough")
NEW, ENDS = 4, (0.05, 0.95)


@dataclass(frozen=True)
class Scenario:
    """A way in which courses come about."""

    name: str
    courses: int
    linear_turf: bool = False
    growth: float = 0.0
    allows_for_slope: bool = True


SCENARIOS = (
    Scenario("as assumed", 80),
    Scenario("slope and air move the landing", 30, allows_for_slope=False),
    Scenario("linear bounce, fitted rigid", 30, linear_turf=True),
    Scenario("resistance grows with speed, fitted constant", 30, growth=0.012),
)


def draw_turf(rng: np.random.Generator, scenario: Scenario, values: dict[str, float]) -> Turf | LinearTurf:
    fields: dict[str, Any] = {}
    for parameter in turf_parameters("linear" if scenario.linear_turf else "rigid"):
        name = parameter.of
        spread = parameter.spread * rng.standard_normal()
        fields[name] = (
            parameter.location * math.exp(spread) if parameter.transform == "log" else parameter.location + spread
        )
        values[parameter.key.label] = fields[name]
    if scenario.linear_turf:
        fields["forward_lift"] = max(fields["forward_lift"], 0.0)
        return LinearTurf(**fields)
    return Turf(**fields)


def draw_green(rng: np.random.Generator, scenario: Scenario, values: dict[str, float]) -> Green:
    """Draw a green on which chips and rolls come to rest."""
    while True:
        level = near(rng, GREENS.resistance, GREENS.resistance_spread)
        grade, direction = abs(GREENS.grade_spread * rng.standard_normal()), rng.uniform(-math.pi, math.pi)
        if grade < 0.6 * level and 0.045 < level < 0.2:
            break
    values |= {
        f"resistance[{SPOT}]": level,
        f"fall_along[{SPOT}]": grade * math.cos(direction),
        f"fall_left[{SPOT}]": grade * math.sin(direction),
    }
    # the same resistance at 1.2 m/s, where ramp rolls spend their time
    law = golfphys.Resistance(constant=level - 1.2 * scenario.growth, linear=scenario.growth)
    return Green(resistance=law, grade=grade, fall_direction=direction, turf=draw_turf(rng, scenario, values))


def draw_player(rng: np.random.Generator, values: dict[str, float]) -> Player:
    p = PLAYER
    values["attack"] = p.attack + p.attack_spread * rng.standard_normal()
    values["shaft_lean"] = p.lean + p.lean_spread * rng.standard_normal()
    values["start_direction"] = values["carry_bias"] = 0.0
    values["edge_aim"] = p.edge_aim + p.edge_aim_spread * rng.standard_normal()
    # who is good at one is good at the others
    names = [f"{kind}_error" for kind in ERROR_KINDS]
    alike = np.linalg.cholesky(prior_correlation(map(Key, names))) @ rng.standard_normal(len(ERROR_KINDS))
    for kind, name, normal in zip(ERROR_KINDS, names, alike, strict=True):
        median, spread = between_levels(kind)
        values[name] = median * math.exp(p.wider * spread * normal)
    values["between_clubs"] = near(rng, p.between, p.between_spread)
    by_club = {}
    for club in CLUBS:
        values[f"club_errors[{club}]"] = rng.standard_normal()
        own = math.exp(values["between_clubs"] * values[f"club_errors[{club}]"])
        by_club[club] = StrikeErrors(**{kind: min(own * values[f"{kind}_error"], MOST[kind]) for kind in ERROR_KINDS})
    delivery = Delivery(
        speed=8.0, attack=values["attack"], shaft_lean=values["shaft_lean"], edge_aim=values["edge_aim"]
    )
    return Player(name="invented player", delivery=delivery, errors=by_club["pitching wedge"], by_club=by_club)


def draw_truth(rng: np.random.Generator, scenario: Scenario) -> SimpleNamespace:
    """Draw a course and a player, their design, and their values by the names of the fit's parameters."""
    values: dict[str, float] = {}
    green, player, p = draw_green(rng, scenario, values), draw_player(rng, values), PLAYER
    clubs, lies = {}, {}
    values["unevenness"] = near(rng, 1.0, p.uneven_spread)
    for club in CLUBS:
        values[f"loft_error[{club}]"] = p.loft_spread * rng.standard_normal()
        clubs[club] = replace(BAG[club], loft=BAG[club].loft + values[f"loft_error[{club}]"])
    for lie in LIE_NAMES:
        values[f"face_friction[{lie}]"] = near(rng, LIES[lie].friction, p.friction_spread)
        cushion = near(rng, LIES[lie].cushion, p.cushion_spread) if LIES[lie].cushion else 0.0
        values[f"cushion[{lie}]"] = cushion
        values[f"spin_factor[{lie}]"] = near(rng, 1.0, p.spin_spread)
        friction, spin_factor = values[f"face_friction[{lie}]"], values[f"spin_factor[{lie}]"]
        made = replace(LIES[lie], friction=friction, cushion=cushion, spin_factor=spin_factor)
        lies[lie] = uneven(made, values["unevenness"])
    values["drag_scale"] = near(rng, 1.0, p.drag_spread)
    values["lift_scale"] = 1.0 + p.lift_spread * rng.standard_normal()
    values["local_slope"] = min(near(rng, p.local_slope, p.local_slope_spread), 0.08)
    values["landing_reading"] = near(rng, p.landing_reading, p.reading_spread)
    values["time_reading"] = near(rng, p.time_reading, p.reading_spread)
    values["release_speed_scale"] = near(rng, 1.0, RAMP.sd / RAMP.value)
    values["drop_scatter"] = near(rng, 0.04, 0.6)
    values["scatter_absolute"], values["scatter_relative"] = 0.06, 0.015
    scatter = {"distance_scatter": 0.06, "distance_scatter_relative": 0.015, "direction_scatter": 0.012}
    course = CourseTruth(greens={SPOT: green}, release_factor=values["release_speed_scale"], **scatter)
    sides = ((0.4, 1.5), (2.4, 1.0), (4.7, 2.0))
    design = golfphys.ChipDesign(
        stations=tuple(golfphys.Station(spot=SPOT, heading=heading, edge=edge) for heading, edge in sides),
        **{"target_low": 3.5, "target_high": 9.0, "landing_scatter": values["landing_reading"]},
        **{"time_scatter": values["time_reading"], "local_slope": values["local_slope"]},
        landings_as_drawn=scenario.allows_for_slope,
    )
    reading = {"timed_share": 0.3, "height_scatter": 0.012, "time_scatter": 0.004}
    drops = golfphys.DropDesign(
        heights=(0.8, 1.3, 1.8, 2.3, 2.8), restitution_scatter=values["drop_scatter"], **reading
    )
    air = Aerodynamics(drag_scale=values["drag_scale"], lift_scale=values["lift_scale"])
    made = {"course": course, "design": design, "drops": drops, "values": values}
    return SimpleNamespace(player=player, clubs=clubs, lies=lies, air=air, **made)


def draw_sheets(truth: SimpleNamespace, rng: np.random.Generator) -> tuple[Sheets, pd.DataFrame]:
    """Make the sheets that measuring the course would have given, and new chips besides."""
    speeds = tuple(RAMP.value * math.sqrt(share) for share in (1.0, 0.67, 0.4))
    headings = tuple(math.radians(angle) for angle in (0.0, 90.0, 180.0, 270.0))
    rolls = golfphys.RolloutDesign(headings=headings, release_speeds=speeds, side_share=0.5)
    how: dict[str, Any] = {"clubs": truth.clubs, "lies": truth.lies, "aerodynamics": truth.air, "player": truth.player}
    chips = golfphys.make_chips(truth.course, truth.design, rng, **how)
    everything = dict.fromkeys(("carry", "landing_side", "hang_time", "first_hop", "side"), 1.0)
    new = golfphys.make_chips(truth.course, replace(truth.design, repeats=1, seen=everything), rng, **how).frame
    rollouts, drops = (
        golfphys.make_rollouts(truth.course, rolls, rng),
        golfphys.make_drops(truth.course, truth.drops, rng),
    )
    return Sheets(rollouts=rollouts, drops=drops, chips=chips), new[~(new["carry"] < new["edge"])].head(NEW)


PARTS = {
    **{("turf", name): f"turf[{name}]" for name in ("restitution", "restitution_linear", "tilt_deg", "friction")},
    **{("turf", name): f"turf[{name}]" for name in ("skid_friction", "kept_by_angle", "kept_by_speed", "patchiness")},
    **{("turf", name): name for name in ("drop_scatter", "local_slope_pct")},
    **{("player", name): name for name in ("attack_deg", "shaft_lean_deg", "start_direction_deg", "carry_bias")},
    **{("player", name): name for name in ("speed_error_pct", "direction_error_deg", "attack_error_deg")},
    **{("player", name): name for name in ("shaft_lean_error_deg", "low_point_error_mm", "height_error_mm")},
    **{("player", name): name for name in ("edge_aim", "between_clubs")},
    **{(f"lie {lie}", "friction"): f"face_friction[{lie}]" for lie in LIE_NAMES},
    **{(f"lie {lie}", "spin_factor"): f"spin_factor[{lie}]" for lie in LIE_NAMES},
    ("lie light rough", "unevenness"): "unevenness",
    **{("reading", name): name for name in ("landing_reading", "time_reading")},
    **{("air", name): name for name in ("drag_scale", "lift_scale")},
    (SPOT, "resistance"): f"resistance[{SPOT}]",
}
"""What a fit's table calls the values of a truth, apart from their units."""
UNITS = {"_deg": math.degrees(1.0), "_pct": 100.0, "_mm": 1000.0}


def true_estimates(truth: SimpleNamespace) -> dict[tuple[str, str], float]:
    values, found = truth.values, {}
    for key, name in PARTS.items():
        unit = next((end for end in UNITS if key[1].endswith(end)), "")
        if (plain := name.replace(unit, "") if unit else name) in values:
            found[key] = UNITS.get(unit, 1.0) * values[plain]
    found[(SPOT, "grade_along")] = -values[f"fall_along[{SPOT}]"]
    found[(SPOT, "grade_left")] = -values[f"fall_left[{SPOT}]"]
    for club in CLUBS:
        found[(f"club {club}", "loft_deg")] = math.degrees(truth.clubs[club].loft)
    return found


def meant_rest(fit: CourseFit, truth: SimpleNamespace, chips: Any) -> np.ndarray:
    """Return where new chips would come to rest without scatter, by the truth."""
    names = fit.posterior.model.names
    row = np.array([[truth.values.get(name, fit.centre[i]) for i, name in enumerate(names.labels)]])
    rng = np.random.default_rng(0)
    draws = completed(fit, Sample(names, row), rng, chips)
    found: np.ndarray = predict(fit.model_for(chips, draws), draws, rng).meant[0, :, 3]
    return found


def count(scenario: Scenario, rng: np.random.Generator, tally: Tally) -> None:
    """Fit one course and note what its intervals hold, of parameters and of new chips."""
    truth, sheets, new = draw_course(scenario, rng)
    fit = golfphys.fit(*sheets, turf_law="rigid")
    table = fit.estimates
    for key, value in true_estimates(truth).items():
        of_others = (scenario.linear_turf and key[0] == "turf") or (scenario.growth and key[1] == "resistance")
        if key in table.index and not of_others:
            name = key[1] if not key[0].startswith("lie") else f"{key[1]} {key[0][4:]}"
            tally.note(name, *table.loc[key, ["low", "high"]].astype(float), value)
    aims = new[["club", "lie", "spot", "heading", "target_carry"]]
    for name, shots in (("its aim", aims), ("where it landed", aims.assign(carry=new["carry"]))):
        found = fit.predict(shots, n=1000, seed=1)
        tally.note(f"rest of a new chip, from {name}", *np.quantile(found.rest, ENDS, axis=0), new["rest"].to_numpy())
        if shots is aims and not scenario.linear_turf and not scenario.growth:
            meant = np.quantile(found.meant[:, :, 3], ENDS, axis=0)
            tally.note("rest of a chip as meant", *meant, meant_rest(fit, truth, found.chips))
        if shots is aims:
            hang = np.quantile(found.values[:, :, 1], ENDS, axis=0)
            tally.note("hang time of a new chip", *hang, new["hang_time"].to_numpy())
    tally.count("fits that say that a law may not hold", says_so(fit))


def draw_course(scenario: Scenario, rng: np.random.Generator) -> tuple[SimpleNamespace, Sheets, pd.DataFrame]:
    """Draw a truth and its sheets; a club that never lands there, a chip that does not stop: no course to chip on."""
    for _ in range(50):
        try:
            truth = draw_truth(rng, scenario)
            found = (truth, *draw_sheets(truth, rng))
        except ValueError:
            continue
        if float(found[1].chips.frame["rest"].max()) < 120.0:
            break
    return found


if __name__ == "__main__":
    run(Path(__file__), SCENARIOS, count, 20250511)
