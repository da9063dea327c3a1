"""The player's part of a fit: her delivery, how she errs at the strike, and the player they amount to.

The errors at the strike are few and shared by all clubs and lies. Each club may depart from them, by a factor of its
own drawn from a spread that the clubs share (partial pooling): only as far as the log says so. A club never hit gets
the shared errors, with that spread.
"""

# ruff: noqa: I001  # several lines for a module with many names
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from golfphys.core.broadcasting import ranges_of
from golfphys.core.names import Array, Key, Sample
from golfphys.fitting.estimator import Parameter
from golfphys.physics.club import CLUB_PLAYER, ERROR_KINDS, OPTION_ERRORS, OPTION_LEAN, OPTIONS, TOUR_PLAYER, Club
from golfphys.physics.club import Delivery, Lie, Option, Player, StrikeErrors, departing
from golfphys.physics.draws import LOCAL_SLOPE, SPIN_SPREAD, UNEVENNESS_SPREAD

# Parameters of the errors of the strike, in the order of `ERROR_KINDS`
ERRORS = tuple(f"{kind}_error" for kind in ERROR_KINDS)
USUAL = "usual"  # name of the option that is her usual delivery
USUAL_CARRY = 6.0  # carry in m at which the scatter of landings is quoted
# What is taken of a lie of whose name nothing is known (judged, no source)
ANY_LIE = Lie(name="any lie", friction=0.28, cushion=0.04)
UNITS = {"speed": "1", "low_point": "m", "height": "m"}  # units of the errors that are no angles
# Limits of what `golfphys.physics.club.StrikeErrors` can be
MOST = {kind: ranges_of(StrikeErrors)[kind][1] for kind in ERROR_KINDS}
# Correlation of the logarithms of a player's errors: who is good at one is good at the others (judged, no source)
ALIKE = 0.6


@dataclass(frozen=True, kw_only=True)
class PlayerPriors:
    """Weak priors of a player: medians, and standard deviations (of the logarithm where the value is positive).

    How an option departs from what `golfphys.physics.club.OPTIONS` takes it to be is judged, no source.
    """

    # Delivery, rad: the default's, with a spread that takes in what chips deliver (practice: 5 to 12 deg less than
    # static loft).
    attack: float = math.radians(-4.0)
    attack_spread: float = math.radians(3.0)
    lean: float = math.radians(8.0)
    lean_spread: float = math.radians(4.0)
    start_spread: float = math.radians(2.0)  # mean start direction, about zero
    bias_spread: float = 0.06  # mean error of the carry over its aim, about zero
    lie_bias_spread: float = 0.06  # how that of one lie departs from it (judged, no source)
    club_bias_spread: float = 0.03  # and that of one club: she knows her clubs better (judged, no source)
    loft_spread: float = math.radians(1.0)  # true loft about the one it is taken to have (practice: makers differ)
    # Logarithms of friction, cushion and spin factor about those of the lie's name; unknown names get twice as much.
    friction_spread: float = 0.35
    cushion_spread: float = 0.5
    spin_spread: float = SPIN_SPREAD
    # Where the leading edge is meant to come, see `golfphys.physics.club.Delivery`: between the reference players.
    edge_aim: float = (TOUR_PLAYER.delivery.edge_aim + CLUB_PLAYER.delivery.edge_aim) / 2
    edge_aim_spread: float = 0.07
    # Factor on the spread of the errors of the strike, which takes in both reference players and as much again beyond
    # them (see `between_levels`).
    wider: float = 1.0
    # Between clubs, of the logarithm of the errors.
    between: float = 0.15
    between_spread: float = 0.6
    landing_reading: float = 0.15  # m
    time_reading: float = 0.03  # s
    reading_spread: float = 0.4
    # Slope that a ball meets at a landing, rise over run; wide, since all else that scatters the run shows in it.
    local_slope: float = LOCAL_SLOPE
    local_slope_spread: float = 0.8
    # Of the logarithm of a factor on what uneven lies (rough, wet) add to the errors, common to all of them.
    uneven_spread: float = UNEVENNESS_SPREAD
    drag_spread: float = 0.10  # of the logarithm of the drag's scale
    lift_spread: float = 0.5
    option_errors_spread: float = OPTION_ERRORS  # of the logarithm of its factor on her errors
    option_lean_spread: float = OPTION_LEAN  # rad: what of loft she delivers otherwise
    option_start_spread: float = math.radians(2.0)
    option_carry_spread: float = 0.06  # of the aim


MOST_UNEVEN = 6.0  # limit of the factor on what uneven lies add to the errors


