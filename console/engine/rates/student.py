"""Student's distribution: the quantile that intervals of few readings need."""

from __future__ import annotations

import math
from functools import lru_cache

NORMAL_95 = 1.6448536269514722


@lru_cache(maxsize=1024)
def student_quantile(probability: float, freedom: float) -> float:
    """The value that Student's t stays below with some probability.

    By bisection and Newton's steps on I_x(f/2, 1/2), x = f / (f + t²), the regularised incomplete beta
    function; to 1e-9 for 0.001 to 0.999 and freedoms from 0.5 on, which need not be whole.

    Source: Abramowitz and Stegun 26.7.1 and 26.5.8 (from memory).

    >>> round(student_quantile(0.95, 3.0), 6)
    2.353363
    """
    if not 0.0 < probability < 1.0 or not freedom > 0.0:
        raise ValueError(f"no quantile for probability {probability:g} and freedom {freedom:g}")
    if probability < 0.5:
        return -student_quantile(1.0 - probability, freedom)
    if probability == 0.5:
        return 0.0
    upper = 1.0 - probability
    low, high = 0.0, 2.0
    while _tail(high, freedom) > upper:
        low, high = high, 4.0 * high
    here = 0.5 * (low + high)
    for _ in range(80):
        miss = _tail(here, freedom) - upper
        low, high = (here, high) if miss > 0.0 else (low, here)
        following = here + miss / _density(here, freedom)
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - here) <= 1e-12 * (1.0 + here):
            break
        here = following
    return following


def _density(t: float, freedom: float) -> float:
    log = math.lgamma(0.5 * (freedom + 1.0)) - math.lgamma(0.5 * freedom)
    log -= 0.5 * math.log(freedom * math.pi) + 0.5 * (freedom + 1.0) * math.log1p(t * t / freedom)
    return math.exp(log)


def _tail(t: float, freedom: float) -> float:
    """How often Student's t exceeds a positive value."""
    return 0.5 * _incomplete_beta(freedom / (freedom + t * t), t * t / (freedom + t * t), 0.5 * freedom, 0.5)


def _incomplete_beta(x: float, rest: float, a: float, b: float) -> float:
    """I_x(a, b) with ``rest`` = 1 - x, by the continued fraction from the side where it is quick."""
    if x <= 0.0:
        return 0.0
    if rest <= 0.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _incomplete_beta(rest, x, b, a)
    front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    return math.exp(front) * _fraction(x, a, b) / a


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function, by Lentz's method."""
    tiny = 1e-300
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0) or tiny)
    value = d
    for m in range(1, 400):
        for term in (
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0)),
        ):
            d = 1.0 / (1.0 + term * d or tiny)
            c = 1.0 + term / c or tiny
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value
