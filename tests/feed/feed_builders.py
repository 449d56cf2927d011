"""Builders for the tests of the feeds: instruments, state files, and a sleep that only counts."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from console.craft.channels import Channel
from console.feed.state_file import StateFileSource
from console.instants import at_epoch_plus, format_utc, parse_utc
from console.units import parse_unit

EPOCH = parse_utc("2041-06-02T03:10:00Z")


def utc(at_s: float) -> str:
    """A moment as a producer writes it."""
    return format_utc(at_epoch_plus(EPOCH, at_s))


def make_channel(name: str, unit: str, low: float | None = None, high: float | None = None) -> Channel:
    """An instrument whose range is given in its own unit; its words are old after 60 s."""
    parsed = parse_unit(unit)
    return Channel(
        name=name,
        unit=parsed,
        low_si=None if low is None else parsed.to_si(low),
        high_si=None if high is None else parsed.to_si(high),
        stale_after_s=60.0,
    )


CHANNELS = {
    channel.name: channel
    for channel in (
        make_channel("bat-1.current", "A", 0.0, 80.0),
        make_channel("o2-1.pressure", "MPa", 0.0, 25.0),
        make_channel("o2-1.temperature", "degC", -40.0, 60.0),
        make_channel("tank.mass", "kg"),
    )
}


def document(at_s: float, readings: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A state document as it is before it is written."""
    return {"format": 1, "at": utc(at_s), "readings": readings, **more}


class CountedSleep:
    """Takes no time; counts its calls, and does what a test wants to happen meanwhile."""

    def __init__(self) -> None:
        self.calls = 0
        self.meanwhile: Callable[[int], None] = lambda _: None

    def __call__(self, seconds: float) -> None:
        assert seconds > 0
        self.calls += 1
        self.meanwhile(self.calls)


class Desk:
    """One state file, its source and its sleep."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.sleep = CountedSleep()
        self.source = StateFileSource(path, CHANNELS, EPOCH, sleep=self.sleep)
        self.poll = self.source.poll

    def write(self, at_s: float, readings: dict[str, Any], **more: Any) -> None:
        """Rewrite the file with a good document."""
        self.write_text(json.dumps(document(at_s, readings, **more)))

    def write_text(self, text: str) -> None:
        """Rewrite the file with anything."""
        self.path.write_text(text, encoding="utf-8")

    def write_raw(self, at_s: float, readings: str) -> None:
        """Rewrite the file with readings that Python's own writer would not make."""
        self.write_text(f'{{"format": 1, "at": "{utc(at_s)}", "readings": {{{readings}}}}}')
