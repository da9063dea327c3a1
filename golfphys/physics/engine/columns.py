"""Where each number of a batch lives: the columns of the arrays that the compiled loop reads and writes."""

from golfphys.physics.bounce import HOP_LOSS as TURF_HOP_LOSS
from golfphys.physics.bounce import SKID_FRICTION as TURF_SKID_FRICTION
from golfphys.physics.bounce import TURF_COLUMNS

# a launch row
SPEED, ANGLE, BACKSPIN, DIRECTION, SIDESPIN, LAUNCH_COLUMNS = range(6)
# a frame row: forward, left and up of the world in the axes of the green, three components each
FRAME_COLUMNS = 9
# a strip row: where the strip starts, how it slopes, how it resists (columns named for the fields of a `Resistance`);
# the turf row follows
(
    START_X,
    START_Z,
    SLOPE,
    START_ALONG,
    COSINE,
    SINE,
    GRADE_X,
    GRADE_Y,
    CONSTANT,
    LINEAR,
    QUADRATIC,
    GRAIN,
    GRAIN_DIRECTION,
    TURF,
) = range(14)
SKID_FRICTION = TURF + TURF_SKID_FRICTION
HOP_LOSS = TURF + TURF_HOP_LOSS
STRIP_COLUMNS = TURF + TURF_COLUMNS
# an air row; the scales are those of drag and lift, times the ball's share of air
WIND_X, WIND_Y, REYNOLDS_RATE, DRAG_SHARE, LIFT_SHARE, AIR_COLUMNS = range(6)
# a result row
(
    CARRY,
    LANDING_X,
    LANDING_Y,
    FLIGHT_TIME,
    LANDING_SPEED,
    LANDING_ANGLE,
    LANDING_BACKSPIN,
    APEX,
    HOP_X,
    HOP_Y,
    HOP_TIME,
    ROLL_X,
    ROLL_Y,
    ROLL_SPEED,
    REST_X,
    REST_Y,
    REST_TIME,
    RESULT_COLUMNS,
) = range(18)
# statuses
STOPPED, NEVER_STOPS, STILL_BOUNCING, INVALID = range(4)
# a path row
PATH_TIME, PATH_X, PATH_Y, PATH_Z, PATH_PHASE, PATH_COLUMNS = range(6)
FLYING, SLIDING, ROLLING = 0.0, 1.0, 2.0

MAX_BOUNCES = 60
"""Bounces after which a shot is given up; the loss of every hop ends them long before."""
