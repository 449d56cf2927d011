"""Water that a heat costs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.errors import EnduranceError
from console.physics.cooling import (
    HIGHEST_FEED_TEMPERATURE_K,
    LOWEST_FEED_TEMPERATURE_K,
    FeedTemperatureError,
    latent_heat_j_per_kg,
    water_for_heat_kg_per_s,
)

TEMPERATURES_K = st.floats(LOWEST_FEED_TEMPERATURE_K, HIGHEST_FEED_TEMPERATURE_K)


@given(cold_k=TEMPERATURES_K, warm_k=TEMPERATURES_K)
def test_warmer_water_takes_up_less_heat(cold_k: float, warm_k: float) -> None:
    cold_k, warm_k = sorted((cold_k, warm_k))
    assert latent_heat_j_per_kg(cold_k) >= latent_heat_j_per_kg(warm_k)
    if warm_k - cold_k > 0.01:
        assert latent_heat_j_per_kg(cold_k) > latent_heat_j_per_kg(warm_k)


@given(heat_w=st.floats(0.0, 1e5), factor=st.floats(0.0, 50.0), feed_temperature_k=TEMPERATURES_K)
def test_water_scales_with_heat(heat_w: float, factor: float, feed_temperature_k: float) -> None:
    one = water_for_heat_kg_per_s(heat_w, feed_temperature_k)
    assert water_for_heat_kg_per_s(factor * heat_w, feed_temperature_k) == pytest.approx(
        factor * one, rel=1e-12
    )


@given(first_w=st.floats(0.0, 1e5), second_w=st.floats(0.0, 1e5))
def test_heats_cost_apart_what_they_cost_together(first_w: float, second_w: float) -> None:
    apart = water_for_heat_kg_per_s(first_w, 293.15) + water_for_heat_kg_per_s(second_w, 293.15)
    assert water_for_heat_kg_per_s(first_w + second_w, 293.15) == pytest.approx(apart, rel=1e-12)


@pytest.mark.parametrize("heat_w", [0.0, -250.0])
def test_a_craft_that_has_no_heat_to_lose_evaporates_nothing(heat_w: float) -> None:
    assert water_for_heat_kg_per_s(heat_w, 293.15) == 0.0


@pytest.mark.parametrize("temperature_k", [273.15, 373.16, 20.0, math.nan, math.inf])
def test_water_that_is_no_liquid_is_refused_with_what_is_valid(temperature_k: float) -> None:
    with pytest.raises(FeedTemperatureError, match=r"273\.16 to 373\.15 K"):
        water_for_heat_kg_per_s(100.0, temperature_k)
    assert issubclass(FeedTemperatureError, EnduranceError)
