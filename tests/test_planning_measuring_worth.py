"""What to measure next for a decision: the uncertainty of the lead, and the strokes that a surer choice saves."""

import numpy as np
import pytest
from fitted_demo import before_chips, demo_fit

from golfphys.fitting.further import Further
from golfphys.planning import Effort, Position, measuring_worth
from golfphys.planning.measuring_worth import NextMeasurement, next_measurement
from golfphys.show import plots

CHIP = {"position": Position(to_edge=3.0, to_pin=15.0), "heading_deg": 40.0}
FEW = {"effort": Effort(draws=200, landings=9, errors=4, last=16)}
PLANS = {
    "five chips": Further(chips=5, spot="home-left"),
    "twenty chips": Further(chips=20, spot="home-left"),
    "eight drops": Further(drops=8, spot="home-left"),
    "six rolls": Further(rolls=6, spot="home-left"),
}


@pytest.fixture(scope="module")
def early() -> NextMeasurement:
    """Before any chip was made."""
    return next_measurement(before_chips(), "home-left", **CHIP, plans=PLANS, **FEW)


def test_without_a_chip_log_chips_are_worth_most(early: NextMeasurement) -> None:
    """More chips are worth more than fewer, both more than drops and rolls; nothing is worth more than knowing all."""
    saved = early.table["saved"]
    assert saved["twenty chips"] > saved["five chips"] > 5 * max(saved["eight drops"], saved["six rolls"])
    assert saved.between(0.0, early.at_most).all()
    assert (early.table["lead_sd_after"] <= early.lead_sd * (1 + 1e-9)).all()
    assert early.table.index[0] == "twenty chips"
    assert "twenty chips would save" in early.verdict


def test_a_log_leaves_less_to_win(early: NextMeasurement) -> None:
    """After forty chips knowing everything is worth less than half of what it was, and so are five chips more."""
    late = next_measurement(demo_fit(), "home-left", **CHIP, plans=PLANS, **FEW)
    assert late.at_most < 0.5 * early.at_most
    assert late.table.loc["five chips", "saved"] < 0.2 * early.table.loc["five chips", "saved"]


def test_it_repeats_exactly(early: NextMeasurement) -> None:
    """The same seed, the same answer."""
    again = next_measurement(before_chips(), "home-left", **CHIP, plans=PLANS, **FEW)
    assert again.table.equals(early.table)
    assert again.lead == early.lead


def test_a_lead_that_is_sure_leaves_nothing_to_save() -> None:
    """Two choices a stroke apart with a hundredth of uncertainty: nothing; level ones: sd over the root of 2 pi."""
    uncertainty = np.diag([0.01**2, 0.0])
    assert measuring_worth._saved(np.array([2.0, 3.0]), uncertainty) == 0.0
    level = measuring_worth._saved(np.array([2.0, 2.0]), uncertainty)
    assert level == pytest.approx(0.01 / np.sqrt(2 * np.pi), rel=0.02)


def test_the_picture_has_a_bar_for_each(early: NextMeasurement) -> None:
    """Bars in strokes of a hundred chips, the most useful on top."""
    ax = plots.plot_next_measurement(early)
    assert [bar.get_width() for bar in ax.patches] == pytest.approx((100 * early.table["saved"]).tolist())
    assert [label.get_text() for label in ax.get_yticklabels()] == list(early.table.index)


def test_what_is_not_known_is_named() -> None:
    """A club without a loft, a spot that was not measured."""
    with pytest.raises(ValueError, match="no loft is known for spoon"):
        next_measurement(before_chips(), "home-left", **CHIP, plans={"x": Further(club="spoon", chips=3)})
    with pytest.raises(ValueError, match="spot is 'moon'"):
        next_measurement(before_chips(), "moon", **CHIP, plans=PLANS)
