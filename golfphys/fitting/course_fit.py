"""What a fit of a course knows: estimates, draws, the fitted green, turf and player, and predictions."""

# ruff: noqa: I001  # several lines for a module with many names
import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from golfphys.core.broadcasting import in_threads, numbers, one_thread, require_count, require_kind
from golfphys.core.names import Sample
from golfphys.fitting import course_cautions, course_tables, rollout_cautions
from golfphys.fitting.chip_model import ChipModel
from golfphys.fitting.chips import Chips
from golfphys.fitting.compare import Comparison, compare_bounces
from golfphys.fitting.course_model import PLAYED, CourseModel, Fitted, Located, Observed, Settings, build_course
from golfphys.fitting.course_model import chips_model, first_sight, located, settled
from golfphys.fitting.many_spots import applies
from golfphys.fitting.past import Past
from golfphys.fitting.player import error_draws, player_of
from golfphys.fitting.prediction import Predicted, chips_to_play, completed, habits, plan_draws, predict
from golfphys.fitting.results import Posterior, Seed, report
from golfphys.fitting.rollout_fit import RolloutFit, SeriesFit, TraceFit
from golfphys.fitting.rollout_layout import Law, Rolls
from golfphys.fitting.sampling import STAGES, make_draws
from golfphys.physics.club import Player
from golfphys.physics.draws import Draws
from golfphys.physics.green import Green, TurfLaw

PATIENCE = 30.0  # seconds of waiting from which on a fit says beforehand that it will take long
CHIP = 0.08  # seconds that a chip adds to a fit, measured with visits of 200 chips (tests/studies/cost_weeks.csv)
# Logarithm of the odds from which the sheets favour the linear law of the bounce over the rigid one, whose numbers can
# be compared with published ones: 20 to 1, "strong" in Kass and Raftery, J. Am. Stat. Assoc. 90, 773, 1995 (memory).
# Where neither law is favoured so, the estimates are those of the rigid one, and what is to come is drawn from both.
# In 200 invented logs of 14 chips the false law was favoured so in none of 100 by the rigid law and in 2 of 100 by the
# linear one; 30 and 45 were left open
FAVOURED = 3.0
# Logarithm of the odds by which the linear law may be behind where both searches set out, for its search to be worth
# the wait: in 70 invented cases laws further behind there (by 20 to 47) ended 11 to 25 behind
HOPELESS = 20.0


