"""Target hits: of so many balls played at a towel or a hoop on the landing spot, how many landed on it.

A clean strike lands about its aim, normal along and across the line; a mis-hit lands short or long by how bad it got,
see `golfphys.fitting.strikes`. The target is taken as the square of its area. Counts are binomial.
"""

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, xlogy

from golfphys.fitting.chip_model import EDGE_AIM, ChipModel
from golfphys.fitting.chips import Targets
from golfphys.fitting.estimator import Block
from golfphys.fitting.losses import Normal
from golfphys.fitting.strikes import Window, first_of, window_of

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class TargetModel:
    """Target hits as part of a model.

    Nothing is played with `chips`, the model of their aims, so that it need not know any green; `window` is None until
    a reference is taken.
    """

    targets: Targets
    chips: ChipModel
    window: Window | None = None

    def referred(self, natural: Array) -> "TargetModel":
        """Return the same model around parameter values of shape (P,)."""
        world = SimpleNamespace(**self.chips.delivery(natural[None]))
        return replace(self, window=window_of(first_of(self.chips.swings(natural[None], world, self.chips.aim))))

    def __call__(self, natural: Array) -> Block:
        """Return the residuals around parameter values of shape (P,)."""
        return self.referred(natural).block()

    def probability(self, natural: Array) -> Array:
        """Probability that a ball lands on the target, shape (..., sets)."""
        window, model = self.window, self.chips
        assert window is not None
        aim, half = model.aim, self.targets.size * math.sqrt(math.pi) / 4
        errors = model.strike_errors(natural, window)
        loaded = np.stack(errors[:5], axis=-1)
        along, across = (
            aim * np.sqrt(((slope * loaded) ** 2).sum(axis=-1)) for slope in (window.carry, window.direction)
        )
        bias, turned = aim * model.carry_bias(natural), aim * model.delivery(natural)["direction"]
        clean, missed = window.shares(errors, model.get(natural, "edge_aim", default=EDGE_AIM))
        found = clean * _within(half, bias, along)
        ends = [aim[:, None] * (np.asarray(end.carry) - 1.0) for end in (window.least, window.most)]
        middle, spread = (ends[0] + ends[1]) / 2, (ends[1] - ends[0]) / math.sqrt(12.0)
        off = middle + bias[..., None], np.hypot(along[..., None], spread)
        found = found + (missed * _within(half[:, None], *off)).sum(axis=-1)
        return np.asarray(np.clip(found * _within(half, turned, across), 1e-9, 1.0 - 1e-9))

    def block(self) -> Block:
        """Return the residuals of the counts: with a normal density they make the binomial likelihood."""
        tries, hits = self.targets.tries, self.targets.hits

        def evaluate(natural: Array) -> tuple[Array, Array]:
            p = self.probability(natural)
            off = xlogy(hits, hits / (tries * p)) + xlogy(tries - hits, (tries - hits) / (tries * (1.0 - p)))
            residual = np.sign(hits - tries * p) * np.sqrt(2.0 * np.maximum(off, 0.0))
            return residual, np.ones_like(residual)

        return Block(name="targets", evaluate=evaluate, loss=Normal())


def _within(half: Any, mean: Any, sd: Any) -> Array:
    """Probability that a normal deviate lies within `half` of zero."""
    wide = np.maximum(sd, 1e-6)
    return np.asarray(ndtr((half - mean) / wide) - ndtr((-half - mean) / wide))
