"""Feeds made of plain columns, histories on a clock that stands, and all that one can be asked, as bytes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from console.engine.reading import FeedState, Quality, Reading
from console.engine.series import Arrived, Series
from console.record import history_ladder, history_track
from console.record.history import History
from console.record.history_store import HistoryStore

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
LADDER_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600)
FOREVER = (-1e12, 1e12)

Pairs = Sequence[tuple[float, float]]


def feed_of(arrived: Mapping[str, Pairs]) -> FeedState:
    """A feed that says all that arrived."""
    columns = {name: np.array(pairs, float).reshape(-1, 2).T for name, pairs in arrived.items()}
    return FeedState(
        source="test",
        at_s=None,
        quality=Quality.GOOD,
        faults=(),
        readings={},
        arrived={name: Arrived(times_s=times, values_si=values) for name, (times, values) in columns.items()},
    )


def newest_of(*readings: Reading) -> FeedState:
    """A feed that knows only the newest reading of each channel."""
    return FeedState(
        source="test",
        at_s=None,
        quality=Quality.GOOD,
        faults=(),
        readings={reading.channel: reading for reading in readings},
    )


def good(channel: str, at_s: float, value_si: float) -> Reading:
    return Reading(channel=channel, quality=Quality.GOOD, value_si=value_si, at_s=at_s)


def history_at(path: Path | None, channels: Sequence[str] = ("a",), **changes: Any) -> History:
    """A history that saves only when it is told to."""
    settings: dict[str, Any] = {"scenario": "tern", "epoch": EPOCH, "patience_s": 0.05, **changes}
    store = None if path is None else HistoryStore.open(path, **settings)
    return History(channels, store, monotonic=lambda: 0.0)


def columns_of(series: Series) -> np.ndarray:
    """Times, means, lows, highs and counts, shape (5, n)."""
    return np.stack((series.times_s, series.means_si, series.lows_si, series.highs_si, series.counts))


def all_of(history: History, channels: Sequence[str] = ("a",)) -> list[bytes]:
    """What a history answers to many questions, to the bit."""
    answers = []
    for name in channels:
        held = history.full(name, *FOREVER)
        answers += [held.times_s.tobytes(), held.values_si.tobytes()]
        last_s = history.last_s(name) or 0.0
        for back_s in (10.0, 200.0, 3000.0, 50_000.0, 4e6, 1e12):
            for most in (1, 7, 50, 400):
                answers.append(columns_of(history.series(name, last_s - back_s, math.inf, most)).tobytes())
                answers.append(
                    columns_of(history.series(name, last_s - back_s, last_s - back_s / 3, most)).tobytes()
                )
    return answers


def plain_rows(readings: Pairs, width_s: int, from_s: float, until_s: float) -> np.ndarray:
    """The rows that should come out, by sums without rounding: another route to the same figures."""
    groups: dict[int, list[tuple[float, float]]] = {}
    for at_s, value_si in readings:
        if at_s <= until_s:
            groups.setdefault(math.floor(at_s) // width_s, []).append((at_s, value_si))
    rows = []
    for number, group in groups.items():
        if number * width_s >= from_s:
            times, values = zip(*group, strict=True)
            mean_s, mean_si = math.fsum(times) / len(group), math.fsum(values) / len(group)
            rows.append((mean_s, mean_si, min(values), max(values), len(group)))
    return np.array(rows, float).reshape(-1, 5).T


@contextmanager
def small_ages() -> Iterator[None]:
    """Ages so short that a handful of readings goes through all of them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(history_track, "FULL_MINUTES", 4)
        patch.setattr(history_track, "MOST_FULL", 25)
        patch.setattr(history_track, "MINUTE_ROWS", 12)
        patch.setattr(history_track, "TEN_MINUTE_ROWS", 6)
        patch.setattr(history_ladder, "_SPARE_ROWS", 2)
        yield
