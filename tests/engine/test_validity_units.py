"""A shift by the ratio of two units is suspected to be one, and named."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from validity_world import H, channel, judged_alone

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.unit_mixups import LEAST_SHARE, NAMES, suspected_unit
from console.engine.validity.verdict import Doubt, Use
from console.units import Dimension, Unit, parse_unit

TIMES = np.arange(0.0, 5 * H, 60.0)
AT = 200

PAIRS = [
    ("kPa", "psi", 101.0, 0.1),
    ("psi", "kPa", 14.6, 0.01),
    ("MPa", "bar", 11.2, 0.01),
    ("kg", "lb", 70.0, 0.1),
    ("degC", "degF", 19.0, 0.1),
    ("degF", "degC", 66.0, 0.1),
    ("A*h", "A*s", 210.0, 0.5),
    ("gal", "L", 9.0, 0.02),
    ("kg/h", "lb/day", 0.2, 0.001),
    ("%", "1", 62.0, 0.1),
]


def shown(own: str, other: str, value: float, step: float, factor: float = 1.0) -> np.ndarray:
    """A steady value, and from a row on the number of another unit read as if in its own."""
    unit, written = parse_unit(own), Unit(text="1", dimension=Dimension.FRACTION, factor=1.0)
    written = written if other == "1" else parse_unit(other)
    noise = 0.3 * step * np.random.default_rng(3).standard_normal(len(TIMES))
    values = value + noise
    values[AT:] = [factor * written.from_si(unit.to_si(one)) for one in values[AT:].tolist()]
    return np.round(values / step) * step * unit.factor + unit.offset


@pytest.mark.parametrize(("own", "other", "value", "step"), PAIRS)
def test_a_number_in_another_unit_is_recognised_and_named(
    own: str, other: str, value: float, step: float
) -> None:
    if other == "1":
        step = 0.001
    context = ChannelContext(channel=channel("gauge", own, 4 * step, step))
    (found,) = judged_alone(TIMES, shown(own, other, value, step), context)
    assert (found.kind, found.use) == (Doubt.WRONG_UNIT, Use.LEFT_OUT)
    assert f"reads as if in {other} from T+3h20m on" in found.why
    assert found.value_si == pytest.approx(parse_unit(own).to_si(value), rel=0.02)


@pytest.mark.parametrize(("own", "other", "value", "step"), PAIRS[:4])
def test_a_shift_six_percent_off_the_ratio_is_a_step(own: str, other: str, value: float, step: float) -> None:
    context = ChannelContext(channel=channel("gauge", own, 4 * step, step))
    (found,) = judged_alone(TIMES, shown(own, other, value, step, 1.06), context)
    assert found.kind is Doubt.STEP


def test_a_store_that_reads_lower_in_the_wrong_unit_is_used_as_it_reads() -> None:
    context = ChannelContext(channel=channel("bottle", "kPa", 0.4, 0.1), kind=ChannelKind.HELD)
    (found,) = judged_alone(TIMES, shown("kPa", "psi", 101.0, 0.1), context)
    assert (found.kind, found.use, found.value_si) == (Doubt.WRONG_UNIT, Use.AS_IT_IS, None)


def test_two_readings_in_another_unit_are_not_yet_one() -> None:
    context = ChannelContext(channel=channel("gauge", "kPa", 0.4, 0.1))
    values = shown("kPa", "psi", 101.0, 0.1)[: AT + 2]
    assert [found.kind for found in judged_alone(TIMES[: AT + 2], values, context)] == [Doubt.SPIKE]


@pytest.mark.parametrize("dimension", NAMES)
def test_every_name_is_a_unit_of_its_dimension(dimension: Dimension) -> None:
    names = [name for name in NAMES[dimension] if name != "1"]
    assert {parse_unit(name).dimension for name in names} == {dimension}


@given(st.sampled_from(sorted(NAMES, key=lambda one: one.word)), st.data())
def test_any_two_units_that_differ_are_told_apart_by_the_shift_they_make(
    dimension: Dimension, data: st.DataObject
) -> None:
    units = [parse_unit(name) for name in NAMES[dimension] if name != "1"]
    pairs = [
        pair
        for one in combinations(units, 2)
        for pair in (one, one[::-1])
        if abs(math.log(pair[0].factor / pair[1].factor)) > LEAST_SHARE or one[0].offset != one[1].offset
    ]
    if not pairs:
        assert len(units) == 1
        return
    own, other = data.draw(st.sampled_from(pairs))
    before_si = own.to_si(data.draw(st.floats(5.0, 95.0)))
    after_si = own.to_si(other.from_si(before_si))
    if abs(after_si - before_si) <= LEAST_SHARE * abs(before_si):
        return  # two scales that cross: nothing has shifted
    found = suspected_unit(before_si, after_si, own, 0.0)
    assert found is not None
    assert found.to_si(own.from_si(after_si)) == pytest.approx(before_si, rel=0.021)


def test_bar_and_atmosphere_are_too_near_to_be_told_apart() -> None:
    assert suspected_unit(1.0e5, 1.0e5 / 1.01325, parse_unit("bar"), 10.0) is None
