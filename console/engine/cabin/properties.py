"""A limited property of the cabin from its state: at one moment, or the worst it can be between two.

Every quantity of the state goes one way inside a piece, so the smallest and the largest of each bound the
property between two moments: what that bound excludes cannot happen, and no crossing is missed.
"""

from __future__ import annotations

import numpy as np

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.engine.cabin.air import Air
from console.engine.draws import Floats
from console.physics.cabin_air import VAPOUR_IN_THE_AIRWAYS_PA, inspired_oxygen_pa
from console.physics.humidity import LARGEST_STEP_K, apparent_ceiling_k, apparent_temperature_k

_TINY_PA = 1e-9


def excess(limit: CabinLimit, air: Air) -> Floats:
    """How far a property is beyond its limit, negative on the safe side."""
    return _signed(limit, value_of(limit, air))


def value_of(limit: CabinLimit, air: Air) -> Floats:
    """The limited property, in the limit's own kind."""
    if limit.of is CabinProperty.APPARENT_TEMPERATURE:
        return apparent_temperature_k(air.temperature_k, _humidity(air, air, upper=True))
    return _extreme(limit, air, air, upper=True)


def worst_excess(limit: CabinLimit, low: Air, high: Air) -> Floats:
    """A bound on ``excess`` wherever every quantity lies between its lowest and its highest."""
    upper = limit.side is LimitSide.ABOVE
    if limit.of is CabinProperty.APPARENT_TEMPERATURE:
        humidity = _humidity(low, high, upper=upper)
        bound = (
            apparent_ceiling_k(high.temperature_k, humidity)
            if upper
            else apparent_temperature_k(low.temperature_k, humidity) - LARGEST_STEP_K
        )
        return _signed(limit, bound)
    return _signed(limit, _extreme(limit, low, high, upper=upper))


def _signed(limit: CabinLimit, value: Floats) -> Floats:
    return value - limit.at_si if limit.side is LimitSide.ABOVE else limit.at_si - value


def _extreme(limit: CabinLimit, low: Air, high: Air, *, upper: bool) -> Floats:
    """The largest, or the smallest, that a property can be between two states."""
    near, far = (high, low) if upper else (low, high)
    match limit.of:
        case CabinProperty.TEMPERATURE:
            return near.temperature_k
        case CabinProperty.HUMIDITY:
            return _humidity(low, high, upper=upper)
        case CabinProperty.CARBON_DIOXIDE:
            if not limit.is_share:
                return near.carbon_dioxide_pa
            others = _oxygen(far, near) + far.rest_pa + _vapour(far)
            return _share(near.carbon_dioxide_pa, others, near)
        case CabinProperty.OXYGEN:
            oxygen = _oxygen(near, far)
            if not limit.is_share:
                return oxygen
            return _share(oxygen, far.carbon_dioxide_pa + far.rest_pa + _vapour(far), near)
        case CabinProperty.PRESSURE:
            return _pressure(near)
        case _:
            # Inspired oxygen grows with oxygen and with the whole pressure.
            whole = _pressure(near)
            return np.where(
                whole > VAPOUR_IN_THE_AIRWAYS_PA, inspired_oxygen_pa(_oxygen(near, far), whole), 0.0
            )


def _vapour(air: Air) -> Floats:
    return np.minimum(air.water_pa, air.humidity_cap * air.saturation_pa)


def _humidity(low: Air, high: Air, *, upper: bool) -> Floats:
    """Relative humidity grows with the water and falls with the temperature."""
    wet, cool = (high, low) if upper else (low, high)
    return np.minimum(wet.water_pa / cool.saturation_pa, cool.humidity_cap)


def _oxygen(near: Air, far: Air) -> Floats:
    """Oxygen at the end that ``near`` is at; where it fills up, by what ``far`` says of the others."""
    left = far.set_pa - far.carbon_dioxide_pa - far.rest_pa - _vapour(far)
    return np.maximum(np.where(near.fills, left, near.oxygen_pa), 0.0)


def _pressure(near: Air) -> Floats:
    free = near.leaking_pa + near.taken_up_pa + _vapour(near)
    return np.where(near.fills, near.set_pa, free)


def _share(gas_pa: Floats, others_pa: Floats, near: Air) -> Floats:
    whole = np.where(near.fills, near.set_pa, gas_pa + others_pa)
    result: Floats = gas_pa / np.maximum(whole, _TINY_PA)
    return result
