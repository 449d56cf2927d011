"""Whether a shift looks as if a source had begun to write its values in another unit."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from console.units import Dimension, Unit, parse_unit

TOLERANCE = 0.02
"""How near to the ratio of two units a shift must be, as a share of what was shown before."""

LEAST_SHARE = 0.05
"""Units nearer to each other than that (bar and atm, 1.3 %) cannot be told apart by a shift."""

NAMES: Mapping[Dimension, tuple[str, ...]] = {
    Dimension.FRACTION: ("1", "%", "ppm"),
    Dimension.TIME: ("s", "min", "h", "day"),
    Dimension.LENGTH: ("m", "cm", "mm", "km", "ft", "in"),
    Dimension.AREA: ("m^2", "cm^2", "mm^2", "ft^2", "in^2"),
    Dimension.MASS: ("kg", "g", "mg", "t", "lb", "oz"),
    Dimension.VOLUME: ("m^3", "L", "mL", "cm^3", "ft^3", "in^3", "gal"),
    Dimension.CHARGE: ("A*h", "A*s", "A*min", "mA*h"),
    Dimension.ENERGY: ("J", "kJ", "MJ", "W*h", "kW*h", "Btu"),
    Dimension.MASS_RATE: (
        *("kg/s", "kg/min", "kg/h", "kg/day", "g/s", "g/min", "g/h"),
        *("lb/min", "lb/h", "lb/day", "oz/h"),
    ),
    Dimension.VOLUME_RATE: (
        *("m^3/s", "m^3/min", "m^3/h", "L/s", "L/min", "L/h", "L/day", "mL/min", "mL/h"),
        *("cfm", "ft^3/h", "gal/min", "gal/h", "gal/day"),
    ),
    Dimension.CURRENT: ("A", "mA"),
    Dimension.POWER: ("W", "kW", "Btu/h"),
    Dimension.VOLTAGE: ("V",),
    Dimension.PRESSURE: ("Pa", "hPa", "kPa", "MPa", "bar", "mbar", "atm", "psi", "mmHg"),
    Dimension.TEMPERATURE: ("K", "degC", "degF"),
    Dimension.VELOCITY: ("m/s", "km/h", "ft/s"),
}
"""Names only, in which gauges of each quantity are commonly written (common practice, no source); factors
stand in units.txt alone. The most usual stand first among those that mean nearly the same."""


def suspected_unit(before_si: float, after_si: float, own: Unit, noise_sd_si: float) -> Unit | None:
    """The unit in which what is shown now would say about what was shown before; None where none does.

    Args:
        before_si: what was shown before the shift.
        after_si: what is shown since.
        own: the channel's unit, in which both were read.
        noise_sd_si: of either.
    """
    shift_si = abs(after_si - before_si)
    if shift_si <= LEAST_SHARE * abs(before_si) and own.dimension is not Dimension.TEMPERATURE:
        return None
    written = own.from_si(after_si)
    allowed_si = TOLERANCE * min(abs(before_si), shift_si)
    found: tuple[float, Unit] | None = None
    for unit in _units(own.dimension):
        # In the units of before, one reading's noise is as large as the factor makes it.
        noise_si = 3.0 * noise_sd_si * max(1.0, unit.factor / own.factor)
        missed_si = abs(unit.to_si(written) - before_si)
        is_own = abs(unit.to_si(written) - after_si) <= LEAST_SHARE * shift_si
        if is_own or missed_si > min(allowed_si + noise_si, LEAST_SHARE * shift_si + allowed_si):
            continue
        if found is None or missed_si < found[0] - 0.25 * allowed_si:
            found = (missed_si, unit)
    return None if found is None else found[1]


@lru_cache(maxsize=32)
def _units(dimension: Dimension) -> tuple[Unit, ...]:
    bare = Unit(text="1", dimension=Dimension.FRACTION, factor=1.0)  # a number without a unit
    return tuple(bare if name == "1" else parse_unit(name) for name in NAMES.get(dimension, ()))
