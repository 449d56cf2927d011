"""The ``cabin`` of craft.yaml: the space the crew breathes in, what reads it, what holds it, its limits."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from console.craft.band_limits import BandLimits
from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.scenario.cabin_limits import read_limits
from console.scenario.cabin_services import read_drying, read_oxygen_feed, read_removal, read_thermal
from console.scenario.craft_supplies import SupplyReading
from console.scenario.fields import Fields, Node, describe
from console.scenario.outline import CabinOutline
from console.scenario.quantities import (
    ChannelUnits,
    read_measured,
    read_measured_and_dimension,
    read_quantity,
)
from console.scenario.temperatures import OF_CABIN, read_measured_temperature
from console.units import Dimension

_GAUGED = ("pressure", "oxygen", "carbon_dioxide", "temperature", "humidity")
_KEYS = ("volume", *_GAUGED, "removal", "oxygen_feed", "drying", "thermal", "limits")


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinReading:
    """As much of the cabin as could be read."""

    cabin: Cabin | None = None
    gauged: Collection[str] | None = None
    """The properties that it reads or states; None where that is not known."""
    has_limits: bool | None = None
    """None where that is not known."""
    outline: CabinOutline = field(default_factory=CabinOutline)


def read_cabin(
    node: Node,
    channels: ChannelUnits | None,
    supplies: Mapping[str, SupplyReading] | None,
    loads: Collection[str] | None,
    bands: BandLimits | None,
) -> CabinReading:
    """The space the crew breathes in.

    Args:
        node: the cabin.
        channels: the declared channels; None where they could not be read, as with what follows.
        supplies: those of the craft.
        loads: the names of the craft's loads.
        bands: those of the cabin's clocks, used where it has limits.
    """
    fields = node.fields(_KEYS, "write the cabin, as {volume: 16 m^3, pressure: {channel: cabin.pressure}}")
    if fields is None:
        absent = not node.is_given
        return CabinReading(
            gauged=() if absent else None,
            has_limits=False if absent else None,
            outline=CabinOutline(is_there=False if absent else None),
        )
    volume_m3 = read_quantity(fields.need("volume"), Dimension.VOLUME, is_positive=True)
    pressure = read_measured(fields.may("pressure"), channels, Dimension.PRESSURE, is_positive=True)
    oxygen, oxygen_is_share = _read_gas(fields.may("oxygen"), channels)
    carbon_dioxide, carbon_dioxide_is_share = _read_gas(fields.may("carbon_dioxide"), channels)
    _check_part(fields, "oxygen", pressure, None if oxygen_is_share else oxygen)
    _check_part(fields, "carbon_dioxide", pressure, None if carbon_dioxide_is_share else carbon_dioxide)
    temperature = read_measured_temperature(fields.may("temperature"), channels, OF_CABIN)
    humidity = read_measured(fields.may("humidity"), channels, Dimension.FRACTION)
    removal = read_removal(fields.may("removal"), loads)
    oxygen_feed = read_oxygen_feed(fields.may("oxygen_feed"), loads, fields)
    drying = read_drying(fields.may("drying"), loads)
    thermal = read_thermal(fields.may("thermal"), channels, supplies, loads)
    shares = {"oxygen": oxygen_is_share, "carbon_dioxide": carbon_dioxide_is_share}
    limits = read_limits(fields.may("limits"), fields, [gas for gas, is_share in shares.items() if is_share])
    cabin = None
    if volume_m3 is not None:
        cabin = Cabin(
            volume_m3=volume_m3,
            bands=bands if limits else None,
            pressure=pressure,
            oxygen=oxygen,
            oxygen_is_share=oxygen_is_share,
            carbon_dioxide=carbon_dioxide,
            carbon_dioxide_is_share=carbon_dioxide_is_share,
            temperature=temperature,
            humidity=humidity,
            removal=removal,
            oxygen_feed=oxygen_feed,
            drying=drying,
            thermal=thermal,
            limits=limits,
        )
    limit_list = fields.may("limits")
    return CabinReading(
        cabin=cabin,
        gauged=[key for key in _GAUGED if fields.may(key).is_given],
        has_limits=limit_list.is_given and limit_list.value != [],
        outline=CabinOutline(is_there=True, volume_m3=volume_m3),
    )


def _read_gas(node: Node, channels: ChannelUnits | None) -> tuple[Measured | None, bool]:
    """One gas by its own pressure, or as its share of the whole."""
    gas, dimension = read_measured_and_dimension(node, channels, Dimension.PRESSURE, Dimension.FRACTION)
    return gas, dimension is Dimension.FRACTION


def _check_part(fields: Fields, key: str, whole: Measured | None, part: Measured | None) -> None:
    """No gas alone has more than the whole pressure, where both are stated."""
    if whole is None or part is None or whole.constant_si is None or part.constant_si is None:
        return
    if part.constant_si > whole.constant_si:
        found = f"{describe(fields.may(key).value)}, more than the whole pressure"
        fields.may(key).refuse(found, f"write at most {describe(fields.may('pressure').value)}")
