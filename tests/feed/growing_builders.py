"""Builders for the tests of growing files: files, sources, and readers that count or fail."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from feed_builders import CHANNELS, EPOCH, utc

from console.engine.reading import FeedState, Quality, Reading
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_line import LineRefusedError, said_in_csv, said_in_json
from console.feed.validity import Said, judge, said_of

HEADER = "at,channel,value\n"
CURRENT, PRESSURE, TEMPERATURE, MASS = CHANNELS
NOW_S = 1000.0


def line(at_s: float, channel: str, value: object) -> str:
    """A line of CSV with a header of three columns."""
    return f"{utc(at_s)},{channel},{value}\n"


def json_line(at_s: float, channel: str, value: object, **more: object) -> str:
    """A line of JSON Lines."""
    return json.dumps({"at": utc(at_s), "channel": channel, "value": value, **more}) + "\n"


class CountedReads:
    """Reads from an open file, counts what it gave, and fails where a test wants it to."""

    def __init__(self) -> None:
        self.bytes = 0
        self.error: OSError | None = None

    def __call__(self, handle: int, count: int, begin: int) -> bytes:
        if self.error is not None:
            raise self.error
        given = os.pread(handle, count, begin)
        self.bytes += len(given)
        return given


class Growing:
    """One growing file and its source."""

    def __init__(self, path: Path, **options: Any) -> None:
        self.path = path
        self.reads = CountedReads()
        self.source = GrowingFileSource(path, CHANNELS, EPOCH, read_at=self.reads, **options)

    def add(self, text: str | bytes) -> None:
        """Add to the file; make it where there is none."""
        with self.path.open("ab") as file:
            file.write(text.encode() if isinstance(text, str) else text)

    def poll(self, now_s: float = NOW_S) -> FeedState:
        return self.source.poll(now_s)


def growing_with(path: Path, text: str | bytes, **options: Any) -> Growing:
    """A growing file that holds something, not polled yet."""
    growing = Growing(path, **options)
    growing.add(text)
    return growing


def arrived_of(*feeds: FeedState) -> dict[str, list[tuple[float, float]]]:
    """All that arrived in some polls: time and value by channel."""
    found: dict[str, list[tuple[float, float]]] = {}
    for feed in feeds:
        for name, one in feed.arrived.items():
            pairs = zip(one.times_s.tolist(), one.values_si.tolist(), strict=True)
            found.setdefault(name, []).extend(pairs)
    return found


def faults_of(feed: FeedState) -> list[str]:
    """The faults without the source's name."""
    return [fault.removeprefix(f"{feed.source}: ") for fault in feed.faults]


class OneByOne:
    """What a growing file says by the house's own judgement of single values, one line after the other."""

    def __init__(self) -> None:
        self.said: dict[str, Said] = {}
        self.last: dict[str, Reading] = {}
        self.arrived: dict[str, list[tuple[float, float]]] = {}
        self.refused = 0

    def read(self, text: str, columns: tuple[str, ...], now_s: float) -> None:
        """Read whole lines without their header; no columns for JSON Lines."""
        for content in text.split("\n"):
            if content.strip():
                self._read_line(content, columns, now_s)

    def _read_line(self, content: str, columns: tuple[str, ...], now_s: float) -> None:
        try:
            line = said_in_csv(content, columns) if columns else said_in_json(content)
        except LineRefusedError:
            self.refused += 1
            return
        if line.channel not in CHANNELS:
            return
        channel = CHANNELS[line.channel]
        said = said_of(line.raw, channel, None, EPOCH)
        self.said[line.channel] = said
        before = self.last.get(line.channel)
        reading = judge(said, channel, before, now_s)
        is_ahead = said.at_s is not None and said.at_s - now_s > 60.0
        self.refused += said.quality is Quality.SUSPECT or is_ahead
        if reading.at_s is None or reading.value_si is None:
            return
        if before is None or before.at_s is None or reading.at_s > before.at_s:
            self.arrived.setdefault(line.channel, []).append((reading.at_s, reading.value_si))
            self.last[line.channel] = reading

    def readings(self, now_s: float) -> dict[str, Reading]:
        """The readings of the channels that the file named."""
        return {
            name: judge(said, CHANNELS[name], self.last.get(name), now_s) for name, said in self.said.items()
        }


def csv_text(rows: Iterable[Sequence[str]], columns: Sequence[str], **form: Any) -> str:
    """Rows as Python's own writer of CSV has them, under their header."""
    file = io.StringIO()
    writer = csv.writer(file, **form)
    writer.writerow(columns)
    writer.writerows(rows)
    return file.getvalue()


def readings_without_why(readings: Mapping[str, Reading]) -> dict[str, tuple[Quality, float | None]]:
    """Qualities and values."""
    return {name: (reading.quality, reading.value_si) for name, reading in readings.items()}
