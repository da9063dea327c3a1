"""What the trade holds about chips; leave, scrambling and strokes of a tour; the order of the lies for every club."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
from conftest import ROOT, ExternalCheck
from scipy.stats import rayleigh
from studies import tour_level

from golfphys import (
    BAG,
    LIES,
    TOUR_PLAYER,
    Air,
    Club,
    Green,
    Surface,
    assumed,
    launch_from,
    putts_to_hole_out,
    simulate,
    stated,
    strike,
)
from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning import FIRMNESS, USUAL, Conditions, Effort, Position, costs, plan_chip
from golfphys.planning.position import PUTTING

PRACTICE = {"source": "common practice of the trade", "locator": "no source", "mark": "practice", "unit": "1"}
TOUR = {"source": "statistics of a tour, 2017", "mark": "read"}
INCHES = METRES_PER_FOOT / 12
SITUATIONS = pd.read_csv(ROOT / "data" / "situations.csv", comment="#")
MEASURED = Effort(draws=16, landings=17, errors=16, last=64)
KNOWN = Effort(draws=1, landings=17, errors=128, last=512)


def answered(row, effort=MEASURED):
    """Plan for a tour-level player on a measured green: lies, air and surroundings are as unsure as they are."""
    uphill, left = row.uphill_pct / 100, row.falls_left_pct / 100
    green = Green.from_stimp(row.green_ft, grade=math.hypot(uphill, left), fall_direction=math.atan2(left, -uphill))
    draws = assumed(green, turf=FIRMNESS[row.firmness], player=TOUR_PLAYER)
    wind = Air(wind_speed=abs(row.wind_m_s), wind_direction=0.0 if row.wind_m_s > 0 else math.pi)
    under_ball = {f"lie_{name}": math.radians(row[f"lie_{name}_deg"]) for name in ("uphill", "falls_left")}
    position = Position(to_edge=row.to_edge_m, to_pin=row.to_pin_m, lie=row.lie, **under_ball)
    conditions = Conditions(air=wind, surface=on_survey(row.survey))
    return plan_chip(draws, position=position, conditions=conditions, effort=effort)


def on_survey(place):
    if place == "none":
        return None
    x, y, heading_deg = map(float, place.split())
    points = pd.read_csv(ROOT / "data" / "demo" / "survey.csv", comment="#")
    grid = points.pivot_table(index="x_m", columns="y_m", values="height_mm") / 1000
    ground = Surface.from_grid(grid.index, grid.columns, grid.to_numpy(), height_sd=0.005)
    return ground.along(x, y, math.radians(heading_deg))


def test_there_are_twenty_situations_with_reasons():
    assert len(SITUATIONS) >= 20
    assert SITUATIONS.notna().all().all()
    assert SITUATIONS["name"].is_unique


@pytest.mark.parametrize("number", range(len(SITUATIONS)), ids=SITUATIONS["name"])
def test_no_answer_is_one_that_would_not_be_played(number, external_check):
    row = SITUATIONS.iloc[number]
    plan = answered(row)
    allowed = row.may_lead.split("|")
    landed = {item.label: item.row["onto_green_m"] for item in plan.answer.choices}
    wrong = [name for name in landed if not name.startswith(tuple(allowed))]
    off = [
        f"{name} {onto:.1f} m on"
        for name, onto in landed.items()
        if not name.startswith(PUTTING.name) and not row.onto_from_m <= onto <= row.onto_to_m
    ]
    slug, holds = "situation-" + row["name"].replace(" ", "-"), float(not wrong and not off and bool(landed))
    what = f"{row['name']}: {row.may_lead.replace('|', ', ')}; {row.why} (1: it holds; found {landed})"
    external_check(slug, holds, 1.0, 0.5, what=what, **PRACTICE)


@cache
def table(stimp=10.0, to_edge=3.0, to_pin=15.0, lie="fairway", grade=0.0):
    draws = stated(Green.from_stimp(stimp, grade=grade))
    plan = plan_chip(draws, to_edge=to_edge, to_pin=to_pin, lie=lie, effort=KNOWN, options=(USUAL,))
    return plan.table.set_index("club")


def gain_of_loft(**question):
    """Strokes that the lob wedge saves over the 8-iron, both landed on the green."""
    plan = plan_chip(stated(Green.from_stimp(10.0)), **question, effort=KNOWN, options=(USUAL,))
    on = plan.curves[plan.curves["landing_m"] >= plan.to_edge].groupby("club")["strokes"].min()
    # a club that cannot be landed on the green and stop near the pin is no choice at all
    return on.get("8-iron", np.inf) - on["lob wedge"]


def longer_pin_less_loft():
    gains = [gain_of_loft(to_edge=5.0, to_pin=pin) for pin in (8.0, 14.0, 28.0)]
    return gains[0] > gains[1] > gains[2]


def faster_green_shorter_landing():
    clubs = ["9-iron", "gap wedge", "lob wedge"]
    slow, fast = (table(stimp=feet).loc[clubs, "landing_m"] for feet in (9.0, 12.0))
    return bool((fast < slow + 0.15).all())


def downhill_shorter_landing():
    clubs = ["gap wedge", "sand wedge", "lob wedge"]
    down, level = (table(grade=grade).loc[clubs, "landing_m"] for grade in (0.02, 0.0))
    return bool((down < level).all())


def less_loft_more_run():
    return table().loc[list(BAG), "roll_m"].is_monotonic_decreasing


def tight_lie_spins_more():
    spins = [launch_from(BAG["lob wedge"], TOUR_PLAYER.delivery, LIES[lie]).backspin for lie in ("tight", "rough")]
    return spins[0] > 1.2 * spins[1]


def rough_is_dearer():
    return table(lie="rough").iloc[0]["strokes"] > table(lie="fairway").iloc[0]["strokes"] + 0.1


@pytest.mark.parametrize(
    ("what", "holds"),
    [
        ("the longer the pin, the less the most lofted club gains over the least", longer_pin_less_loft),
        ("a faster green is landed no farther on", faster_green_shorter_landing),
        ("downhill is landed shorter with the wedges", downhill_shorter_landing),
        ("less loft runs farther to the same pin", less_loft_more_run),
        ("a clean tight lie spins more than rough", tight_lie_spins_more),
        ("rough is dearer than fairway", rough_is_dearer),
    ],
    ids=lambda item: getattr(item, "__name__", ""),
)
def test_what_the_trade_holds(what, holds, external_check):
    slug = "practice-" + holds.__name__.replace("_", "-")
    external_check(slug, float(holds()), 1.0, 0.5, what=f"{what} (1: it holds)", **PRACTICE)


def test_ignoring_the_slope_costs_most_on_a_steep_green():
    steep = Green.from_stimp(11.0, grade=0.04, fall_direction=math.pi / 2)
    draws = replace(stated(steep), local_slope=0.0)
    plan = plan_chip(draws, to_edge=3.0, to_pin=14.0, effort=Effort(draws=1, landings=13, errors=64, last=64))
    found = costs(plan)
    assert found["ignored"].iloc[0] == "the slope"
    assert found["cost"].is_monotonic_decreasing
    assert found.set_index("ignored").loc["the wind", "cost"] == 0.0


def test_a_mid_pin_is_landed_about_six_feet_on(external_check):
    onto = table(to_edge=3.0, to_pin=12.0).loc[["9-iron", "pitching wedge", "gap wedge"], "onto_green_m"].mean()
    what = "landing spot beyond the edge, mean of 9-iron to gap wedge, 3 m to the edge and 12 m to the pin"
    reason = "a rule of thumb for all clubs, greens and positions; held to its size only, 2 to 10 ft"
    words = {**PRACTICE, "what": what, "reason": reason, "unit": "ft"}
    external_check("practice-landing-six-feet-on", onto / METRES_PER_FOOT, 6.0, 4.0, **words)


def test_one_putts_from_the_tour_leave_agree_with_tour_scrambling(external_check):
    shares = (np.arange(4000) + 0.5) / 4000
    leave = (7 * 12 + 10) * INCHES
    # misses that are normal in both directions leave a Rayleigh distance, of this mean
    leaves = rayleigh(scale=leave / np.sqrt(np.pi / 2)).ppf(shares)
    words = {"what": "share of one-putts when chips from rough leave 7 ft 10 in on average, in per cent", **TOUR}
    words["locator"] = "scrambling 58 to 60 %; leave from rough around the green 7 ft 10 in (75th of the tour)"
    reason = "a range of two points; leaves are assumed Rayleigh, and scrambling holds other lies, sand among them"
    percent = 100 * float(putts_to_hole_out().model.probability(leaves).mean())
    external_check("tour-scrambling-from-tour-leave", percent, 59.0, 4.0, unit="percent", reason=reason, **words)


def test_chips_from_the_collar_leave_what_a_tour_leaves(external_check):
    leaves = []
    for pin in (5.0, 7.0, 9.0):
        best = plan_chip(stated(Green.from_stimp(11.0)), to_edge=0.5, to_pin=pin, effort=KNOWN).played[0]
        leaves.append(float(best.outcome.leave.mean()))
    what = "mean leave of the tour-level player from half a metre off the green, pins of 5 to 9 m, 11 ft green"
    words = {"what": what, "locator": "leave from the collar 2 ft 11 in (75th of the tour)", **TOUR}
    words["reason"] = "neither the pins nor the clubs of the tour's chips are known: its size only"
    external_check("tour-leave-from-the-collar", np.mean(leaves) / METRES_PER_FOOT, "2.92", 1.0, unit="ft", **words)


BROADIE = {"source": "Broadie, Every Shot Counts (2014)", "locator": "average strokes to hole out", "mark": "memory"}
LEAVES = {"source": "tour statistics 2017", "locator": "average leave, 75th of the tour", "mark": "read"}
GREEN = Green.from_stimp(10.5)
PUTTS = putts_to_hole_out()


def expected_strokes(club: Club, lie: str, to_pin: float) -> float:
    z = np.random.default_rng(11).standard_normal((6, 1, 600))
    speed = np.geomspace(2.0, 20.0, 60)
    swing = replace(TOUR_PLAYER.delivery, speed=speed)
    meant = strike(club, swing, LIES[lie], np.zeros((6, 1)), TOUR_PLAYER.errors)
    rest = np.asarray(simulate(meant.launch, GREEN).rest_x)
    paces = np.interp(to_pin + np.array([-0.3, 0.0, 0.3, 0.6, 1.0]), np.maximum.accumulate(rest), speed)
    swing = replace(swing, speed=paces[:, None])
    shots = simulate(strike(club, swing, LIES[lie], z, TOUR_PLAYER.errors).launch, GREEN)
    leave = np.minimum(np.hypot(np.asarray(shots.rest_x) - to_pin, np.asarray(shots.rest_y)), 40.0)
    return float(1.0 + np.asarray(PUTTS(leave)).mean(axis=1).min())


@pytest.mark.parametrize("club", list(BAG))
def test_rough_costs_with_every_club(club: str) -> None:
    fairway, light, rough = (expected_strokes(BAG[club], lie, 15.0) for lie in ("fairway", "light rough", "rough"))
    assert rough > light + 0.02
    assert rough > fairway + 0.05


@pytest.mark.parametrize("club", ["gap wedge", "sand wedge", "lob wedge"])
def test_a_tight_lie_costs_with_lofted_clubs(club: str) -> None:
    assert expected_strokes(BAG[club], "tight", 15.0) > expected_strokes(BAG[club], "fairway", 15.0) + 0.01


@pytest.mark.thorough
def test_a_tour_player_takes_what_a_tour_takes(external_check: ExternalCheck) -> None:
    table = tour_level.study(TOUR_PLAYER, 32, 5).set_index("case")
    reason = "asked of the reference player: what the mix of pins and greens leaves open is more than a digit"
    for name, row in table[table["target_strokes"].notna()].iterrows():
        words = {"what": f"strokes of the reference player of tour level to hole out, {name}", "reason": reason}
        slug = f"tour_{str(name).replace(' ', '_')}"
        external_check(slug, row["strokes"], row["target_strokes"], 0.04, unit="1", **words, **BROADIE)
    for yards, dearer in ((10, 0.16), (30, 0.18), (60, 0.21)):
        found = table.loc[f"{yards} yd rough", "strokes"] - table.loc[f"{yards} yd fairway", "strokes"]
        words = {"what": f"strokes that rough costs over fairway at {yards} yd"}
        words["reason"] = "a difference of two averages, each held to 0.04"
        external_check(f"tour_rough_costs_{yards}_yd", found, dearer, 0.08, unit="1", **words, **BROADIE)
    for name, row in table[table["target_leave"].notna()].iterrows():
        slug, target = f"tour_leave_{str(name).replace(' ', '_')}", row["target_leave"]
        what = f"average leave of the reference player of tour level, {name}"
        external_check(slug, row["leave"], round(target, 2), 0.2 * target, what=what, unit="m", **LEAVES)
