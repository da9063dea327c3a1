"""One fit of a course: green, turf and player together, so that every answer carries all that is not known."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from golfphys.fitting.asked import Sheet
from golfphys.fitting.chips import ChipLog, chips_of
from golfphys.fitting.course_fit import DRAWS, CourseFit, fitted
from golfphys.fitting.films import films_of
from golfphys.fitting.grounds import by_ground
from golfphys.fitting.joint_model import Observed, Settings, with_spots
from golfphys.fitting.player import PlayerPriors, player_parameters
from golfphys.fitting.results import Seed
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, Law, Priors
from golfphys.fitting.rollouts import rolls_of
from golfphys.fitting.targets import targets_of
from golfphys.fitting.turf import DropLog, TurfLaw, drops_of
from golfphys.fitting.weeks import hers, weeks_of
from golfphys.physics.club import BAG, LIES, Club, Lie
from golfphys.physics.usual import AROUND

KINDS = {"frames": "films", "rolls": "rollouts", "drops": "drops", "chips": "chips", "targets": "targets"}
"""What each kind of sheet holds, and the argument of `fit_course` that takes it."""


def fit(*sheets: Any, past: Any = None, **options: Any) -> CourseFit:
    """Fit greens, turf and player from whatever sheets there are, in one model.

    Parameters
    ----------
    *sheets : sheet or Course
        Sheets of rollouts, drops, chips, films or targets, at most one of each, in any order; or a course as
        `golfphys.read_course` returns it.
    past : Log, or sequence of sheets, courses, or tuples of sheets, optional
        What the player has logged before, on whatever courses: her log as `golfphys.read_player` returns it, or visits,
        oldest first. Only what it says of her is used: each visit is fitted with its own greens, turf and lies.
    **options
        As for `fit_course`: ``turf_law``, ``law``, ``grain``, ``clubs``, ``lies``, ``priors``, ``draws``, ``seed``, ...

    Returns
    -------
    CourseFit
        Estimates, cautions, draws, the fitted green, turf and player, and predictions.

    Raises
    ------
    ValueError
        If something is no sheet that can be fitted, or there are two of a kind.

    Notes
    -----
    Her past is carried from visit to visit as a prior: `golfphys.fitting.weeks`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> heights = pd.DataFrame({"drop_height": [1.0, 1.5, 2.0], "rebound_height": [0.13, 0.17, 0.19]})
    >>> fit(SimpleNamespace(drops=heights)).seen.drops.height.tolist()
    [1.0, 1.5, 2.0]
    """
    known: dict[str, tuple[float, float]] = {}
    for visit in [] if past is None else weeks_of(past):
        earlier = fit_course(**_by_kind(visit), past=known, **options)
        own = player_parameters(earlier.club_names, {}, earlier.settings.player_priors)
        known = {**known, **hers(earlier.posterior, [parameter.name for parameter in own])}
    return fit_course(**_by_kind(sheets), past=known, **options)


def _by_kind(sheets: Sequence[Any]) -> dict[str, Any]:
    """Return sheets, and those of courses, by the arguments of `fit_course`."""
    found: dict[str, Any] = {}
    for sheet in sheets:
        parts = [getattr(sheet, name) for name in KINDS.values()] if hasattr(sheet, "folder") else [sheet]
        for part in parts:
            if part is None:
                continue
            name = next((kind for column, kind in KINDS.items() if hasattr(part, column)), "")
            if not name:
                raise ValueError(f"{type(part).__name__} is no sheet of {', '.join(KINDS.values())}, nor a course")
            if name in found:
                raise ValueError(f"there are two sheets of {name}; expected one, with all rows in it")
            found[name] = part
    return found


def fit_course(
    rollouts: Sheet | None = None,
    drops: DropLog | None = None,
    chips: ChipLog | None = None,
    *,
    films: Any = None,
    targets: Any = None,
    turf_law: TurfLaw = "rigid",
    law: Law = "constant",
    grain: bool = False,
    clubs: Mapping[str, Club] = BAG,
    lies: Mapping[str, Lie] = LIES,
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
    player_priors: PlayerPriors | None = None,
    past: Mapping[str, tuple[float, float]] | None = None,
    draws: int = DRAWS,
    seed: Seed = 0,
) -> CourseFit:
    """Fit greens, turf and player from whatever sheets there are, in one model.

    Rolls tell of resistance and slope, drops of how the turf gives back a landing, and chips of the rest: delivery,
    what the lie does, friction of the turf, and how the player scatters. Chips roll out on the same greens, so all of
    it is one posterior, and every answer carries all of it. Rolls and drops at spots named after the ground around the
    green (collar, fringe, fairway, rough) are of that ground, and fitted beside it.

    Parameters
    ----------
    rollouts : RolloutSheet, optional
        As `golfphys.read_rollouts` returns it.
    drops : DropSheet, optional
        As `golfphys.read_drops` returns it.
    chips : ChipSheet, optional
        As `golfphys.read_chips` returns it.
    films : FilmSheet, optional
        As `golfphys.read_films` returns it; filmed rolls are fitted together with a sheet of rollouts.
    targets : TargetSheet, optional
        As `golfphys.read_targets` returns it: they inform how the player errs.
    turf_law : {"rigid", "linear"}
        Law of the bounce: `golfphys.Turf` or `golfphys.physics.green.LinearTurf`.
    law : {"constant", "linear", "quadratic"}
        How rolling resistance depends on speed.
    grain : bool
        Fit a grain.
    clubs, lies : mapping
        Clubs and lies by name; a lie with another name gets a wide prior, a chip with another club is left out.
    release_speed_sd : float
        Relative standard uncertainty of the ramp's release speed.
    priors, player_priors : Priors, PlayerPriors, optional
        Weak priors of greens and player.
    past : mapping, optional
        What earlier weeks say of the player, as `golfphys.fitting.weeks.hers` returns it.
    draws : int
        Number of weighted posterior draws.
    seed : int or numpy.random.Generator
        Seed of the draws.

    Returns
    -------
    CourseFit
        Estimates, cautions, draws, the fitted green, turf and player, and predictions.

    Raises
    ------
    ValueError
        If there is no sheet, a sheet has no row that can be used, or an option is not known.

    Notes
    -----
    Model: `golfphys.physics.shot` for every chip, with the head speed taken out by where it landed
    (`golfphys.fitting.chip_physics`); estimation: `golfphys.fitting.estimator`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> heights = {"row": [2, 3, 4], "drop_height": [1.0, 1.5, 2.0], "rebound_height": [0.13, 0.17, 0.19]}
    >>> fit = fit_course(drops=SimpleNamespace(drops=pd.DataFrame(heights)))
    >>> bool(fit.estimates.loc[("turf", "restitution_at_5_m_s"), "informed"])
    True
    """
    rolled, dropped = by_ground(rollouts, "rolls"), by_ground(drops, "drops")
    if not rolled and not dropped and chips is None and targets is None:
        raise ValueError("there is no sheet to fit; give rollouts, drops, chips or targets")
    rollouts, drops = rolled.get(""), dropped.get("")
    if rollouts is None and drops is None and chips is None and targets is None:
        raise ValueError("all rolls and drops are of the ground around the green; expected some on the green as well")
    if films is not None and (rollouts is None or grain):
        raise ValueError("films are fitted together with a sheet of rollouts and without grain, or alone by fit_traces")
    if law not in LAWS:
        raise ValueError(f"law is {law!r}; expected one of: {', '.join(LAWS)}")
    settings = Settings(
        turf_law=turf_law,
        law=law,
        grain=grain,
        clubs=MappingProxyType(dict(clubs)),
        lies=MappingProxyType(dict(lies)),
        priors=priors or Priors(),
        player_priors=player_priors or PlayerPriors(),
        release_speed_sd=release_speed_sd,
        past=past or {},
    )
    rolls = None if rollouts is None else rolls_of(rollouts)
    only = rolls.spots[0] if rolls is not None and len(rolls.spots) == 1 else None
    log = None if chips is None else chips_of(chips, clubs, only_spot=only)
    rolls, log = with_spots(rolls, log)
    seen = Observed(
        rolls=rolls,
        drops=None if drops is None else drops_of(drops),
        chips=log,
        films=None if films is None else films_of(films, law),
        targets=None if targets is None else targets_of(targets, clubs),
    )
    sheets = {"rollouts": rollouts, "drops": drops, "chips": chips, "films": films, "targets": targets}
    beside = {
        ground: _beside(ground, rolled.get(ground), dropped.get(ground), settings, draws, seed)
        for ground in AROUND
        if ground in (*rolled, *dropped)
    }
    return replace(fitted(seen, settings, sheets, draws=draws, seed=seed), around=beside)


def _beside(ground: str, rollouts: Any, drops: Any, settings: Settings, draws: int, seed: Seed) -> CourseFit:
    """Fit what was measured on one ground around the green."""
    usual = AROUND[ground]
    priors = replace(settings.priors, resistance=usual.resistance, resistance_spread=usual.resistance_spread)
    own = replace(settings, ground=ground, priors=priors)
    rolls = None if rollouts is None else rolls_of(rollouts)
    seen = Observed(rolls=rolls, drops=None if drops is None else drops_of(drops), chips=None)
    return fitted(seen, own, {"rollouts": rollouts, "drops": drops}, draws=draws, seed=seed)


__all__ = ["fit", "fit_course", "fitted"]