@dataclass(frozen=True, kw_only=True, repr=False)
class CourseFit(Fitted):
    """A fitted course: its greens, its turf, and the player who chipped there.

    In all that it is asked, `spot` is a spot of the sheets (else a ValueError), `n` a number of draws, and the same
    `seed` gives the same draws.

    Parameters
    ----------
    posterior, course, seen, settings : as `golfphys.fitting.course_model.Fitted` says
    sheets : dict; the sheets as they were given, by kind: ``rollouts``, ``drops``, ``chips``, ``films``, ``targets``
    seed : int or numpy.random.Generator; of the draws
    around : mapping of str to CourseFit; the ground around the green where it was measured, by name
    rival : CourseFit, optional; the same by the other law of the bounce, where chips leave it open: draws for a plan
        and predictions take as many of its draws as the odds give it, ``rival_share``

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> fit
    CourseFit of rollouts at home-left: see report() and estimates
    """

    sheets: dict[str, Any] = field(default_factory=dict)
    seed: Seed = 0
    around: Mapping[str, "CourseFit"] = field(default_factory=dict)
    rival: "CourseFit | None" = None

    def __repr__(self) -> str:
        """Return what was fitted, in a line: the last line of a cell is shown so."""
        kinds = ", ".join(kind for kind, sheet in self.sheets.items() if sheet is not None)
        return f"CourseFit of {kinds}{' at ' if self.spots else ''}{', '.join(self.spots)}: see report() and estimates"

    def __reduce__(self) -> Any:
        """Pickle what was seen and drawn; the model is put together again when it is loaded."""
        drawn = {name: item for name, item in vars(self.posterior).items() if name not in ("model", "natural")}
        return _restored, (self.seen, self.settings, drawn, self.sheets, self.seed, self.around, self.rival)

    @cached_property
    def estimates(self) -> pd.DataFrame:
        """Estimates indexed by part (a spot, ``turf``, ``player``, ``lie ...``, ``club ...``, ``air``) and parameter.

        Columns estimate, sd, low, high (90 % interval), unit, and ``informed``: False where the number rests on the
        prior rather than on the sheets.
        """
        found = [course_tables.estimates(self)]
        for name, fit in self.around.items():
            rows = course_tables.estimates(fit).drop(index="rolls", level="part", errors="ignore")
            found.append(rows.rename(index={"turf": f"{name} turf"}, level="part"))
        if self.course.layout is None and self.course.films is not None:
            found.insert(0, self.films.estimates.rename_axis(index=["part", "parameter"]))
        return pd.concat(found)

    @cached_property
    def cautions(self) -> list[str]:
        """What the sheets do not inform, and what looks wrong in them, in plain sentences; last what is always so."""
        rolls, beneath, last = self.seen.rolls, [], course_cautions.standing(self)
        if rolls is not None and rolls.row.size:
            beneath, last = self.rollouts.cautions, [*last, *rollout_cautions.standing(self.rollouts)]
        if self.course.films is not None:
            beneath = [*beneath, *self.films.cautions]
            last += rollout_cautions.film_standing(self.course.films, self.posterior)
        found = [
            *course_cautions.several(self.sheets, self.settings.session_gap_hours),
            *course_cautions.cautions(self, self.residuals, beneath),
        ]
        if self.rival is not None:
            found.insert(0, course_cautions.undecided(self.settings.turf_law, self.rival_share))
        found += [
            f"The {name}: {text}" for name, fit in self.around.items() for text in fit.cautions if text not in last
        ]
        return [*dict.fromkeys(text for text in found if text not in last), *last]

    @cached_property
    def residuals(self) -> pd.DataFrame:
        """One line for each thing seen of each chip; see `golfphys.fitting.course_tables.residuals`."""
        return course_tables.residuals(self)

    @property
    def rollouts(self) -> RolloutFit:
        """What the fit says of the rollouts: tables, predictions, comparison of laws; ValueError without them."""
        if self.sheets.get("rollouts") is None:
            raise ValueError("no rollouts were fitted; give fit their sheet as well")
        return self._rolling

    @cached_property
    def films(self) -> TraceFit:
        """What the fit says of the filmed rolls; ValueError without them."""
        if self.course.films is None:
            raise ValueError("no films were fitted; give fit their sheet as well")
        return TraceFit(posterior=self.posterior, layout=self.course.films)

    @property
    def series(self) -> SeriesFit:
        """How the greens changed from session to session; ValueError where ``session_gap_hours`` was not given."""
        if not self.rollouts.layout.rolls.times:
            raise ValueError("time was left aside; give fit session_gap_hours for a series")
        return SeriesFit(fit=self.rollouts)

    def _rolls_alone(self, law: Law) -> RolloutFit:
        """Return the rolls and films fitted by themselves with a law of resistance."""
        films = None if self.seen.films is None else replace(self.seen.films, law=law)
        seen = Observed(rolls=self.seen.rolls, films=films)
        return fit_observed(seen, replace(self.settings, law=law, past=Past()), self.sheets, seed=self.seed).rollouts

    @cached_property
    def _rolling(self) -> RolloutFit:
        """The part of the fit that knows the spots, be they only those of chips."""
        if self.course.layout is None:
            raise ValueError("the sheets name no spot; fit rollouts, or chips with their spots")
        own: dict[str, Any] = {"sheet": self.sheets.get("rollouts"), "films": self.seen.films}
        return RolloutFit(posterior=self.posterior, layout=self.course.layout, alone=self._rolls_alone, **own)

    def green(self, spot: str) -> Green:
        """Return the fitted green at a spot with the fitted turf, the sheet's reference line as line of play."""
        return replace(self._rolling.green(spot), turf=self.turf())

    def player(self, name: str = "fitted player") -> Player:
        """Return the player at the medians of the draws; clubs never hit get the errors that all share."""
        drawn = self.completed(1000, self.seed)
        errors = error_draws(drawn, self.settings.clubs, np.random.default_rng(1))
        medians = {club: {kind: float(np.median(sd)) for kind, sd in kinds.items()} for club, kinds in errors.items()}
        delivery = {item: float(np.median(drawn.column(item))) for item in ("attack", "shaft_lean", "edge_aim")}
        return player_of(name, delivery, medians)

    def draws(self, spot: str, n: int = 256, seed: Seed = 0, *, heading_deg: float = 0.0) -> Draws:
        """Draw everything that a plan at a spot needs: green, turf, player, lies, clubs, air and surroundings.

        x is along the line of play, `heading_deg` degrees clockwise from the sheet's reference line; what no sheet
        shows comes from its prior; ``logged`` says what they show.
        """
        require_count("n", n, 1)
        if numbers("heading_deg", heading_deg).ndim or not math.isfinite(heading_deg):
            expected = "degrees clockwise from the sheet's reference line"
            raise ValueError(f"heading_deg is {heading_deg!r}; expected {expected}")
        self._rolling.layout.rolls.position(spot)
        laws = [(law, which, law.completed(n, seed)) for law, which in self.by_law(n, seed)]
        found, *theirs = (plan_draws(law, spot, drawn, seed, law.around) for law, _, drawn in laws)
        for other in theirs:
            found = found.mixed(other, laws[1][1])
        said = {**habits(laws, spot), "players": course_cautions.players_in(self.sheets)}
        found = replace(found, logged=replace(found.logged, **said))
        # the sheet's compass runs clockwise, directions of a green anticlockwise
        return found.turned(-math.radians(heading_deg)) if heading_deg else found

    def predict(self, shots: Any, *, n: int = 1000, seed: Seed = 0) -> Predicted:
        """Predict new chips; ValueError if one cannot be played.

        `shots` has, as a table or by name, club, lie, spot, heading (rad, clockwise from the reference line; every one
        is as likely where it is left out), and target_carry, or carry where it is known where the ball landed, in m.
        """
        require_kind("shots", shots, (Mapping, pd.DataFrame), "columns by name: a table, or a dict of lists")
        return self.play(chips_to_play(shots, self.settings, self.spots), n, seed)

    def play(self, chips: Chips, n: int, seed: Seed) -> Predicted:
        """Play chips with `n` draws, completed for what they name."""
        generator = np.random.default_rng(seed)
        drawn = self.completed(n, generator, chips)
        found = predict(self.model_for(chips, drawn), drawn, generator)
        return found if self.rival is None else found.mixed(self.rival.play(chips, n, seed), self.by_law(n, seed)[1][1])

    @property
    def law_tried(self) -> bool:
        """Whether chips, of this visit or one before, were seen through its law of the bounce, or it was asked for."""
        return bool(self.seen.chips or self.settings.past.priors) or self.settings.turf_law != "rigid"

    @property
    def rival_share(self) -> float:
        """Probability of the other law of the bounce, by the evidence of both; 0 where there is no rival."""
        if self.rival is None:
            return 0.0
        return float(expit(self.rival.posterior.log_evidence - self.posterior.log_evidence))

    def by_law(self, n: int, seed: Seed) -> list[tuple["CourseFit", NDArray[np.bool_]]]:
        """Return the fit by each law of the bounce that is open, and which of `n` draws are its."""
        if self.rival is None:
            return [(self, np.ones(n, dtype=bool))]
        which = np.random.default_rng(seed).permutation(n) < round(n * self.rival_share)
        return [(self, ~which), (self.rival, which)]

    def model_for(self, chips: Chips, drawn: Sample) -> ChipModel:
        """Return the model of other chips, whose clubs, lies and spots are among completed draws, around the median."""
        layout = self.layout_of(Rolls.planned(chips.spots), drawn.names)
        return chips_model(chips, layout, drawn.names, self.settings).referred(np.median(drawn.natural, axis=0))

    @cached_property
    def comparison(self) -> Comparison:
        """Both laws of the bounce compared on these sheets alone, see `golfphys.fitting.compare`.

        Her past stays out of it: it was seen through one of the laws.
        """
        fits = dict.fromkeys(get_args(TurfLaw), self)
        for law in fits.keys() - (set() if self.settings.past.priors else {self.settings.turf_law}):
            own = replace(self.settings, turf_law=law, past=Past())
            fits[law] = fit_observed(self.seen, own, self.sheets, seed=self.seed)
        return compare_bounces(fits)

    def sampled(self, *, steps: int = 600, seed: int = 0) -> "CourseFit":
        """Return the same fit with draws from a Markov chain; ``posterior.diagnostics`` says how well it mixed."""
        return replace(self, posterior=self.posterior.chained(steps=steps, seed=seed))

    def report(self) -> str:
        """Return the fit as a page of text: estimates with their intervals, and what to bear in mind."""
        return report(self.estimates, self.cautions)

    def completed(self, n: int, seed: Seed, chips: Chips | None = None) -> Sample:
        """Draw from the posterior, with prior draws of what is in no sheet; see `golfphys.fitting.prediction`."""
        generator = np.random.default_rng(seed)
        return completed(self, self.posterior.draws(n, generator), generator, chips)


