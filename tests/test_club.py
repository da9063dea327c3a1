"""Clubs, lies, deliveries, launches and scatter."""

import math
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest

from golfphys.physics.club import BAG, LIES, Club, Delivery, Launch, Lie, Player
from golfphys.physics.errors import TOUR_ERRORS


def test_the_bag_goes_from_eight_iron_to_lob_wedge() -> None:
    lofts = [club.loft for club in BAG.values()]
    assert next(iter(BAG)) == "8-iron"
    assert list(BAG)[-1] == "lob wedge"
    assert lofts == sorted(lofts)
    assert all(name == club.name for name, club in BAG.items())
    assert [name for name, lie in LIES.items() if lie.friction == max(item.friction for item in LIES.values())] == [
        "tight"
    ]


def test_values_are_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        BAG["8-iron"].loft = 0.5
    with pytest.raises(TypeError):
        BAG["driver"] = BAG["8-iron"]


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


def test_arrays_are_not_refused_for_one_element() -> None:
    assert Launch(np.array([8.0, np.nan]), 0.5, 300.0).shape == (2,)


def test_a_club_has_its_own_errors_where_they_are_known() -> None:
    own = replace(TOUR_ERRORS, speed=0.08)
    player = Player(name="her", delivery=Delivery(speed=8.0), by_club={"lob wedge": own})
    assert player.errors_with("lob wedge") is own
    assert player.errors_with("8-iron") is TOUR_ERRORS
