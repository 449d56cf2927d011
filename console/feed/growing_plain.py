"""The plain lines of a growing file, many at once: a known channel, a number in range, a known unit, a time.

Pure. Takes nothing that ``validity.said_of`` would not call good, and with the same floats; every other line
is named, for whoever reads lines one by one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from console.craft.channels import Channel
from console.errors import UnitsError
from console.feed.growing_bytes import Flags, Ints, Padded
from console.feed.growing_cells import Cells
from console.feed.growing_names import NameTable, Numbers
from console.feed.growing_numbers import Floats, numbers
from console.feed.growing_times import microseconds, times_since
from console.units import LARGEST, Dimension, Unit, parse_unit

_MOST_UNITS = 64
"""Units that are remembered from a file."""
_LONGEST_UNIT = 40
"""Bytes; as ``units.parse_unit`` has it."""
_MOST_OTHERS = 1000
"""Channels that the craft does not have, and texts that are no unit, which are remembered."""
_UNKNOWN = -2
_NO_CHANNEL = Channel(name="", unit=Unit(text="1", dimension=Dimension.FRACTION, factor=1.0))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Columns:
    """Good readings in the order of their lines, shape (n,)."""

    lines: Ints
    channels: Numbers
    """Numbers in the craft's order."""
    times_s: Floats
    values_si: Floats

    def __len__(self) -> int:
        """How many there are."""
        return len(self.lines)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Plain:
    """What the plain lines say, and which are not."""

    good: Columns
    """Lines counted from 0."""
    others: Mapping[str, int]
    """By name of a channel that the craft does not have and that was remembered, how many lines."""
    left: Ints
    """The lines that are to be read one by one."""
    starts: Ints
    """Where every line begins in the bytes."""
    ends: Ints
    """Before its line break."""


