"""Whole lines of a growing file to what they say of the craft's channels, each line judged by itself. Pure.

Plain lines are taken many at once; all others one by one through ``validity.said_of``, which alone decides
what a value means. A bad line costs itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from console.craft.channels import Channel
from console.engine.reading import Quality
from console.feed.growing_bytes import Padded
from console.feed.growing_cells import cells_of
from console.feed.growing_json_cells import form_of, json_cells_of
from console.feed.growing_layout import Layout
from console.feed.growing_line import LineRefusedError, SaidLine, said_in_csv, said_in_json, text_of
from console.feed.growing_lines import WholeLines
from console.feed.growing_plain import Columns, Plain, PlainLines
from console.feed.validity import Said, said_of

MOST_TOLD = 3
"""Refused lines that are told one by one, the newest; ten thousand must not make ten thousand faults."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SaidOnLine:
    """What one line said of a channel."""

    line: int
    said: Said


@dataclass(kw_only=True, slots=True)
class Refusals:
    """Lines that could not be used: how many, and the newest of them with why."""

    count: int = 0
    newest: list[tuple[int, str]] = field(default_factory=list)
    """In the order of their lines, at most ``MOST_TOLD``."""

    def add(self, line: int, why: str, count: int = 1) -> None:
        """Refuse a line; with a count, that many, of which this one is told."""
        self.count += count
        self.newest = sorted((*self.newest, (line, why)))[-MOST_TOLD:]

    def add_all(self, others: Refusals) -> None:
        """Add those of other lines of the same file."""
        self.count += others.count
        self.newest = sorted((*self.newest, *others.newest))[-MOST_TOLD:]


@dataclass(kw_only=True, slots=True)
class Takings:
    """What some lines say, gathered in their order."""

    good: list[Columns] = field(default_factory=list)
    """Good by themselves; neither compared with what was good before nor with now."""
    not_good: dict[str, SaidOnLine] = field(default_factory=dict)
    """By channel, the newest word that is suspect or missing."""
    refused: Refusals = field(default_factory=Refusals)
    others: Counter[str] = field(default_factory=Counter)
    """By channel that the craft does not have, how many lines."""
    lines: int = 0
    """How many lines held anything."""
    one_by_one: int = 0
    """How many of them were read one by one."""


class LineTaker:
    """Reads lines of one layout.

    Args:
        channels: the craft's instruments.
        epoch: the scenario's.
        is_plain_fast: whether plain lines are taken many at once; it changes nothing but how long it takes.
    """

    def __init__(
        self, channels: Mapping[str, Channel], epoch: datetime, *, is_plain_fast: bool = True
    ) -> None:
        self._channels = channels
        self._epoch = epoch
        self._numbers = {name: number for number, name in enumerate(channels)}
        self._plain = PlainLines(channels, epoch)
        self._is_plain_fast = is_plain_fast

    def take(self, whole: WholeLines, layout: Layout, takings: Takings) -> None:
        """Add what some lines say to what is gathered."""
        if not whole.lines:
            return
        lines = whole.lines.split(b"\n")[:-1] if layout.is_json or not self._is_plain_fast else []
        form = form_of(lines) if layout.is_json and self._is_plain_fast else None
        if lines and form is None:
            self._take_one_by_one(enumerate(lines, whole.first_line), layout, takings, None)
            return
        padded = Padded(whole.lines)
        columns = layout.columns if form is None else form.columns
        cells = cells_of(padded, len(columns)) if form is None else json_cells_of(padded, form)
        self._take_plain(whole, layout, takings, padded, self._plain.read(padded, cells, columns))

    def _take_plain(
        self, whole: WholeLines, layout: Layout, takings: Takings, padded: Padded, plain: Plain
    ) -> None:
        takings.others.update(plain.others)
        takings.lines += len(plain.good) + sum(plain.others.values())
        starts, ends = plain.starts[plain.left].tolist(), plain.ends[plain.left].tolist()
        lines = (
            (whole.first_line + number, padded.content[start:end])
            for number, start, end in zip(plain.left.tolist(), starts, ends, strict=True)
        )
        good = Columns(
            lines=plain.good.lines + whole.first_line,
            channels=plain.good.channels,
            times_s=plain.good.times_s,
            values_si=plain.good.values_si,
        )
        self._take_one_by_one(lines, layout, takings, good)

    def _take_one_by_one(
        self, lines: Iterator[tuple[int, bytes]], layout: Layout, takings: Takings, others: Columns | None
    ) -> None:
        rows: list[tuple[int, int, float, float]] = []
        for line, content in lines:
            if content.isspace() or not content:
                continue
            takings.lines += 1
            takings.one_by_one += 1
            try:
                said_line = _said(content, layout)
            except LineRefusedError as error:
                takings.refused.add(line, str(error))
                continue
            said = self._said_of(said_line, line, takings)
            if said is not None and said.at_s is not None and said.value_si is not None:
                rows.append((line, self._numbers[said_line.channel], said.at_s, said.value_si))
        good = _in_order(rows, others)
        if len(good):
            takings.good.append(good)

    def _said_of(self, said_line: SaidLine, line: int, takings: Takings) -> Said | None:
        name = said_line.channel
        channel = self._channels.get(name)
        if channel is None:
            takings.others[name] += 1
            self._plain.remember(name)
            return None
        said = said_of(said_line.raw, channel, None, self._epoch)
        if said.quality is not Quality.GOOD:
            takings.not_good[name] = SaidOnLine(line=line, said=said)
        if said.quality is Quality.SUSPECT:
            takings.refused.add(line, f"{name}: {said.why}")
        return said


def _said(content: bytes, layout: Layout) -> SaidLine:
    text = text_of(content)
    return said_in_json(text) if layout.is_json else said_in_csv(text, layout.columns)


def _in_order(rows: list[tuple[int, int, float, float]], others: Columns | None) -> Columns:
    """Readings that were read one by one among those that were taken many at once, by their lines."""
    if not rows and others is not None:
        return others
    lines, channels, times_s, values_si = zip(*rows, strict=True) if rows else ((), (), (), ())
    columns = Columns(
        lines=np.array(lines, dtype=np.int64),
        channels=np.array(channels, dtype=np.int16),
        times_s=np.array(times_s, dtype=np.float64),
        values_si=np.array(values_si, dtype=np.float64),
    )
    return columns if others is None else joined([others, columns], is_sorted=False)


def joined(parts: list[Columns], *, is_sorted: bool) -> Columns:
    """Several as one, by their lines."""
    lines = np.concatenate([part.lines for part in parts])
    order = slice(None) if is_sorted else np.argsort(lines, kind="stable")
    return Columns(
        lines=lines[order],
        channels=np.concatenate([part.channels for part in parts])[order],
        times_s=np.concatenate([part.times_s for part in parts])[order],
        values_si=np.concatenate([part.values_si for part in parts])[order],
    )
