"""What one assessment hands to the next: the engine forgets everything else. Frozen; the session keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from console.engine.bands import BandMemory


@dataclass(frozen=True, kw_only=True, slots=True)
class Memory:
    """The memory of an engine that has looked at least once; a new one remembers nothing."""

    bands: Mapping[str, BandMemory] = field(default_factory=dict)
    """By supply."""
