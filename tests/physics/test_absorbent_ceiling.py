"""What chemistry allows a sorbent to take."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.absorbent import CEILING_KG_PER_KG, capacity_is_possible, ceiling_kg, water_made_kg

SORBENTS = st.sampled_from(list(CEILING_KG_PER_KG))


@given(sorbent=SORBENTS, sorbent_mass_kg=st.floats(0.01, 1e3), share=st.floats(0.0, 1.0))
def test_up_to_the_ceiling_a_capacity_is_possible(sorbent: str, sorbent_mass_kg: float, share: float) -> None:
    assert capacity_is_possible(share * ceiling_kg(sorbent, sorbent_mass_kg), sorbent, sorbent_mass_kg)


@given(sorbent=SORBENTS, sorbent_mass_kg=st.floats(0.01, 1e3), excess=st.floats(1e-6, 10.0))
def test_above_the_ceiling_it_is_not(sorbent: str, sorbent_mass_kg: float, excess: float) -> None:
    claimed_kg = (1.0 + excess) * ceiling_kg(sorbent, sorbent_mass_kg)
    assert not capacity_is_possible(claimed_kg, sorbent, sorbent_mass_kg)


@pytest.mark.parametrize(
    ("capacity_kg", "sorbent_mass_kg"),
    [(-0.1, 1.0), (math.nan, 1.0), (math.inf, 1.0), (0.5, math.inf), (0.5, math.nan), (0.5, 0.0)],
)
def test_what_is_no_capacity_is_not_possible(capacity_kg: float, sorbent_mass_kg: float) -> None:
    assert not capacity_is_possible(capacity_kg, "lithium_hydroxide", sorbent_mass_kg)


def test_a_sorbent_of_no_known_chemistry_is_refused() -> None:
    with pytest.raises(KeyError):
        ceiling_kg("charcoal", 1.0)


def test_soda_lime_cannot_take_more_than_the_calcium_hydroxide_it_is_made_of() -> None:
    assert CEILING_KG_PER_KG["soda_lime"] <= CEILING_KG_PER_KG["calcium_hydroxide"]


@given(carbon_dioxide_kg=st.floats(0.0, 1e3), factor=st.floats(0.0, 100.0))
def test_water_made_scales_with_the_carbon_dioxide_bound(carbon_dioxide_kg: float, factor: float) -> None:
    assert water_made_kg(factor * carbon_dioxide_kg) == pytest.approx(
        factor * water_made_kg(carbon_dioxide_kg), rel=1e-12
    )
