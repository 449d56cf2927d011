"""How a Snapshot's values stand in JSON: hours, intervals, moments; what is missing is null."""

from __future__ import annotations

from collections.abc import Callable

from console.engine.snapshot import Interval, Snapshot
from console.instants import at_epoch_plus, format_utc


def hours(seconds: float) -> float:
    """A time to go."""
    return seconds / 3600.0


def maybe(shown: Callable[[float], float]) -> Callable[[float | None], float | None]:
    """The same for a value that may be missing."""
    return lambda value: None if value is None else shown(value)


def interval(value: Interval | None, shown: Callable[[float], float]) -> dict[str, float | None] | None:
    """An interval with its three ends; null where the whole is not known."""
    if value is None:
        return None
    end = maybe(shown)
    return {"p05": end(value.p05), "p50": end(value.p50), "p95": end(value.p95)}


def utc(snapshot: Snapshot, at_s: float | None) -> str | None:
    """A moment, RFC 3339."""
    return None if at_s is None else format_utc(at_epoch_plus(snapshot.epoch, at_s))
