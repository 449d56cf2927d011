"""A standing test of whether residuals have shifted: the two-sided CUSUM, step by step or all at once.

It says that something has changed, not when: ``change_moment.py`` looks for the moment.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from console.engine.draws import Floats

LIMIT = 5.0
"""h, in standard deviations. With k 0.5 one false call in about 470 independent residuals."""
SLACK = 0.5
"""k: half the shift, in standard deviations, that is looked for."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cusum:
    """What the test remembers.

    Give it residuals over their standard deviation, far enough apart in time not to repeat one another.
    """

    high: float = 0.0
    low: float = 0.0
    """Sums of what lay above and below, each less the slack, never under 0."""
    since_high_s: float | None = None
    since_low_s: float | None = None
    """When each sum last left 0: about when a change would have begun."""
    called_at_s: float | None = None
    """When a sum passed the limit; the test then rests until it is begun anew."""
    is_up: bool = False
    """Whether what was called is a shift upwards."""

    @property
    def since_s(self) -> float | None:
        """About when what was called began."""
        if self.called_at_s is None:
            return None
        return self.since_high_s if self.is_up else self.since_low_s

    def after(self, at_s: float, residual: float, limit: float = LIMIT, slack: float = SLACK) -> Cusum:
        """The test after one more residual."""
        if self.called_at_s is not None:
            return self
        high, low = max(self.high + residual - slack, 0.0), max(self.low - residual - slack, 0.0)
        following = replace(
            self,
            high=high,
            low=low,
            since_high_s=None if high == 0.0 else at_s if self.since_high_s is None else self.since_high_s,
            since_low_s=None if low == 0.0 else at_s if self.since_low_s is None else self.since_low_s,
        )
        if max(high, low) <= limit:
            return following
        return replace(following, called_at_s=at_s, is_up=high > low)


def cusum(times_s: Floats, residuals: Floats, limit: float = LIMIT, slack: float = SLACK) -> Cusum:
    """The test after many residuals; it rests at the first call."""
    state = Cusum()
    for at_s, residual in zip(times_s.tolist(), residuals.tolist(), strict=True):
        state = state.after(at_s, residual, limit, slack)
        if state.called_at_s is not None:
            break
    return state
