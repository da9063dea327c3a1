"""What the trade holds about chips, what a tour takes; green speed, sensitivities, and what habits cost."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
import tour_level
from conftest import ROOT, ExternalCheck
from scipy.stats import rayleigh

from golfphys import BAG, LIES, TOUR_PLAYER, Air, Green, Surface, assumed, launch_from, simulate, stated
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.putting import putts_to_hole_out
from golfphys.planning import FIRMNESS, PUTTING, USUAL, Conditions, Effort, Position, costs, plan_chip, price_habits
from golfphys.planning.position import slope_along
from golfphys.planning.studies import RULE_OF_12, carry_and_roll, landing_shift, rule_of_twelve, sensitivities
from golfphys.planning.what_if import CHOOSING, JUST_ON, TO_EDGE, TO_WORK_WITH, HabitPrices, everyday_chips
from golfphys.planning.world import chips_to

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
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(-10.0, 40.0, 6), np.linspace(-20.0, 20.0, 6)))
    survey = Conditions(surface=Surface.from_points(x, y, -0.04 * y).along(0.0, 0.0, 0.0))
    known = replace(draws, green=replace(steep, grade=0.0))
    surveyed = costs(plan_chip(known, position=plan.position, conditions=survey, effort=plan.effort))
    costing = [table.set_index("ignored").loc["the slope", "cost"] for table in (found, surveyed)]
    assert costing[0] == pytest.approx(costing[1], abs=0.03)


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


ONE = {"gap wedge": BAG["gap wedge"]}
SPEEDS = [8.0, 10.0, 12.0]


def test_run_grows_with_green_speed_firmness_and_downhill_and_shrinks_with_loft():
    runs = carry_and_roll(stimps_ft=SPEEDS, grades=(-0.02, 0.0, 0.02))
    for _, own in runs.groupby(["club", "firmness", "grade"]):
        assert own.sort_values("stimp_ft")["roll_m"].is_monotonic_increasing
    for _, own in runs[runs["grade"] == 0.0].groupby(["club", "stimp_ft"]):
        soft, middling, firm = own.set_index("firmness")["roll_m"].loc[["soft", "middling", "firm"]]
        assert soft < middling < firm
    for _, own in runs.groupby(["club", "stimp_ft", "firmness"]):
        assert own.sort_values("grade")["roll_m"].is_monotonic_decreasing
    for _, own in runs.groupby(["stimp_ft", "firmness", "grade"]):
        assert own.set_index("club")["roll_m"].loc[list(BAG)].is_monotonic_decreasing


def test_the_landing_spot_stops_the_ball_at_the_pin_and_moves_by_its_slope():
    table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.01])
    own = table[table["club"] == "gap wedge"].set_index("stimp_ft")
    green = Green.from_stimp(10.0, **slope_along(0.01))
    launch = chips_to(own.loc[10.0, "landing_m"], stated(green, bag=ONE), "fairway")["gap wedge"]
    assert simulate(launch, green).rest_x == pytest.approx(15.0, abs=0.03)
    by_hand = (own.loc[11.0, "landing_m"] - own.loc[9.0, "landing_m"]) / 2 / METRES_PER_FOOT
    assert own.loc[10.0, "shift_ft_per_ft"] == pytest.approx(by_hand)


@pytest.mark.parametrize("grade", [-0.02, 0.0, 0.03])
def test_sensitivities_through_the_roll_agree_with_their_closed_forms(grade):
    table = sensitivities("gap wedge", landing=5.0, grade=grade).set_index("parameter")
    green = Green.from_stimp(10.0, **slope_along(grade))
    shot = simulate(chips_to(5.0, stated(green, bag=ONE), "fairway")["gap wedge"], green)
    # a roll is in proportion to 1/(resistance + grade), and resistance to 1 over green speed
    held = float(green.resistance.constant)
    by_resistance = -(shot.rest_x - shot.roll_x) / (held + grade)
    assert table.loc["resistance", "derivative"] == pytest.approx(by_resistance, rel=2e-3)
    by_speed = -by_resistance * held / (10.0 * METRES_PER_FOOT)
    assert table.loc["green speed", "derivative"] == pytest.approx(by_speed, rel=2e-3)
    assert table.loc["green speed", "effect_m"] == pytest.approx(table.loc["resistance", "effect_m"])


def test_sensitivities_have_the_signs_that_physics_gives_them():
    signs = np.sign(sensitivities("sand wedge").set_index("parameter")["derivative"])
    for longer in ("green speed", "ball speed", "head speed", "restitution", "shaft lean"):
        assert signs[longer] == 1, longer
    for shorter in ("resistance", "grade", "backspin", "hop loss", "tilt"):
        assert signs[shorter] == -1, shorter


def test_the_rule_of_12_is_of_the_right_size(external_check):
    table = rule_of_twelve(stimp_ft=10.0)
    for club, parts in RULE_OF_12.items():
        ours, slug = float(table.loc[club, "model"]), club.replace(" ", "-")
        external_check("rule-of-12-{slug}", ours, parts, parts / 2, slug=slug, club=club)


TEN = Green.from_stimp(10.0)
TWO = {name: BAG[name] for name in ("8-iron", "lob wedge")}
QUICK = {"effort": Effort(draws=16, landings=9, errors=4, last=16), "positions": 5}


@pytest.fixture(scope="module")
def prices():
    return price_habits(assumed(TEN, bag=TWO), **QUICK)


def test_costs_are_over_choosing_each_time_and_said_to_the_figures_that_their_intervals_bear(prices):
    table = prices.table.set_index("habit")
    assert set(table.index) == {CHOOSING, "8-iron for everything", "lob wedge for everything", JUST_ON}
    assert table.loc[CHOOSING, "cost"] == 0.0
    assert table["cost"].to_numpy() == pytest.approx((table["strokes"] - table.loc[CHOOSING, "strokes"]).to_numpy())
    assert (table["cost_low"] <= table["cost"]).all()
    assert (table["cost"] <= table["cost_high"]).all()
    for row in table.itertuples():
        half = (row.cost_high - row.cost_low) / 2
        assert 10.0**-row.decimals <= half < 10.0 ** (1 - row.decimals) or row.decimals in (1, 3) or half == 0.0


def test_long_pins_are_kept_to_the_iron_and_short_ones_to_the_wedge():
    random = np.random.default_rng(0)
    edges, beyond = random.uniform(7.0, 8.0, 4), random.uniform(16.0, 20.0, 4)
    long = [(Position(to_edge=e, to_pin=e + more), 0.0) for e, more in zip(edges, beyond, strict=True)]
    short = [(Position(to_edge=edge, to_pin=edge + 3.2, lie="rough"), 0.0) for edge in edges]
    known = {"effort": Effort(draws=1, landings=13, errors=64, last=256)}
    draws = stated(TEN, bag=TWO)
    far, near = (price_habits(draws, chips=one, **known).table.set_index("habit")["cost"] for one in (long, short))
    assert far["8-iron for everything"] < far["lob wedge for everything"]
    assert near["8-iron for everything"] > near["lob wedge for everything"] + 0.03


def row(habit, cost, low, high):
    shown = {"cost": cost, "cost_low": low, "cost_high": high, "decimals": 2 if high - low >= 0.02 else 3}
    return {"habit": habit, "strokes": 2.0, "sure": 0.97, **shown}


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        ((0.08, 0.05, 0.11), "Changing clubs pays for this player: keeping the gap wedge"),
        ((0.005, 0.001, 0.009), "Changing clubs hardly pays"),
        ((0.03, 0.005, 0.055), "is not settled"),
    ],
)
def test_the_verdict_says_what_the_interval_allows(cost, words):
    table = pd.DataFrame([row("gap wedge for everything", *cost), row(JUST_ON, 0.2, 0.1, 0.3)])
    assert words in HabitPrices(table=table).verdict
    assert "Always landing it just on the green costs 0.20 (0.10 to 0.30)." in HabitPrices(table=table).verdict


def test_everyday_chips_are_within_what_a_player_meets():
    for position, heading in everyday_chips(50, 1):
        assert TO_EDGE[0] <= position.to_edge <= TO_EDGE[1]
        assert TO_WORK_WITH[0] <= position.to_pin - position.to_edge <= TO_WORK_WITH[1] + 1e-9
        assert position.lie in ("fairway", "light rough")
        assert 0.0 <= heading < 2 * np.pi
