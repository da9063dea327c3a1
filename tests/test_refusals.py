"""What is asked wrongly is answered in words: numbers out of their range, things of the wrong kind, what cannot be."""

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import BAG, LIES, Air, ChipDesign, Delivery, DropDesign, Launch, RolloutDesign, Surface, panels
from golfphys.core import broadcasting
from golfphys.fitting.turf import turf_parameters
from golfphys.invented import CourseTruth, FilmDesign, FilmedRoll, Station, make_chips, make_films, make_rollouts
from golfphys.panels.planning import read_headings
from golfphys.physics import bounce, ramp
from golfphys.physics.aim import aim_and_pace
from golfphys.physics.draws import stated
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.putting import AngleDistanceModel
from golfphys.physics.shot import simulate
from golfphys.physics.strike import deviations
from golfphys.planning import Effort, Position, Stated, find_wedge_gaps, plan_chip
from golfphys.sheets import Sheet
from golfphys.show import plots, worked

GREEN, SHOT, TOUR = Green.from_stimp(10.0), Launch(8.0, 0.5, 200.0), golfphys.TOUR_PLAYER
KNOWN, DRAWN, FEW = stated(GREEN), golfphys.assumed(GREEN, n=4), Effort(draws=4, landings=5, errors=4, last=8)
LOW = CourseTruth(greens={"low": GREEN})
STEEP = CourseTruth(greens={"low": Green(resistance=Resistance(constant=0.05), grade=0.06)})
ELSEWHERE = FilmedRoll(name="a", spot="b", kind="ramp", heading=0.0, speed=1.0)
HERE = (Station(spot="low", heading=0.0),)
CORNERS = [0, 4, 0, 4], [0, 0, 4, 4]
GROUND = Surface.from_points(*CORNERS, np.zeros(4))
GRAINED = Resistance(constant=0.08, grain=0.2)
WEDGE = BAG["sand wedge"]

THINGS = (
    *(Turf(), LinearTurf(), GREEN, golfphys.Hole(x=1.0), golfphys.OPTIONS["usual"], TOUR.errors, WEDGE, LIES["rough"]),
    *(Delivery(speed=8.0), SHOT, LOW, RolloutDesign(), DropDesign()),
)


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: type(thing).__name__)
def test_a_number_out_of_its_range_is_named_with_what_it_is_of(thing: Any) -> None:
    ranges = broadcasting.ranges_of(type(thing))
    assert ranges
    for name, (low, high) in ranges.items():
        for bad in (low - 1.0, high + 1.0, math.nan, "far"):
            if bad not in (-math.inf, math.inf):
                refused(f"{type(thing).__name__} {name} is", lambda name=name, bad=bad: replace(thing, **{name: bad}))


def at(**change: Any) -> Any:
    """Ask for a plan of a usual position with one thing changed."""
    return plan_chip(KNOWN, **({"to_edge": 3.0, "to_pin": 14.0, "lie": "fairway"} | change), effort=FEW)


def carried(**change: Any) -> Any:
    return golfphys.make_carry_sheet(DRAWN, spot="low", made_for=None, **change)


def fit(rolls: pd.DataFrame | None = None, **options: Any) -> Any:
    return golfphys.fit(Sheet(kind="rollouts", frame=ROLLED if rolls is None else rolls), **options)


def shot(**values: float) -> Any:
    shown = panels.shot(units="metres", club="8-iron")
    return shown.subject.compute(shown.values | values)