def player_parameters(
    clubs: Iterable[str], lies: Mapping[str, Lie | None], priors: PlayerPriors, options: Iterable[str] = ()
) -> list[Parameter]:
    """Return the unknowns of a player who was seen with these clubs, from these lies and in these options.

    A lie is None where nothing is known of its name; her usual delivery, as an option, has no unknowns of its own. In
    order: delivery, air, lies, clubs, options, then the errors.
    """

    def real(name: str, location: float, spread: float, unit: str = "1", **more: Any) -> Parameter:
        return Parameter(name=name, location=location, spread=spread, unit=unit, **more)

    positive = partial(real, transform="log")
    noise = partial(positive, outer=True)
    found = [
        real("attack", priors.attack, priors.attack_spread, "rad"),
        real("shaft_lean", priors.lean, priors.lean_spread, "rad"),
        real("start_direction", 0.0, priors.start_spread, "rad"),
        real("edge_aim", priors.edge_aim, priors.edge_aim_spread),
        real("carry_bias", 0.0, priors.bias_spread),
        positive("drag_scale", 1.0, priors.drag_spread),
        real("lift_scale", 1.0, priors.lift_spread),
    ]
    for of, lie in lies.items():
        known, wider = (ANY_LIE, 2.0) if lie is None else (lie, 1.0)
        found.append(positive("face_friction", max(known.friction, 0.02), wider * priors.friction_spread, of=of))
        found.append(positive("spin_factor", 1.0, wider * priors.spin_spread, of=of))
        found.append(real("lie_carry", 0.0, wider * priors.lie_bias_spread, of=of))
        if known.cushion > 0:
            found.append(positive("cushion", known.cushion, wider * priors.cushion_spread, of=of))
    for of in clubs:
        found.append(real("loft_error", 0.0, priors.loft_spread, "rad", of=of))
        found.append(real("club_errors", 0.0, 1.0, of=of))
        found.append(real("club_carry", 0.0, priors.club_bias_spread, of=of))
    for of in (name for name in options if name != USUAL):
        found.append(real("option_errors", math.log(OPTIONS[of].wider), priors.option_errors_spread, of=of))
        found.append(real("option_lean", 0.0, priors.option_lean_spread, "rad", of=of))
        found.append(real("option_start", 0.0, priors.option_start_spread, "rad", of=of))
        found.append(real("option_carry", 0.0, priors.option_carry_spread, of=of))
    for kind, name in zip(ERROR_KINDS, ERRORS, strict=True):
        median, spread = between_levels(kind)
        found.append(noise(name, median, priors.wider * spread, UNITS.get(kind, "rad")))
    found.append(noise("between_clubs", priors.between, priors.between_spread))
    found.append(noise("landing_reading", priors.landing_reading, priors.reading_spread, "m"))
    found.append(noise("time_reading", priors.time_reading, priors.reading_spread, "s"))
    found.append(noise("local_slope", priors.local_slope, priors.local_slope_spread))
    if any(lie is not None and (lie.speed_error or lie.face_error) for lie in lies.values()):
        found.append(noise("unevenness", 1.0, priors.uneven_spread))
    return found


def prior_correlation(keys: Iterable[Key]) -> Array:
    """Return the correlation of the priors of parameters, after their transforms, shape (P, P).

    Examples
    --------
    >>> prior_correlation([Key("attack"), Key("speed_error"), Key("height_error")]).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.6], [0.0, 0.6, 1.0]]
    """
    errors = np.array([key.name in ERRORS for key in keys], dtype=float)
    shared = ALIKE * np.outer(errors, errors)
    np.fill_diagonal(shared, 1.0)
    return shared


def option_draws(drawn: Sample) -> dict[str, Option]:
    """Return options with their draws, logged ones as the log has them, others from their prior."""
    found = dict(OPTIONS)
    for name, option in OPTIONS.items():
        if drawn.names.has("option_errors", name):
            found[name] = departing(option, drawn.column("option_errors", name), drawn.column("option_lean", name))
    return found


def error_draws(
    drawn: Sample, clubs: Mapping[str, Club], generator: np.random.Generator
) -> dict[str, dict[str, Array]]:
    """Return draws of the errors with every club, those never hit included.

    `drawn` are completed, so that clubs never hit have theirs; the generator is for clubs that are not named. Returns
    by club the standard deviations of `golfphys.physics.club.StrikeErrors`; under ``""`` those of any other club.
    """
    found = {}
    for name in (*clubs, ""):
        own = drawn.column("club_errors", name) if name else generator.standard_normal(len(drawn.natural))
        wider = np.exp(drawn.column("between_clubs") * own)
        errors = {kind: drawn.column(error) * wider for kind, error in zip(ERROR_KINDS, ERRORS, strict=True)}
        found[name] = StrikeErrors.held(**errors)
    return found


def player_of(name: str, delivery: Mapping[str, Any], errors: Mapping[str, Mapping[str, Any]]) -> Player:
    """Return the player that draws, or their medians, amount to, with errors as `error_draws` returns them.

    `delivery` holds the fields of a `golfphys.physics.club.Delivery` without its speed.
    """
    own = Delivery(speed=TOUR_PLAYER.delivery.speed, **Delivery.held(**delivery))
    by_club = {club: StrikeErrors(**values) for club, values in errors.items()}
    return Player(name=name, delivery=own, errors=by_club.pop(""), by_club=by_club)


def carry_habit(drawn: Any, lies: Iterable[str], clubs: Iterable[str]) -> Array:
    """How far she lands beyond her aim, over the carry, from these lies and with these clubs alike, on draws (N,)."""
    departs = (("lie_carry", lies), ("club_carry", clubs))
    means = [np.mean([drawn.column(name, of) for of in each], axis=0) for name, each in departs]
    return np.asarray(drawn.column("carry_bias") + sum(means))


def between_levels(name: str) -> tuple[float, float]:
    """Return median and spread of the logarithm for an error of a player of whose level nothing is known.

    It is one of `ERROR_KINDS`: between the reference players of tour and of club level, who lie one spread off on
    either side, and half as much again for players beyond them.

    Examples
    --------
    >>> [round(value, 3) for value in between_levels("speed")]
    [0.072, 0.424]
    """
    tour, club = (float(getattr(player.errors, name)) for player in (TOUR_PLAYER, CLUB_PLAYER))
    return math.sqrt(tour * club), 1.5 * abs(math.log(club / tour)) / 2
