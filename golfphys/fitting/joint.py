"""One fit of a course: green, turf and player together, so that every answer carries all that is not known."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.club import BAG, LIES, Club, Lie, Player
from golfphys.fitting import joint_cautions, joint_tables
from golfphys.fitting.chips import ChipLog, Chips, chips_of
from golfphys.fitting.estimator import Model
from golfphys.fitting.joint_model import CourseModel, Observed, Settings, build_course, no_rolls, settled, with_spots
from golfphys.fitting.losses_chips import MisHitTolerant
from golfphys.fitting.player import PlayerPriors, player_of, scatter_draws
from golfphys.fitting.prediction import Draws, Predicted, chips_to_play, completed, model_for, predict
from golfphys.fitting.refresh import refresh
from golfphys.fitting.results import TRUSTED_SHAPE, Posterior, Seed, weighted_draws
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, Law, Layout, Priors
from golfphys.fitting.rollouts import RolloutFit, Sheet, rolls_of
from golfphys.fitting.search import Mode, find_mode
from golfphys.fitting.turf import DropLog, TurfLaw, drops_of, turf_fields, turf_of
from golfphys.green import Green, LinearTurf, Turf

Array = NDArray[np.float64]

DRAWS = 2400
"""Weighted draws of a fit; a quarter remain, equally weighted, where they have to be moved on."""

WORTH, ROUNDS = 150.0, 5
"""Independent draws that weighted ones have to be worth, or else rounds of moves; three times as many if they bend."""


@dataclass(frozen=True, kw_only=True)
class JointDraws:
    """Everything that a plan needs, draw by draw: element i of every array belongs to draw i.

    Parameters
    ----------
    green : dict of ndarray
        Fields of a green and its resistance; directions anticlockwise from the sheet's reference line, rad.
    turf : dict of ndarray
        Fields of its turf.
    delivery : dict of ndarray
        ``attack``, ``shaft_lean``, ``face_opening``, rad.
    lies : dict of dict of ndarray
        By lie ``friction`` and ``cushion``.
    scatter : dict of dict of ndarray
        By club the fields of `golfphys.club.Scatter`; under ``""`` those of any other club.
    clubs : dict of dict of ndarray
        By club its ``loft``, rad.
    aerodynamics : dict of ndarray
        ``drag_scale`` and ``lift_scale``.
    bias : dict of ndarray
        ``carry``: mean error of the carry as a part of its aim; ``direction``: mean start direction, rad.
    run_scatter : ndarray
        Scatter of the way from landing to rest, as a part of it, that is not the player's.
    """

    green: dict[str, Array]
    turf: dict[str, Array]
    delivery: dict[str, Array]
    lies: dict[str, dict[str, Array]]
    scatter: dict[str, dict[str, Array]]
    clubs: dict[str, dict[str, Array]]
    aerodynamics: dict[str, Array]
    bias: dict[str, Array]
    run_scatter: Array


@dataclass(frozen=True, kw_only=True)
class CourseFit:
    """A fitted course: its greens, its turf, and the player who chipped there.

    Parameters
    ----------
    posterior : Posterior
        Draws of all parameters.
    course : CourseModel
        The model and where things stand in it.
    seen : Observed
        The sheets as arrays.
    settings : Settings
        Laws and priors.
    sheets : dict
        The sheets as they were given: ``rollouts``, ``drops``, ``chips``.
    seed : int or numpy.random.Generator
        Of the draws.
    """

    posterior: Posterior
    course: CourseModel
    seen: Observed
    settings: Settings
    sheets: dict[str, Any] = field(default_factory=dict)
    seed: Seed = 0

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots."""
        return () if self.seen.rolls is None else self.seen.rolls.spots

    @property
    def club_names(self) -> tuple[str, ...]:
        """Clubs of the log."""
        return () if self.seen.chips is None else self.seen.chips.clubs

    @property
    def lie_names(self) -> tuple[str, ...]:
        """Lies of the log."""
        return () if self.seen.chips is None else self.seen.chips.lies

    @cached_property
    def estimates(self) -> pd.DataFrame:
        """Estimates indexed by part (a spot, ``turf``, ``player``, ``lie ...``, ``club ...``, ``air``) and parameter.

        Columns estimate, sd, low, high (90 % interval), unit, and ``informed``: False where the number rests on the
        prior rather than on the sheets.
        """
        return joint_tables.estimates(self)

    @cached_property
    def cautions(self) -> list[str]:
        """What the sheets cannot tell, and what looks wrong in them, in plain sentences."""
        return joint_cautions.cautions(self)

    @cached_property
    def residuals(self) -> pd.DataFrame:
        """One line for each thing seen of each chip; see `golfphys.fitting.joint_tables.residuals`."""
        return joint_tables.residuals(self)

    @cached_property
    def rollouts(self) -> RolloutFit:
        """What the joint fit says of the rollouts, with the tables and predictions of `golfphys.fit_rollouts`.

        Raises
        ------
        ValueError
            If no rollouts were fitted.
        """
        if self.sheets.get("rollouts") is None or self.course.layout is None:
            raise ValueError("no rollouts were fitted; give fit_course the argument rollouts")
        return RolloutFit(
            sheet=self.sheets["rollouts"],
            law=self.settings.law,
            posterior=self.posterior,
            layout=self.course.layout,
            options={"seed": self.seed},
        )

    @cached_property
    def centre(self) -> Array:
        """Natural values at the weighted mean of the transformed draws, shape (P,)."""
        return self.posterior.model.natural(self.posterior.weights @ self.posterior.transformed)

    @cached_property
    def mis_hits(self) -> pd.Series:
        """Probability that each chip was mis-hit, by row of the log."""
        if self.seen.chips is None:
            return pd.Series(dtype=float)
        block = self.posterior.model.blocks[-1]
        assert isinstance(block.loss, MisHitTolerant)
        thinned = self._drawn(200, 0)
        residual, scale = block.evaluate(thinned)
        odds = 1.0 - block.loss.usual(residual / scale).mean(axis=0)
        rows = self.seen.chips.row[self.seen.chips.seen.any(axis=1)]
        return pd.Series(odds, index=pd.Index(rows, name="row"), name="mis_hit")

    def turf(self) -> Turf | LinearTurf:
        """Return the turf in the middle of the draws."""
        model, centre = self.posterior.model, self.centre
        fields = turf_fields(self.settings.turf_law)
        return turf_of(self.settings.turf_law, {name: centre[model.index(f"turf[{name}]")] for name in fields})

    def green(self, spot: str) -> Green:
        """Return the fitted green at a spot with the fitted turf, the sheet's reference line as line of play.

        Parameters
        ----------
        spot : str
            Name of the spot.

        Returns
        -------
        Green
            The middle of the draws.

        Raises
        ------
        ValueError
            If the spot is in none of the sheets.
        """
        return replace(self._rolling.green(spot), turf=self.turf())

    def greens(self, spot: str, n: int, seed: Seed = 0) -> dict[str, Array]:
        """Draw greens at a spot with their turf, as arrays for `golfphys.green.GroundBatch`.

        Parameters
        ----------
        spot : str
            Name of the spot.
        n : int
            Number of draws.
        seed : int or numpy.random.Generator
            The same seed gives the same draws, and those of `joint_draws`.

        Returns
        -------
        dict of ndarray
            Fields of resistance, slope and turf.
        """
        drawn = self.joint_draws(spot, n, seed)
        return {**drawn.green, **drawn.turf}

    def player(self, name: str = "fitted player") -> Player:
        """Return the player in the middle of the draws, with a scatter for every club.

        Parameters
        ----------
        name : str
            What to call her.

        Returns
        -------
        Player
            Delivery and scatter; clubs never hit get what the others lead to expect.
        """
        drawn = self.completed(1000, self.seed)
        scatter = scatter_draws(drawn.column, self.settings.clubs, 1000, np.random.default_rng(1))
        middle = [float(np.median(drawn.column(item))) for item in ("attack", "shaft_lean")]
        return player_of(name, middle[0], middle[1], scatter)

    def lies(self) -> dict[str, Lie]:
        """Return every lie, those of the log as fitted."""
        found = dict(self.settings.lies)
        names, centre = self.posterior.model.names, self.centre
        for name in self.lie_names:
            base = found.get(name, Lie(name=name, friction=0.28))
            values: dict[str, Any] = {}
            for key, parameter in (("friction", f"face_friction[{name}]"), ("cushion", f"cushion[{name}]")):
                if parameter in names:
                    values[key] = float(np.clip(centre[names.index(parameter)], 0.0, 1.0))
            found[name] = replace(base, **values)
        return found

    def clubs(self) -> dict[str, Club]:
        """Return every club, those of the log with the loft that the fit gives them."""
        found = dict(self.settings.clubs)
        names, centre = self.posterior.model.names, self.centre
        for name in self.club_names:
            error = float(centre[names.index(f"loft_error[{name}]")])
            found[name] = replace(found[name], loft=found[name].loft + error)
        return found

    def draws(self, n: int = 1000, seed: Seed = 0) -> pd.DataFrame:
        """Draw all parameters from the posterior.

        Parameters
        ----------
        n : int
            Number of draws.
        seed : int or numpy.random.Generator
            The same seed gives the same draws.

        Returns
        -------
        DataFrame
            One line for each draw, one column for each parameter, by its name in the model.
        """
        return pd.DataFrame(self._drawn(n, seed), columns=self.posterior.model.names)

    def joint_draws(self, spot: str, n: int, seed: Seed = 0) -> JointDraws:
        """Draw everything that a plan at a spot needs.

        Parameters
        ----------
        spot : str
            Name of the spot.
        n : int
            Number of draws.
        seed : int or numpy.random.Generator
            The same seed gives the same draws.

        Returns
        -------
        JointDraws
            Arrays of shape (n,), aligned.

        Raises
        ------
        ValueError
            If the spot is in none of the sheets.
        """
        self._check(spot)
        return joint_tables.joint_draws(self, spot, self.completed(n, seed), seed)

    def predict(self, shots: Any, *, n: int = 1000, seed: Seed = 0) -> Predicted:
        """Predict new chips.

        Parameters
        ----------
        shots : DataFrame or mapping
            Columns club, lie, spot, heading (rad, clockwise from the reference line), and target_carry, or carry where
            it is known where the ball landed, in m.
        n : int
            Number of draws.
        seed : int or numpy.random.Generator
            The same seed gives the same prediction.

        Returns
        -------
        Predicted
            Draws of what will be seen, and ``table()``.

        Raises
        ------
        ValueError
            If a shot cannot be played.
        """
        chips = chips_to_play(shots, self.settings, self.spots[0] if len(self.spots) == 1 else None)
        generator = np.random.default_rng(seed)
        drawn = self.completed(n, generator, chips)
        return predict(self.model_for(chips, drawn), drawn, generator)

    def model_for(self, chips: Chips, drawn: Draws) -> Any:
        """Return the model of other chips, see `golfphys.fitting.prediction.model_for`."""
        speed = self.course.layout.reference_speed if self.course.layout is not None else 1.22
        return model_for(chips, drawn, self.settings, speed)

    @cached_property
    def comparison(self) -> Any:
        """Both laws of the bounce compared on these sheets, see `golfphys.fitting.turf_laws.compare_turf`."""
        from golfphys.fitting.turf_laws import compare_turf

        return compare_turf(self)

    def sampled(self, *, steps: int = 600, seed: int = 0) -> "CourseFit":
        """Return the same fit with its draws from a Markov chain, see `golfphys.fitting.mcmc.sample`.

        Parameters
        ----------
        steps : int
            Steps of each walker.
        seed : int
            Seed.

        Returns
        -------
        CourseFit
            Its ``posterior.diagnostics`` says in words how well the chain mixed.
        """
        from golfphys.fitting.mcmc import sample

        return replace(self, posterior=sample(self.posterior, steps=steps, seed=seed))

    def report(self) -> str:
        """Return the fit as a page of text."""
        return joint_tables.report(self)

    @property
    def _rolling(self) -> RolloutFit:
        if self.course.layout is None:
            raise ValueError("the sheets name no spot; fit rollouts, or chips with their spots")
        sheet: Any = self.sheets.get("rollouts")
        return RolloutFit(sheet=sheet, law=self.settings.law, posterior=self.posterior, layout=self.course.layout)

    def _drawn(self, n: int, seed: Seed) -> Array:
        """Return `n` equally weighted draws out of those that are stored, each as rarely repeated as can be."""
        generator = np.random.default_rng(seed)
        cumulative = np.cumsum(self.posterior.weights)
        even = (generator.permutation(n) + generator.random()) / n * cumulative[-1]
        picks = np.minimum(np.searchsorted(cumulative, even), len(cumulative) - 1)
        found: Array = self.posterior.natural[picks]
        return found

    def _check(self, spot: str) -> None:
        if spot not in self.spots:
            known = ", ".join(self.spots) or "none"
            raise ValueError(f"spot is {spot!r}; expected one of: {known}")

    def completed(self, n: int, seed: Seed, chips: Chips | None = None) -> Draws:
        """Draw from the posterior, completed for every club and lie, and for what other chips name.

        Parameters
        ----------
        n : int
            Number of draws.
        seed : int or numpy.random.Generator
            The same seed gives the same draws.
        chips : Chips, optional
            Chips whose clubs, lies and spots are wanted too.

        Returns
        -------
        Draws
            Values by parameter; what no sheet tells comes from the prior.
        """
        generator = np.random.default_rng(seed)
        natural = self._drawn(n, generator)
        asked: dict[str, Any] = {"clubs": {}, "lies": {}, "spots": {}}
        asked["clubs"] = dict.fromkeys((*self.settings.clubs, *self.club_names, *(chips.clubs if chips else ())))
        asked["lies"] = dict.fromkeys((*self.settings.lies, *self.lie_names, *(chips.lies if chips else ())))
        asked["spots"] = dict.fromkeys((*self.spots, *(chips.spots if chips else ())))
        return completed(self.posterior.model.names, natural, self.settings, generator=generator, **asked)


