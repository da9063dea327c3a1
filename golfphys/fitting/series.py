"""Change over time: the same spots measured again and again, through a day or a week.

Resistance of a spot is its own level times a factor that the whole course shares and that wanders from session to
session: a random walk of the logarithm, by a step that grows with the root of the time between sessions and whose size
is estimated. A session with few rolls so borrows from those before and after it, and from the other spots.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.intervals import Interval, scalar_interval
from golfphys.fitting.rollout_fit import RolloutFit


@dataclass(frozen=True, kw_only=True)
class SeriesFit:
    """How a course changed from session to session.

    Parameters
    ----------
    fit : RolloutFit
        The rolls of the fit; its estimates and greens are those of the first session.
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
        source, layout = self.fit.posterior, self.fit.layout
        factors = layout.session_factors(source.natural)
        rows = []
        for i, time in enumerate(self.times):
            interval = scalar_interval(100 * (1 / factors[:, i] - 1), source.weights)
            count = int(np.sum(layout.rolls.session == i))
            rows.append(
                {
                    "time": time,
                    "rolls": count,
                    "change_pct": interval.estimate,
                    "low": interval.low,
                    "high": interval.high,
                }
            )
        return pd.DataFrame(rows, index=pd.RangeIndex(1, len(rows) + 1, name="session"))

    @cached_property
    def table(self) -> pd.DataFrame:
        """Green speed and resistance of every spot in every session, for a figure.

        Columns spot, session, time, rolls (of that spot in that session; 0 where it is carried over from its
        neighbours), stimp_ft, stimp_low, stimp_high, resistance, resistance_low, resistance_high (90 %).
        """
        source, layout = self.fit.posterior, self.fit.layout
        natural = source.natural
        factors, rolls = layout.session_factors(natural), layout.rolls
        level = layout.coefficients(natural)["constant"]
        rows = []
        for i, spot in enumerate(rolls.spots):
            for j, time in enumerate(self.times):
                roll = layout.level_roll(natural, factor=factors[:, j])[:, i] / METRES_PER_FOOT
                stimp, resistance = (scalar_interval(x, source.weights) for x in (roll, level[:, i] * factors[:, j]))
                count = int(np.sum((rolls.spot == i) & (rolls.session == j)))
                rows.append({"spot": spot, "session": j + 1, "time": time, "rolls": count, **_flat(stimp, resistance)})
        return pd.DataFrame(rows)

    @property
    def cautions(self) -> list[str]:
        """What the series does not inform, in plain sentences."""
        found = []
        few = self.change[self.change["rolls"] < 4]
        if len(few):
            named = ", ".join(str(number) for number in few.index)
            found.append(f"Fewer than four rolls in session(s) {named}: they lean on the sessions beside them.")
        if len(self.times) == 1:
            found.append("One session only: the sheet says nothing of change.")
        found.append(
            "All spots are taken to change by the same factor and slopes not at all; the same ramp is taken to have "
            "been used throughout, for another one would look like a change of the green."
        )
        return found + self.fit.cautions


def _flat(stimp: Interval, resistance: Interval) -> dict[str, float]:
    return {
        "stimp_ft": stimp.estimate,
        "stimp_low": stimp.low,
        "stimp_high": stimp.high,
        "resistance": resistance.estimate,
        "resistance_low": resistance.low,
        "resistance_high": resistance.high,
    }
