"""The ``channels`` of craft.yaml: each instrument with its unit, range, errors and patience."""

from __future__ import annotations

from console.craft.channels import Channel
from console.scenario.fields import Fields, Node
from console.scenario.quantities import read_duration_s, read_in_unit, read_unit
from console.units import Dimension, Unit

_KEYS = ("unit", "range", "accuracy", "resolution", "stale_after")
_RANGE = "write the lowest and the highest value it can show, as [0, 80]"
_STALE_AFTER_S = 60.0


def read_channels(node: Node) -> dict[str, tuple[Unit | None, Channel | None]] | None:
    """Every declared channel with as much of it as could be read; None where even the names could not be."""
    if not node.is_given:
        return {}
    nodes = node.named("write channels, each as NAME: {unit: A}")
    return None if nodes is None else {name: _read_channel(name, each) for name, each in nodes.items()}


def _read_channel(name: str, node: Node) -> tuple[Unit | None, Channel | None]:
    fields = node.fields(_KEYS, "write what the channel reads, as {unit: A}")
    if fields is None:
        return None, None
    stale_after_s = read_duration_s(fields.may("stale_after"), is_positive=True)
    unit = read_unit(fields.need("unit"))
    if unit is None:
        return None, None
    low_si, high_si = _read_range(fields.may("range"), unit)
    return unit, Channel(
        name=name,
        unit=unit,
        low_si=low_si,
        high_si=high_si,
        accuracy_si=_read_error(fields, "accuracy", unit),
        resolution_si=_read_error(fields, "resolution", unit),
        stale_after_s=_STALE_AFTER_S if stale_after_s is None else stale_after_s,
    )


def _read_range(node: Node, unit: Unit) -> tuple[float | None, float | None]:
    ends = node.listed(_RANGE)
    if ends is None:
        return None, None
    if len(ends) != 2:
        node.refuse(f"a list of {len(ends)}", _RANGE)
        return None, None
    low_si, high_si = (read_in_unit(end, unit) for end in ends)
    if unit.dimension is Dimension.TEMPERATURE and low_si is not None and low_si < 0.0:
        ends[0].refuse_value(f"{_RANGE}: nothing is below 0 K. Did you mean unit: degC?")
    if low_si is not None and high_si is not None and low_si >= high_si:
        node.refuse("a range whose low end is not below its high end", _RANGE)
    return low_si, high_si


def _read_error(fields: Fields, key: str, unit: Unit) -> float:
    node = fields.may(key)
    value_si = read_in_unit(node, unit, is_difference=True)
    if value_si is not None and value_si < 0.0:
        node.refuse_value("write a number that is not negative")
    return value_si or 0.0