def _restored(seen: Observed, settings: Settings, drawn: dict[str, Any], *rest: Any) -> CourseFit:
    """Return a fit as it was pickled."""
    course = settled(build_course(seen, settings))
    own = dict(zip(("sheets", "seed", "around", "rival"), rest, strict=True))
    posterior = Posterior(model=course.model, **drawn)
    return CourseFit(posterior=posterior, course=course, seen=seen, settings=settings, **own)


def say_if_long(parameters: int, chips: int = 0, *, by_spot: bool = False) -> float:
    """Say a word before a fit that will take longer than half a minute; return the seconds it will take.

    Roughly, on one core: measured with 64, 128 and 300 spots, three parameters and more for each, and 40 chips.
    `by_spot` is whether spots are fitted one by one, see `golfphys.fitting.many_spots`.
    """
    seconds = (0.05 * parameters if by_spot else 38.0 * (parameters / 200.0) ** 3) + CHIP * chips
    if seconds > PATIENCE:
        minutes = max(1, round(seconds / 60.0))
        many = "chips" if CHIP * chips > seconds / 2 else "spots"
        said = f"about {minutes} minute{'s' if minutes > 1 else ''} to fit on one core"
        sys.stderr.write(f"So many {many} will take {said}. A sheet with fewer of them takes less.\n")
    return seconds


