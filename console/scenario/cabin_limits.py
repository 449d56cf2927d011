"""The named ``limits`` of the cabin: on what, on which side, at what value, and which document says so."""

from __future__ import annotations

from collections.abc import Collection

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.scenario.fields import Fields, Node
from console.scenario.plan_phases import refuse_equal_names
from console.scenario.quantities import read_quantity_and_unit
from console.scenario.temperatures import OF_CABIN, read_temperature_k
from console.units import Dimension, Unit, split_quantity

_KEYS = ("name", "of", "above", "below", "source", "average")
_EXPECTED = 'write a limit, as {name: raised CO2, of: carbon_dioxide, above: 15 mmHg, source: "..."}'
_GASES = (CabinProperty.OXYGEN, CabinProperty.CARBON_DIOXIDE)
_TEMPERATURES = (CabinProperty.TEMPERATURE, CabinProperty.APPARENT_TEMPERATURE)
_RESTS_ON: dict[CabinProperty, tuple[str, ...]] = {
    CabinProperty.PRESSURE: ("pressure",),
    CabinProperty.OXYGEN: ("oxygen",),
    CabinProperty.INSPIRED_OXYGEN: ("oxygen", "pressure"),
    CabinProperty.CARBON_DIOXIDE: ("carbon_dioxide",),
    CabinProperty.HUMIDITY: ("temperature", "humidity"),
    CabinProperty.TEMPERATURE: ("temperature",),
    CabinProperty.APPARENT_TEMPERATURE: ("temperature", "humidity"),
}
"""What the cabin must say for a limit on each property."""


def read_limits(node: Node, cabin: Fields, shares: Collection[str]) -> tuple[CabinLimit, ...]:
    """Every limit that could be read.

    Args:
        node: the list of them.
        cabin: all that the cabin says, for what a limit rests on.
        shares: the gases that the cabin knows as shares of the whole pressure.
    """
    nodes = node.listed(f"{_EXPECTED.replace('a limit, as ', 'limits, as [')}]") or []
    read = [(each, _read_limit(each, cabin, shares)) for each in nodes]
    limits = [(each, limit) for each, limit in read if limit is not None]
    refuse_equal_names((each, limit.name) for each, limit in limits)
    return tuple(limit for _, limit in limits)


def _read_limit(node: Node, cabin: Fields, shares: Collection[str]) -> CabinLimit | None:
    fields = node.fields(_KEYS, _EXPECTED)
    if fields is None:
        return None
    name = fields.need("name").name()
    of = fields.need("of").choice(CabinProperty)
    source = fields.need("source").text("write the document that sets it, in quotes")
    if source == "":
        fields.need("source").refuse("an empty text", "write the document that sets it")
    is_average = fields.may("average").boolean() or False
    side = _read_side(fields)
    written = None if of is None or side is None else _read_value(fields.may(side.value), of)
    if of is None or side is None or written is None:
        return None
    at_si, unit = written
    is_share = of in _GASES and unit.dimension is Dimension.FRACTION
    _check_ground(fields.need("of"), of, is_share or of.value in shares, cabin)
    if name is None or source is None:
        return None
    return CabinLimit(
        name=name,
        of=of,
        side=side,
        at_si=at_si,
        source=source,
        is_share=is_share,
        is_average=is_average,
        unit=unit,
    )


def _read_side(fields: Fields) -> LimitSide | None:
    """On which side it is broken: exactly one must be said."""
    given = [side for side in LimitSide if fields.may(side.value).is_given]
    if len(given) == 1:
        return given[0]
    found = "above and below in one limit" if given else "a limit without above or below"
    expected = "write two limits, each with its own name" if given else "write one of the two"
    fields.node.refuse(found, expected)
    return None


def _read_value(node: Node, of: CabinProperty) -> tuple[float, Unit] | None:
    if of in _TEMPERATURES:
        value_k = read_temperature_k(node, OF_CABIN)
        if value_k is None or not isinstance(node.value, str):
            return None
        _, unit = split_quantity(node.value)
        return None if unit is None else (value_k, unit)
    dimensions: tuple[Dimension, ...] = (Dimension.PRESSURE,)
    if of in _GASES:
        dimensions = (Dimension.PRESSURE, Dimension.FRACTION)
    elif of is CabinProperty.HUMIDITY:
        dimensions = (Dimension.FRACTION,)
    written = read_quantity_and_unit(node, *dimensions, is_positive=True)
    if written is not None and written[1].dimension is Dimension.FRACTION and written[0] > 1.0:
        node.refuse_value("write at most 100 %")
        return None
    return written


def _check_ground(node: Node, of: CabinProperty, has_share: bool, cabin: Fields) -> None:
    """A limit on what nothing reads would never be seen to break."""
    needed = [*_RESTS_ON[of], *(("pressure",) if has_share else ())]
    missing = [f"cabin.{key}" for key in needed if not cabin.may(key).is_given]
    if missing:
        share = ", as a share," if has_share else ""
        node.refuse(
            f"{of.value}{share} in a cabin that says nothing of {' and '.join(missing)}",
            f"write {' and '.join(missing)} as well, as {{channel: NAME}} or a constant",
        )
