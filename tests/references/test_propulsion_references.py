"""The rocket equation against textbook examples."""

from __future__ import annotations

import pytest

from console.physics.propulsion import delta_v_m_per_s, propellant_for_delta_v_kg


def test_a_rocket_that_expels_seven_eighths_of_its_mass() -> None:
    # OpenStax College Physics ch. 8, read at second hand: 4,000 kg expelling 3,500 kg at 2,000 m/s.
    assert delta_v_m_per_s(3_500.0, 500.0, 2_000.0) == pytest.approx(4_158.88, abs=0.005)
    assert propellant_for_delta_v_kg(4_158.88, 4_000.0, 2_000.0) == pytest.approx(3_500.0, abs=0.005)


def test_an_ion_engine_that_expels_little() -> None:
    # OpenStax College Physics ch. 8, read at second hand: 20,000 kg expelling 40 kg at 8.0e6 m/s,
    # printed to three digits.
    assert delta_v_m_per_s(40.0, 19_960.0, 8.0e6) == pytest.approx(1.60e4, rel=3e-3)