def fit_course(
    rollouts: Sheet | None = None,
    drops: DropLog | None = None,
    chips: ChipLog | None = None,
    *,
    turf_law: TurfLaw = "rigid",
    law: Law = "constant",
    grain: bool = False,
    clubs: Mapping[str, Club] = BAG,
    lies: Mapping[str, Lie] = LIES,
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
    player_priors: PlayerPriors | None = None,
    draws: int = DRAWS,
    seed: Seed = 0,
) -> CourseFit:
    """Fit greens, turf and player from whatever sheets there are, in one model.

    Rolls tell of resistance and slope, drops of how the turf gives back a landing, and chips of the rest: delivery,
    what the lie does, friction of the turf, and how the player scatters. Chips roll out on the same greens, so all of
    it is one posterior, and every answer carries all of it.

    Parameters
    ----------
    rollouts : RolloutSheet, optional
        As `golfphys.read_rollouts` returns it.
    drops : DropSheet, optional
        As `golfphys.read_drops` returns it.
    chips : ChipSheet, optional
        As `golfphys.read_chips` returns it.
    turf_law : {"rigid", "linear"}
        Law of the bounce: `golfphys.Turf` or `golfphys.green.LinearTurf`.
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
    Model: `golfphys.shot` for every chip, with the head speed taken out by where it landed
    (`golfphys.fitting.chip_physics`); estimation: `golfphys.fitting.estimator`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> heights = {"row": [2, 3, 4], "drop_height": [1.0, 1.5, 2.0], "rebound_height": [0.13, 0.17, 0.19]}
    >>> fit = fit_course(drops=SimpleNamespace(drops=pd.DataFrame(heights)))
    >>> bool(fit.estimates.loc[("turf", "restitution_at_5_m_s"), "informed"])
    True
    """
    if rollouts is None and drops is None and chips is None:
        raise ValueError("there is no sheet to fit; give rollouts, drops or chips")
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
    )
    rolls = None if rollouts is None else rolls_of(rollouts)
    only = rolls.spots[0] if rolls is not None and len(rolls.spots) == 1 else None
    log = None if chips is None else chips_of(chips, clubs, only_spot=only)
    rolls, log = with_spots(rolls, log)
    seen = Observed(rolls=rolls, drops=None if drops is None else drops_of(drops), chips=log)
    sheets = {"rollouts": rollouts, "drops": drops, "chips": chips}
    return fitted(seen, settings, sheets, draws=draws, seed=seed)


