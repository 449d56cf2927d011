"""Mass and pressure of compressed oxygen and nitrogen in a container, as real gases.

Gas only: both fluids are far above their critical temperature in the whole valid range, so that there is one
density for each pressure. Whoever asks outside that range is refused, and must say that it is not known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from console.craft.model import Fluid
from console.errors import EnduranceError
from console.physics.constants import (
    GAS_CONSTANT_J_PER_MOL_K,
    NITROGEN_GAS_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
)
from console.physics.lee_kesler import reduced_compressibilities, reduced_compressibility

LOWEST_TEMPERATURE_K: Final = 230.0
HIGHEST_TEMPERATURE_K: Final = 350.0
HIGHEST_PRESSURE_PA: Final = 30.0e6


class GasRangeError(EnduranceError, ValueError):
    """A state of a gas lies where its density is not known to 1 %; the text says which and what is valid."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Substance:
    """What the principle of corresponding states needs to know of a fluid."""

    critical_temperature_k: float
    critical_pressure_pa: float
    acentric_factor: float
    kg_per_mol: float


# Critical points and acentric factors as the fluid files of CoolProp 8.0.0 give them for the reference
# equations: Schmidt and Wagner, Fluid Phase Equilib. 19 (1985), and Span et al., J. Phys. Chem. Ref. Data 29
# (2000). The vapour pressure of those equations at 0.7 Tc gives acentric factors of 0.02218 and 0.03723.
_SUBSTANCES: Final = {
    Fluid.OXYGEN: _Substance(
        critical_temperature_k=154.581,
        critical_pressure_pa=5.043e6,
        acentric_factor=0.0222,
        kg_per_mol=OXYGEN_GAS_KG_PER_MOL,
    ),
    Fluid.NITROGEN: _Substance(
        critical_temperature_k=126.192,
        critical_pressure_pa=3.3958e6,
        acentric_factor=0.0372,
        kg_per_mol=NITROGEN_GAS_KG_PER_MOL,
    ),
}


