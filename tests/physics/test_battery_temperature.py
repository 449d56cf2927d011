"""How much of its capacity a battery gives by how warm it is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.battery import (
    CAPACITY_CURVES,
    capacity_fraction,
    is_below_curve,
    lead_acid_cell_factor,
)

ZERO_C = 273.15
CURVE = ((ZERO_C - 20.0, 0.4), (ZERO_C, 0.8), (ZERO_C + 25.0, 1.0))
LEAD_ACID = CAPACITY_CURVES["lead_acid"]


def test_at_its_points_and_half_way_between_them() -> None:
    assert capacity_fraction(CURVE, ZERO_C) == pytest.approx(0.8)
    assert capacity_fraction(CURVE, ZERO_C - 10.0) == pytest.approx(0.6)
    assert capacity_fraction(CURVE, ZERO_C + 12.5) == pytest.approx(0.9)


def test_beyond_its_ends_the_curve_is_held_and_the_cold_side_is_told() -> None:
    assert capacity_fraction(CURVE, ZERO_C + 60.0) == 1.0
    assert capacity_fraction(CURVE, ZERO_C - 60.0) == 0.4
    assert is_below_curve(CURVE, ZERO_C - 20.1)
    assert not is_below_curve(CURVE, ZERO_C - 20.0)
    assert not is_below_curve((), 1.0)


@given(temperature_k=st.floats(200.0, 400.0), more_k=st.floats(0.0, 50.0))
def test_a_warmer_battery_gives_no_less_and_none_more_than_the_top_of_its_curve(
    temperature_k: float, more_k: float
) -> None:
    for curve in (CURVE, LEAD_ACID):
        fraction = capacity_fraction(curve, temperature_k)
        assert capacity_fraction(curve, temperature_k + more_k) >= fraction
        assert curve[0][1] <= fraction <= 1.0


@given(celsius=st.floats(-4.0, 25.0))
def test_the_lead_acid_curve_is_the_inverse_of_its_cell_factor(celsius: float) -> None:
    # 2e-4: what straight lines 2 K long leave of the fit's bend.
    factor = lead_acid_cell_factor(ZERO_C + celsius)
    assert capacity_fraction(LEAD_ACID, ZERO_C + celsius) == pytest.approx(min(1.0 / factor, 1.0), abs=2e-4)


def test_a_warm_lead_acid_battery_gets_no_credit() -> None:
    assert lead_acid_cell_factor(ZERO_C + 40.0) < 1.0
    assert capacity_fraction(LEAD_ACID, ZERO_C + 40.0) == 1.0


def test_a_curve_rises_in_temperature_from_point_to_point() -> None:
    for curve in CAPACITY_CURVES.values():
        temperatures = [kelvin for kelvin, _ in curve]
        assert temperatures == sorted(set(temperatures))
        assert all(0.0 < fraction <= 1.0 for _, fraction in curve)


def test_no_curve_corrects_nothing_and_no_temperature_is_refused() -> None:
    assert capacity_fraction((), 250.0) == 1.0
    with pytest.raises(ValueError, match="above 0 K"):
        capacity_fraction(CURVE, 0.0)
    with pytest.raises(ValueError, match="above 0 K"):
        capacity_fraction(CURVE, float("nan"))