REFUSED: dict[str, Callable[[], Any]] = {
    # the air and the ball
    **{f"Air {name} is": lambda name=name: Air(**{name: -1.0}) for name in ("temperature", "pressure", "humidity")},
    "Air wind_speed is": lambda: Air(wind_speed=-1.0),
    "Air altitude is": lambda: Air(altitude=math.nan),
    "Aerodynamics reynolds": lambda: Aerodynamics(reynolds=(1.0, 2.0)),
    "Aerodynamics drag has shape": lambda: Aerodynamics(drag=((0.5, 0.5),)),
    "spin_decay": lambda: Aerodynamics(spin_decay=1.0),
    # rolls, ramps, bounces, strikes
    r"speed is -1.0; expected numbers not below 0": lambda: ramp.stopping_distance(-1.0, 0.08),
    r"linear is 0\.01 and quadratic is 0\.02": lambda: ramp.stopping_time(1.0, 0.08, linear=0.01, quadratic=0.02),
    "distance is": lambda: ramp.speed_at_distance([1.0, -2.0], 1.0, 0.08),
    "speed is -1": lambda: golfphys.roll.roll(-1.0, 0.0, 0.08),
    "friction is -0.1": lambda: golfphys.skid(1.0, friction=-0.1),
    "distance_up is 0.0": lambda: ramp.two_way_mean(0.0, 1.0),
    "resistance is -0.1": lambda: ramp.green_speed(-0.1),
    "below the ball's diameter": lambda: ramp.release_speed(contact_spacing=0.05),
    "radians from 0 to pi/2": lambda: ramp.release_speed(angle=2.0),
    "normal is": lambda: bounce.bounce([1.0, 0.0, -2.0], [0.0, 0.0, 0.0], normal=[0.0, 0.0, 2.0]),
    r"drop_height 0\.0, rebound_height 0\.1; expected": lambda: bounce.drop_restitution(0.0, 0.1),
    "drop_height is -1": lambda: bounce.rebound_height(Turf(), -1.0),
    r"z has shape \(5, 2\)": lambda: deviations(8.0, LIES["fairway"], np.zeros((5, 2)), TOUR.errors),
    "arc_radius": lambda: golfphys.low_point_window(WEDGE, Delivery(speed=8.0), LIES["tight"], arc_radius=-1.0),
    # putts
    "model is 'cubic'": lambda: golfphys.make_probability(1.0, model="cubic"),  # type: ignore[arg-type]
    "player is 'robot'": lambda: golfphys.make_probability(1.0, player="robot"),
    "player is -1": lambda: golfphys.putts_to_hole_out(player=-1),
    r"distance is .*-1": lambda: golfphys.make_probability([-1.0, 2.0]),
    "angle_error is 0": lambda: AngleDistanceModel(angle_error=0),
    "expected a positive distance": lambda: Green.from_stimp([8.0, 0.0]),
    "overshoot is 2": lambda: AngleDistanceModel(overshoot=2),
    # surveys, aims
    "heights: 4 are not numbers": lambda: Surface.from_points(*CORNERS, np.full(4, math.nan)),
    "lie on one line": lambda: Surface.from_points([0, 1, 2, 3], [0, 1, 2, 3], [0, 0, 0, 0]),
    "at least four": lambda: Surface.from_points([0, 1, 0], [0, 0, 1], [0, 0, 0]),
    "same x and y": lambda: Surface.from_points([0, 1, 0, 1, 1], [0, 0, 1, 1, 1], np.zeros(5)),
    "height_sd is -1.0": lambda: Surface.from_points(*CORNERS, np.zeros(4), height_sd=-1.0),
    "is the start": lambda: aim_and_pace(0.0, 0.0, 0.08),
    "arrival_speed is -1": lambda: aim_and_pace(1.0, 0.0, 0.08, arrival_speed=-1),
    "both a grade and a surface": lambda: aim_and_pace(1.0, 0.0, 0.08, 0.01, surface=GROUND),
    "x=9 m, y=0 m is off": lambda: aim_and_pace(9.0, 0.0, 0.08, surface=GROUND, start=(1.0, 1.0)),
    # draws and plans
    "different length": lambda: replace(DRAWN, local_slope=np.array([0.01, 0.02])),
    "not finite in local_slope": lambda: replace(DRAWN, local_slope=np.array([0.01, 0.02, np.nan, 0.0])),
    "expected one of tour, club": lambda: golfphys.assumed(GREEN, level="county"),
    "expected a distance": lambda: at(to_edge=-1.0),
    "must lie beyond": lambda: at(to_pin=2.0),
    "lie is 'sand'; expected one of": lambda: at(lie="sand"),
    "are missing": lambda: at(to_pin=None),
    r"golfphys\.assumed\(green\)": lambda: plan_chip(GREEN, to_edge=3.0, to_pin=14.0),
    "rising distances": lambda: Position(to_edge=3.0, to_pin=9.0, before=(("rough", 2.0),)),
    "expected one of collar": lambda: Position(to_edge=3.0, to_pin=9.0, before=(("heather", 3.0),)),
    "firmness is 'icy'": lambda: golfphys.carry_and_roll(firmness=["icy"]),
    "lie is 'bunker'; expected one of tight": lambda: golfphys.landing_shift(known=Stated(lie="bunker")),
    "spoon; expected names among": lambda: golfphys.sensitivities("spoon"),
    "does not stop": lambda: golfphys.sensitivities("8-iron", stimp_ft=14.0, grade=-0.2),
    "unit is 'yd'": lambda: carried(unit="yd"),
    "pace is 3.0": lambda: carried(pace=3.0),
    "expected rising distances": lambda: carried(distances=[10, 5]),
    "expected steps": lambda: golfphys.measured_pace(17.0, 5),
    "club is 'putter'": lambda: golfphys.changed_loft("putter", 4.0),
    "expected a column swing": lambda: find_wedge_gaps(pd.DataFrame({"club": ["a"], "carry_m": [50]})),
    "headings without rows": lambda: find_wedge_gaps(pd.DataFrame({"club": [], "swing": [], "carry_m": []})),
    # invented courses
    "never stops": lambda: make_rollouts(STEEP, RolloutDesign(), 1),
    "never comes to rest": lambda: make_chips(STEEP, ChipDesign(stations=HERE), 1),
    "the course has: low": lambda: make_chips(LOW, ChipDesign(stations=(Station(spot="high", heading=0.0),)), 1),
    "course has: low": lambda: make_films(LOW, FilmDesign(rolls=(ELSEWHERE,)), 1),
    "club 'putter' is not known": lambda: make_chips(LOW, ChipDesign(stations=HERE, clubs=("putter",)), 1),
    "lie 'sand' is not known": lambda: make_chips(LOW, ChipDesign(stations=HERE, lies=("sand",)), 1),
    "CourseTruth": lambda: CourseTruth(greens={}),
    "RolloutDesign": lambda: RolloutDesign(headings=()),
    "one release speed and one repeat": lambda: RolloutDesign(repeats=0),
    "DropDesign": lambda: DropDesign(heights=(0.0,)),
    # figures and worked tables
    r"a grain of 0\.2; expected one without": lambda: plots.plot_slowing({"law": GRAINED}),
    r"grain of 0\.2": lambda: worked.rolls_by_speed({"law": GRAINED}, [1.0]),
    # fits
    "turf_law is 'soft'; expected one of: rigid, linear": lambda: turf_parameters("soft"),  # type: ignore[arg-type]
    "there is no sheet to fit": golfphys.fit,
    # panels
    "no such control: stimp; this panel has stimp_ft": lambda: panels.chip(stimp=10),
    "stimp_ft is 40; expected a number from 6 to 14": lambda: panels.chip(stimp_ft=40),
    "lie is 'mud'; expected one of: tight, fairway": lambda: panels.chip(lie="mud"),
    "headings is 3; expected a str": lambda: panels.measuring(headings=3),
    "units is 'yards'": lambda: panels.chip(units="yards"),
    "the ball does not stop": lambda: shot(stimp_ft=14.0, uphill_pct=-8.0),
    "does not lift the ball": lambda: shot(attack_deg=-30.0, lean_deg=35.0),
    "0 given; expected 1 to 16": lambda: read_headings(""),
    "400 is no direction": lambda: read_headings("0 400"),
    "20 given": lambda: read_headings(", ".join(str(10 * number) for number in range(20))),
    "nan is no direction": lambda: read_headings("0, nan"),
}
ROLLED = pd.DataFrame({"spot": ["low"] * 4, "heading": [0.0, 1.6, 3.1, 4.7], "release_speed": 1.83, "distance": 3.0})
SPOILT = (ROLLED.drop(columns="distance"), ROLLED.assign(distance="far"))
WRONG = {
    **{f"seed {value!r}": {"seed": value} for value in (-1, 1.5, "x")},
    **{f"session_gap_hours {value!r}": {"session_gap_hours": value} for value in (-1, "day", math.nan)},
    **{f"release_speed_sd {value!r}": {"release_speed_sd": value} for value in (-1.0, "a")},
    **{f"{name} 3": {name: 3} for name in ("pool", "grain", "clubs", "lies", "priors", "player_priors")},
    "law is 'cubic'; expected one of: constant, linear, quadratic": {"law": "cubic"},
    "club 'sand wedge'": {"clubs": {"sand wedge": 56}},
    "lie 'fairway'": {"lies": {"fairway": 1.0}},
}
ODD: dict[str, Any] = {
    "launch": lambda: simulate(None, GREEN),
    "ground": lambda: simulate(SHOT, None),
    "air": lambda: simulate(SHOT, GREEN, air=3),
    "executor": lambda: simulate(SHOT, GREEN, executor=3),
    "time_step": lambda: simulate(SHOT, GREEN, time_step="short"),
    "speed": lambda: Launch([8.0, None], 0.5, 200.0),
    "stimp_ft": lambda: Green.from_stimp("fast"),
    "club": lambda: golfphys.launch_from("sand wedge", Delivery(speed=9.0), LIES["fairway"]),
    "green": lambda: golfphys.assumed("fast"),
    "fit": lambda: golfphys.next_measurement(None, "low", None),
    "to_edge": lambda: Position(to_edge="3", to_pin=14.0),
    "lie": lambda: Position(to_edge=3.0, to_pin=14.0, lie=["rough"]),
    "position": lambda: plan_chip(DRAWN, position=(3, 14)),
    "effort": lambda: plan_chip(DRAWN, to_edge=3, to_pin=14, effort=3),
    "options": lambda: plan_chip(DRAWN, to_edge=3, to_pin=14, options=[None]),
    "plan": lambda: golfphys.what_if(None),
    "distance": lambda: golfphys.make_probability("x"),
    "distance_up": lambda: golfphys.two_way_mean("x", 3.0),
    "courses": lambda: golfphys.fit_each(None),
}
CASES = [
    *REFUSED.items(),
    *((option if ";" in option else option.split()[0], partial(fit, **more)) for option, more in WRONG.items()),
    *((rf"{name.rstrip('s')}s? is .*; expected", work) for name, work in ODD.items()),
    *(("distance", partial(fit, spoilt)) for spoilt in SPOILT),
]


@pytest.mark.usefixtures("fresh_home")
@pytest.mark.parametrize(("words", "work"), CASES)
def test_what_cannot_be_is_refused_in_words(words: str, work: Callable[[], Any]) -> None:
    refused(words, work)
