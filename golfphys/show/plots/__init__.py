"""Pictures of results: each function takes a result and an Axes to draw on, draws, and returns the Axes.

Nothing is computed here beyond changes of unit, and nothing is shown: a notebook shows the figure, a script saves it.
Without `ax` a new figure is made. `unit` is what lengths are shown in, by default that of the course chosen
(`golfphys.style.show_lengths_in`); what goes in is in SI units whatever it is. Names of spots, clubs and lies are drawn
letter by letter.
"""

from golfphys.show.plots.check_book import plot_check_book as plot_check_book
from golfphys.show.plots.measuring import plot_agreement as plot_agreement
from golfphys.show.plots.measuring import plot_green_speeds as plot_green_speeds
from golfphys.show.plots.measuring import plot_mixed as plot_mixed
from golfphys.show.plots.measuring import plot_plans as plot_plans
from golfphys.show.plots.measuring import plot_residuals as plot_residuals
from golfphys.show.plots.measuring import plot_resistance_by_speed as plot_resistance_by_speed
from golfphys.show.plots.measuring import plot_rollout_fit as plot_rollout_fit
from golfphys.show.plots.measuring import plot_series as plot_series
from golfphys.show.plots.measuring import plot_trace as plot_trace
from golfphys.show.plots.measuring import plot_trace_speeds as plot_trace_speeds
from golfphys.show.plots.plan import plot_landing_window as plot_landing_window
from golfphys.show.plots.plan import plot_rest_spread as plot_rest_spread
from golfphys.show.plots.plan import plot_trajectories as plot_trajectories
from golfphys.show.plots.planning import plot_best_club as plot_best_club
from golfphys.show.plots.planning import plot_carry_and_roll as plot_carry_and_roll
from golfphys.show.plots.planning import plot_decision_quality as plot_decision_quality
from golfphys.show.plots.planning import plot_habits as plot_habits
from golfphys.show.plots.planning import plot_landing_shift as plot_landing_shift
from golfphys.show.plots.planning import plot_next_measurement as plot_next_measurement
from golfphys.show.plots.planning import plot_regret as plot_regret
from golfphys.show.plots.planning import plot_rule_of_twelve as plot_rule_of_twelve
from golfphys.show.plots.planning import plot_sensitivities as plot_sensitivities
from golfphys.show.plots.planning import plot_wedge_gaps as plot_wedge_gaps
from golfphys.show.plots.planning import short_name as short_name
from golfphys.show.plots.player import plot_check_back as plot_check_back
from golfphys.show.plots.player import plot_chip_residuals as plot_chip_residuals
from golfphys.show.plots.player import plot_drops as plot_drops
from golfphys.show.plots.player import plot_further as plot_further
from golfphys.show.plots.player import plot_known_rest as plot_known_rest
from golfphys.show.plots.player import plot_landing_scatter as plot_landing_scatter
from golfphys.show.plots.player import plot_weeks as plot_weeks
from golfphys.show.plots.recordings import plot_film_distance as plot_film_distance
from golfphys.show.plots.recordings import plot_heard as plot_heard
from golfphys.show.plots.recordings import plot_phone_places as plot_phone_places
from golfphys.show.plots.recordings import plot_track as plot_track
from golfphys.show.plots.rolling import SCHOOL_RELEASE_SPEED as SCHOOL_RELEASE_SPEED
from golfphys.show.plots.rolling import plot_by_heading as plot_by_heading
from golfphys.show.plots.rolling import plot_hodograph as plot_hodograph
from golfphys.show.plots.rolling import plot_never_stops as plot_never_stops
from golfphys.show.plots.rolling import plot_paths as plot_paths
from golfphys.show.plots.rolling import plot_places as plot_places
from golfphys.show.plots.rolling import plot_ramp_speeds as plot_ramp_speeds
from golfphys.show.plots.rolling import plot_rolls_by_speed as plot_rolls_by_speed
from golfphys.show.plots.rolling import plot_skid as plot_skid
from golfphys.show.plots.rolling import plot_skid_share as plot_skid_share
from golfphys.show.plots.rolling import plot_slowing as plot_slowing
from golfphys.show.plots.rolling import plot_two_way as plot_two_way
from golfphys.show.plots.sheet import MOST_SPOTS as MOST_SPOTS
from golfphys.show.plots.sheet import draw_carry_sheet as draw_carry_sheet
from golfphys.show.plots.sheet import save_carry_sheet as save_carry_sheet
from golfphys.show.plots.shot import PUBLISHED_DRAG as PUBLISHED_DRAG
from golfphys.show.plots.shot import PUBLISHED_LIFT as PUBLISHED_LIFT
from golfphys.show.plots.shot import plot_after_landing as plot_after_landing
from golfphys.show.plots.shot import plot_air_effect as plot_air_effect
from golfphys.show.plots.shot import plot_bounce_over_spin as plot_bounce_over_spin
from golfphys.show.plots.shot import plot_coefficient as plot_coefficient
from golfphys.show.plots.shot import plot_conditions as plot_conditions
from golfphys.show.plots.shot import plot_firmness as plot_firmness
from golfphys.show.plots.shot import plot_flights as plot_flights
from golfphys.show.plots.shot import plot_over_edge as plot_over_edge
from golfphys.show.plots.shot import plot_parts as plot_parts
from golfphys.show.plots.shot import plot_path as plot_path
from golfphys.show.plots.shot import plot_rebounds as plot_rebounds
from golfphys.show.plots.shot import plot_rest as plot_rest
from golfphys.show.plots.shot import plot_slide_limit as plot_slide_limit
from golfphys.show.plots.shot import plot_swapped as plot_swapped
from golfphys.show.plots.strike import plot_bounce_left as plot_bounce_left
from golfphys.show.plots.strike import plot_contacts as plot_contacts
from golfphys.show.plots.strike import plot_launch_clouds as plot_launch_clouds
from golfphys.show.plots.strike import plot_launches as plot_launches
from golfphys.show.plots.strike import plot_over_friction as plot_over_friction
from golfphys.show.plots.strike import plot_spin_identity as plot_spin_identity
from golfphys.show.plots.strike import plot_windows as plot_windows
