"""What the trade holds about chips; leave, scrambling and strokes of a tour; the order of the lies for every club."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
import tour_level
from conftest import ROOT, ExternalCheck
from scipy.stats import rayleigh

from golfphys import BAG, LIES, TOUR_PLAYER, Air, Green, Surface, assumed, launch_from, putts_to_hole_out, stated
from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning import FIRMNESS, USUAL, Conditions, Effort, Position, costs, plan_chip
from golfphys.planning.position import PUTTING

INCHES = METRES_PER_FOOT / 12
SITUATIONS = pd.read_csv(ROOT / "data" / "situations.csv", comment="#")
MEASURED = Effort(draws=16, landings=17, errors=16, last=64)
KNOWN = Effort(draws=1, landings=17, errors=128, last=512)
MIDDLE, WEDGES = ("9-iron", "gap wedge", "lob wedge"), ("gap wedge", "sand wedge", "lob wedge")


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
    ground = Surface.from_points(points["x_m"], points["y_m"], points["height_mm"] / 1000, height_sd=0.005)
    return ground.along(x, y, math.radians(heading_deg))


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(number, id=name, marks=() if survey == "none" else pytest.mark.thorough)
        for number, (name, survey) in enumerate(zip(SITUATIONS["name"], SITUATIONS["survey"], strict=True))
    ],
)
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
    print("landed:", ", ".join(f"{name} {onto:.1f} m on" for name, onto in landed.items()))
    words = {"name": row["name"], "lead": row.may_lead.replace("|", ", "), "why": row.why}
    holds = float(not wrong and not off and bool(landed))
    external_check("situation-{slug}", holds, slug=row["name"].replace(" ", "-"), **words)


@cache
def table(stimp=10.0, to_edge=3.0, to_pin=15.0, lie="fairway", grade=0.0):
    draws = stated(Green.from_stimp(stimp, grade=grade))
    plan = plan_chip(draws, to_edge=to_edge, to_pin=to_pin, lie=lie, effort=KNOWN, options=(USUAL,))
    return plan.table.set_index("club")


def gain_of_loft(to_pin):
    """Strokes that the lob wedge saves over the 8-iron, both landed on the green."""
    plan = plan_chip(stated(Green.from_stimp(10.0)), to_edge=5.0, to_pin=to_pin, effort=KNOWN, options=(USUAL,))
    on = plan.curves[plan.curves["landing_m"] >= plan.position.to_edge].groupby("club")["strokes"].min()
    # a club that cannot be landed on the green and stop near the pin is no choice at all
    return on.get("8-iron", np.inf) - on["lob wedge"]


def landing(*clubs, **question):
    return table(**question).loc[list(clubs), "landing_m"]


def spin(lie):
    return launch_from(BAG["lob wedge"], TOUR_PLAYER.delivery, LIES[lie]).backspin


TRADE = {
    "the longer the pin, the less the most lofted club gains over the least": (
        *("longer-pin-less-loft", lambda: gain_of_loft(8.0) > gain_of_loft(14.0) > gain_of_loft(28.0)),
    ),
    "a faster green is landed no farther on": (
        "faster-green-shorter-landing",
        lambda: (landing(*MIDDLE, stimp=12.0) < landing(*MIDDLE, stimp=9.0) + 0.15).all(),
    ),
    "downhill is landed shorter with the wedges": (
        *("downhill-shorter-landing", lambda: (landing(*WEDGES, grade=0.02) < landing(*WEDGES)).all()),
    ),
    "less loft runs farther to the same pin": (
        *("less-loft-more-run", lambda: table().loc[list(BAG), "roll_m"].is_monotonic_decreasing),
    ),
    "a clean tight lie spins more than rough": ("tight-lie-spins-more", lambda: spin("tight") > 1.2 * spin("rough")),
    "rough is dearer than fairway": (
        "rough-is-dearer",
        lambda: table(lie="rough").iloc[0]["strokes"] > table(lie="fairway").iloc[0]["strokes"] + 0.1,
    ),
}


@pytest.mark.parametrize("what", TRADE, ids=lambda what: TRADE[what][0])
def test_what_the_trade_holds(what, external_check):
    slug, holds = TRADE[what]
    external_check("practice-{slug}", float(holds()), slug=slug, what=what)


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
    external_check("practice-landing-six-feet-on", onto / METRES_PER_FOOT)


def test_one_putts_from_the_tour_leave_agree_with_tour_scrambling(external_check):
    shares = (np.arange(4000) + 0.5) / 4000
    leave = (7 * 12 + 10) * INCHES
    # misses that are normal in both directions leave a Rayleigh distance, of this mean
    leaves = rayleigh(scale=leave / np.sqrt(np.pi / 2)).ppf(shares)
    percent = 100 * float(putts_to_hole_out().model.probability(leaves).mean())
    external_check("tour-scrambling-from-tour-leave", percent)


def test_chips_from_the_collar_leave_what_a_tour_leaves(external_check):
    leaves = []
    for pin in (5.0, 7.0, 9.0):
        best = plan_chip(stated(Green.from_stimp(11.0)), to_edge=0.5, to_pin=pin, effort=KNOWN).played[0]
        leaves.append(float(best.outcome.leave.mean()))
    external_check("tour-leave-from-the-collar", np.mean(leaves) / METRES_PER_FOOT)


@pytest.mark.thorough
def test_a_tour_player_takes_what_a_tour_takes(external_check: ExternalCheck) -> None:
    table = tour_level.study(TOUR_PLAYER, 32, 5).set_index("case")
    for name, row in table.iterrows():
        case, strokes, leave = (
            {"name": name, "slug": str(name).replace(" ", "_")},
            *row[["target_strokes", "target_leave"]],
        )
        if not math.isnan(strokes):
            external_check("tour_{slug}", row["strokes"], strokes, **case)
        if not math.isnan(leave):
            external_check("tour_leave_{slug}", row["leave"], round(leave, 2), 0.2 * leave, **case)
    for yards, dearer in ((10, 0.16), (30, 0.18), (60, 0.21)):
        found = table.loc[f"{yards} yd rough", "strokes"] - table.loc[f"{yards} yd fairway", "strokes"]
        external_check("tour_rough_costs_{yards}_yd", found, dearer, yards=yards)
