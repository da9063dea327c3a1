"""Worked examples for the notebooks: each function asks the laws and returns a table to show or to draw.

No law stands here, only calls of those in the library. Columns are in SI units and radians unless their names say
otherwise; ``points`` is a number of points, ``greens``, ``turfs`` and the like are things by name.
"""

from golfphys.show.worked.check_book import check_counts as check_counts
from golfphys.show.worked.check_book import checks_of as checks_of
from golfphys.show.worked.check_book import closest_checks as closest_checks
from golfphys.show.worked.check_book import read_check_book as read_check_book
from golfphys.show.worked.check_book import read_not_checked as read_not_checked
from golfphys.show.worked.phone import gained_by_recordings as gained_by_recordings
from golfphys.show.worked.phone import with_and_without_recordings as with_and_without_recordings
from golfphys.show.worked.phone import worth_of_recordings as worth_of_recordings
from golfphys.show.worked.rolling import by_heading as by_heading
from golfphys.show.worked.rolling import green_speeds as green_speeds
from golfphys.show.worked.rolling import hodograph as hodograph
from golfphys.show.worked.rolling import never_stops as never_stops
from golfphys.show.worked.rolling import ramp_speeds as ramp_speeds
from golfphys.show.worked.rolling import rolls_by_speed as rolls_by_speed
from golfphys.show.worked.rolling import same_reading as same_reading
from golfphys.show.worked.rolling import skid_motion as skid_motion
from golfphys.show.worked.rolling import skid_share as skid_share
from golfphys.show.worked.rolling import slowing as slowing
from golfphys.show.worked.rolling import two_way as two_way
from golfphys.show.worked.shot import PARTS as PARTS
from golfphys.show.worked.shot import air_effect as air_effect
from golfphys.show.worked.shot import bounces as bounces
from golfphys.show.worked.shot import chips as chips
from golfphys.show.worked.shot import chips_to as chips_to
from golfphys.show.worked.shot import coefficients as coefficients
from golfphys.show.worked.shot import conditions as conditions
from golfphys.show.worked.shot import drops as drops
from golfphys.show.worked.shot import over_edge as over_edge
from golfphys.show.worked.shot import parts as parts
from golfphys.show.worked.shot import slide_limit as slide_limit
from golfphys.show.worked.shot import swapped as swapped
from golfphys.show.worked.strike import bounce_left as bounce_left
from golfphys.show.worked.strike import contacts as contacts
from golfphys.show.worked.strike import friction_limits as friction_limits
from golfphys.show.worked.strike import friction_to_grip as friction_to_grip
from golfphys.show.worked.strike import mishits as mishits
from golfphys.show.worked.strike import over_friction as over_friction
from golfphys.show.worked.strike import rests as rests
from golfphys.show.worked.strike import spin_rule as spin_rule
from golfphys.show.worked.strike import strike_words as strike_words
from golfphys.show.worked.strike import strikes as strikes
from golfphys.show.worked.strike import struck as struck
from golfphys.show.worked.strike import windows as windows
