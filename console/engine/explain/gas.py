"""Masses of gas in equations: m = p V M / (Z R T), with Z from the published equation of state."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.model import Fluid, Store
from console.engine.explain.book import Book, published
from console.engine.explain.explanation import Input
from console.engine.explain.grounds import CRAFT
from console.engine.quantity import read_value
from console.physics.constants import (
    GAS_CONSTANT_J_PER_MOL_K,
    NITROGEN_GAS_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
)
from console.physics.gas import density_kg_per_m3

LEE_KESLER = "Lee and Kesler, AIChE J. 21(3), 1975; valid 230 to 350 K, to 30 MPa"
_KG_PER_MOL = {Fluid.OXYGEN: OXYGEN_GAS_KG_PER_MOL, Fluid.NITROGEN: NITROGEN_GAS_KG_PER_MOL}


@dataclass(frozen=True, kw_only=True, slots=True)
class GasState:
    """What a store's pressure and temperature say, in SI."""

    pressure_pa: float
    temperature_k: float
    inputs: tuple[Input, Input]
    """Both, as p and T."""


def gas_state(book: Book, store: Store, key: str) -> GasState | None:
    """The state that a store's instruments say; None where they do not."""
    known = book.grounds.known
    if store.pressure is None or store.temperature is None:
        return None
    pressure = read_value(store.pressure, known.feed.readings, known.craft.channels).value_si
    temperature = read_value(store.temperature, known.feed.readings, known.craft.channels).value_si
    if pressure is None or temperature is None:
        return None
    place = f"{key}.pressure", f"{key}.temperature"
    return GasState(
        pressure_pa=pressure,
        temperature_k=temperature,
        inputs=(
            book.measured("p", f"pressure of {store.name}", store.pressure, pressure, "Pa", CRAFT, place[0]),
            book.measured(
                "T", f"temperature of {store.name}", store.temperature, temperature, "K", CRAFT, place[1]
            ),
        ),
    )


def mass_equation(
    book: Book, store: Store, key: str, pressure: Input, temperature: Input
) -> tuple[str, tuple[Input, ...]]:
    """The mass, kg, of the gas in a store at a pressure and a temperature.

    Raises:
        ValueError: the store has no fluid or no volume.
    """
    if store.fluid is None or store.volume_m3 is None:
        raise ValueError(f"store {store.name} has no fluid or no volume")
    pressure_pa = max(pressure.value, 0.0)
    shown = pressure.symbol if pressure.value >= 0.0 else f"max(0, {pressure.symbol})"
    molar = _KG_PER_MOL[store.fluid]
    gas = store.fluid.value
    inputs = (
        pressure,
        book.config("V", f"volume of {store.name}", store.volume_m3, "m^3", CRAFT, f"{key}.volume"),
        published(
            "M",
            f"molar mass of {gas}",
            molar,
            "kg/mol",
            "conventional atomic weights, CIAAW 2021 (from memory)",
            "console/physics/constants.py",
        ),
        published(
            "Z",
            f"compressibility of {gas}",
            _compressibility(store.fluid, pressure_pa, temperature.value),
            "1",
            LEE_KESLER,
            "console/physics/lee_kesler.py",
            (pressure, temperature),
        ),
        gas_constant(),
        temperature,
    )
    return f"{shown} * V * M / (Z * R * T)", inputs


def gas_constant() -> Input:
    """The molar gas constant."""
    return published(
        "R",
        "molar gas constant",
        GAS_CONSTANT_J_PER_MOL_K,
        "J/(mol K)",
        "exact since the SI of 2019 (BIPM, The International System of Units, 9th ed.)",
        "console/physics/constants.py",
    )


def _compressibility(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Z as the density that the engine goes by has it."""
    density = density_kg_per_m3(fluid, pressure_pa, temperature_k)
    if density == 0.0:
        return 1.0
    return pressure_pa * _KG_PER_MOL[fluid] / (density * GAS_CONSTANT_J_PER_MOL_K * temperature_k)