def announced(seen: Observed, settings: Settings) -> CourseModel:
    """Put together the model of what was seen, and say so if it will take long to fit."""
    course = build_course(seen, settings)
    say_if_long(len(course.model.parameters), len(seen.chips or ()), by_spot=applies(course.model))
    return course


@one_thread()
def favoured(seen: Observed, settings: Settings) -> dict[TurfLaw, Located]:
    """Return the law of the bounce that what was seen favours, with where its posterior is highest.

    By the evidence of both (Laplace's), which a law with more freedom earns only by what it predicts. Where that leaves
    the other open, it stands second.
    """
    course = announced(seen, replace(settings, turf_law="rigid"))
    other = build_course(seen, replace(settings, turf_law="linear"))
    first, look = in_threads(first_sight, (course, other))
    if look.log_evidence < first.log_evidence - HOPELESS:
        return {"rigid": located(course, first)}
    rigid, linear = in_threads(lambda one: located(*one), ((course, first), (other, look)))
    ahead = linear.mode.log_evidence - rigid.mode.log_evidence
    if ahead > FAVOURED:
        return {"linear": linear}
    return {"rigid": rigid, "linear": linear} if ahead > -FAVOURED else {"rigid": rigid}


@one_thread()
def fit_observed(
    seen: Observed, settings: Settings, sheets: dict[str, Any], *, seed: Seed = 0, at: Located | None = None
) -> CourseFit:
    """Fit what was seen, without what is around the green; `at` is where it was found to be."""
    course, mode = at or located(announced(seen, settings))
    chips = len(seen.chips or ())
    # fewer draws in each stage where a long log makes each of them dear, and the posterior narrow
    share = 2.0 ** math.floor(math.log2(min(1.0, PLAYED / max(chips, 1))))
    stages = tuple(max(256, int(size * share)) for size in STAGES)
    found = make_draws(mode, np.random.default_rng(seed), stages=stages)
    return CourseFit(posterior=found, course=course, seen=seen, settings=settings, sheets=sheets, seed=seed)
