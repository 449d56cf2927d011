"""A scripted watch at a board whose disk fails at its n-th write, sync, open or delete, for every n in turn.

The disk fails once, or from then on for some entries or to the end of the watch, or is full for so long.
What was typed must be in the journal when the disk is well again, all of it, once, in order, with its times;
and an entry that was told as saved must have been on the disk at that moment.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from journal_disk import FaultyDisk
from journal_scene import EPOCH

from console.record.entry import Draft, EntryKind
from console.record.journal_keeping import KeepingJournal
from console.record.journal_kept import NotYetSavedError
from console.record.verify import verify

_WAYS = (
    ("once", {"fails_on": False, "runs_full": False}, 0),
    ("for a while", {"fails_on": True, "runs_full": False}, 3),
    ("to the end", {"fails_on": True, "runs_full": False}, 99),
    ("full for a while", {"fails_on": True, "runs_full": True}, 3),
)
"""Each with how many entries are still typed before the disk is well again."""


@dataclass
class WatchFigures:
    """What came out of the watches."""

    watches: int = 0
    failures: int = 0
    """Watches in which something failed."""
    kept: int = 0
    """Entries that could not be written when they were typed."""
    told_too_early: int = 0
    """Entries told as saved that another reader did not find on the disk."""
    lost: int = 0
    out_of_order: int = 0
    changed: int = 0
    """Entries whose event time or text is not what was typed."""
    still_kept: int = 0
    """Entries that stayed in memory though the disk was well again."""
    faults: list[str] = field(default_factory=list)


def script() -> list[Draft]:
    """What is typed in the watch: notes, a long one, steps, a correction."""
    drafts = []
    for number in range(1, 9):
        kind, body = EntryKind.NOTE, {"text": f"entry {number}" + (" long" * 2000 if number == 5 else "")}
        if number in (2, 6):
            kind, body = EntryKind.STEP, {"text": f"entry {number}", "loads": {"fan": "off"}}
        if number == 7:
            kind, body = EntryKind.CORRECTION, {"text": f"entry {number}", "corrects": 1, "withdrawn": False}
        drafts.append(
            Draft(
                id=f"watch-{number}",
                kind=kind,
                happened_at=EPOCH + timedelta(hours=30, minutes=number),
                operator="Operator 1",
                position="lead",
                body=body,
            )
        )
    return drafts


def fail_a_watch(folder: Path, *, every: int = 1) -> WatchFigures:
    """Fail the first act of the watch, then the second, until a watch goes through untouched.

    Args:
        folder: where the journals are made.
        every: leave out all but each so-many-th act, for a short form.
    """
    figures = WatchFigures()
    disk = FaultyDisk()
    try:
        for name, how, more in _WAYS:
            number = 1
            while _watch(disk, folder / f"{name.replace(' ', '-')}-{number}.db", number, how, more, figures):
                number += every
    finally:
        disk.take_away()
    return figures


def _watch(
    disk: FaultyDisk, path: Path, fail_at: int, how: dict[str, bool], more: int, figures: WatchFigures
) -> bool:
    """Whether anything failed."""
    drafts = script()
    with _journal(path) as journal:
        disk.arm(fail_at, **how)
        well_after: int | None = None
        for index, draft in enumerate(drafts):
            figures.told_too_early += _type(journal, draft, figures)
            if disk.failed and well_after is None:
                well_after = index + more
            if well_after is not None and index >= well_after:
                disk.fail_at = None
        has_failed = bool(disk.failed)
        disk.arm(None)
        journal.write_kept()
        figures.still_kept += len(journal.kept().drafts) + len(journal.kept().refused)
    figures.watches += 1
    figures.failures += has_failed
    _examine(path, drafts, figures)
    path.unlink()
    return has_failed


def _type(journal: KeepingJournal, draft: Draft, figures: WatchFigures) -> bool:
    """Type one entry; whether it was told as saved and was not on the disk."""
    try:
        entry = journal.append(draft)
    except NotYetSavedError:
        figures.kept += 1
        return False
    return (entry.sequence, draft.id) not in _on_disk(journal.path)


def _on_disk(path: Path) -> list[tuple[int, str]]:
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        return connection.execute("SELECT sequence, id FROM entry ORDER BY sequence").fetchall()


def _examine(path: Path, drafts: Sequence[Draft], figures: WatchFigures) -> None:
    with _journal(path) as journal:
        entries = journal.entries()
    found = [entry.id for entry in entries]
    due = [draft.id for draft in drafts]
    figures.lost += len(set(due) - set(found))
    figures.out_of_order += found != [draft_id for draft_id in due if draft_id in found]
    by_id = {entry.id: entry for entry in entries}
    for draft in drafts:
        entry = by_id.get(draft.id)
        if entry is not None:
            figures.changed += (entry.happened_at, entry.body) != (draft.happened_at, draft.body)
    figures.faults += [str(fault) for fault in verify(path).faults]


def _journal(path: Path) -> KeepingJournal:
    return KeepingJournal.open(
        path,
        scenario="tern",
        epoch=EPOCH,
        clock=lambda: datetime.now(UTC),
        monotonic=lambda: 0.0,
        host="console-1",
        patience_s=30.0,
    )
