"""When a level is reached, with its interval; and the quantile that it needs."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from console.engine.rates.fieller import Reaching, reach
from console.engine.rates.student import student_quantile


@pytest.mark.parametrize("freedom", [0.5, 1.0, 2.0, 3.7, 12.0, 150.0, 1e5])
@pytest.mark.parametrize("probability", [0.01, 0.3, 0.5, 0.9, 0.95, 0.999])
def test_the_quantile_is_scipys(freedom: float, probability: float) -> None:
    expected = scipy.stats.t.ppf(probability, freedom)
    assert student_quantile(probability, freedom) == pytest.approx(expected, rel=1e-8, abs=1e-10)


def test_no_quantile_of_certainty() -> None:
    with pytest.raises(ValueError, match="no quantile"):
        student_quantile(1.0, 3.0)


@given(
    st.floats(5.0, 50.0),
    st.floats(-2.0, -0.5),
    st.floats(0.01, 1.0),
    st.floats(0.001, 0.15),
    st.floats(-0.9, 0.9),
)
def test_both_ends_solve_fiellers_equation(
    level: float, slope: float, level_sd: float, slope_sd: float, correlation: float
) -> None:
    both = correlation * level_sd * slope_sd
    covariance = np.array([[level_sd**2, both], [both, slope_sd**2]])
    found = reach(level, slope, covariance, 1.0, freedom=20.0)
    assert found.reaching is Reaching.REACHES
    assert found.low_s is not None
    assert found.high_s is not None
    assert found.central_s is not None
    assert found.low_s < found.central_s < found.high_s
    quantile = student_quantile(0.95, 20.0)
    for end in (found.low_s, found.high_s):
        variance = level_sd**2 + 2.0 * end * both + end**2 * slope_sd**2
        assert (level - 1.0 + slope * end) ** 2 == pytest.approx(quantile**2 * variance, rel=1e-6)


def test_a_slope_that_could_be_nothing_has_no_upper_end_and_says_so() -> None:
    found = reach(50.0, -1.0, np.array([[0.04, 0.0], [0.0, 0.8**2]]), 0.0)
    assert found.reaching is Reaching.NO_UPPER_END
    assert found.g > 1.0
    assert found.high_s is None
    assert found.central_s == pytest.approx(50.0)
    # The steepest slope of the set gets there about then: 50 / (1 + 1.645 * 0.8).
    assert found.low_s == pytest.approx(50.0 / (1.0 + 1.645 * 0.8), rel=0.01)


def test_a_slope_that_may_as_well_rise_still_has_an_early_end() -> None:
    found = reach(50.0, 0.2, np.array([[0.04, 0.0], [0.0, 0.8**2]]), 0.0)
    assert found.reaching is Reaching.NO_UPPER_END
    assert found.central_s is None
    assert found.low_s is not None
    assert 40.0 < found.low_s < 50.0


def test_what_clearly_rises_leads_away() -> None:
    found = reach(50.0, 1.0, np.array([[0.04, 0.0], [0.0, 0.01]]), 0.0)
    assert found.reaching is Reaching.LEADS_AWAY
    assert found.low_s is None
    assert found.high_s is None


def test_a_level_within_the_error_may_be_reached_already() -> None:
    found = reach(0.1, -0.5, np.array([[0.04, 0.0], [0.0, 0.001]]), 0.0)
    assert found.low_s == 0.0
    assert found.high_s is not None
    assert 0.8 < found.high_s < 1.2


def test_what_is_past_the_level_is_there() -> None:
    found = reach(-5.0, -0.5, np.array([[0.04, 0.0], [0.0, 0.001]]), 0.0)
    assert (found.low_s, found.central_s, found.high_s) == (0.0, 0.0, 0.0)


def test_a_steady_bias_widens_both_ends_alike() -> None:
    covariance = np.array([[0.01, 0.0], [0.0, 1e-8]])
    plain, biased = reach(50.0, -1.0, covariance, 0.0), reach(50.0, -1.0, covariance, 0.0, bias_sd_si=2.0)
    assert plain.high_s is not None
    assert biased.high_s is not None
    assert biased.high_s - 50.0 == pytest.approx(1.645 * np.hypot(0.1, 2.0), rel=1e-3)
    assert biased.low_s is not None
    assert 50.0 - biased.low_s == pytest.approx(biased.high_s - 50.0, rel=1e-3)
    assert plain.high_s - 50.0 < 0.2
