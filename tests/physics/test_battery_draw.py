"""What a current costs a battery, and a bank of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.battery import bank_draw_a, discharge_time_s, effective_draw_a

CURRENTS_A = st.floats(0.01, 500.0)
EXPONENTS = st.floats(1.0, 1.6)
CAPACITIES = st.floats(1.0, 1e6)


@given(capacity_a_s=CAPACITIES, rated_time_s=st.floats(3600.0, 360_000.0), peukert=EXPONENTS)
def test_at_the_rated_current_a_battery_lasts_the_rated_time_for_every_exponent(
    capacity_a_s: float, rated_time_s: float, peukert: float
) -> None:
    rated_current_a = capacity_a_s / rated_time_s
    lasting_s = discharge_time_s(rated_current_a, capacity_a_s, rated_time_s, peukert)
    assert lasting_s == pytest.approx(rated_time_s, rel=1e-12)


@given(current_a=CURRENTS_A, rated_current_a=CURRENTS_A, peukert=EXPONENTS)
def test_the_effective_draw_is_never_less_than_the_current(
    current_a: float, rated_current_a: float, peukert: float
) -> None:
    assert effective_draw_a(current_a, rated_current_a, peukert) >= current_a


@given(low_a=CURRENTS_A, more_a=CURRENTS_A, rated_current_a=CURRENTS_A, peukert=EXPONENTS)
def test_more_current_costs_more(low_a: float, more_a: float, rated_current_a: float, peukert: float) -> None:
    high_a = low_a + more_a
    assert effective_draw_a(high_a, rated_current_a, peukert) > effective_draw_a(
        low_a, rated_current_a, peukert
    )


@given(factor=st.floats(1.0, 20.0), peukert=EXPONENTS)
def test_above_the_rated_current_capacity_over_draw_is_the_law_s_own_time(
    factor: float, peukert: float
) -> None:
    capacity_a_s, rated_time_s = 320.0 * 3600, 20.0 * 3600
    rated_current_a = capacity_a_s / rated_time_s
    current_a = factor * rated_current_a
    lasting_s = capacity_a_s / effective_draw_a(current_a, rated_current_a, peukert)
    assert lasting_s == pytest.approx(
        discharge_time_s(current_a, capacity_a_s, rated_time_s, peukert), rel=1e-12
    )


def test_below_the_rated_current_no_credit_is_given_though_the_law_would_give_it() -> None:
    capacity_a_s = 100.0 * 3600
    assert discharge_time_s(1.0, capacity_a_s, 20.0 * 3600, 1.2) > capacity_a_s / 1.0
    assert effective_draw_a(1.0, 5.0, 1.2) == 1.0


def test_an_exponent_of_one_corrects_nothing() -> None:
    assert effective_draw_a(80.0, 5.0, 1.0) == 80.0


@pytest.mark.parametrize(("current_a", "rated_current_a"), [(80.0, 5.0), (2.0, 5.0), (2.0, math.inf)])
def test_an_exponent_below_one_gives_no_credit_either(current_a: float, rated_current_a: float) -> None:
    assert effective_draw_a(current_a, rated_current_a, 0.9) == current_a


def test_a_rated_current_that_is_not_known_corrects_nothing() -> None:
    assert effective_draw_a(80.0, math.inf, 1.3) == 80.0


@pytest.mark.parametrize("current_a", [0.0, -4.0])
def test_no_current_and_a_charging_current_cost_what_they_are(current_a: float) -> None:
    assert effective_draw_a(current_a, 5.0, 1.3) == current_a


@pytest.mark.parametrize("current_a", [0.0, -4.0])
def test_a_battery_that_gives_nothing_never_empties(current_a: float) -> None:
    assert discharge_time_s(current_a, 3600.0, 3600.0, 1.3) == math.inf


@given(total_a=CURRENTS_A, rated_a=CURRENTS_A, peukert=EXPONENTS, count=st.integers(1, 6))
def test_equal_batteries_draw_as_many_times_one_of_them(
    total_a: float, rated_a: float, peukert: float, count: int
) -> None:
    bank_a = bank_draw_a(total_a, [7.0] * count, [rated_a] * count, [peukert] * count)
    assert bank_a == pytest.approx(count * effective_draw_a(total_a / count, rated_a, peukert), rel=1e-12)


@given(total_a=CURRENTS_A, scale=st.floats(1e-3, 1e3))
def test_only_the_shares_of_capacity_count_not_their_unit(total_a: float, scale: float) -> None:
    capacities, rated_a, exponents = [90.0, 320.0, 40.0], [4.5, 16.0, 2.0], [1.03, 1.1, 1.25]
    scaled = [capacity * scale for capacity in capacities]
    assert bank_draw_a(total_a, scaled, rated_a, exponents) == pytest.approx(
        bank_draw_a(total_a, capacities, rated_a, exponents), rel=1e-12
    )


def test_unequal_batteries_share_the_current_by_their_capacity() -> None:
    # 40 A over 100 and 300 of capacity: 10 A and 30 A.
    apart_a = effective_draw_a(10.0, 5.0, 1.2) + effective_draw_a(30.0, 20.0, 1.1)
    assert bank_draw_a(40.0, [100.0, 300.0], [5.0, 20.0], [1.2, 1.1]) == pytest.approx(apart_a, rel=1e-12)


def test_a_second_battery_on_the_bus_makes_the_same_current_cost_less() -> None:
    alone_a = bank_draw_a(40.0, [100.0], [5.0], [1.2])
    assert 40.0 < bank_draw_a(40.0, [100.0, 100.0], [5.0, 5.0], [1.2, 1.2]) < alone_a


def test_a_charging_bus_current_comes_back_as_it_is() -> None:
    assert bank_draw_a(-6.0, [100.0, 200.0], [5.0, 10.0], [1.2, 1.2]) == pytest.approx(-6.0, rel=1e-12)


@pytest.mark.parametrize("capacities", [[], [0.0]])
def test_a_bank_without_capacity_is_refused(capacities: list[float]) -> None:
    with pytest.raises(ValueError, match="cannot share a current"):
        bank_draw_a(1.0, capacities, [5.0] * len(capacities), [1.2] * len(capacities))


def test_a_battery_without_its_exponent_is_refused() -> None:
    with pytest.raises(ValueError, match="shorter"):
        bank_draw_a(1.0, [100.0, 100.0], [5.0, 5.0], [1.2])
