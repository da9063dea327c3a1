"""Pictures of results: each function takes a result and an Axes to draw on, draws, and returns the Axes.

No law stands here, only calls of those in the library, and nothing is shown: a notebook shows the figure, a script
saves it. Without `ax` a new figure is made. `unit` is what lengths are shown in, by default that of the course chosen
(`golfphys.style.show_lengths_in`); what goes in is in SI units whatever it is. Names of spots, clubs and lies are drawn
letter by letter.
"""

# ruff: noqa: I001  # several lines for a module with many names
from golfphys.show.check_book import plot_check_book
from golfphys.show.plots.measuring import plot_agreement, plot_green_speeds, plot_mixed, plot_plans, plot_residuals
from golfphys.show.plots.measuring import plot_resistance_by_speed, plot_rollout_fit, plot_series, plot_trace
from golfphys.show.plots.measuring import plot_trace_speeds
from golfphys.show.plots.plan import plot_landing_window, plot_rest_spread, plot_trajectories
from golfphys.show.plots.measuring import plot_chip_residuals, plot_drops, plot_landing_scatter, plot_weeks
from golfphys.show.plots.planning import plot_check_back, plot_further, plot_known_rest
from golfphys.show.plots.planning import plot_best_club, plot_carry_and_roll, plot_decision_quality, plot_habits
from golfphys.show.plots.planning import plot_landing_shift, plot_next_measurement, plot_regret, plot_rule_of_twelve
from golfphys.show.plots.planning import plot_sensitivities, plot_wedge_gaps, short_name
from golfphys.show.plots.rolling import plot_film_distance, plot_heard, plot_track
from golfphys.show.plots.rolling import SCHOOL_RELEASE_SPEED, plot_by_heading, plot_hodograph, plot_never_stops
from golfphys.show.plots.rolling import plot_paths, plot_places, plot_ramp_speeds, plot_rolls_by_speed, plot_skid
from golfphys.show.plots.rolling import plot_skid_share, plot_slowing, plot_two_way
from golfphys.show.plots.plan import MOST_SPOTS, draw_carry_sheet, save_carry_sheet
from golfphys.show.plots.shot import PUBLISHED_DRAG, PUBLISHED_LIFT, plot_after_landing, plot_air_effect
from golfphys.show.plots.shot import plot_bounce_over_spin, plot_coefficient, plot_conditions, plot_firmness
from golfphys.show.plots.shot import plot_flights, plot_over_edge, plot_parts, plot_path, plot_rebounds, plot_rest
from golfphys.show.plots.shot import plot_slide_limit, plot_swapped
from golfphys.show.plots.shot import plot_bounce_left, plot_contacts, plot_launch_clouds, plot_launches
from golfphys.show.plots.shot import plot_over_friction, plot_spin_identity, plot_windows
