"""Quantities, measured properties, fractions and moments out of a file's values, in SI.

A bare number where a quantity is due is refused with the unit that is missing: whoever reads a file must not
have to guess what 320 means.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime

from console.craft.channels import Measured
from console.errors import InstantError, UnitsError
from console.instants import LONGEST_S, parse_instant_s, parse_utc
from console.scenario.faults import shown
from console.scenario.fields import Node, describe
from console.scenario.yaml_text import YamlList, YamlMapping
from console.units import Dimension, Unit, check_dimension, parse_unit, quantity_to_si, split_quantity

STORED = (Dimension.MASS, Dimension.VOLUME, Dimension.CHARGE, Dimension.ENERGY)
"""What a supply's amounts can measure."""
MOST_QUANTITY_LENGTH = 60
"""Longest text that is looked at as a quantity."""

ChannelUnits = Mapping[str, Unit | None]
"""The declared channels with their units; None where the unit could not be read."""


def due(*dimensions: Dimension) -> str:
    """What to write where a quantity of one of these dimensions belongs.

    >>> due(Dimension.VOLUME)
    'write a volume, such as 0.08 m^3'
    """
    return "write " + ", or ".join(
        f"{with_article(each.word)}, such as {each.example}" for each in dimensions
    )


def with_article(word: str) -> str:
    """A word with its article."""
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def read_quantity(node: Node, *dimensions: Dimension, is_positive: bool = False) -> float | None:
    """A quantity of one of the dimensions, in SI: never negative, and not zero where it must be positive."""
    written = read_quantity_and_unit(node, *dimensions, is_positive=is_positive)
    return None if written is None else written[0]


def read_quantity_and_unit(
    node: Node, *dimensions: Dimension, is_positive: bool = False
) -> tuple[float, Unit] | None:
    """As ``read_quantity``, with the unit in which it was written."""
    expected = due(*dimensions)
    text = _quantity_text(node, expected)
    if text is None:
        return None
    try:
        value_si, unit = quantity_to_si(text, *dimensions)
    except UnitsError as error:
        node.refuse(error.found, error.expected)
        return None
    if unit.text == "1":  # of fractions alone a bare number passes there, and 1 may have meant 1 % or all
        node.refuse(f"{shown(text)} without a unit", expected)
        return None
    return (value_si, unit) if _check_size(node, text, value_si, is_positive) else None


def _quantity_text(node: Node, expected: str) -> str | None:
    if not node.has_value(expected):
        return None
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        node.refuse(f"{describe(node.value)}, a number without a unit", expected)
        return None
    if not isinstance(node.value, str) or len(node.value) > MOST_QUANTITY_LENGTH:
        node.refuse_value(expected)
        return None
    return node.value


def _check_size(node: Node, text: str, value_si: float, is_positive: bool) -> bool:
    if not math.isfinite(value_si):
        node.refuse(shown(text), "write a quantity that is not beyond all measure")
    elif value_si < 0.0:
        node.refuse(shown(text), "write a quantity that is not negative")
    elif value_si == 0.0 and is_positive:
        node.refuse(shown(text), "write a quantity above zero")
    else:
        return True
    return False


def read_fraction(node: Node, *, is_positive: bool = False) -> float | None:
    """A fraction from 0 to 1, written in percent."""
    value = read_quantity(node, Dimension.FRACTION, is_positive=is_positive)
    if value is not None and value > 1.0:
        node.refuse_value("write at most 100 %")
        return None
    return value


def read_number(node: Node, *, least: float, most: float) -> float | None:
    """A number that has no unit by its nature, such as an exponent."""
    expected = f"write a number from {least:g} to {most:g}"
    if not node.has_value(expected):
        return None
    number = node.value
    if isinstance(number, bool) or not isinstance(number, int | float) or not least <= number <= most:
        node.refuse_value(expected)
        return None
    return float(number)


def read_duration_s(node: Node, *, is_positive: bool = False) -> float | None:
    """A stretch of time."""
    value_s = read_quantity(node, Dimension.TIME, is_positive=is_positive)
    if value_s is not None and value_s > LONGEST_S:
        node.refuse_value("write at most 100 years")
        return None
    return value_s


def read_epoch(node: Node) -> datetime | None:
    """The moment from which a scenario's times are counted."""
    expected = "write UTC as 2041-06-02T03:10:00Z"
    text = _instant_text(node, expected)
    if text is None:
        return None
    try:
        epoch = parse_utc(text)
    except InstantError as error:
        node.refuse(error.found, error.expected)
        return None
    if not 1000 <= epoch.year <= 9000:  # so that every moment of a plan stays a date that exists
        node.refuse_value("write a year from 1000 to 9000")
        return None
    return epoch


