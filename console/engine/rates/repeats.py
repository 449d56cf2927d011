"""How far residuals repeat their neighbours: by what the covariance of a fit is too small."""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats

FEWEST = 12
SEEN_SD = 1.0
"""A correlation below so many of its own standard deviations ends the sum."""


def repeats(residuals: Floats) -> float:
    """How many rows say what one independent row would: 1 + 2 times the sum of the autocorrelations.

    Pairs of lags are summed while they are positive (Geyer, Stat. Sci. 7 (1992), initial positive sequence,
    from memory). Rows are taken as evenly spaced; at least 1, at most a third of the rows.

    >>> repeats(np.array([1.0, -1.0] * 20))
    1.0
    """
    count = len(residuals)
    if count < FEWEST:
        return 1.0
    centred = residuals - residuals.mean()
    power = float(centred @ centred)
    if power <= 0.0:
        return 1.0
    lags = min(count // 3, 60)
    found = np.array([float(centred[: count - k] @ centred[k:]) for k in range(1, lags + 1)]) / power
    limit = SEEN_SD / np.sqrt(count)
    total = 0.0
    for one, other in zip(found[0::2], found[1::2], strict=False):
        if one + other <= 2.0 * limit:
            if one > 2.0 * limit:
                total += float(one)
            break
        total += float(one + other)
    return float(np.clip(1.0 + 2.0 * total, 1.0, count / 3.0))
