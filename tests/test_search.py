"""The search for the speed that lands a ball somewhere: it lands there, or says that nothing does."""

import numpy as np
import pytest

from golfphys.physics.club import Launch
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Strip
from golfphys.physics.search import speed_to_land
from golfphys.physics.shot import simulate

SLOPE = Green.from_stimp(10.0, grade=0.03, fall_direction=2.0)
BANK = Ground(green=SLOPE, strips=(Strip(until=3.0, grade=0.0), Strip(until=5.0, grade=0.2)))


@pytest.mark.parametrize("ground", [SLOPE, BANK], ids=["slope", "bank"])
@pytest.mark.parametrize("wind", [0.0, 5.0])
def test_the_ball_lands_where_it_was_to_land(ground: Green | Ground, wind: float) -> None:
    landing = np.array([1.0, 4.0, 8.0, 15.0, 25.0])
    scale = np.array([[0.8], [1.2]])
    air, aero = Air(wind_speed=wind, wind_direction=2.5), Aerodynamics(drag_scale=scale)

    def launch_of(speed: np.ndarray) -> Launch:
        return Launch(speed, 0.7, 30.0 * speed, 0.02)

    speed = speed_to_land(landing, launch_of, ground, air=air, aerodynamics=aero)
    assert speed.shape == (2, 5)
    assert np.all(np.diff(speed, axis=0) > 0)  # more drag asks for more
    played = simulate(launch_of(speed), ground, air=air, aerodynamics=aero)
    assert np.max(np.abs(played.landing_x - landing)) < 1e-4


def test_what_no_speed_reaches_is_no_number() -> None:
    def launch_of(speed: np.ndarray) -> Launch:
        return Launch(speed, 1.0, 100.0)

    speed = speed_to_land([-2.0, 0.0, 5.0, 900.0], launch_of, SLOPE)
    assert np.isnan(speed).tolist() == [True, True, False, True]
    assert isinstance(speed_to_land(5.0, launch_of, SLOPE), float)
