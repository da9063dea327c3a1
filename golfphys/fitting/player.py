"""The player's part of a fit: which unknowns a delivery and its scatter have, and the player they amount to.

Scatter of landing distance has an absolute and a relative part. The relative part differs between clubs: it grows with
the head speed that a club needs for the same carry, by a power that the log gives, and each club has a departure of its
own, drawn from a spread that the clubs share (partial pooling). A club never hit gets both, with their uncertainty.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.fitting.estimator import Parameter
from golfphys.formulas.flight import vacuum_carry
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club, Delivery, Lie, Player, Scatter
from golfphys.physics.strike import launch_from

Array = NDArray[np.float64]

MIDDLE_CLUB = "pitching wedge"
"""Club whose relative scatter is the one that the parameter ``landing_relative`` holds."""

MIDDLE_CARRY = 6.0
"""Carry in m at which clubs are compared by the head speed they need."""

LAUNCH_SPREAD = 0.25
"""Spread between clubs of the logarithm of launch and spin scatter (judged; a log of forty chips cannot inform it)."""

ANY_LIE = Lie(name="any lie", friction=0.28, cushion=0.04)
"""What is taken of a lie of whose name nothing is known (judged, no source)."""

MOST_RELATIVE, MOST_ABSOLUTE = 0.9, 15.0
"""Limits of what a `golfphys.physics.club.Scatter` can be."""


@dataclass(frozen=True, kw_only=True)
class PlayerPriors:
    """Weak priors of a player: medians, and standard deviations (of the logarithm where the value is positive).

    Parameters
    ----------
    attack, attack_spread, lean, lean_spread : float
        Delivery, rad: the default's, with a spread that takes in what chips deliver (practice: 5 to 12 deg less than
        static loft).
    start_spread, bias_spread : float
        Mean start direction (rad) and mean error of the carry over its aim (as a part of it), about zero.
    loft_spread : float
        Of a club's true loft about the one it is taken to have, rad (practice: makers differ by a degree).
    friction_spread, cushion_spread : float
        Of the logarithm of friction and cushion about those of the lie's name; unknown names get twice the spread.
    absolute, absolute_spread, relative, relative_spread : float
        Scatter of landing distance, m and part of the carry (read: 5 to 19 % for wedges, nearer absolute for amateurs).
    growth, growth_spread : float
        Power of head speed with which the relative part grows: about 1, with a spread that leaves none at all possible.
    between, between_spread : float
        Spread between clubs of the logarithm of the relative part.
    direction, angle, spin, scatter_spread : float
        Scatter of start direction and launch angle (rad), and of spin as a part of it.
    landing_reading, time_reading, reading_spread : float
        Error of a spotted landing in m, of a hang time in s.
    run_scatter, run_scatter_spread : float
        How much the way from landing to rest scatters for other reasons, as a part of it.
    drag_spread, lift_spread : float
        Of the logarithm of the drag's scale, and of the lift's scale.
    """

    attack: float = math.radians(-4.0)
    attack_spread: float = math.radians(3.0)
    lean: float = math.radians(8.0)
    lean_spread: float = math.radians(4.0)
    start_spread: float = math.radians(2.0)
    bias_spread: float = 0.06
    loft_spread: float = math.radians(1.0)
    friction_spread: float = 0.35
    cushion_spread: float = 0.5
    absolute: float = 0.30
    absolute_spread: float = 0.7
    relative: float = 0.06
    relative_spread: float = 0.6
    growth: float = 1.0
    growth_spread: float = 1.5
    between: float = 0.15
    between_spread: float = 0.6
    direction: float = math.radians(1.7)
    angle: float = math.radians(1.5)
    spin: float = 0.10
    scatter_spread: float = 0.5
    landing_reading: float = 0.15
    time_reading: float = 0.03
    reading_spread: float = 0.4
    run_scatter: float = 0.02
    run_scatter_spread: float = 0.7
    drag_spread: float = 0.10
    lift_spread: float = 0.5


def player_parameters(clubs: Sequence[str], lies: Mapping[str, Lie | None], priors: PlayerPriors) -> list[Parameter]:
    """Return the unknowns of a player who was seen with these clubs from these lies.

    Parameters
    ----------
    clubs : sequence of str
        Clubs of the log.
    lies : mapping of str to Lie or None
        Lies of the log; None where nothing is known of the name.
    priors : PlayerPriors
        Weak priors.

    Returns
    -------
    list of Parameter
        Delivery, lies, air, clubs, then the scatter.
    """
    found = [
        Parameter(name="attack", location=priors.attack, spread=priors.attack_spread, unit="rad"),
        Parameter(name="shaft_lean", location=priors.lean, spread=priors.lean_spread, unit="rad"),
        Parameter(name="start_direction", location=0.0, spread=priors.start_spread, unit="rad"),
        Parameter(name="carry_bias", location=0.0, spread=priors.bias_spread),
        Parameter(name="drag_scale", location=1.0, spread=priors.drag_spread, transform="log"),
        Parameter(name="lift_scale", location=1.0, spread=priors.lift_spread),
    ]
    for name, lie in lies.items():
        found += _lie_parameters(name, lie, priors)
    for club in clubs:
        found.append(Parameter(name=f"loft_error[{club}]", location=0.0, spread=priors.loft_spread, unit="rad"))
        found.append(Parameter(name=f"club_scatter[{club}]", location=0.0, spread=1.0))
        found.append(Parameter(name=f"club_launch[{club}]", location=0.0, spread=LAUNCH_SPREAD))
    found.append(Parameter(name="scatter_growth", location=priors.growth, spread=priors.growth_spread))
    return found + _scatter_parameters(priors)


def _lie_parameters(name: str, lie: Lie | None, priors: PlayerPriors) -> list[Parameter]:
    known = lie if lie is not None else replace(ANY_LIE, name=name)
    wider = 1.0 if lie is not None else 2.0
    found = [
        Parameter(
            name=f"face_friction[{name}]",
            location=max(known.friction, 0.02),
            spread=wider * priors.friction_spread,
            transform="log",
            reason="lie of that name" if lie is not None else "any lie",
        )
    ]
    if known.cushion > 0:
        spread = wider * priors.cushion_spread
        found.append(Parameter(name=f"cushion[{name}]", location=known.cushion, spread=spread, transform="log"))
    return found


def _scatter_parameters(priors: PlayerPriors) -> list[Parameter]:
    def outer(name: str, location: float, spread: float, unit: str = "1") -> Parameter:
        return Parameter(name=name, location=location, spread=spread, transform="log", unit=unit, outer=True)

    return [
        outer("landing_absolute", priors.absolute, priors.absolute_spread, "m"),
        outer("landing_relative", priors.relative, priors.relative_spread),
        outer("between_clubs", priors.between, priors.between_spread),
        outer("direction_scatter", priors.direction, priors.scatter_spread, "rad"),
        outer("angle_scatter", priors.angle, priors.scatter_spread, "rad"),
        outer("spin_scatter", priors.spin, priors.scatter_spread),
        outer("landing_reading", priors.landing_reading, priors.reading_spread, "m"),
        outer("time_reading", priors.time_reading, priors.reading_spread, "s"),
        outer("run_scatter", priors.run_scatter, priors.run_scatter_spread),
    ]


def head_speed_ratio(club: Club) -> float:
    """Return the head speed that a club needs for a short chip over that of `MIDDLE_CLUB`, both delivered alike.

    Parameters
    ----------
    club : Club
        The club.

    Returns
    -------
    float
        Ratio at a carry of `MIDDLE_CARRY`, in still air.

    Examples
    --------
    >>> head_speed_ratio(BAG["lob wedge"]) > 1.1 > head_speed_ratio(BAG["9-iron"])
    True
    """
    return _head_speed(club) / _head_speed(BAG[MIDDLE_CLUB])


def _head_speed(club: Club) -> float:
    speeds = np.linspace(3.0, 20.0, 69)
    delivery = replace(DEFAULT_PLAYER.delivery, speed=speeds)
    launch = launch_from(club, delivery, LIES["fairway"])
    # in a vacuum: for a ratio of short chips the air does not matter
    carry = elementwise(vacuum_carry)(launch.speed, launch.angle, constants.GRAVITY.value)
    return float(np.interp(MIDDLE_CARRY, carry, speeds))


def relative_scatter(relative: Any, growth: Any, between: Any, own: Any, ratio: Any) -> Any:
    """Return a club's relative scatter of landing distance.

    Parameters
    ----------
    relative, growth, between : array_like
        Of the middle club; power of head speed; spread between clubs.
    own : array_like
        The club's own departure, in units of that spread.
    ratio : array_like
        Head speed of the club over that of the middle club.

    Returns
    -------
    ndarray
        As a part of the carry, at most `MOST_RELATIVE`.
    """
    power = np.clip(growth * np.log(ratio) + between * own, -30.0, 30.0)
    return np.minimum(relative * np.exp(power), MOST_RELATIVE)


def scatter_draws(
    column: Any, clubs: Mapping[str, Club], n: int, generator: np.random.Generator
) -> dict[str, dict[str, Array]]:
    """Return draws of the scatter of every club, those never hit included.

    Parameters
    ----------
    column : callable
        Gives the draws of a parameter by name, shape (n,); of completed draws, so that clubs never hit have theirs.
    clubs : mapping of str to Club
        Clubs wanted.
    n : int
        Number of draws.
    generator : numpy.random.Generator
        For the departures of clubs that are not named.

    Returns
    -------
    dict of dict of ndarray
        By club the fields of a `golfphys.physics.club.Scatter`; under ``""`` those of any other club.
    """
    found = {}
    for name in (*clubs, ""):
        own = column(f"club_scatter[{name}]") if name else generator.standard_normal(n)
        launch = column(f"club_launch[{name}]") if name else LAUNCH_SPREAD * generator.standard_normal(n)
        ratio = head_speed_ratio(clubs[name]) if name else 1.0
        relative = relative_scatter(
            column("landing_relative"), column("scatter_growth"), column("between_clubs"), own, ratio
        )
        found[name] = {
            "distance_absolute": np.minimum(column("landing_absolute"), MOST_ABSOLUTE),
            "distance_relative": np.asarray(relative),
            "direction": np.minimum(column("direction_scatter"), 0.9),
            "angle": np.minimum(column("angle_scatter") * np.exp(launch), 0.9),
            "spin_relative": np.minimum(column("spin_scatter") * np.exp(launch), 1.9),
        }
    return found


def player_of(name: str, attack: float, lean: float, scatter: Mapping[str, Mapping[str, Array]]) -> Player:
    """Return the player in the middle of draws.

    Parameters
    ----------
    name : str
        What to call her.
    attack, lean : float
        Delivery, rad.
    scatter : mapping
        As `scatter_draws` returns it.

    Returns
    -------
    Player
        With a scatter for each club.
    """

    def middle(draws: Mapping[str, Array]) -> Scatter:
        return Scatter(**{key: float(np.median(value)) for key, value in draws.items()})

    delivery = Delivery(speed=8.0, attack=float(np.clip(attack, -0.8, 0.4)), shaft_lean=float(np.clip(lean, -0.6, 0.8)))
    by_club = {club: middle(draws) for club, draws in scatter.items() if club}
    return Player(name=name, delivery=delivery, scatter=middle(scatter[""]), by_club=by_club)


def mis_hit_share(usual: Array, noted: int, generator: np.random.Generator, draws: int = 4000) -> Array:
    """Draw the share of thin and heavy strikes from a log.

    Parameters
    ----------
    usual : ndarray, shape (chips,)
        Probability that each chip was struck as usual.
    noted : int
        Chips noted as thin or heavy besides.
    generator : numpy.random.Generator
        Source of randomness.
    draws : int
        Number of draws.

    Returns
    -------
    ndarray, shape (draws,)
        The prior is worth one mis-hit in twenty chips (judged).

    Examples
    --------
    >>> share = mis_hit_share(np.ones(40), 0, np.random.default_rng(1))
    >>> bool(np.median(share) < 0.03)
    True
    """
    missed = (generator.random((draws, usual.size)) > usual).sum(axis=1) + noted
    total = usual.size + noted
    return np.asarray(generator.beta(0.5 + missed, 9.5 + total - missed))
