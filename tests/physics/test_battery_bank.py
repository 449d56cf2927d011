"""A bank that is emptied battery by battery, beside what all of it holds taken together."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.battery import bank_draw_a, bank_empties_s, bank_lasts_s, effective_draw_a

HELD = st.lists(st.tuples(st.floats(1.0, 1000.0), st.floats(0.1, 10.0)), min_size=1, max_size=5)


def _together_s(
    total_a: float, gives: list[float], shares: list[float], rated: list[float], k: float
) -> float:
    return sum(gives) / bank_draw_a(total_a, shares, rated, [k] * len(gives))


@given(held=HELD, total_a=st.floats(0.1, 100.0))
def test_without_a_rate_effect_the_stages_end_when_all_of_it_is_gone(
    held: list[tuple[float, float]], total_a: float
) -> None:
    gives, shares = [one for one, _ in held], [share for _, share in held]
    count = len(held)
    lasts_s = bank_lasts_s(total_a, gives, shares, [5.0] * count, [1.0] * count)
    assert lasts_s == pytest.approx(sum(gives) / total_a, rel=1e-9)


def test_two_unequal_batteries_by_hand() -> None:
    """30 A over two that share alike: 15 A each at 1.2 and 10 A rated, then one carries 30 A."""
    first_a, alone_a = 15.0 * 1.5**0.2, 30.0 * 3.0**0.2
    ends_s = bank_empties_s(30.0, [3600.0, 7200.0], [1.0, 1.0], [10.0, 10.0], [1.2, 1.2])
    assert ends_s[0] == pytest.approx(3600.0 / first_a, rel=1e-12)
    assert ends_s[1] == pytest.approx(3600.0 / first_a + 3600.0 / alone_a, rel=1e-12)
    pooled_s = _together_s(30.0, [3600.0, 7200.0], [1.0, 1.0], [10.0, 10.0], 1.2)
    assert pooled_s == pytest.approx(10800.0 / (2.0 * first_a), rel=1e-12)
    # By hand 1.5 / (1 + 2^-1.2): the pooled sum is 4.5 % late, by the rate effect of the second stage.
    assert pooled_s / ends_s[1] - 1.0 == pytest.approx(0.0451, abs=5e-5)


@given(held=HELD, total_a=st.floats(0.1, 100.0), peukert=st.floats(1.0, 1.4))
def test_taken_together_a_bank_of_one_make_never_ends_before_its_stages_say(
    held: list[tuple[float, float]], total_a: float, peukert: float
) -> None:
    gives, shares = [one for one, _ in held], [share for _, share in held]
    rated = [share * 2.0 for share in shares]
    lasts_s = bank_lasts_s(total_a, gives, shares, rated, [peukert] * len(held))
    assert _together_s(total_a, gives, shares, rated, peukert) >= lasts_s * (1.0 - 1e-9)


@given(total_a=st.floats(0.1, 100.0), count=st.integers(1, 5))
def test_batteries_that_are_empty_together_end_as_the_pool_does(total_a: float, count: int) -> None:
    shares = [1.0 + index for index in range(count)]
    gives, rated = [500.0 * share for share in shares], [2.0 * share for share in shares]
    lasts_s = bank_lasts_s(total_a, gives, shares, rated, [1.2] * count)
    assert lasts_s == pytest.approx(_together_s(total_a, gives, shares, rated, 1.2), rel=1e-9)


def test_a_battery_that_gives_no_current_takes_over_when_the_others_are_empty() -> None:
    ends_s = bank_empties_s(10.0, [100.0, 50.0], [1.0, 0.0], [99.0, 99.0], [1.0, 1.0])
    assert ends_s == pytest.approx((10.0, 15.0))


def test_a_bank_that_is_asked_for_nothing_never_ends_and_an_empty_one_is_at_its_end() -> None:
    assert bank_lasts_s(0.0, [100.0], [1.0], [5.0], [1.2]) == math.inf
    assert bank_lasts_s(5.0, [0.0, -3.0], [1.0, 1.0], [5.0, 5.0], [1.2, 1.2]) == 0.0
    assert bank_lasts_s(5.0, [], [], [], []) == 0.0


def test_one_battery_alone_lasts_what_it_holds_over_its_draw() -> None:
    assert bank_lasts_s(20.0, [3600.0], [1.0], [5.0], [1.2]) == pytest.approx(
        3600.0 / effective_draw_a(20.0, 5.0, 1.2)
    )
