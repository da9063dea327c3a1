"""Rolling: how far, how long, which way, and where a ball comes to rest.

Coordinates lie in the ground, as a tape on it measures them: x along the line of play, y to the left. Directions are in
rad, anticlockwise from x. Resistance is the energy definition's coefficient (push over normal force); a rolling ball
answers any push along the ground as if its mass were (1 + inertia) times as great.

* `straight`: closed forms along a straight path, for resistance constant, linear or quadratic in speed;
* `across`: rest points and paths on a plane, for any `Resistance`, by the roll of a shot;
* `skidding`: from a landing with any spin to rolling.
"""

from golfphys.physics.roll.across import Path, Rolls, path, rest_point, roll, time_to_rest
from golfphys.physics.roll.skidding import Skid, rolling_speed, skid
from golfphys.physics.roll.straight import (
    distance_at_time,
    speed_at_distance,
    speed_at_time,
    speed_for_distance,
    stopping_distance,
    stopping_time,
)

__all__ = [
    "Path",
    "Rolls",
    "Skid",
    "distance_at_time",
    "path",
    "rest_point",
    "roll",
    "rolling_speed",
    "skid",
    "speed_at_distance",
    "speed_at_time",
    "speed_for_distance",
    "stopping_distance",
    "stopping_time",
    "time_to_rest",
]
