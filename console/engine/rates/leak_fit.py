"""What the shapes of a loss say of the time to come, each for itself and all together.

A straight line through a loss that grows is optimistic, and that is the dangerous side: whatever has a
material weight and ends earlier is leaned on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats, standard_draws
from console.engine.rates.fieller import Reach, Reaching
from console.engine.rates.leak_curves import ACCELERATING, LeakShape, lost_si, reached_in_s
from console.engine.rates.student import NORMAL_95

MATERIAL = 0.1
"""A shape of more than this weight is leaned on where it is the earliest."""
DRAWS = 400


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShapedLoss:
    """One shape as it fits a window: level and rate at the anchor for each of a grid of bends."""

    shape: LeakShape
    log_likelihood: float
    """Of the readings, bends, level and rate integrated out; up to a constant that all shapes share."""
    bends: Floats
    """1/s of a growing loss, (bends,); one that counts for nothing for shapes without a bend."""
    weights: Floats
    """How probable each bend is; they sum to 1."""
    levels_si: Floats
    """At the anchor, (bends,)."""
    rates_si_per_s: Floats
    """Of the loss at the anchor, the known use left out."""
    covariances: Floats
    """Of level and rate, (bends, 2, 2)."""

    @property
    def likeliest(self) -> tuple[float, float, float]:
        """Level, rate and bend of the middle of the bends' distribution."""
        level, rate, bend = self.drawn(np.zeros((3, 1)))
        return float(level[0]), float(rate[0]), float(bend[0])

    @property
    def rate_sd_si_per_s(self) -> float:
        """Of the rate at the anchor, over all bends."""
        mean = float(self.weights @ self.rates_si_per_s)
        spread = self.covariances[:, 1, 1] + (self.rates_si_per_s - mean) ** 2
        return math.sqrt(float(self.weights @ spread))

    def drawn(self, normals: Floats) -> tuple[Floats, Floats, Floats]:
        """Level, rate and bend, each (draws,), for standard normal draws (3, draws): bend, rate, level."""
        below = np.array([0.5 * math.erfc(-draw / math.sqrt(2.0)) for draw in normals[0].tolist()])
        middles = np.cumsum(self.weights) - 0.5 * self.weights
        logs = np.interp(below, middles, np.log(self.bends))
        along = [
            np.interp(logs, np.log(self.bends), each)
            for each in (
                self.levels_si,
                self.rates_si_per_s,
                self.covariances[:, 0, 0],
                self.covariances[:, 0, 1],
                self.covariances[:, 1, 1],
            )
        ]
        level, rate, level_var, both, rate_var = along
        sd = np.sqrt(rate_var)
        rest = np.sqrt(np.maximum(level_var - both**2 / rate_var, 0.0))
        found = (level + both / sd * normals[1] + rest * normals[2], np.maximum(rate + sd * normals[1], 0.0))
        return (*found, np.exp(logs))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LeakFit:
    """All shapes as they fit one window, the likeliest first."""

    losses: tuple[ShapedLoss, ...]
    weights: tuple[float, ...]
    """How probable each shape is; they sum to 1."""
    from_s: float
    """The first reading that was used."""
    anchor_s: float
    """The last one: for that moment levels and rates hold."""
    count: int
    use_si_per_s: float
    """Of the known use beside the loss."""

    def weight(self, shape: LeakShape) -> float:
        """How probable a shape is; 0 for one that did not fit at all."""
        pairs = zip(self.losses, self.weights, strict=True)
        return sum(weight for one, weight in pairs if one.shape is shape)

    @property
    def accelerating_weight(self) -> float:
        """How probable it is that the loss grows."""
        return sum(self.weight(shape) for shape in ACCELERATING)

    def reach(self, one: ShapedLoss, target_si: float, bias_sd_si: float = 0.0) -> Reach:
        """How long from the anchor until a level is reached by one shape; 90 % between low and high."""
        names = ("bend", "rate", "level", "bias")
        normals = np.array([standard_draws(f"leak {name}", 0, DRAWS) for name in names])
        level, rate, bend = one.drawn(normals[:3])
        level = level + bias_sd_si * normals[3]
        times = reached_in_s(one.shape, level, rate, bend, self.use_si_per_s, target_si)
        # By ranks, so that draws that never get there stay at the far end and are not averaged with.
        low, high = np.quantile(times[1:], [0.05, 0.95], method="inverted_cdf").tolist()
        central = float(times[0])
        reaching = Reaching.REACHES if math.isfinite(high) else Reaching.NO_UPPER_END
        return Reach(
            reaching=reaching if math.isfinite(low) else Reaching.LEADS_AWAY,
            low_s=_known(low),
            central_s=_known(central),
            high_s=_known(high),
            g=_openness(one),
        )

    def leaned(self, target_si: float) -> ShapedLoss:
        """The shape of material weight by which a level is reached first.

        It is never later than the likeliest, nor than the likelier one that grows where growing has a
        material weight: the growing shapes count together, for they say the same in two ways.
        """
        pairs = list(zip(self.losses, self.weights, strict=True))
        likely = [one for one, weight in pairs if one is self.losses[0] or weight > MATERIAL]
        if self.accelerating_weight > MATERIAL:
            likely += [one for one, _ in pairs if one.shape in ACCELERATING][:1]
        return min(likely, key=lambda one: self._central_s(one, target_si))

    def loss_samples(self, after_s: Floats, choosing: Floats, normals: Floats) -> Floats:
        """What is lost from the anchor on, for every draw, without the known use: (draws, times).

        Args:
            after_s: moments since the anchor, at least 0, (times,).
            choosing: a standard normal draw of which shape it is, (draws,): the higher, the faster a loss.
            normals: standard normal draws of bend, rate and level, (3, draws).
        """
        order = np.argsort([self._lost_in_all(one) for one in self.losses], kind="stable")
        ends = np.cumsum([self.weights[index] for index in order])
        below = np.array([0.5 * math.erfc(-draw / math.sqrt(2.0)) for draw in choosing.tolist()])
        which = order[np.minimum(np.searchsorted(ends, below), len(order) - 1)]
        lost = np.zeros((len(choosing), len(after_s)))
        for index, one in enumerate(self.losses):
            chosen = which == index
            level, rate, bend = (each[:, None] for each in one.drawn(normals[:, chosen]))
            lost[chosen] = lost_si(one.shape, level, rate, bend, after_s[None, :])
        return lost

    def _central_s(self, one: ShapedLoss, target_si: float) -> float:
        level, rate, bend = (np.full(1, each) for each in one.likeliest)
        return float(reached_in_s(one.shape, level, rate, bend, self.use_si_per_s, target_si)[0])

    def _lost_in_all(self, one: ShapedLoss) -> float:
        """What it loses in another window as long as the one seen."""
        level, rate, bend = (np.full(1, each) for each in one.likeliest)
        return float(lost_si(one.shape, level, rate, bend, np.full(1, self.anchor_s - self.from_s))[0])


def _openness(one: ShapedLoss) -> float:
    """The relative error of the rate, squared, for 90 %: from 1 on it cannot be told from none."""
    rate = one.likeliest[1]
    error = NORMAL_95 * one.rate_sd_si_per_s
    return (error / rate) ** 2 if rate > 1e-9 * error else math.inf


def _known(time_s: float) -> float | None:
    return time_s if math.isfinite(time_s) else None
