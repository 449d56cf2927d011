"""Peukert's law against worked examples, and lead-acid capacity by temperature."""

from __future__ import annotations

import pytest

from console.physics.battery import (
    CAPACITY_CURVES,
    capacity_fraction,
    discharge_time_s,
    effective_draw_a,
    lead_acid_cell_factor,
)


def _hours(current_a: float, capacity_a_h: float, rated_time_h: float, peukert: float) -> float:
    return discharge_time_s(current_a, capacity_a_h * 3600, rated_time_h * 3600, peukert) / 3600


@pytest.mark.parametrize(
    ("peukert_capacity", "current_a", "peukert", "hours", "rel"),
    [
        # easycalculation.com, worked example, read in the primary text: printed to 10 digits.
        (250.0, 20.0, 1.3, 5.088631644, 1e-9),
        # electrotechnik.net 2010, read in the primary text: printed as 14.5, computed 14.4956.
        (100.0, 5.0, 1.2, 14.4956, 1e-5),
    ],
)
def test_the_form_with_a_capacity_at_one_ampere_agrees_with_worked_examples(
    peukert_capacity: float, current_a: float, peukert: float, hours: float, rel: float
) -> None:
    # t = C / I^k is the rated form with a rated current of 1 A, so that C in A·h is also the rated time in h.
    assert _hours(current_a, peukert_capacity, peukert_capacity, peukert) == pytest.approx(hours, rel=rel)


def test_the_charge_of_the_first_worked_example() -> None:
    # easycalculation.com, read in the primary text: 101.7726 A·h at 20 A.
    assert 20.0 * _hours(20.0, 250.0, 250.0, 1.3) == pytest.approx(101.7726, abs=5e-5)


@pytest.mark.parametrize(("current_a", "hours"), [(5.0, 20.0), (10.0, 8.7055), (20.0, 3.7893)])
def test_the_rated_form_for_a_battery_of_100_ampere_hours_in_20_hours(current_a: float, hours: float) -> None:
    # Formula: common practice; figures computed from it, exponent 1.2, to the four decimals given.
    assert _hours(current_a, 100.0, 20.0, 1.2) == pytest.approx(hours, abs=5e-5)
    assert 100.0 / effective_draw_a(current_a, 5.0, 1.2) == pytest.approx(hours, abs=5e-5)


@pytest.mark.parametrize(("celsius", "factor"), [(10.0, 1.195), (25.0, 1.000), (32.2, 0.943)])
def test_the_lead_acid_cell_factor_is_the_published_one(celsius: float, factor: float) -> None:
    # IEEE Std 485 temperature correction factors, read at second hand, to their three decimals.
    assert lead_acid_cell_factor(273.15 + celsius) == pytest.approx(factor, abs=6e-4)


def test_a_cold_lead_acid_battery_gives_what_the_factor_says_and_a_warm_one_no_more_than_its_rating() -> None:
    # The same factors: 1 / 1.195 of the capacity at 10 °C; the gain at 32.2 °C is not given.
    curve = CAPACITY_CURVES["lead_acid"]
    assert capacity_fraction(curve, 283.15) == pytest.approx(1.0 / 1.195, abs=5e-4)
    assert capacity_fraction(curve, 273.15 + 32.2) == 1.0
