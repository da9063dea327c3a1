"""What to measure next: shrinkage of the decision, not of parameters."""

import numpy as np
import pytest
from fitted_demo import before_chips, demo_fit

from golfphys.fitting.further import Further, further, usual_plans

SHOTS = {
    "club": ["sand wedge", "8-iron"],
    "lie": ["fairway"] * 2,
    "spot": ["home-left"] * 2,
    "heading": [0.2] * 2,
    "target_carry": [6.0] * 2,
}


def test_before_any_chip_chips_are_what_is_missing() -> None:
    """With rolls and drops done, ten chips help far more than more rolls or drops."""
    table = further(before_chips(), SHOTS)
    chips = table[[name.startswith("ten") for name in table.index]]["shrinkage"]
    others = table[[not name.startswith("ten") for name in table.index]]["shrinkage"]
    assert chips.min() > 0.3
    assert others.max() < 0.05
    assert (table["rest_sd_after"] <= table["rest_sd_now"]).all()


def test_more_of_the_same_helps_more() -> None:
    """Twice the chips never help less, and timed ones never less than those that are not."""
    plans = {
        "five": Further(chips=5, spot="home-left"),
        "ten": Further(chips=10, spot="home-left"),
        "ten timed": Further(chips=10, timed=True, spot="home-left"),
    }
    table = further(before_chips(), SHOTS, plans)["shrinkage"]
    assert table["five"] < table["ten"] <= table["ten timed"] + 1e-9


@pytest.mark.thorough
def test_chips_already_made_leave_less_to_win() -> None:
    """After forty chips ten more shrink the uncertainty by a smaller part than they would have at first."""
    plans = {"ten": Further(chips=10, timed=True, club="sand wedge", spot="home-left")}
    late, early = (float(further(fit, SHOTS, plans)["shrinkage"].iloc[0]) for fit in (demo_fit(), before_chips()))
    assert 0.0 <= late < 0.5 * early


def test_what_was_foretold_comes_true() -> None:
    """The demonstration's chips shrank the uncertainty at least as much as ten of them were foretold to."""
    now = np.sqrt(np.mean(before_chips().predict(SHOTS).table()["rest_known_sd"] ** 2))
    after = np.sqrt(np.mean(demo_fit().predict(SHOTS).table()["rest_known_sd"] ** 2))
    plans = {"ten": Further(chips=10, timed=True, club="8-iron", spot="home-left")}
    foretold = float(further(before_chips(), SHOTS, plans)["shrinkage"].iloc[0])
    assert 1 - after / now > foretold - 0.05


def test_plans_that_make_no_sense_get_a_sentence() -> None:
    """Nothing planned, an unknown club."""
    with pytest.raises(ValueError, match="plans nothing"):
        Further()
    with pytest.raises(ValueError, match="no loft is known for spoon"):
        further(before_chips(), SHOTS, {"spoons": Further(club="spoon", chips=3, spot="home-left")})
    assert len(usual_plans(demo_fit())) >= 8
