"""Use that strays and comes back, as it shows in levels: against closed forms.

The process is that of Ornstein and Uhlenbeck.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from evidence_world import HOUR, level_rows, modelled, times

from console.engine.evidence.ground import ground_of
from console.engine.evidence.luck import wander_variance
from console.engine.evidence.wander import LOADS_TAU_S, OTHER_TAU_S, tau_of


def taken_covariance(one_s: float, other_s: float, tau_s: float) -> float:
    """Of what two stretches up to the same moment take, for a rate that strays with variance 1.

    The double integral of exp(-|u - v| / tau) over [0, a] x [0, b], done by hand.
    """
    low, high = sorted((one_s, other_s))
    return (
        2.0 * tau_s * low
        - tau_s**2 * (1.0 - math.exp(-low / tau_s))
        + tau_s**2 * (math.exp(-high / tau_s) - math.exp(-(high - low) / tau_s))
    )


def test_the_levels_covariance_is_that_of_the_integrated_process() -> None:
    at_s = times(6.0, 120.0)
    level = level_rows(at_s, np.full((1, len(at_s)), 50.0), 0.1)
    ground = ground_of(level, None, *(modelled(1.0 / HOUR, 0.0, 1.0 / HOUR),) * 2, (), HOUR)
    assert ground is not None
    apart = ground.anchor_s - at_s
    for one, other in ((0, 0), (0, 90), (40, 100), (150, 160)):
        due = taken_covariance(apart[one], apart[other], HOUR) / HOUR**2
        assert ground.wander[one, other] == pytest.approx(due, rel=0.01, abs=1e-4)


def test_the_levels_covariance_with_the_present_rate_is_the_single_integral() -> None:
    at_s = times(6.0, 120.0)
    level = level_rows(at_s, np.full((1, len(at_s)), 50.0), 0.1)
    ground = ground_of(level, None, *(modelled(1.0 / HOUR, 0.0, 1.0 / HOUR),) * 2, (), HOUR)
    assert ground is not None
    due = 1.0 - np.exp(-(ground.anchor_s - at_s) / HOUR)
    np.testing.assert_allclose(ground.to_rate, due, atol=2e-3)
    assert ground.rate_var == pytest.approx(1.0)


@pytest.mark.parametrize("after_h", [0.1, 1.0, 5.0, 40.0])
def test_the_spread_of_what_is_yet_taken_is_the_double_integral(after_h: float) -> None:
    after_s = np.array([after_h * HOUR])
    found = wander_variance(after_s, after_s, 1800.0)
    assert found[0] == pytest.approx(taken_covariance(after_s[0], after_s[0], 1800.0), rel=1e-9)


def test_loads_come_back_sooner_than_people(build: object) -> None:
    power = build.supply("power", "A*h")  # type: ignore[attr-defined]  # made by tests
    water = build.supply("water", "kg")  # type: ignore[attr-defined]  # made by tests
    assert (tau_of(power), tau_of(water)) == (LOADS_TAU_S, OTHER_TAU_S)
    assert LOADS_TAU_S < OTHER_TAU_S
