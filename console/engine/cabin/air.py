"""The air and warmth of the cabin at some moments, as the course and the limits see them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.physics.humidity import saturation_pressure_pa

Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Air:
    """The cabin's state at some moments; every field one array of the same shape."""

    oxygen_pa: Floats
    """What is in the air if the regulator does not set it; see ``fills``."""
    carbon_dioxide_pa: Floats
    rest_pa: Floats
    leaking_pa: Floats
    """Oxygen and rest together, and CO2 where nothing but the leak takes it: one law, so it goes one way."""
    taken_up_pa: Floats
    """CO2 where it goes by another law; else nothing."""
    water_pa: Floats
    saturation_pa: Floats
    """What the air could hold of it at its temperature, stated as the other pressures are."""
    temperature_k: Floats
    fills: Flags
    """Whether the regulator holds the whole pressure, so that oxygen is what the others leave of it."""
    set_pa: Floats
    """The whole pressure that it holds."""
    humidity_cap: Floats


def ordered(one: Air, other: Air) -> tuple[Air, Air]:
    """The lowest and the highest of each quantity between two moments of one piece."""

    def made(least: bool) -> Air:
        pick = np.minimum if least else np.maximum
        return Air(
            oxygen_pa=pick(one.oxygen_pa, other.oxygen_pa),
            carbon_dioxide_pa=pick(one.carbon_dioxide_pa, other.carbon_dioxide_pa),
            rest_pa=pick(one.rest_pa, other.rest_pa),
            leaking_pa=pick(one.leaking_pa, other.leaking_pa),
            taken_up_pa=pick(one.taken_up_pa, other.taken_up_pa),
            water_pa=pick(one.water_pa, other.water_pa),
            saturation_pa=pick(one.saturation_pa, other.saturation_pa),
            temperature_k=pick(one.temperature_k, other.temperature_k),
            fills=one.fills,
            set_pa=one.set_pa,
            humidity_cap=one.humidity_cap,
        )

    return made(least=True), made(least=False)


def by_law(oxygen: Floats, dioxide: Floats, rest: Floats, is_leaking: Flags) -> tuple[Floats, Floats]:
    """The dry gases that only the leak takes, together, and those that something else takes."""
    both: Floats = oxygen + rest
    return np.where(is_leaking, both + dioxide, both), np.where(is_leaking, 0.0, dioxide)


def saturation_at_reading_pa(temperature_k: Floats, read_at_k: Floats) -> Floats:
    """What air can hold at a temperature, stated as a partial pressure at the readings' temperature.

    It rises with the temperature.
    """
    return saturation_pressure_pa(temperature_k) * read_at_k / temperature_k
