"""Scores of forecasts that are samples: CRPS, coverage with its limits, probability transform, median error.

A truth later than the run's end is censored there: then truth and forecast are both cut off at that end,
which keeps the CRPS proper, and the transform is uniform over what the forecast gives to "later". No forecast
is made here and nothing of the engine is used.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INSIDE_LOW, INSIDE_HIGH = 0.05, 0.95
Z_95 = 1.959963984540054


def crps(samples: Floats, truth: float) -> float:
    """Continuous ranked probability score of an ensemble, plain form.

    E|X - y| - E|X - X'| / 2 with the ensemble's own distribution for X and X'. Gneiting and Raftery, JASA
    102(477), 2007, equation 21.
    """
    return _crps(samples, truth, len(samples) ** 2)


def fair_crps(samples: Floats, truth: float) -> float:
    """The same without the penalty for being few: pairs of different members alone count.

    Ferro, QJRMS 140(683), 2014. Needs two members.
    """
    return _crps(samples, truth, len(samples) * (len(samples) - 1))


def _crps(samples: Floats, truth: float, pairs: int) -> float:
    ordered = np.sort(samples)
    count = len(ordered)
    # The sum of |x_i - x_j| over all ordered pairs, from the ranks alone.
    apart = 2.0 * float(np.sum((2.0 * np.arange(count) - count + 1.0) * ordered))
    return float(np.mean(np.abs(ordered - truth))) - 0.5 * apart / pairs


def normal_crps(mean: float, sd: float, truth: float) -> float:
    """CRPS of a normal distribution, closed form: Gneiting and Raftery, JASA 102(477), 2007, section 4.2."""
    z = (truth - mean) / sd
    below = 0.5 * math.erfc(-z / math.sqrt(2.0))
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return sd * (z * (2.0 * below - 1.0) + 2.0 * density - 1.0 / math.sqrt(math.pi))


def cut_off(samples: Floats, end: float) -> Floats:
    """Samples that say "later than the end" (infinity too) put at the end."""
    return np.minimum(samples, end)


def transform(samples: Floats, truth: float | None, end: float) -> tuple[float, float]:
    """The stretch of probability in which a truth lies, by its forecast: (low, high).

    Between the shares of samples below the truth, and up to it; for a truth that did not come until the end
    (None), from the share of samples up to the end, to 1.
    """
    count = len(samples)
    if truth is None:
        return float(np.count_nonzero(samples <= end)) / count, 1.0
    return (
        float(np.count_nonzero(samples < truth)) / count,
        float(np.count_nonzero(samples <= truth)) / count,
    )


def share_inside(low: float, high: float) -> float:
    """How much of a stretch of probability lies inside the 90 % interval: 0 or 1 for a point."""
    if high <= low:
        return float(INSIDE_LOW <= low <= INSIDE_HIGH)
    return max(min(high, INSIDE_HIGH) - max(low, INSIDE_LOW), 0.0) / (high - low)


def is_inside(
    low: float, high: float, truth: float | None, end: float, stretch: tuple[float, float]
) -> float:
    """Whether the truth lies in an interval: 1 or 0; between them where it is censored.

    Censored it can only be said that it comes after the end. An interval that ended before misses it. Else it
    counts by how much of what the forecast gives to "later" lies inside the interval: over many censored
    truths a forecast that is right so gets its 90 %, and no more.
    """
    if truth is not None:
        return float(low <= truth <= high)
    return 0.0 if high < end else share_inside(*stretch)


def wilson(inside: float, count: int) -> tuple[float, float]:
    """95 % limits of a share, for independent trials: Wilson, JASA 22(158), 1927."""
    if count == 0:
        return 0.0, 1.0
    share, spread = inside / count, Z_95**2 / count
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = Z_95 * math.sqrt(share * (1.0 - share) / count + spread / (4.0 * count)) / (1.0 + spread)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def clustered(inside: Sequence[float], clusters: Sequence[str]) -> tuple[float, float]:
    """95 % limits of a share whose trials come in clusters, such as forecasts of one contingency.

    By the ratio estimator over clusters (Cochran, Sampling Techniques, 3rd edition, section 3.12); as wide as
    the whole range where there are fewer than two clusters.
    """
    total: dict[str, list[float]] = {}
    for share, cluster in zip(inside, clusters, strict=True):
        total.setdefault(cluster, []).append(share)
    groups = len(total)
    if groups < 2:
        return 0.0, 1.0
    sums = np.array([math.fsum(shares) for shares in total.values()])
    sizes = np.array([float(len(shares)) for shares in total.values()])
    share = float(sums.sum() / sizes.sum())
    deviation = sums - share * sizes
    variance = groups / (groups - 1) * float(np.sum(deviation**2)) / float(sizes.sum()) ** 2
    half = Z_95 * math.sqrt(variance)
    return max(share - half, 0.0), min(share + half, 1.0)


def histogram(stretches: Sequence[tuple[float, float]], bins: int = 10) -> list[float]:
    """Shares of the transform in equal bins; a stretch is spread evenly over the bins it meets."""
    edges = np.linspace(0.0, 1.0, bins + 1)
    counts = np.zeros(bins)
    for low, high in stretches:
        if high - low < 1e-12:
            counts[min(int(low * bins), bins - 1)] += 1.0
        else:
            counts += np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, None) / (
                high - low
            )
    return (counts / max(len(stretches), 1)).tolist()


def median(values: Sequence[float]) -> float | None:
    """The middle of some values; None of none."""
    return float(np.median(np.array(values))) if values else None
