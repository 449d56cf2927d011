"""A leak in proportion to the cabin's pressure."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.leak import leak_kg_per_s

PRESSURES_PA = st.floats(1.0, 2e5)


@given(rated_kg_per_s=st.floats(0.0, 1.0), reference_pa=PRESSURES_PA)
def test_at_its_reference_pressure_a_leak_is_what_it_was_rated(
    rated_kg_per_s: float, reference_pa: float
) -> None:
    assert leak_kg_per_s(rated_kg_per_s, reference_pa, reference_pa) == pytest.approx(
        rated_kg_per_s, rel=1e-12
    )


@given(cabin_pa=PRESSURES_PA, factor=st.floats(0.0, 3.0))
def test_a_leak_scales_with_pressure(cabin_pa: float, factor: float) -> None:
    one = leak_kg_per_s(1e-5, cabin_pa, 34_500.0)
    assert leak_kg_per_s(1e-5, factor * cabin_pa, 34_500.0) == pytest.approx(factor * one, rel=1e-12)


@pytest.mark.parametrize("cabin_pa", [0.0, -20.0])
def test_an_empty_cabin_leaks_nothing(cabin_pa: float) -> None:
    assert leak_kg_per_s(1e-5, cabin_pa, 34_500.0) == 0.0


@pytest.mark.parametrize("reference_pa", [0.0, -1.0, math.nan])
def test_a_leak_rated_at_no_pressure_is_refused(reference_pa: float) -> None:
    with pytest.raises(ValueError, match="at which it was rated"):
        leak_kg_per_s(1e-5, 34_500.0, reference_pa)
