"""Gauges of every sort, sensible or not: nothing raises, warns, or gives what is no number."""

from __future__ import annotations

import numpy as np
import pytest

from console.engine.rates.choice import rate_of
from console.engine.rates.gauge import Gauge
from console.engine.rates.leak_shapes import leak_shapes
from console.engine.rates.segments import Jump


def odd_gauge(luck: np.random.Generator) -> tuple[Gauge, float]:
    """Up to 40 rows over seconds or days, in any unit, some spoilt; and their span."""
    count, scale = int(luck.integers(0, 40)), 10.0 ** int(luck.integers(-6, 9))
    span_s = 10.0 ** int(luck.integers(1, 6))
    from_start = np.sort(luck.uniform(0.0, span_s, count))
    slope, noise = luck.choice([0.0, 10.0, 100.0]), float(luck.choice([0.0, 0.01, 0.3, 5.0])) * scale
    step = float(luck.choice([0.0, 0.1, 1.0])) * scale
    values = scale * (50.0 - slope * from_start / span_s) + noise * luck.normal(size=count)
    if step:
        values = np.round(values / step) * step
    times = from_start + float(luck.choice([0.0, 2e9]))
    for spoil in (np.nan, 1000.0 * scale):
        if count and luck.random() < 0.2:
            values[luck.integers(0, count)] += spoil
    if count > 3 and luck.random() < 0.2:
        times[3] = times[0]
    counts = luck.integers(1, 20, count).astype(float)
    return Gauge(times_s=times, values_si=values, counts=counts, step_si=step, noise_sd_si=noise), span_s


@pytest.mark.parametrize("seed", range(5))
def test_no_gauge_breaks_anything(seed: int) -> None:
    luck, told = np.random.default_rng(seed), 0
    for _ in range(60):
        gauge, span_s = odd_gauge(luck)
        begin_s = float(gauge.times_s[0]) if len(gauge) else 0.0
        knots = tuple(sorted((begin_s + span_s * luck.uniform(-0.2, 1.2, 3)).tolist()))
        jumps = tuple(
            Jump(at_s=begin_s + span_s * at, amount_si=amount) for at, amount in ((0.3, None), (0.6, 1.0))
        )
        rate = rate_of(gauge, knots, begin_s + 1.1 * span_s, jumps[: int(luck.integers(0, 3))])
        leak_shapes(gauge, begin_s, begin_s + span_s)
        if rate is None:
            continue
        told += 1
        numbers = (
            rate.slope_si_per_s,
            rate.low_si_per_s,
            rate.high_si_per_s,
            rate.level_si,
            rate.level_sd_si,
        )
        assert all(np.isfinite(number) for number in numbers if number is not None)
        assert np.all(np.isfinite(rate.covariance))
        if rate.low_si_per_s is not None and rate.high_si_per_s is not None:
            assert rate.low_si_per_s <= rate.high_si_per_s
        end = rate.reach(0.0)
        if end.low_s is not None and end.high_s is not None:
            assert 0.0 <= end.low_s <= end.high_s * (1.0 + 1e-9)
    assert told > 40