def fitted(seen: Observed, settings: Settings, sheets: dict[str, Any], *, draws: int, seed: Seed) -> CourseFit:
    """Fit what was seen; the working part of `fit_course`."""
    course = settled(build_course(seen, settings))
    found = _posterior(find_mode(course.model), draws, np.random.default_rng(seed))
    return CourseFit(posterior=found, course=course, seen=seen, settings=settings, sheets=sheets, seed=seed)


def _posterior(mode: Mode, draws: int, generator: np.random.Generator) -> Posterior:
    """Draw as `golfphys.fitting.results.make_draws` does, with fewer rounds: every round plays every chip again."""
    first = weighted_draws(mode, draws, generator)
    if first.shape < TRUSTED_SHAPE and first.effective_draws > WORTH and not mode.model.bends:
        return replace(first, method="moved")
    capped = np.minimum(first.weights, 10.0 / draws)
    start = first.transformed[generator.choice(draws, size=draws // 4, p=capped / capped.sum())]
    moved = refresh(mode, start, generator, rounds=ROUNDS, bent=True)
    at = moved.transformed if mode.model.mirror is None else mode.model.mirror(moved.transformed, generator)
    weights = np.full(len(at), 1.0 / len(at))
    return replace(first, transformed=at, weights=weights, accepted=moved.accepted, method="moved")


__all__ = ["CourseFit", "JointDraws", "Layout", "Model", "fit_course", "fitted", "no_rolls"]
