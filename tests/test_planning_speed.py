"""The green-speed study and the sensitivities: closed forms against differences, and what the trade holds."""

import numpy as np
import pytest

from golfphys import BAG, Green, simulate, stated
from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning import (
    Effort,
    Stated,
    best_club_map,
    carry_and_roll,
    landing_shift,
    rule_of_twelve,
    sensitivities,
)
from golfphys.planning.position import slope_along
from golfphys.planning.studies import RULE_OF_12
from golfphys.planning.swings import chips_to

ONE = {"gap wedge": BAG["gap wedge"]}
SPEEDS = [8.0, 10.0, 12.0]


@pytest.fixture(scope="module")
def runs():
    return carry_and_roll(stimps_ft=SPEEDS, grades=(-0.02, 0.0, 0.02))


def test_run_grows_with_green_speed_firmness_and_downhill_and_shrinks_with_loft(runs):
    for _, own in runs.groupby(["club", "firmness", "grade"]):
        assert own.sort_values("stimp_ft")["roll_m"].is_monotonic_increasing
    for _, own in runs[runs["grade"] == 0.0].groupby(["club", "stimp_ft"]):
        soft, middling, firm = own.set_index("firmness")["roll_m"].loc[["soft", "middling", "firm"]]
        assert soft < middling < firm
    for _, own in runs.groupby(["club", "stimp_ft", "firmness"]):
        assert own.sort_values("grade")["roll_m"].is_monotonic_decreasing
    for _, own in runs.groupby(["stimp_ft", "firmness", "grade"]):
        assert own.set_index("club")["roll_m"].loc[list(BAG)].is_monotonic_decreasing


def test_what_is_not_known_is_named():
    with pytest.raises(ValueError, match="firmness is 'icy'"):
        carry_and_roll(firmness=["icy"])
    with pytest.raises(ValueError, match="lie is 'bunker'; expected one of tight"):
        landing_shift(known=Stated(lie="bunker"))
    with pytest.raises(ValueError, match="spoon; expected names among"):
        sensitivities("spoon")


def test_the_landing_spot_stops_the_ball_at_the_pin_and_moves_by_its_slope():
    table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.01])
    own = table[table["club"] == "gap wedge"].set_index("stimp_ft")
    green = Green.from_stimp(10.0, **slope_along(0.01))
    launch = chips_to(own.loc[10.0, "landing_m"], stated(green, bag=ONE), "fairway")["gap wedge"]
    assert simulate(launch, green).rest_x == pytest.approx(15.0, abs=0.03)
    by_hand = (own.loc[11.0, "landing_m"] - own.loc[9.0, "landing_m"]) / 2 / METRES_PER_FOOT
    assert own.loc[10.0, "shift_ft_per_ft"] == pytest.approx(by_hand)


def test_the_map_of_best_clubs_is_what_the_plans_say():
    few = Effort(draws=1, landings=9, errors=32, last=64)
    table = best_club_map(stimps_ft=[9.0, 12.0], to_pins=[6.0, 12.0], to_edge=4.0, effort=few)
    assert len(table) == 4
    assert table[table["to_pin_m"] == 6.0]["club"].isin(["sand wedge", "lob wedge"]).all()
    assert np.isfinite(table["lead"]).all()


@pytest.mark.parametrize("grade", [-0.02, 0.0, 0.03])
def test_closed_form_sensitivities_agree_with_differences(grade):
    table = sensitivities("gap wedge", landing=5.0, grade=grade).set_index("parameter")
    green = Green.from_stimp(10.0, **slope_along(grade))
    launch = chips_to(5.0, stated(green, bag=ONE), "fairway")["gap wedge"]

    def rest(stimp):
        return float(simulate(launch, Green.from_stimp(stimp, **slope_along(grade))).rest_x)

    step = 0.01
    by_difference = (rest(10.0 + step) - rest(10.0 - step)) / (2 * step * METRES_PER_FOOT)
    assert table.loc["green speed", "derivative"] == pytest.approx(by_difference, rel=2e-3)
    assert table.loc["green speed", "effect_m"] == pytest.approx(table.loc["resistance", "effect_m"])


def test_sensitivities_have_the_signs_that_physics_gives_them():
    signs = np.sign(sensitivities("sand wedge").set_index("parameter")["derivative"])
    for longer in ("green speed", "ball speed", "head speed", "restitution", "shaft lean"):
        assert signs[longer] == 1, longer
    for shorter in ("resistance", "grade", "backspin", "hop loss", "tilt"):
        assert signs[shorter] == -1, shorter


def test_a_green_that_stops_nothing_has_no_sensitivities():
    with pytest.raises(ValueError, match="does not stop"):
        sensitivities("8-iron", stimp_ft=14.0, grade=-0.2)


def test_the_rule_of_12_is_of_the_right_size(external_check):
    table = rule_of_twelve(stimp_ft=10.0)
    for club, parts in RULE_OF_12.items():
        external_check(
            f"rule-of-12-{club.replace(' ', '-')}",
            float(table.loc[club, "model"]),
            parts,
            parts / 2,
            what=f"parts of run for each part carried, {club}, level green of 10 ft, published turf",
            source="rule of 12",
            locator="common practice of the trade, no source",
            mark="practice",
            unit="1",
            reason="no stated green; coaches differ by a factor of 2",
        )
