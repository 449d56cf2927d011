"""Candidates for a change that nobody logged, by the thousand, each with the log of its odds against none."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.evidence.shapes import Candidate


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Odds:
    """Candidates of some forms: all arrays of shape (n,)."""

    forms: tuple[Candidate, ...]
    """What candidates have in common but for moment, growth and size."""
    which: NDArray[np.intp]
    """Of which form each is."""
    at_s: Floats
    growths_per_s: Floats
    sizes_sd: Floats
    logs: Floats

    def __len__(self) -> int:
        """How many there are."""
        return len(self.logs)

    @property
    def total_log(self) -> float:
        """Of all of them together."""
        return float(np.logaddexp.reduce(self.logs)) if len(self) else -math.inf

    def candidate(self, index: int) -> Candidate:
        """One of them."""
        form: Candidate = self.forms[int(self.which[index])]
        return replace(
            form,
            at_s=float(self.at_s[index]),
            growth_per_s=float(self.growths_per_s[index]),
            size_sd=float(self.sizes_sd[index]),
        )

    def best(self) -> Candidate:
        """The likeliest."""
        return self.candidate(int(np.argmax(self.logs)))

    def near(self, within_log: float) -> NDArray[np.bool_]:
        """Which are no less probable than the best by more than e to this."""
        close: NDArray[np.bool_] = self.logs > float(np.max(self.logs)) - within_log
        return close


def joined(parts: list[Odds]) -> Odds:
    """All of them together."""
    firsts = np.cumsum([0, *(len(each.forms) for each in parts)])
    return Odds(
        forms=tuple(form for each in parts for form in each.forms),
        which=np.concatenate([each.which + first for each, first in zip(parts, firsts[:-1], strict=True)]),
        at_s=np.concatenate([each.at_s for each in parts]),
        growths_per_s=np.concatenate([each.growths_per_s for each in parts]),
        sizes_sd=np.concatenate([each.sizes_sd for each in parts]),
        logs=np.concatenate([each.logs for each in parts]),
    )


NONE = Odds(
    forms=(),
    which=np.zeros(0, dtype=np.intp),
    at_s=np.zeros(0),
    growths_per_s=np.zeros(0),
    sizes_sd=np.zeros(0),
    logs=np.zeros(0),
)
