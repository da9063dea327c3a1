"""Rolling: how far, how long, which way, and where a ball comes to rest.

Coordinates lie in the ground, as a tape on it measures them: x along the line of play, y to the left. Directions are in
rad, anticlockwise from x. Resistance is the energy definition's coefficient (push over normal force); a rolling ball
answers any push along the ground as if its mass were (1 + inertia) times as great.

* `straight`: closed forms along a straight path, for resistance constant, linear or quadratic in speed;
* `across`: rest points and paths on a plane, for any `Resistance`, by the roll of a shot; the skid before it, from a
  landing with any spin.
"""

from golfphys.physics.roll.across import Path as Path
from golfphys.physics.roll.across import Rolls as Rolls
from golfphys.physics.roll.across import Skid as Skid
from golfphys.physics.roll.across import path as path
from golfphys.physics.roll.across import rest_point as rest_point
from golfphys.physics.roll.across import roll as roll
from golfphys.physics.roll.across import rolling_speed as rolling_speed
from golfphys.physics.roll.across import skid as skid
from golfphys.physics.roll.across import time_to_rest as time_to_rest
from golfphys.physics.roll.straight import distance_at_time as distance_at_time
from golfphys.physics.roll.straight import speed_at_distance as speed_at_distance
from golfphys.physics.roll.straight import speed_at_time as speed_at_time
from golfphys.physics.roll.straight import speed_for_distance as speed_for_distance
from golfphys.physics.roll.straight import stopping_distance as stopping_distance
from golfphys.physics.roll.straight import stopping_time as stopping_time
