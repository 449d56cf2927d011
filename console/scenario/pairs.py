"""A table of two columns out of a file, as ``[[0 degC, 80 %], [25 degC, 100 %]]``: the first column rises."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from console.scenario.fields import Node, describe

_LEAST = 2

Reader = Callable[[Node], float | None]
"""Reads one value of a column, in SI."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Pair:
    """One line of such a table, with the places of its two values."""

    first: float
    second: float
    first_node: Node
    second_node: Node


def read_pairs(node: Node, first: Reader, second: Reader, expected: str) -> tuple[Pair, ...] | None:
    """All lines of the table; None where not all of it could be read, or nothing is given."""
    lines = node.listed(expected)
    if lines is None:
        return None
    if len(lines) < _LEAST:
        node.refuse(f"a list of {len(lines)}", f"{expected}, at least two pairs")
        return None
    read = [_read_pair(line, first, second, expected) for line in lines]
    pairs = tuple(pair for pair in read if pair is not None)
    return pairs if len(pairs) == len(lines) and _rises(pairs) else None


def _read_pair(node: Node, first: Reader, second: Reader, expected: str) -> Pair | None:
    values = node.listed(expected)
    if values is None:
        return None
    if len(values) != 2:
        node.refuse(f"a list of {len(values)}", expected)
        return None
    first_value, second_value = first(values[0]), second(values[1])
    if first_value is None or second_value is None:
        return None
    return Pair(first=first_value, second=second_value, first_node=values[0], second_node=values[1])


def _rises(pairs: tuple[Pair, ...]) -> bool:
    """Whether the first column rises; tells a fault of each line at which it does not."""
    falls = [later for before, later in pairwise(pairs) if later.first <= before.first]
    for pair in falls:
        found = f"{describe(pair.first_node.value)}, not above the one before it"
        pair.first_node.refuse(found, "write the pairs so that the first of each rises")
    return not falls