def density_kg_per_m3(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Density of a compressed gas.

    rho = p M / (Z R T), with p the absolute pressure Pa, M the molar mass kg/mol, R the gas constant
    J/(mol K), T the temperature K and Z from ``reduced_compressibility``.

    Source: Lee and Kesler, AIChE J. 21(3), 1975. Valid 230 to 350 K and 0 to 30 MPa, where it lies
    0.71 % under to 0.02 % over Schmidt and Wagner (1985) for oxygen, and 0.42 % under to 0.56 % over Span et
    al. (2000) for nitrogen.

    Raises:
        GasRangeError: outside that range, or not a number.

    >>> round(density_kg_per_m3(Fluid.OXYGEN, 15e6, 300.0), 1)
    202.8
    """
    _check_temperature(fluid, temperature_k)
    _check_pressure(fluid, pressure_pa)
    substance = _SUBSTANCES[fluid]
    z = reduced_compressibility(
        pressure_pa / substance.critical_pressure_pa,
        temperature_k / substance.critical_temperature_k,
        substance.acentric_factor,
    )
    return pressure_pa * substance.kg_per_mol / (z * GAS_CONSTANT_J_PER_MOL_K * temperature_k)


def mass_kg(fluid: Fluid, pressure_pa: float, temperature_k: float, volume_m3: float) -> float:
    """Mass of a gas in a container of known volume.

    m = rho(p, T) V, with rho from ``density_kg_per_m3`` and V the volume m3.

    Source and valid range: ``density_kg_per_m3``. The container's own stretch under pressure is left out.

    Raises:
        GasRangeError: outside 230 to 350 K or 0 to 30 MPa, not a number, or a volume not above 0.

    >>> round(mass_kg(Fluid.OXYGEN, 15e6, 300.0, 0.08), 1)
    16.2
    """
    _check_volume(fluid, volume_m3)
    return density_kg_per_m3(fluid, pressure_pa, temperature_k) * volume_m3


def masses_kg(
    fluid: Fluid, pressures_pa: NDArray[np.float64], temperatures_k: NDArray[np.float64], volume_m3: float
) -> NDArray[np.float64]:
    """``mass_kg`` of many states at once, shape (n,): not a number where one lies outside the valid range.

    Raises:
        GasRangeError: a volume not above 0.
    """
    _check_volume(fluid, volume_m3)
    substance = _SUBSTANCES[fluid]
    is_valid = (temperatures_k >= LOWEST_TEMPERATURE_K) & (temperatures_k <= HIGHEST_TEMPERATURE_K)
    is_valid &= (pressures_pa >= 0.0) & (pressures_pa <= HIGHEST_PRESSURE_PA)
    pressures, temperatures = np.where(is_valid, pressures_pa, 0.0), np.where(is_valid, temperatures_k, 300.0)
    z = reduced_compressibilities(
        pressures / substance.critical_pressure_pa,
        temperatures / substance.critical_temperature_k,
        substance.acentric_factor,
    )
    density = pressures * substance.kg_per_mol / (z * GAS_CONSTANT_J_PER_MOL_K * temperatures)
    return np.where(is_valid, density * volume_m3, np.nan)


def pressure_pa(fluid: Fluid, held_kg: float, temperature_k: float, volume_m3: float) -> float:
    """Pressure of a mass of gas in a container of known volume: ``mass_kg`` turned round.

    The p at which mass_kg(p, T, V) = m, found to 1e-9 of its value.

    Source and valid range: ``density_kg_per_m3``. No gas has no pressure: exactly 0.

    Raises:
        GasRangeError: outside 230 to 350 K, a volume not above 0, a mass below 0, or more of it than 30 MPa
            would hold.

    >>> round(pressure_pa(Fluid.OXYGEN, mass_kg(Fluid.OXYGEN, 15e6, 300.0, 0.08), 300.0, 0.08), 1)
    15000000.0
    """
    _check_volume(fluid, volume_m3)
    most_kg = mass_kg(fluid, HIGHEST_PRESSURE_PA, temperature_k, volume_m3)
    if not 0.0 <= held_kg <= most_kg:
        raise GasRangeError(
            f"{held_kg:.6g} kg of {fluid.value} in {volume_m3:g} m^3 at {temperature_k:.1f} K: "
            f"known from 0 to {most_kg:.6g} kg, which is {HIGHEST_PRESSURE_PA / 1e6:g} MPa"
        )
    if held_kg == 0.0:
        return 0.0
    return _rising_root(
        lambda guess_pa: mass_kg(fluid, guess_pa, temperature_k, volume_m3) / held_kg - 1.0,
        held_kg / most_kg * HIGHEST_PRESSURE_PA,
    )


def repressurisation_kg(
    fluid: Fluid, volume_m3: float, from_pa: float, to_pa: float, temperature_k: float
) -> float:
    """Gas that brings a closed volume from one pressure to another at one temperature.

    m = (rho(p_2, T) - rho(p_1, T)) V, with rho from ``density_kg_per_m3``, p_1 and p_2 the absolute pressures
    Pa before and after, V the volume m3 and T the temperature K.

    Source and valid range: ``density_kg_per_m3``. What is there already counts as the same gas. Filling
    warms it: the temperature is the one it has settled to, and whoever stops at the pressure before that has
    put in less.

    Raises:
        GasRangeError: outside 230 to 350 K or 0 to 30 MPa, a volume not above 0, or no rise in pressure.

    >>> round(repressurisation_kg(Fluid.OXYGEN, 7.0, 0.0, 38e3, 290.0), 2)
    3.53
    """
    _check_volume(fluid, volume_m3)
    if not to_pa > from_pa:
        raise GasRangeError(
            f"{fluid.value} from {from_pa:.6g} to {to_pa:.6g} Pa: filling ends above where it begins"
        )
    rise_kg_per_m3 = density_kg_per_m3(fluid, to_pa, temperature_k) - density_kg_per_m3(
        fluid, from_pa, temperature_k
    )
    return rise_kg_per_m3 * volume_m3


def _check_temperature(fluid: Fluid, temperature_k: float) -> None:
    if not LOWEST_TEMPERATURE_K <= temperature_k <= HIGHEST_TEMPERATURE_K:  # what is no number fails this too
        raise GasRangeError(
            f"{fluid.value} at {temperature_k:.6g} K: its density is known from "
            f"{LOWEST_TEMPERATURE_K:g} to {HIGHEST_TEMPERATURE_K:g} K only"
        )


def _check_pressure(fluid: Fluid, pressure_pa: float) -> None:
    if not 0.0 <= pressure_pa <= HIGHEST_PRESSURE_PA:
        raise GasRangeError(
            f"{fluid.value} at {pressure_pa / 1e6:.6g} MPa: its density is known from "
            f"0 to {HIGHEST_PRESSURE_PA / 1e6:g} MPa only"
        )


def _check_volume(fluid: Fluid, volume_m3: float) -> None:
    if not volume_m3 > 0.0:
        raise GasRangeError(f"{fluid.value} in {volume_m3:.6g} m^3: a container's volume must be above 0")


def _rising_root(miss: Callable[[float], float], start_pa: float) -> float:
    """Where a rising function of pressure crosses zero: secant steps, kept inside a bracket."""
    low, high = 0.0, HIGHEST_PRESSURE_PA
    before, before_miss = 0.0, -1.0  # no pressure, no mass
    here = start_pa
    for _ in range(60):
        here_miss = miss(here)
        low, high = (low, here) if here_miss > 0.0 else (here, high)
        following = here
        if here_miss != before_miss:
            following = here - here_miss * (here - before) / (here_miss - before_miss)
        if not low <= following <= high:
            following = 0.5 * (low + high)
        if abs(following - here) <= 1e-11 * here:
            break
        before, before_miss, here = here, here_miss, following
    return following
