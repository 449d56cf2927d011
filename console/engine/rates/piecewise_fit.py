"""What joined lines through the readings of a gauge say: level, slopes, and how sure both are together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Indices
from console.engine.rates.noise import Noise
from console.engine.rates.segments import Segments
from console.engine.rates.wander import Wander


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SlopePrior:
    """What is presumed of each slope beside the readings, as the plan does, arrays (slopes,)."""

    means_si_per_s: Floats
    sds_si_per_s: Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PiecewiseFit:
    """Level at the anchor and the slopes, with their joint covariance. What falls has slopes below 0."""

    segments: Segments
    level_si: float
    """At the anchor."""
    slopes_si_per_s: Floats
    """One for each stretch between knots, (knots + 1,); only those ``is_determined`` mean anything."""
    is_determined: tuple[bool, ...]
    """Whether the readings tell each slope."""
    jumps_si: Floats
    """Of the open jumps, in their order."""
    covariance: Floats
    """Of level, slopes and open jumps, (1 + slopes + open jumps,) twice; no bias of the gauge in it."""
    noise: Noise
    residual_sd_si: float
    """Of the rows about line, rounding and wandering."""
    freedom: float
    """For Student's t."""
    count: int
    """Rows used."""
    effective_count: float
    """What these are worth, as their errors repeat one another."""
    first_s: float
    last_s: float
    spikes: Indices
    """Rows of the gauge set aside because they stand alone far off."""
    out_of_order: Indices
    """Rows of the gauge left out because their time did not rise, or they are no numbers."""
    wander: Wander | None
    """How use was taken to stray: as told, or as the readings show it."""
    log_likelihood: float
    """Of the readings, to compare sizes of the wandering on the same rows."""

    @property
    def slope_sds_si_per_s(self) -> Floats:
        """Standard deviation of each slope."""
        sds: Floats = np.sqrt(np.diag(self.covariance)[1 : 1 + len(self.slopes_si_per_s)])
        return sds

    @property
    def level_sd_si(self) -> float:
        """Of the level at the anchor, without the gauge's bias."""
        return float(np.sqrt(self.covariance[0, 0]))

    def level_at(self, at_s: float) -> tuple[float, float]:
        """The line's level at a moment, and its standard deviation without wandering on the way to it."""
        times = np.array([at_s])
        row = self.segments.columns(times)[0]
        found = np.concatenate(([self.level_si], self.slopes_si_per_s, self.jumps_si))
        level = float(row @ found) + float(self.segments.known_jumps_si(times)[0])
        return level, float(np.sqrt(max(row @ self.covariance @ row, 0.0)))

    def level_and_last_slope(self) -> tuple[float, float, Floats]:
        """Level at the anchor, slope of the stretch that the anchor lies in, and their covariance (2, 2)."""
        index = self.segments.index_at(self.segments.anchor_s)
        pick = np.array([0, 1 + index])
        return self.level_si, float(self.slopes_si_per_s[index]), self.covariance[np.ix_(pick, pick)]
