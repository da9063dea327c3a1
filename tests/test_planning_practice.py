"""What the trade holds about chips, as ordered checks, and the leave and the scrambling of a tour as plausibility."""

from functools import cache

import numpy as np
import pytest
from scipy.stats import rayleigh

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES
from golfphys.physics.green import Green
from golfphys.physics.putting import putts_to_hole_out
from golfphys.physics.strike import launch_from
from golfphys.planning import plan_chip

PRACTICE = {"source": "common practice of the trade", "locator": "no source", "mark": "practice", "unit": "1"}
INCHES = METRES_PER_FOOT / 12


@cache
def plan(stimp=10.0, to_edge=3.0, to_pin=15.0, lie="fairway", grade=0.0):
    green = Green.from_stimp(stimp, grade=grade)
    return plan_chip(green, to_edge=to_edge, to_pin=to_pin, lie=lie, landings=25, shots=256).table.set_index("club")


def gain_of_loft(**question):
    """Strokes that the lob wedge saves over the 8-iron."""
    table = plan(**question)
    return table.loc["8-iron", "strokes"] - table.loc["lob wedge", "strokes"]


def longer_pin_less_loft():
    gains = [gain_of_loft(to_pin=pin) for pin in (8.0, 14.0, 28.0)]
    return gains[0] > gains[1] > gains[2]


def short_sided_more_loft():
    return gain_of_loft(to_edge=6.0, to_pin=9.0) > 0.1 and plan(to_edge=6.0, to_pin=9.0).index[0] == "lob wedge"


def faster_green_shorter_landing():
    slow, fast = plan(stimp=9.0), plan(stimp=12.0)
    return (fast["landing_m"] < slow["landing_m"].loc[fast.index] + 0.05).all()


def downhill_shorter_landing():
    down, level = plan(grade=0.02), plan()
    return (down["landing_m"] < level["landing_m"].loc[down.index]).all()


def less_loft_more_run():
    return plan().loc[list(BAG), "roll_m"].is_monotonic_decreasing


def tight_lie_spins_more():
    spins = [launch_from(BAG["lob wedge"], DEFAULT_PLAYER.delivery, LIES[lie]).backspin for lie in ("tight", "rough")]
    return spins[0] > 1.2 * spins[1]


def rough_runs_farther():
    rough, tight = plan(lie="rough", to_pin=12.0), plan(lie="tight", to_pin=12.0)
    shorter = rough.loc["lob wedge", "landing_m"] < tight.loc["lob wedge", "landing_m"]
    return shorter and rough.loc["lob wedge", "roll_m"] > tight.loc["lob wedge", "roll_m"]


@pytest.mark.parametrize(
    ("what", "holds"),
    [
        ("the longer the pin, the less the most lofted club gains over the least", longer_pin_less_loft),
        ("short-sided the most lofted club is best, and clearly", short_sided_more_loft),
        ("a faster green is landed shorter with every club", faster_green_shorter_landing),
        ("downhill is landed shorter with every club", downhill_shorter_landing),
        ("less loft runs farther to the same pin", less_loft_more_run),
        ("a clean tight lie spins more than rough", tight_lie_spins_more),
        ("from rough the ball runs farther and is landed shorter", rough_runs_farther),
    ],
    ids=lambda item: getattr(item, "__name__", ""),
)
def test_what_the_trade_holds(what, holds, external_check):
    slug = "practice-" + holds.__name__.replace("_", "-")
    external_check(slug, float(holds()), 1.0, 0.5, what=f"{what} (1: it holds)", **PRACTICE)


def test_a_mid_pin_is_landed_about_six_feet_on(external_check):
    onto = plan(to_edge=3.0, to_pin=12.0).loc[["9-iron", "pitching wedge", "gap wedge"], "onto_green_m"].mean()
    external_check(
        "practice-landing-six-feet-on",
        onto / METRES_PER_FOOT,
        6.0,
        4.0,
        what="landing spot beyond the edge, mean of 9-iron to gap wedge, 3 m to the edge and 12 m to the pin",
        source="common practice of the trade",
        locator="no source",
        mark="practice",
        unit="ft",
        reason="a rule of thumb for all clubs, greens and positions; held to its size only, 2 to 10 ft",
    )


def test_one_putts_from_the_tour_leave_agree_with_tour_scrambling(external_check):
    shares = (np.arange(4000) + 0.5) / 4000
    leave = (7 * 12 + 10) * INCHES
    # misses that are normal in both directions leave a Rayleigh distance, of this mean
    leaves = rayleigh(scale=leave / np.sqrt(np.pi / 2)).ppf(shares)
    external_check(
        "tour-scrambling-from-tour-leave",
        100 * float(putts_to_hole_out().model.probability(leaves).mean()),
        59.0,
        4.0,
        what="share of one-putts when chips from rough leave 7 ft 10 in on average, in per cent",
        source="statistics of a tour, 2017",
        locator="scrambling 58 to 60 %; leave from rough around the green 7 ft 10 in (75th of the tour)",
        mark="read",
        unit="percent",
        reason="a range of two points; leaves are assumed Rayleigh, and scrambling holds other lies, sand among them",
    )


def test_chips_from_the_collar_leave_what_a_tour_leaves(external_check):
    leave = np.mean([plan(to_edge=0.5, to_pin=pin, stimp=11.0)["leave_m"].iloc[0] for pin in (5.0, 7.0, 9.0)])
    external_check(
        "tour-leave-from-the-collar",
        leave / METRES_PER_FOOT,
        "2.92",
        1.5,
        what="median leave of the stated default player from half a metre off the green, pins of 5 to 9 m, 11 ft green",
        source="statistics of a tour, 2017",
        locator="leave from the collar 2 ft 11 in (75th of the tour)",
        mark="read",
        unit="ft",
        reason="neither the pins nor the clubs of the tour's chips are known, and many are putted: its size only",
    )
