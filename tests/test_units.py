"""Text with units to SI: factors against published ones, and what is refused, with what to write instead."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.errors import UnitsError
from console.units import Dimension, parse_unit, quantity_to_si, rate_unit_of, split_quantity

# Factors: NIST SP 811 (2008), appendix B; BIPM SI Brochure, 9th edition.
PUBLISHED = [
    ("lb", 0.45359237),
    ("psi", 6894.757),
    ("mmHg", 133.3224),
    ("atm", 101325.0),
    ("bar", 1e5),
    ("ft^3", 0.02831685),
    ("cfm", 0.02831685 / 60),
    ("gal", 0.003785412),
    ("kW*h", 3.6e6),
    ("A*h", 3600.0),
    ("BTU/h", 0.2930711),
    ("oz", 0.02834952),
    ("L/min", 1e-3 / 60),
    ("mm^2", 1e-6),
    ("cm^2", 1e-4),
    ("in^2", 6.4516e-4),
    ("kJ/K", 1e3),
    ("W/K", 1.0),
    ("kg/day", 1 / 86400),
]


@pytest.mark.parametrize(("text", "factor"), PUBLISHED)
def test_factors_are_the_published_ones(text: str, factor: float) -> None:
    assert parse_unit(text).factor == pytest.approx(factor, rel=2e-7)


@pytest.mark.parametrize(
    ("text", "kelvin"), [("0 degC", 273.15), ("68 °F", 293.15), ("-40 degF", 233.15), ("291 K", 291.0)]
)
def test_temperatures_have_their_zero(text: str, kelvin: float) -> None:
    assert quantity_to_si(text, Dimension.TEMPERATURE)[0] == pytest.approx(kelvin, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("mm^2", Dimension.AREA),
        ("in^2", Dimension.AREA),
        ("kJ/K", Dimension.HEAT_CAPACITY),
        ("kJ/degC", Dimension.HEAT_CAPACITY),
        ("W/K", Dimension.CONDUCTANCE),
        ("BTU/h/degF", Dimension.CONDUCTANCE),
        ("cfm", Dimension.VOLUME_RATE),
    ],
)
def test_exponents_decide_what_a_unit_measures(text: str, dimension: Dimension) -> None:
    assert parse_unit(text).dimension is dimension


def test_a_difference_of_degrees_is_one_of_kelvin() -> None:
    # A Btu a degree Fahrenheit is 1899.101 J/K: NIST SP 811, appendix B (from memory).
    assert parse_unit("BTU/degF").factor == pytest.approx(1899.101, rel=1e-6)
    assert parse_unit("kJ/degC").factor == parse_unit("kJ/K").factor
    assert parse_unit("kJ/degC").offset == 0.0


def test_our_definitions_agree_with_the_librarys_own_wherever_both_have_the_unit() -> None:
    registry = pint.UnitRegistry()
    for text in (
        "kg",
        "g",
        "lb",
        "oz",
        "m^3",
        "L",
        "mL",
        "gal",
        "A*h",
        "W*h",
        "kW",
        "kPa",
        "psi",
        "bar",
        "atm",
        "min",
        "day",
        "ft^3",
    ):
        expected = registry.Quantity(1.0, registry.parse_units(text)).to_base_units().magnitude
        assert parse_unit(text).factor == pytest.approx(expected, rel=1e-12), text


@pytest.mark.parametrize(
    ("text", "dimension", "found", "expected"),
    [
        ("24 A", Dimension.CHARGE, "'24 A', a current", "amps are a rate, amp-hours a quantity"),
        ("320 A*h", Dimension.CURRENT, "a charge", "amps are a rate"),
        ("3 kW", Dimension.ENERGY, "a power", "watts are a rate"),
        ("3 kg/h", Dimension.MASS, "a mass per time", "a rate and a quantity are not the same"),
        ("3 kg", Dimension.VOLUME, "a mass", "write a volume, such as 0.08 m^3"),
        ("3", Dimension.MASS, "without a unit", "write a mass, such as 21 kg"),
        ("5 kgg", Dimension.MASS, "'kgg' is not known", "did you mean 'kg'?"),
        ("5 kg^9", Dimension.MASS, "unit 'kg^9'", "write a unit"),
        ("kg", Dimension.MASS, "'kg'", "write a number and its unit"),
        ("nan kg", Dimension.MASS, "'nan kg'", "write a number"),
        ("1e999 kg", Dimension.MASS, "'1e999 kg'", "write a number"),
        ("1,5 kg", Dimension.MASS, "'1,5 kg'" , "write"),
        ("5 kg; import os", Dimension.MASS, "unit", "write a unit"),
    ],
)  # fmt: skip
def test_what_is_no_such_quantity_is_refused_with_what_to_write(
    text: str, dimension: Dimension, found: str, expected: str
) -> None:
    with pytest.raises(UnitsError) as caught:
        quantity_to_si(text, dimension)
    if text != "1,5 kg":
        assert found in caught.value.found
    assert expected in caught.value.expected


@given(st.text(max_size=30))
def test_no_text_does_anything_but_be_read_or_refused(text: str) -> None:
    refused = False
    try:
        value, _ = split_quantity(text)
    except UnitsError:
        refused = True
    assert refused or math.isfinite(value)


@given(st.floats(-1e9, 1e9), st.sampled_from(["lb", "degC", "A*h", "psi", "%", "L/h"]))
def test_there_and_back_is_the_same(value: float, text: str) -> None:
    unit = parse_unit(text)
    assert unit.from_si(unit.to_si(value)) == pytest.approx(value, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "rate"), [("A*h", "A"), ("kW*h", "kW"), ("J", "W"), ("kg", "kg/h"), ("lb", "lb/h"), ("L", "L/h")]
)
def test_rates_are_per_hour_for_masses_and_volumes_and_plain_for_electricity(text: str, rate: str) -> None:
    assert rate_unit_of(parse_unit(text)).text == rate
