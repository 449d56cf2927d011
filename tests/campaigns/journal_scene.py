"""What the journal's campaigns write: a journal of their own scenario, and drafts that can be found again."""

from __future__ import annotations

import random
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from console.record.entry import Draft, EntryKind
from console.record.journal import Journal

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)


def open_journal(path: Path, *, patience_s: float = 30.0, create: bool = True) -> Journal:
    """The journal under trial, on the real clocks."""
    return Journal.open(
        path,
        scenario="tern",
        epoch=EPOCH,
        clock=lambda: datetime.now(UTC),
        monotonic=time.monotonic,
        host="console-1",
        create=create,
        patience_s=patience_s,
    )


def note(draft_id: str, text: str = "valve V-3 shut, confirmed by gauge") -> Draft:
    """A note that can be found again by its id."""
    return Draft(
        id=draft_id,
        kind=EntryKind.NOTE,
        happened_at=EPOCH + timedelta(hours=30),
        operator="Operator 1",
        position="lead",
        body={"text": text},
    )


def fill(path: Path, count: int, seed: int = 1) -> None:
    """Write notes of mixed length, some longer than a page, so that every kind of page comes to be."""
    lengths = random.Random(seed)
    with open_journal(path) as journal:
        for number in range(1, count + 1):
            length = 9000 if number % 10 == 5 else lengths.randrange(5, 400)
            text = "".join(lengths.choice("abcdefgh µ✓\n") for _ in range(length))
            journal.append(note(f"note-{number}-{lengths.getrandbits(64):016x}", f"{number}: {text}"))
