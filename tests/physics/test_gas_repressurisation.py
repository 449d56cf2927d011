"""Gas that brings a volume from one pressure to another."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.craft.model import Fluid
from console.physics.gas import GasRangeError, mass_kg, repressurisation_kg


def test_from_vacuum_it_is_what_the_volume_holds_afterwards() -> None:
    assert repressurisation_kg(Fluid.OXYGEN, 7.0, 0.0, 38e3, 290.0) == mass_kg(Fluid.OXYGEN, 38e3, 290.0, 7.0)


def test_near_vacuum_it_is_the_ideal_gas() -> None:
    ideal_kg = 38e3 * 7.0 * 31.998e-3 / (8.31446261815324 * 290.0)
    assert repressurisation_kg(Fluid.OXYGEN, 7.0, 0.0, 38e3, 290.0) == pytest.approx(ideal_kg, rel=5e-4)


@given(st.floats(0.0, 1e7), st.floats(1e3, 1e7), st.floats(1e3, 1e7), st.floats(231.0, 349.0))
def test_two_fillings_in_a_row_take_what_one_does(
    first: float, rise: float, more: float, warm: float
) -> None:
    middle, last = first + rise, first + rise + more
    parts = repressurisation_kg(Fluid.NITROGEN, 3.0, first, middle, warm) + repressurisation_kg(
        Fluid.NITROGEN, 3.0, middle, last, warm
    )
    assert math.isclose(parts, repressurisation_kg(Fluid.NITROGEN, 3.0, first, last, warm), rel_tol=1e-9)


@pytest.mark.parametrize(
    ("volume", "start", "end", "warm", "said"),
    [
        (7.0, 38e3, 38e3, 290.0, "ends above where it begins"),
        (7.0, 50e3, 38e3, 290.0, "ends above where it begins"),
        (7.0, 0.0, math.nan, 290.0, "ends above where it begins"),
        (0.0, 0.0, 38e3, 290.0, "above 0"),
        (7.0, 0.0, 31e6, 290.0, "30 MPa"),
        (7.0, 0.0, 38e3, 20.0, "230 to 350 K"),
        (7.0, -1.0, 38e3, 290.0, "0 to 30 MPa"),
    ],
)
def test_what_cannot_be_filled_is_refused(
    volume: float, start: float, end: float, warm: float, said: str
) -> None:
    with pytest.raises(GasRangeError, match=said):
        repressurisation_kg(Fluid.OXYGEN, volume, start, end, warm)
