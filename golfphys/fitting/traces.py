"""What a fit says of filmed rolls: resistance, and from putts and landed chips the skid and its friction."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.films import Films, TraceLayout
from golfphys.fitting.results import Posterior, Row, Seed, estimates_frame, scalar_interval, scale_interval
from golfphys.fitting.rollout_cautions import OUTLIER, doubts
from golfphys.fitting.rollout_tables import ALL

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class TraceFit:
    """What a fit says of its filmed rolls: `golfphys.fit(...).films`."""

    sheet: Any
    posterior: Posterior
    layout: TraceLayout

    @property
    def films(self) -> Films:
        """The filmed rolls as arrays."""
        return self.layout.films

    @cached_property
    def estimates(self) -> pd.DataFrame:
        """Estimates indexed by subject (a roll, a spot, or ``"all"``) and parameter.

        Columns estimate, sd, low, high (90 % interval), unit, informed. A roll has start_speed and resistance_and_grade
        (what slows it, resistance plus the slope along its path), and where it skids first rolling_speed, skid_time and
        skid_length. A spot filmed along several headings has a resistance; otherwise each roll has its own.
        """
        source, natural = self.posterior, self.posterior.natural
        roll = {name: values.T for name, values in self.layout.by_roll(natural).items()}
        rows: dict[tuple[str, str], Row] = {}

        def add(subject: str, name: str, values: Array, unit: str = "1", informed: bool = True) -> None:
            rows[(subject, name)] = (scalar_interval(values, source.weights), unit, informed)

        for i, name in enumerate(self.films.names):
            start, level = roll["start_speed"][i], roll["constant"][i] + roll["linear"][i] * self.layout.reference_speed
            add(name, "start_speed", start, "m/s")
            add(name, "resistance_and_grade", level + roll["rise"][i])
            if self.films.skids[i]:
                time, informed = roll["skid_time"][i], source.narrowed("slip", name)
                add(name, "rolling_speed", roll["rolling_speed"][i], "m/s")
                add(name, "skid_time", time, "s", informed)
                add(name, "skid_length", time * (start - roll["braking"][i] * time / 2), "m", informed)
        for i, (spot, name) in enumerate(zip(self.films.spots, self.films.names, strict=True)):
            shared = self.layout.shared[i]
            subject = spot if shared else name
            add(subject, "resistance", roll["constant"][i], "1", shared and source.narrowed("resistance", spot))
            if self.films.law == "linear":
                add(subject, "resistance_linear", roll["linear"][i], "s/m", source.narrowed("linear"))
        if self.layout.names.has("friction"):
            add(ALL, "friction", source.column("friction"), "1", source.narrowed("friction"))
        for name, unit in (("reading", "m"), ("frame_jitter", "s")):
            interval = scale_interval(source.column(name), source.weights)
            rows[(ALL, name)] = (interval, unit, source.narrowed(name))
        return estimates_frame(rows, "subject")

    @cached_property
    def residuals(self) -> pd.DataFrame:
        """One line for each frame: row, roll, time, distance, fitted, residual, standardised."""
        films = self.films
        mean = self.posterior.weights @ self.posterior.transformed
        natural = self.posterior.model.natural(mean)
        residual, scale = self.posterior.model.block("films").evaluate(natural)
        return pd.DataFrame(
            {
                "row": films.row,
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
        found = [*self._odd_frames(), self._mixed(), *self._skids(), *self._general()]
        return [text for text in found if text]

    def draws(self, n: int = 1000, seed: Seed = 0) -> pd.DataFrame:
        """Draw all parameters from the posterior, one line for each draw."""
        names = self.layout.names.labels
        return pd.DataFrame(self.posterior.sample(n, seed)[:, : len(names)], columns=names)

    def _odd_frames(self) -> list[str]:
        odd = self.residuals[self.residuals["standardised"].abs() > OUTLIER]
        found = [
            f"Row {int(line['row'])} ({line['roll']}, {line['time']:.3f} s) was set aside: {line['distance']:.2f} m "
            f"was read where {line['fitted']:.2f} m is expected."
            for _, line in odd.head(8).iterrows()
        ]
        return found + ([f"{len(odd) - 8} more frames were set aside."] if len(odd) > 8 else [])

    def _mixed(self) -> str:
        alone = [name for name, shared in zip(self.films.names, self.layout.shared, strict=True) if not shared]
        if not alone:
            return ""
        return (
            f"Films of {', '.join(alone)} show how fast the ball slows down, which is resistance plus the slope along "
            "the path; how the two share it is assumption. Film the opposite heading at the same spot as well, or join "
            "the films to a sheet of rollouts."
        )

    def _skids(self) -> list[str]:
        found = []
        if self.layout.names.has("friction") and not self.posterior.narrowed("friction"):
            found.append(
                "The films hardly inform the sliding friction: the skid is short, and the spin at its start is not "
                "known. Film from closer with more frames a second, or note that the putt was struck without spin."
            )
        blank = [name for name, kind in zip(self.films.names, self.films.kinds, strict=True) if kind == ""]
        if blank:
            found.append(
                f"How the ball was set off is not noted for {', '.join(blank)}: it was taken as rolling at once."
            )
        return found

    def _general(self) -> list[str]:
        priors = [p for p in self.posterior.model.parameters if p.name == "film_scale"]
        percent = 100 * max(p.spread for p in priors)
        text = (
            f"An error of scale of a film ({percent:.1f} % allowed) goes straight into resistance: speeds and "
            "distances share it."
        )
        found = [text]
        if self.films.law == "constant":
            found.append("Resistance was taken as constant; law='linear' asks the films whether it grows with speed.")
        else:
            found.append("With a linear law the path is taken as straight: film up and down the fall line.")
        return found + doubts(self.posterior)