class PlainLines:
    """What is known of a craft's channels and of the file's units, as arrays to look up in."""

    def __init__(self, channels: Mapping[str, Channel], epoch: datetime) -> None:
        self._epoch_us = microseconds(epoch)
        self._names = {name.encode(): number for number, name in enumerate(channels)}
        self._count = len(self._names)
        self._table = NameTable(self._names)
        self._others: list[str] = []
        known = [*channels.values(), _NO_CHANNEL]  # so that there is one to look up, also in a bare craft
        units = [channel.unit for channel in known]
        self._dimensions = [unit.dimension for unit in units]
        self._factors, self._offsets = _scales(units)
        lows = [_low_si(channel) for channel in known]
        highs = [math.inf if channel.high_si is None else channel.high_si for channel in known]
        self._lows, self._highs = np.maximum(lows, -LARGEST), np.minimum(highs, LARGEST)
        self._units: dict[bytes, Unit] = {}
        self._no_units: set[bytes] = set()
        """What stood in place of a unit and is none that we know."""
        self._unit_table = NameTable({})
        self._unit_factors, self._unit_offsets = _scales([])
        self._is_of_channel: np.ndarray[Any, np.dtype[np.bool_]] = np.zeros((0, len(known)), dtype=np.bool_)

    def remember(self, other: str) -> None:
        """Remember a channel that the craft does not have, so that its lines need not be read one by one."""
        if len(self._others) < _MOST_OTHERS and (name := other.encode()) not in self._names:
            self._names[name] = self._count + len(self._others)
            self._others.append(other)
            self._table = NameTable(self._names)

    def read(self, padded: Padded, cells: Cells, columns: tuple[str, ...]) -> Plain:
        """Read the lines whose cells are told.

        Args:
            padded: whole lines.
            cells: where cells stand in those that are plain.
            columns: what the cells hold.
        """
        place = {name: column for column, name in enumerate(columns)}
        at, channel, value = (place[name] for name in ("at", "channel", "value"))
        number = self._table.find(padded, cells.starts[channel], cells.ends[channel])
        times_s, is_fine = times_since(padded, cells.starts[at], cells.ends[at], self._epoch_us)
        written, is_number = numbers(padded, cells.starts[value], cells.ends[value])
        is_fine &= is_number
        unit = self._unit_numbers(padded, cells, place["unit"]) if "unit" in place else None
        if unit is not None:
            is_fine &= unit > _UNKNOWN
        is_other: Flags = is_fine & (number >= self._count)
        is_fine &= (number >= 0) & (number < self._count)
        number_or_first = np.where(is_fine, number, np.int16(0))
        factor, offset = self._factors[number_or_first], self._offsets[number_or_first]
        if unit is not None and len(self._units):
            factor, offset = self._in_units(unit, number_or_first, factor, offset, is_fine)
        values_si = written * factor + offset
        is_fine &= (values_si >= self._lows[number_or_first]) & (values_si <= self._highs[number_or_first])
        return self._plain(cells, number, times_s, values_si, is_fine, is_other)

    def _plain(
        self,
        cells: Cells,
        number: Numbers,
        times_s: Floats,
        values_si: Floats,
        is_fine: Flags,
        is_other: Flags,
    ) -> Plain:
        counts = np.bincount(number[is_other] - self._count) if is_other.any() else ()
        done = np.zeros(len(cells.line_starts), dtype=np.bool_)
        done[cells.plain[is_fine | is_other]] = True
        if is_fine.all():
            good = Columns(lines=cells.plain, channels=number, times_s=times_s, values_si=values_si)
        else:
            good = Columns(
                lines=cells.plain[is_fine],
                channels=number[is_fine],
                times_s=times_s[is_fine],
                values_si=values_si[is_fine],
            )
        return Plain(
            good=good,
            others={self._others[other]: int(count) for other, count in enumerate(counts) if count},
            left=np.flatnonzero(~done),
            starts=cells.line_starts,
            ends=cells.line_ends,
        )

    def _unit_numbers(self, padded: Padded, cells: Cells, column: int) -> Numbers:
        """The number of the unit in each cell: -1 where it is empty, ``_UNKNOWN`` where it is not known."""
        starts, ends = cells.starts[column], cells.ends[column]
        numbers_found = self._unit_table.find(padded, starts, ends)
        while len(unknown := np.flatnonzero((numbers_found < 0) & (starts < ends))):
            if not self._learn(padded, starts[unknown], ends[unknown]):
                numbers_found[unknown] = _UNKNOWN
                break
            numbers_found = self._unit_table.find(padded, starts, ends)
        return numbers_found

    def _learn(self, padded: Padded, starts: Ints, ends: Ints) -> bool:
        """Learn a unit from the first cells that hold none of those known; False where there is none."""
        for start, end in zip(starts[:_MOST_UNITS].tolist(), ends[:_MOST_UNITS].tolist(), strict=True):
            text = padded.content[start:end]
            if len(self._units) >= _MOST_UNITS or len(text) > _LONGEST_UNIT or text in self._no_units:
                continue
            try:
                self._units[text] = parse_unit(text.decode())
            except (UnitsError, UnicodeDecodeError):
                if len(self._no_units) < _MOST_OTHERS:
                    self._no_units.add(text)
                continue
            self._unit_table = NameTable({name: number for number, name in enumerate(self._units)})
            units = list(self._units.values())
            self._unit_factors, self._unit_offsets = _scales(units)
            self._is_of_channel = np.array(
                [[unit.dimension is due for due in self._dimensions] for unit in units], dtype=np.bool_
            )
            return True
        return False

    def _in_units(
        self, unit: Numbers, channel: Numbers, factor: Floats, offset: Floats, is_fine: Flags
    ) -> tuple[Floats, Floats]:
        """Factors and offsets where units are written; a line with one of another dimension is not fine."""
        is_written: Flags = unit >= 0
        known = np.maximum(unit, 0)
        is_fine &= ~is_written | self._is_of_channel[known, channel]
        return (
            np.where(is_written, self._unit_factors[known], factor),
            np.where(is_written, self._unit_offsets[known], offset),
        )


def _scales(units: list[Unit]) -> tuple[Floats, Floats]:
    return np.array([unit.factor for unit in units]), np.array([unit.offset for unit in units])


def _low_si(channel: Channel) -> float:
    low_si = -math.inf if channel.low_si is None else channel.low_si
    return max(low_si, 0.0) if channel.unit.dimension is Dimension.TEMPERATURE else low_si
