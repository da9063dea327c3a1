"""Change over time: the same spots measured again and again, through a day or a week.

Resistance of a spot is its own level times a factor that the whole course shares and that wanders from session to
session: a random walk of the logarithm, by a step that grows with the root of the time between sessions and whose size
is estimated. A session with few rolls so borrows from those before and after it, and from the other spots.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.asked import Sheet
from golfphys.fitting.intervals import Interval, scalar_interval
from golfphys.fitting.losses import Loss
from golfphys.fitting.results import Seed, posterior, usual_draws
from golfphys.fitting.rollout_layout import RAMP_SD, Law, Priors
from golfphys.fitting.rollout_model import build
from golfphys.fitting.rollouts import RolloutFit, rolls_of

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SeriesFit:
    """How a course changed from session to session.

    Parameters
    ----------
    fit : RolloutFit
        The fit behind it; its estimates and greens are those of the first session.
    times : tuple of Timestamp
        Middle of each session.
    """

    fit: RolloutFit
    times: tuple[pd.Timestamp, ...]

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


def fit_series(
    sheet: Sheet,
    *,
    gap_hours: float = 1.0,
    law: Law = "constant",
    pool: bool = True,
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
    loss: Loss | None = None,
    draws: int | None = None,
    seed: Seed = 0,
) -> SeriesFit:
    """Fit how the green changed over the sessions of a sheet of rollouts.

    Parameters
    ----------
    sheet : RolloutSheet
        Rolls with ``measured_at`` in every row.
    gap_hours : float
        A pause longer than this begins a new session.
    law, pool, release_speed_sd, priors, loss, draws, seed
        As for `golfphys.fit_rollouts`.

    Returns
    -------
    SeriesFit
        Tables of green speed by spot and session and of the change, and the fit behind them.

    Raises
    ------
    ValueError
        If a row has no time, or the gap is not positive.

    Examples
    --------
    >>> import dataclasses, datetime
    >>> from golfphys import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> parts = []
    >>> for hour, stimp in ((9, 10.5), (15, 9.5)):
    ...     design = RolloutDesign(repeats=2, first_at=datetime.datetime(2025, 5, 6, hour))
    ...     greens = {"home-left": Green.from_stimp(stimp)}
    ...     parts.append(make_rollouts(CourseTruth(greens=greens, distance_scatter=0.03), design, hour))
    >>> sheet = dataclasses.replace(parts[0], rolls=pd.concat([part.rolls for part in parts]))
    >>> bool(fit_series(sheet).change.loc[2, "high"] < 0)
    True
    """
    if not gap_hours > 0:
        raise ValueError(f"gap_hours is {gap_hours!r}; expected a positive number of hours")
    frame = sheet.rolls
    blank = frame["measured_at"].isna().to_numpy() if "measured_at" in frame else np.ones(len(frame), dtype=bool)
    if blank.any():
        row = int(rolls_of(sheet).row[np.flatnonzero(blank)[0]])
        raise ValueError(
            f"a series needs measured_at in every row (it is blank in row {row}); fit_rollouts does without"
        )
    session, times = sessions_of(frame["measured_at"], gap_hours)
    rolls = replace(rolls_of(sheet), session=session)
    hours = np.array([(later - earlier).total_seconds() / 3600 for earlier, later in pairwise(times)])
    settings: dict[str, Any] = {"pool": pool, "release_speed_sd": release_speed_sd, "priors": priors, "loss": loss}
    model, layout = build(rolls, law=law, **settings, session_hours=hours if hours.size else None)
    if draws is None:
        draws = usual_draws(model, len(rolls.row) * (1 if layout.plain else 2))
    found = posterior(model, draws=draws, seed=seed)
    options = {**settings, "draws": draws, "seed": seed}
    return SeriesFit(
        fit=RolloutFit(sheet=sheet, law=law, posterior=found, layout=layout, options=options), times=tuple(times)
    )


def sessions_of(measured_at: "pd.Series", gap_hours: float) -> tuple[NDArray[np.int64], list[pd.Timestamp]]:
    """Split times at pauses longer than `gap_hours`: number of each row's session, and the middle of each session."""
    stamps = pd.to_datetime(measured_at).reset_index(drop=True)
    order = np.argsort(stamps.to_numpy(), kind="stable")
    ordered = stamps.iloc[order]
    pauses = ordered.diff().dt.total_seconds().fillna(0.0).to_numpy() > 3600.0 * gap_hours
    session = np.empty(len(stamps), dtype=np.int64)
    session[order] = np.cumsum(pauses)
    middles = []
    for number in range(int(session.max()) + 1):
        here = stamps[session == number]
        middles.append(here.min() + (here.max() - here.min()) / 2)
    return session, middles