def read_instant_s(node: Node, epoch: datetime | None) -> float | None:
    """A moment as seconds since the epoch; without an epoch only its form is checked."""
    expected = "write UTC as 2041-06-02T03:10:00Z, or time since the epoch as T+12h30m"
    text = _instant_text(node, expected)
    if text is None:
        return None
    try:
        at_s = parse_instant_s(text, epoch or parse_utc("2000-01-01T00:00:00Z"))
    except InstantError as error:
        node.refuse(error.found, error.expected)
        return None
    if epoch is None and not text.strip().startswith("T"):
        return None
    if not abs(at_s) <= LONGEST_S:
        node.refuse_value("write a time within 100 years of the epoch")
        return None
    return at_s


def _instant_text(node: Node, expected: str) -> str | None:
    if not node.has_value(expected):
        return None
    if not isinstance(node.value, str) or len(node.value) > MOST_QUANTITY_LENGTH:
        node.refuse_value(expected)
        return None
    return node.value


def read_unit(node: Node, *dimensions: Dimension) -> Unit | None:
    """A unit alone; of one of the dimensions where any are given."""
    text = node.text("write a unit such as kg, A*h, kPa or kg/day")
    if text is None:
        return None
    try:
        unit = parse_unit(text)
        if dimensions:
            check_dimension(text, unit, *dimensions)
    except UnitsError as error:
        node.refuse(error.found, error.expected)
        return None
    return unit


def read_measured(
    node: Node, channels: ChannelUnits | None, *dimensions: Dimension, is_positive: bool = False
) -> Measured | None:
    """A measured property: ``{channel: NAME}`` or a constant quantity of one of the dimensions."""
    return read_measured_and_dimension(node, channels, *dimensions, is_positive=is_positive)[0]


def read_measured_and_dimension(
    node: Node, channels: ChannelUnits | None, *dimensions: Dimension, is_positive: bool = False
) -> tuple[Measured | None, Dimension | None]:
    """As ``read_measured``, with which of the dimensions it is of; None where that is not known.

    A fraction is of a whole: more than that is refused.
    """
    expected = f"{due(*dimensions)}, or {{channel: NAME}}"
    if not node.has_value(expected):
        return None, None
    if isinstance(node.value, YamlList | bool):
        node.refuse_value(expected)
        return None, None
    if isinstance(node.value, YamlMapping):
        return _read_channel(node, channels, dimensions, expected)
    written = read_quantity_and_unit(node, *dimensions, is_positive=is_positive)
    if written is None:
        return None, None
    value_si, unit = written
    if unit.dimension is Dimension.FRACTION and value_si > 1.0:
        node.refuse_value("write at most 100 %")
        return None, unit.dimension
    return Measured(constant_si=value_si), unit.dimension


def _read_channel(
    node: Node, channels: ChannelUnits | None, dimensions: tuple[Dimension, ...], expected: str
) -> tuple[Measured | None, Dimension | None]:
    fields = node.fields(("channel",), expected)
    channel = fields.need("channel") if fields is not None else None
    name = channel.reference(channels, "a channel") if channel is not None else None
    if channel is None or name is None:
        return None, None
    unit = channels[name] if channels is not None else None
    if unit is not None and unit.dimension not in dimensions:
        words = " or ".join(with_article(dimension.word) for dimension in dimensions)
        found = f"channel {shown(name)}, which reads {with_article(unit.dimension.word)} ({unit.text})"
        channel.refuse(found, f"name a channel that reads {words}")
        return None, None
    return Measured(channel=name), None if unit is None else unit.dimension


def read_in_unit(node: Node, unit: Unit, *, is_difference: bool = False) -> float | None:
    """A bare number in a channel's own unit or a quantity text, in SI; may be negative.

    A difference (an accuracy, a step) keeps its size whatever the zero of its unit: 0.5 degC is 0.5 K.
    """
    expected = f"write a number in {unit.text}, or {due(unit.dimension).removeprefix('write ')}"
    if not node.has_value(expected):
        return None
    number, used = node.value, unit
    if isinstance(number, str) and len(number) <= MOST_QUANTITY_LENGTH:
        try:
            number, written = split_quantity(number)
            used = written or unit
            check_dimension(str(node.value), used, unit.dimension)
        except UnitsError as error:
            node.refuse(error.found, error.expected)
            return None
    if isinstance(number, bool) or not isinstance(number, int | float):
        node.refuse_value(expected)
        return None
    value_si = number * used.factor if is_difference else used.to_si(number)
    if not math.isfinite(value_si):
        node.refuse_value("write a quantity that is not beyond all measure")
        return None
    return value_si
