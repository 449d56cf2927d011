"""A logged decision for a way home, as the engine carries it to the Snapshot."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Decision:
    """Who committed to which way home, and when."""

    option: str
    at_s: float
    by: str
