"""What a fit of rolls, filmed or not, knows: estimates, residuals, cautions, draws, greens and predictions."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.broadcasting import numbers
from golfphys.core.names import Array
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.compare import Comparison, compare_fits
from golfphys.fitting.estimator import OutlierTolerant
from golfphys.fitting.films import FILM_LAWS, TraceLayout
from golfphys.fitting.results import Posterior, Seed, estimates_frame, lines, report, scalar_interval, scale_interval
from golfphys.fitting.rollout_cautions import Rolled, cautions, film_cautions
from golfphys.fitting.rollout_layout import LAWS, Law, Rolls, held
from golfphys.fitting.rollout_model import ALL, Rows, rolling_rows
from golfphys.physics.green import Green, Resistance


@dataclass(frozen=True, kw_only=True)
class RolloutFit(Rolled):
    """What a fit says of its rolls: `golfphys.fit(...).rollouts`.

    Parameters
    ----------
    sheet, posterior, layout, films : as `golfphys.fitting.rollout_cautions.Rolled` says
    alone : callable; takes a law, and returns these rolls and films fitted by themselves with it

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> rollouts = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=3), 1)).rollouts
    >>> rollouts.spots
    ('home-left',)
    >>> len(rollouts.residuals)
    12
    """

    alone: Callable[[Law], "RolloutFit"]

    @cached_property
    def estimates(self) -> pd.DataFrame:
        """Estimates indexed by spot and parameter.

        Columns estimate, sd, low, high (90 % interval), unit, and ``informed``: False where the number rests on the
        prior rather than on the sheet. ``fall_direction_deg`` is clockwise from the reference line; its low and high
        are not wrapped (they may lie below 0 or above 360), and are 0 and 360 where the slope is not resolved. Rows
        that hold for the whole sheet stand under the spot ``"all"``.
        """
        return estimates_frame(rolling_rows(self.layout, self.posterior), "spot")

    @cached_property
    def residuals(self) -> pd.DataFrame:
        """One line for each roll of the sheet.

        Columns row (and sheet, its file, where there are several), spot, heading, release_speed, distance,
        fitted, residual (measured less fitted, m), standardised, ordinary (probability that the roll is no
        outlier); and fitted_side, residual_side where side drift was noted.
        """
        rolls, source = self.layout.rolls, self.posterior
        # mirrored draws lie on both sides of where the posterior is highest
        centre = source.mode if source.model.mirror else source.weights @ source.transformed
        natural, block = source.model.natural(centre), source.model.block("distance")
        residual, scale = block.evaluate(natural)
        ahead, left = self.layout.rest(natural)
        assert isinstance(block.loss, OutlierTolerant)
        # drift is compared at the distance that was measured: a roll that stops short drifts less as well
        side = rolls.distance * left / np.hypot(ahead, left)
        return pd.DataFrame(
            {
                **lines(rolls),
                "spot": [rolls.spots[i] for i in rolls.spot],
                "heading": np.mod(-rolls.heading, 2 * np.pi),
                "release_speed": rolls.speed,
                "distance": rolls.distance,
                "fitted": rolls.distance - residual,
                "residual": residual,
                "standardised": residual / scale,
                "ordinary": block.loss.ordinary(residual / scale),
                "fitted_side": side,
                "residual_side": rolls.side - side,
            }
        )

    @cached_property
    def cautions(self) -> list[str]:
        """What the sheet does not inform, and what looks wrong in it, in plain sentences."""
        return cautions(self, self.estimates, self.residuals)

    @cached_property
    def comparison(self) -> Comparison:
        """Comparison of the laws of resistance on these rolls and films, see `golfphys.compare_laws`."""
        return compare_fits({law: self.alone(law) for law in (LAWS if self.films is None else FILM_LAWS)})

    def draws(self, n: int = 1000, seed: Seed = 0) -> pd.DataFrame:
        """Draw all parameters from the posterior: a line for each draw, columns (spot, parameter) as in `estimates`."""
        layout, natural = self.layout, self.posterior.sample(n, seed)
        found = layout.told(natural)
        found["fall_direction_deg"] %= 360.0
        columns = {(spot, name): part[:, i] for i, spot in enumerate(self.spots) for name, part in found.items()}
        columns |= {(ALL, key.name): natural[:, i] for i, key in enumerate(layout.names) if not key.of}
        return pd.DataFrame(columns).rename_axis(columns=["spot", "parameter"])

    def green(self, spot: str) -> Green:
        """Return the fitted green at a spot, with the reference line of the sheet as line of play.

        Medians of the resistance's coefficients and the mean slope. ValueError if the spot is not in the sheet.
        """
        one, weights = self.layout.at(self.layout.rolls.position(spot)), self.posterior.weights
        natural = self.posterior.natural
        law = {name: scalar_interval(part[:, 0], weights).estimate for name, part in one.coefficients(natural).items()}
        along, left = (weights @ part[:, 0] for part in one.fall(natural))
        grain_x, grain_y = (weights @ part for part in one.grain_parts(natural))
        found = held(law, (along, left), (grain_x, grain_y))
        plain = Resistance(**{name: float(value) for name, value in vars(found.resistance).items()})
        return Green(resistance=plain, grade=float(found.grade), fall_direction=float(found.fall_direction))

    def greens(self, spot: str, n: int, seed: Seed = 0) -> Green:
        """Draw a green at a spot: one that holds arrays (n,). ValueError if the spot is not in the sheet."""
        return self.layout.greens(self.posterior.sample(n, seed), self.layout.rolls.position(spot))

    def predict(
        self,
        spot: str,
        heading: ArrayLike,
        release_speed: ArrayLike = constants.RAMP_RELEASE_SPEED.value,
        *,
        n: int = 2000,
        seed: Seed = 0,
    ) -> pd.DataFrame:
        """Expected rolls at a spot, with bands.

        Headings are in rad, clockwise from the reference line; `release_speed`, m/s, one for all or one each, is as
        written in the sheet; `n` draws. Returns heading, distance (m), low, high (90 % of the expected roll), roll_low,
        roll_high (90 % of single rolls). ValueError if the spot is not in the sheet.
        """
        headings, fast = np.atleast_1d(numbers("heading", heading)), np.all(numbers("release_speed", release_speed) > 0)
        if not (fast and headings.size and np.all(np.isfinite(headings))):
            found = f"heading is {heading!r}, release_speed {release_speed!r}"
            raise ValueError(f"{found}; expected numbers, the speed above 0")
        generator = np.random.default_rng(seed)
        natural = self.posterior.sample(n, generator)
        rolls = Rolls.planned(self.spots, self.layout.rolls.position(spot), -headings, release_speed)
        expected = np.hypot(*replace(self.layout, rolls=rolls).rest(natural))
        single = expected + self.layout.scatter(natural, expected) * generator.standard_normal(expected.shape)
        bands = (*np.quantile(expected, [0.5, 0.05, 0.95], axis=0), *np.quantile(single, [0.05, 0.95], axis=0))
        names = ("heading", "distance", "low", "high", "roll_low", "roll_high")
        return pd.DataFrame(dict(zip(names, (headings, *bands), strict=True)))

    def report(self) -> str:
        """Return the fit as a page of text: estimates with their intervals, and what to bear in mind."""
        return report(self.estimates, self.cautions)


@dataclass(frozen=True, kw_only=True)
class TraceFit:
    """What a fit says of its filmed rolls: `golfphys.fit(...).films`."""

    posterior: Posterior
    layout: TraceLayout

    @cached_property
    def estimates(self) -> pd.DataFrame:
        """Estimates indexed by subject (a roll, a spot, or ``"all"``) and parameter.

        Columns estimate, sd, low, high (90 % interval), unit, informed. A roll has start_speed and resistance_and_grade
        (what slows it, resistance plus the slope along its path), and where it skids first rolling_speed, skid_time and
        skid_length. A spot filmed along several headings has a resistance; otherwise each roll has its own.
        """
        return estimates_frame(_film_rows(self.layout, self.posterior), "subject")

    @cached_property
    def residuals(self) -> pd.DataFrame:
        """One line for each frame: row (and sheet, its file), roll, time, distance, fitted, residual, standardised."""
        films, source = self.layout.films, self.posterior
        natural = source.model.natural(source.weights @ source.transformed)
        residual, scale = source.model.block("films").evaluate(natural)
        return pd.DataFrame(
            {
                **lines(films),
                "roll": [films.names[i] for i in films.roll],
                "time": films.time,
                "distance": films.distance,
                "fitted": films.distance - residual,
                "residual": residual,
                "standardised": residual / scale,
            }
        )

    @cached_property
    def cautions(self) -> list[str]:
        """What the films do not inform, and what looks wrong in them, in plain sentences."""
        return film_cautions(self.layout, self.posterior, self.residuals)


# Standard deviations by which the rolls of a spot in one session are off on average, where it is said that it changed
# by itself; one roll counts for no more than the second number (judged).
APART, ODD = 3.3, 2.5


@dataclass(frozen=True, kw_only=True)
class SeriesFit:
    """How a course changed from session to session: `golfphys.fit(..., session_gap_hours=1).series`.

    Resistance of a spot is its own level times a factor that the whole course shares: a random walk of the logarithm,
    by a step that grows with the root of the time between sessions and whose size is estimated. A session with few
    rolls borrows from its neighbours and the other spots. Estimates and greens of `fit`, and plans, are of the last
    session.
    """

    fit: RolloutFit

    @property
    def times(self) -> tuple[pd.Timestamp, ...]:
        """Middle of each session."""
        return self.fit.layout.rolls.times

    @cached_property
    def change(self) -> pd.DataFrame:
        """Change of green speed since the first session, for each session.

        Indexed by session number from 1, columns time, rolls, change_pct (of the roll from the ramp), low, high (90 %).
        """
        layout, rows = self.fit.layout, []
        factors = layout.session_factors(self.fit.posterior.natural)
        for i, time in enumerate(self.times):
            row = {"time": time, "rolls": int(np.sum(layout.rolls.session == i))}
            rows.append(row | self._with_ends("change_pct", "", 100 * (factors[:, 0] / factors[:, i] - 1)))
        return pd.DataFrame(rows, index=pd.RangeIndex(1, len(rows) + 1, name="session"))

    def _with_ends(self, name: str, start: str, values: Array) -> dict[str, float]:
        found = scalar_interval(values, self.fit.posterior.weights)
        return {name: found.estimate, f"{start}low": found.low, f"{start}high": found.high}

    @cached_property
    def table(self) -> pd.DataFrame:
        """Green speed and resistance of every spot in every session, for a figure.

        Columns spot, session, time, rolls (of that spot in that session; 0 where it is carried over from its
        neighbours), stimp_ft, stimp_low, stimp_high, resistance, resistance_low, resistance_high (90 %).
        """
        layout, natural, rows = self.fit.layout, self.fit.posterior.natural, []
        factors, rolls = layout.session_factors(natural), layout.rolls
        for i, spot in enumerate(rolls.spots):
            one = layout.at(i)
            level = one.coefficients(natural)["constant"][:, 0]
            for j, time in enumerate(self.times):
                roll = one.level_roll(natural, factor=factors[:, j])[:, 0] / METRES_PER_FOOT
                count = int(np.sum((rolls.spot == i) & (rolls.session == j)))
                row = {"spot": spot, "session": j + 1, "time": time, "rolls": count}
                row |= self._with_ends("stimp_ft", "stimp_", roll)
                rows.append(row | self._with_ends("resistance", "resistance_", level * factors[:, j]))
        return pd.DataFrame(rows)

    @property
    def cautions(self) -> list[str]:
        """What the series does not inform, in plain sentences."""
        found = []
        if few := ", ".join(str(number) for number in self.change.index[self.change["rolls"] < 4]):
            found.append(f"Fewer than four rolls in session(s) {few}: they lean on the sessions beside them.")
        if len(self.times) == 1:
            found.append("One session only: the sheet says nothing of change.")
        known, session = self.fit.residuals, self.fit.layout.rolls.session
        off = known["standardised"].clip(-ODD, ODD).groupby([known["spot"], session])
        apart = off.sum() / off.size() ** 0.5
        for spot, number in apart.index[apart.abs() > APART]:
            found.append(
                f"{spot} did not change in session {number + 1} as the others did: was it mown alone? What is said of "
                "it here is surer than it can be; fit that session by itself."
            )
        always = (
            "In general: all spots are taken to change by the same factor and slopes not at all, and the same ramp to "
            "have been used throughout, for another one would look like a change of the green."
        )
        return [*found, *self.fit.cautions, always]


def _film_rows(layout: TraceLayout, source: Posterior) -> Rows:
    """Estimates by film or spot, and of what all films share, by parameter."""
    films, weights = layout.films, source.weights
    by_roll = {name: values.T for name, values in layout.by_roll(source.natural).items()}
    rolls = [dict(zip(by_roll, values, strict=True)) for values in zip(*by_roll.values(), strict=True)]
    rows: Rows = {}
    for name, roll, skids in zip(films.names, rolls, films.skids, strict=True):
        level = roll["constant"] + roll["linear"] * layout.reference_speed
        rows[name, "start_speed"] = scalar_interval(roll["start_speed"], weights, "m/s")
        rows[name, "resistance_and_grade"] = scalar_interval(level + roll["rise"], weights)
        if skids:
            time, informed = roll["skid_time"], source.narrowed("slip", name)
            length = time * (roll["start_speed"] - roll["braking"] * time / 2)
            rows[name, "rolling_speed"] = scalar_interval(roll["rolling_speed"], weights, "m/s")
            rows[name, "skid_time"] = scalar_interval(time, weights, "s", informed)
            rows[name, "skid_length"] = scalar_interval(length, weights, "m", informed)
    for name, spot, roll, shared in zip(films.names, films.spots, rolls, layout.shared, strict=True):
        subject, known = spot if shared else name, shared and source.narrowed("resistance", spot)
        rows[subject, "resistance"] = scalar_interval(roll["constant"], weights, "1", known)
        if films.law == "linear":
            informed = source.narrowed("linear")
            rows[subject, "resistance_linear"] = scalar_interval(roll["linear"], weights, "s/m", informed)
    if layout.names.has("friction"):
        rows[ALL, "friction"] = source.estimate("friction")
    return rows | {(ALL, name): source.estimate(name, shown=scale_interval) for name in ("reading", "frame_jitter")}
