"""How much of its capacity a battery gives at a temperature: a curve of the file's own, or a named one."""

from __future__ import annotations

from console.physics.battery import CAPACITY_CURVES, Curve
from console.scenario.fields import Fields, Node
from console.scenario.pairs import read_pairs
from console.scenario.quantities import read_fraction
from console.scenario.temperatures import OF_BATTERY, read_temperature_k

_CURVE = "write the share it gives by temperature, as [[0 degC, 80 %], [25 degC, 100 %]]"


def read_capacity_curve(fields: Fields) -> Curve:
    """The curve of ``capacity_at``; empty where there is none."""
    node = fields.may("capacity_at")
    if node.is_given and not fields.may("temperature").is_given:
        node.refuse("a capacity by temperature without temperature", "write temperature as well")
    if isinstance(node.value, str):
        return _named(node)
    pairs = read_pairs(
        node,
        lambda each: read_temperature_k(each, OF_BATTERY),
        lambda each: read_fraction(each, is_positive=True),
        f"{_CURVE}, or {' or '.join(CAPACITY_CURVES)}",
    )
    return tuple((pair.first, pair.second) for pair in pairs or ())


def _named(node: Node) -> Curve:
    name = node.reference(CAPACITY_CURVES, "a curve that is known here")
    return () if name is None else CAPACITY_CURVES[name]
