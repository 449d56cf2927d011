"""What a journal holds: entries that never change. A correction is a new entry that names the old one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any


class EntryKind(Enum):
    """What an entry is about."""

    STEP = "step"
    NOTE = "note"
    ALERT = "alert"
    ACKNOWLEDGEMENT = "acknowledgement"
    CORRECTION = "correction"
    HANDOVER = "handover"
    UNLOGGED_CHANGE = "unlogged change"
    CLOCK = "clock"
    """The host's clock stepped."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Draft:
    """An entry before it is written."""

    id: str
    """Made by whoever writes it (a UUID), so that a resend changes nothing."""
    kind: EntryKind
    happened_at: datetime
    """When it happened, UTC."""
    operator: str
    position: str
    body: Mapping[str, Any]
    """What it says: JSON values only; every kind has a ``text`` for people."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """An entry as it stands in the journal."""

    sequence: int
    """1, 2, 3 … without gaps: the order of the journal, whatever the clocks say."""
    id: str
    kind: EntryKind
    happened_at: datetime
    written_at: datetime
    """UTC of the host when it was written."""
    elapsed_s: float
    """``happened_at`` as seconds since the scenario's epoch."""
    monotonic_s: float
    """The host's monotonic clock when it was written, comparable within one ``boot_id``."""
    boot_id: str
    host: str
    operator: str
    position: str
    body: Mapping[str, Any]
    previous_hash: str
    hash: str

    @property
    def text(self) -> str:
        """What it says, for people."""
        return str(self.body.get("text", ""))

    @property
    def sentence(self) -> str:
        """Its text, with the step's place and reason, or the entry that it corrects."""
        if self.kind is EntryKind.CORRECTION:
            return f"corrects #{self.body.get('corrects', '?')}: {self.text}"
        if self.kind is not EntryKind.STEP:
            return self.text
        place = f"{self.body['procedure']}/{self.body.get('step', '')} " if self.body.get("procedure") else ""
        is_decision = bool(self.body.get("option") or self.body.get("reserves_si"))
        why = "reason" if is_decision else "out of order"
        reason = f" ({why}: {self.body['reason']})" if self.body.get("reason") else ""
        return f"{place}{self.text}{reason}"

    @property
    def is_late(self) -> bool:
        """Whether it was written more than two minutes after it happened."""
        return (self.written_at - self.happened_at).total_seconds() > LATE_AFTER_S


LATE_AFTER_S = 120.0
"""An entry written later than this is marked late and shows both times (common practice, no source)."""


def new_id() -> str:
    """An id for a draft: a random UUID (RFC 9562, version 4)."""
    import uuid  # 3 ms, for those who write only

    return str(uuid.uuid4())
