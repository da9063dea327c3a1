"""Players by level and what they can play at the ball."""

import math
from dataclasses import replace

import numpy as np
import pytest

from golfphys.physics.club import BAG, LIES, TOUR_ERRORS, Club, Delivery, Launch, Lie, Player
from golfphys.physics.strike import Contact, delivered_loft, strike
from golfphys.physics.usual import CLUB_PLAYER, OPTIONS, PUTTER, TOUR_PLAYER, Option


def test_mishits_by_level() -> None:
    """A tour mis-hits one chip in twenty or so from the fairway; a club player a quarter or so (practice)."""
    z = np.random.default_rng(3).standard_normal((6, 20000))
    shares = [
        np.mean(strike(BAG["sand wedge"], player.delivery, LIES["fairway"], z, player.errors).contact != Contact.CLEAN)
        for player in (TOUR_PLAYER, CLUB_PLAYER)
    ]
    assert 0.01 < shares[0] < 0.10
    assert 0.10 < shares[1] < 0.40


def test_options_change_the_swing_by_geometry_alone() -> None:
    wedge, usual = BAG["sand wedge"], TOUR_PLAYER.delivery
    lofts = [
        float(delivered_loft(wedge, OPTIONS[name].delivery(usual)))
        for name in ("usual", "hands level", "face opened 20 degrees")
    ]
    assert lofts == sorted(lofts)
    assert math.isclose(lofts[1] - lofts[0], math.radians(6.0), rel_tol=1e-9)
    assert OPTIONS["usual"].delivery(usual) == usual
    assert OPTIONS["usual"].errors(TOUR_PLAYER.errors) == TOUR_PLAYER.errors
    wider = OPTIONS["hands level"].errors(TOUR_PLAYER.errors)
    assert wider.height > TOUR_PLAYER.errors.height
    assert wider.growth == TOUR_PLAYER.errors.growth


def test_a_putter_rolls_the_ball_and_mishits_nothing() -> None:
    z = np.random.default_rng(5).standard_normal((6, 5000))
    option = OPTIONS["putter"]
    struck = strike(
        PUTTER, option.delivery(TOUR_PLAYER.delivery), LIES["fairway"], z, option.errors(TOUR_PLAYER.errors)
    )
    assert np.all(struck.contact == Contact.CLEAN)
    assert np.degrees(np.quantile(struck.launch.angle, 0.99)) < 6.0


def test_bad_options_are_named() -> None:
    with pytest.raises(ValueError, match="Option opening is 20"):
        Option(name="degrees", opening=20.0)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Club(name="degrees", loft=56.0, bounce=0.1, head_mass=0.3), "Club loft is 56.0"),
        (lambda: Club(name="grams", loft=0.9, bounce=0.1, head_mass=300.0), "Club head_mass"),
        (lambda: Lie(name="sticky", friction=9.0), "Lie friction"),
        (lambda: Delivery(speed=-1.0), "Delivery speed"),
        (lambda: Delivery(speed=9.0, attack=-4.0), "Delivery attack"),
        (lambda: Launch(10.0, 45.0, 300.0), "Launch angle is 45.0"),
        (lambda: Launch(math.nan, 0.5, 300.0), "Launch speed is nan"),
    ],
)
def test_bad_values_are_named(make: object, words: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=words):
        make()


def test_a_club_has_its_own_errors_where_they_are_known() -> None:
    own = replace(TOUR_ERRORS, speed=0.08)
    player = Player(name="her", delivery=Delivery(speed=8.0), by_club={"lob wedge": own})
    assert player.errors_with("lob wedge") is own
    assert player.errors_with("8-iron") is TOUR_ERRORS
