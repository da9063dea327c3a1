"""Clubs, lies, deliveries, launches and scatter."""

import math
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest

from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club, Delivery, Launch, Lie, Scatter


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
        (lambda: replace(DEFAULT_PLAYER.scatter, direction=7.0), "Scatter direction"),
        (lambda: DEFAULT_PLAYER.scatter.draws(Launch(8.0, 0.6, 200.0), 0.0, 3, seed=1), "carry is 0.0"),
    ],
)
def test_bad_values_are_named(make: object, words: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=words):
        make()


def test_arrays_are_not_refused_for_one_element() -> None:
    assert Launch(np.array([8.0, np.nan]), 0.5, 300.0).shape == (2,)


def test_scatter_repeats_and_has_the_size_it_says() -> None:
    scatter = Scatter(distance_absolute=0.3, distance_relative=0.05, direction=0.02, angle=0.01, spin_relative=0.1)
    launch = Launch(9.0, 0.6, 300.0)
    first, second = (scatter.draws(launch, 6.0, 20000, seed=3) for _ in range(2))
    assert np.array_equal(np.asarray(first.speed), np.asarray(second.speed))
    assert math.isclose(np.std(np.asarray(first.direction)), 0.02, rel_tol=0.03)
    # half of the relative error in carry is the head's speed, and the spin goes with it
    faster = math.hypot(0.05, 0.3 / 6.0) / 2
    assert math.isclose(np.std(np.asarray(first.backspin)) / 300.0, math.hypot(0.1, faster), rel_tol=0.03)
    carry = np.asarray(first.speed) ** 2 * np.sin(2 * np.asarray(first.angle))
    meant = 9.0**2 * math.sin(1.2)
    assert math.isclose(np.std(carry / meant), math.hypot(0.05, 0.3 / 6.0), rel_tol=0.05)
    other = scatter.draws(launch, 6.0, 5, seed=np.random.default_rng(4))
    assert other.shape == (5,)
