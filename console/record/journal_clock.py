"""Whether the host's clock was set while the journal was in use: wall clock against the one that never steps.

Both stand on every entry. Within one boot of one host they run alike, so a difference between two entries
that is not the same at both ends is a step of the wall clock.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from console.record.row import moment_of, moment_text

STEP_S = 2.0
"""A difference from here on is a step (common practice, no source): above a leap second and a busy moment."""
LOOKED_BACK = 1000
"""So many entries are looked through for the last one of the same boot."""

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_LAST_OF_BOOT = (
    "SELECT sequence, written_at, monotonic_s FROM entry WHERE boot_id = ? AND sequence > ? "
    "ORDER BY sequence DESC LIMIT 1"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ClockStep:
    """A step of the host's clock."""

    since: int
    """The last entry before it."""
    step_s: float
    """By how much it was set; negative: back."""
    due: datetime
    """What the clock would say now without it."""

    def body(self, now: datetime, host: str) -> Mapping[str, Any]:
        """The body of the entry that tells of it."""
        way = "forward" if self.step_s > 0.0 else "back"
        text = (
            f"the clock of {host or 'this host'} was set {way} by {_span_text(abs(self.step_s))} after "
            f"#{self.since}: times up to there and from here on do not compare"
        )
        return {
            "text": text,
            "since": self.since,
            "step_s": round(self.step_s, 3),
            "from": moment_text(self.due),
            "to": moment_text(now),
        }


def clock_step(
    connection: sqlite3.Connection, *, count: int, boot_id: str, now: datetime, monotonic_s: float
) -> ClockStep | None:
    """The step of the clock since the last entry that was written in the same boot; None where there is none.

    Args:
        connection: to the journal.
        count: how many entries there are.
        boot_id: of this boot; empty where it is not known, and then nothing can be said.
        now: by the clock.
        monotonic_s: by the clock that never steps, read at the same moment.

    Raises:
        sqlite3.Error: the journal cannot be read.
    """
    if not boot_id:
        return None
    last = connection.execute(_LAST_OF_BOOT, (boot_id, count - LOOKED_BACK)).fetchone()
    if last is None:
        return None
    sequence, written, monotonic = last
    try:
        due = moment_of(written) + timedelta(seconds=monotonic_s - float(monotonic))
    except (ValueError, TypeError, OverflowError):
        return None  # a damaged entry is for ``verify`` to tell, and must not keep a new one out
    step_s = (now - due).total_seconds()
    return ClockStep(since=sequence, step_s=step_s, due=due) if abs(step_s) >= STEP_S else None


def boot_id() -> str:
    """What the system calls this boot; empty where it does not say."""
    try:
        return _BOOT_ID.read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _span_text(span_s: float) -> str:
    """A span of time for people.

    >>> _span_text(2.04), _span_text(3725.0)
    ('2.0 s', '1 h 2 min 5 s')
    """
    if span_s < 60.0:
        return f"{span_s:.1f} s"
    minutes, seconds = divmod(round(span_s), 60)
    hours, minutes = divmod(minutes, 60)
    parts = ((hours, "h"), (minutes, "min"), (seconds, "s"))
    return " ".join(f"{value} {unit}" for value, unit in parts if value)
