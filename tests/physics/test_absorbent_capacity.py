"""Capacity of a cartridge as it was stated: by outlet, and in person-hours."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.absorbent import OutletRangeError, capacity_at_outlet_kg, person_hours_capacity_kg

STATED = [(500.0, 2.4), (1000.0, 3.1), (2000.0, 3.5)]


def test_at_a_stated_outlet_it_is_the_stated_capacity_and_between_two_it_lies_on_their_line() -> None:
    assert [capacity_at_outlet_kg(STATED, outlet) for outlet, _ in STATED] == [kg for _, kg in STATED]
    assert capacity_at_outlet_kg(STATED, 600.0) == pytest.approx(2.54)
    assert capacity_at_outlet_kg(STATED, 1500.0) == pytest.approx(3.3)


@given(st.floats(500.0, 2000.0), st.floats(500.0, 2000.0))
def test_a_stricter_outlet_never_gives_more(one: float, other: float) -> None:
    strict, lax = sorted((one, other))
    assert capacity_at_outlet_kg(STATED, strict) <= capacity_at_outlet_kg(STATED, lax) + 1e-12


@pytest.mark.parametrize("outlet", [499.9, 2000.1, 0.0, math.nan])
def test_outside_what_was_stated_it_is_refused_with_the_range(outlet: float) -> None:
    with pytest.raises(OutletRangeError, match="stated from 500 to 2000 Pa only"):
        capacity_at_outlet_kg(STATED, outlet)


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        ([(500.0, 2.4)], "two or more"),
        ([(500.0, 2.4), (500.0, 3.0)], "must rise"),
        ([(500.0, 2.4), (1000.0, 2.0)], "no less"),
        ([(500.0, 0.0), (1000.0, 2.0)], "no less"),
    ],
)
def test_pairs_that_say_nothing_are_refused(pairs: list[tuple[float, float]], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        capacity_at_outlet_kg(pairs, 700.0)


def test_sixty_person_hours_at_1_08_kg_a_day_are_2_7_kg() -> None:
    # 60 h / 24 h x 1.08 kg = 2.7 kg.
    assert person_hours_capacity_kg(60 * 3600.0, 1.08 / 86400.0) == pytest.approx(2.7, rel=1e-12)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.inf, math.nan])
def test_no_time_and_no_rate_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="person-hours"):
        person_hours_capacity_kg(bad, 1e-5)
    with pytest.raises(ValueError, match="rate of a person"):
        person_hours_capacity_kg(3600.0, bad)
