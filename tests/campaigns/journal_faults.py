"""The journal on a disk that fails at every act in turn, and on one whose power is cut at any moment."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from journal_disk import Act, FaultyDisk, Remembered
from journal_scene import note, open_journal

from console.errors import JournalError
from console.record import database
from console.record.journal import Journal
from console.record.verify import verify

_LONG = "a note longer than a page, so that the file grows by several pages; " * 150
_WAYS = {
    "once": {"fails_on": False, "runs_full": False},
    "for good": {"fails_on": True, "runs_full": False},
    "full": {"fails_on": True, "runs_full": True},
}


@dataclass
class FaultFigures:
    """What came out of failing each act in turn."""

    failures: int = 0
    by_act: dict[str, int] = field(default_factory=dict)
    """By what was the first to fail."""
    told: int = 0
    """Failures that reached the caller as a JournalError."""
    entered_nevertheless: int = 0
    """Of those told, the ones where the entry had been committed already: a resend finds it."""
    unusable: int = 0
    """Appends that failed though the disk was well again."""
    lost: int = 0
    """Appends that were acknowledged, and the entry was not there."""
    doubled: int = 0
    faults: list[str] = field(default_factory=list)


@dataclass
class PowerFigures:
    """What came out of cutting the power."""

    synchronous: str = ""
    power_cuts: int = 0
    rolled_back: int = 0
    """Cuts that left a rollback journal behind."""
    unusable: int = 0
    lost: int = 0
    """Cuts after which an acknowledged entry was not there."""
    faulty: int = 0
    """Cuts after which ``verify`` found a fault."""


@contextmanager
def _faulty_disk() -> Iterator[FaultyDisk]:
    disk = FaultyDisk()
    try:
        yield disk
    finally:
        disk.take_away()


def fail_each_act(folder: Path) -> FaultFigures:
    """Fail the first act of an append, then the second, and so on until an append goes through untouched.

    Once for a moment, once until the append has given up, once as a full disk; with short notes and with
    notes that need new pages.
    """
    figures = FaultFigures()
    with _faulty_disk() as disk:
        for way, how in _WAYS.items():
            for text in ("short", _LONG):
                path = folder / f"failing-{way}-{len(text)}.db"
                with open_journal(path) as journal:
                    number = 1
                    while _fail_one(disk, journal, number, text, how, figures):
                        number += 1
                figures.faults += [str(fault) for fault in verify(path).faults]
    return figures


def _fail_one(
    disk: FaultyDisk, journal: Journal, number: int, text: str, how: dict[str, bool], figures: FaultFigures
) -> bool:
    """Whether anything failed."""
    draft, before, is_told = note(f"note-{number}", text), journal.head().count, False
    disk.arm(number, **how)
    try:
        journal.append(draft)
    except JournalError:
        is_told = True
    failed = tuple(disk.failed)
    disk.arm(None)
    if not failed:
        figures.unusable += is_told
        return False
    figures.failures += 1
    figures.by_act[failed[0]] = figures.by_act.get(failed[0], 0) + 1
    figures.told += is_told
    try:
        between = journal.head().count
        journal.append(draft)
    except JournalError:
        figures.unusable += 1
        return True
    figures.entered_nevertheless += is_told and between == before + 1
    figures.lost += not is_told and between != before + 1
    figures.doubled += journal.head().count != before + 1
    return True


def cut_power(folder: Path, *, cuts: int, seed: int, synchronous: str = "EXTRA") -> PowerFigures:
    """Write entries, then make the disks that power cuts at chance moments would leave, and open those."""
    chance = random.Random(seed)
    with _synchronous(synchronous):
        acts, acknowledged = _acts_of_appends(folder / "journal.db")
    figures = PowerFigures(synchronous=synchronous)
    for number in range(cuts):
        # Every other cut comes at the very moment at which an entry was acknowledged.
        moment = chance.choice(acknowledged)[0] if number % 2 else chance.randrange(len(acts) + 1)
        disk = Remembered({"journal.db": b""})
        for act in acts[:moment]:
            disk.take(act)
        place = folder / f"cut-{number}"
        place.mkdir()
        disk.cut(chance, place)
        due = {draft_id for at, draft_id in acknowledged if at <= moment}
        _examine(place / "journal.db", due, figures)
    return figures


def _acts_of_appends(path: Path, entries: int = 25) -> tuple[list[Act], list[tuple[int, str]]]:
    """What SQLite did to the disk, and after how many acts each entry was acknowledged."""
    acknowledged = []
    with _faulty_disk() as disk, open_journal(path) as journal:
        for number in range(1, entries + 1):
            entry = journal.append(note(f"note-{number}", _LONG if number % 6 == 0 else f"note {number}"))
            acknowledged.append((len(disk.acts), entry.id))
        return disk.acts, acknowledged


def _examine(path: Path, due: set[str], figures: PowerFigures) -> None:
    figures.power_cuts += 1
    figures.rolled_back += path.with_name("journal.db-journal").exists()
    try:
        with open_journal(path) as journal:
            found = {entry.id for entry in journal.entries()}
            journal.append(note("after the cut".replace(" ", "-")))
    except JournalError:
        figures.unusable += 1
        return
    figures.lost += not due <= found
    figures.faulty += bool(verify(path).faults)


@contextmanager
def _synchronous(level: str) -> Iterator[None]:
    """The journal with another setting than its own, to show that the trial can see what that loses."""
    durable = database._make_durable

    def weakened(connection: sqlite3.Connection, path: Path) -> None:
        durable(connection, path)
        connection.execute(f"PRAGMA synchronous={level}")

    database._make_durable = weakened
    try:
        yield
    finally:
        with suppress(AttributeError):
            database._make_durable = durable
