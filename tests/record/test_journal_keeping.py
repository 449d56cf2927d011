"""What cannot be written is kept, in order, until the disk is back; until then nothing says saved."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from console.errors import JournalError
from console.record import database
from console.record.admission import EntryRefusedError
from console.record.entry import Draft, EntryKind
from console.record.journal import Journal
from console.record.journal_keeping import KeepingJournal
from console.record.journal_kept import NotYetSavedError
from console.record.known_entries import KnownEntries
from console.record.verify import verify

Make = Callable[..., Draft]
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)


@pytest.fixture
def keeping(path: Path, clock: Any) -> Iterator[KeepingJournal]:
    journal = KeepingJournal.open(
        path,
        scenario="tern",
        epoch=EPOCH,
        clock=lambda: clock.now,
        monotonic=lambda: clock.seconds,
        host="console-1",
    )
    yield journal
    journal.close()


@pytest.fixture
def gone(path: Path) -> Callable[[], Callable[[], None]]:
    """Takes the journal's file away; what it returns puts it back."""

    def take() -> Callable[[], None]:
        away = path.rename(path.with_name("away.db"))
        return lambda: away.rename(path) and None

    return take


def test_entries_typed_while_the_disk_is_gone_are_written_in_order_when_it_is_back(
    keeping: KeepingJournal, draft: Make, gone: Any, clock: Any, path: Path
) -> None:
    keeping.append(draft("before"))
    put_back = gone()
    for number in range(3):
        happened = EPOCH + timedelta(hours=30, minutes=number)
        with pytest.raises(NotYetSavedError, match=r"found no file of that name \(any more\)"):
            keeping.append(draft(f"n{number}", happened_at=happened))
    assert [kept.id for kept in keeping.kept().drafts] == ["n0", "n1", "n2"]
    assert keeping.write_kept() == ()
    put_back()
    clock.now += timedelta(hours=1)
    written = keeping.write_kept()
    assert [(entry.sequence, entry.id) for entry in written] == [(2, "n0"), (3, "n1"), (4, "n2")]
    assert [entry.happened_at for entry in written] == [
        EPOCH + timedelta(hours=30, minutes=number) for number in range(3)
    ]
    assert all(entry.is_late for entry in written)
    assert (keeping.kept().drafts, keeping.kept().trouble) == ((), "")
    assert [entry.id for entry in keeping.entries()] == ["before", "n0", "n1", "n2"]
    assert verify(path).is_sound


def test_a_new_entry_never_overtakes_one_that_is_kept(
    keeping: KeepingJournal, draft: Make, gone: Any
) -> None:
    put_back = gone()
    with pytest.raises(NotYetSavedError):
        keeping.append(draft("first"))
    put_back()
    assert keeping.append(draft("second")).sequence == 2
    assert [entry.id for entry in keeping.entries()] == ["first", "second"]


def test_the_same_draft_again_is_kept_once_and_written_once(
    keeping: KeepingJournal, draft: Make, gone: Any
) -> None:
    put_back = gone()
    for _ in range(3):
        with pytest.raises(NotYetSavedError):
            keeping.append(draft("same"))
    assert len(keeping.kept().drafts) == 1
    put_back()
    assert keeping.append(draft("same")).sequence == 1
    assert keeping.append(draft("same")).sequence == 1


def test_what_can_never_be_an_entry_is_refused_at_once_and_not_kept(
    keeping: KeepingJournal, draft: Make, gone: Any
) -> None:
    gone()
    with pytest.raises(EntryRefusedError):
        keeping.append(draft("empty", body={"text": " "}))
    assert keeping.kept().drafts == ()


def test_a_correction_of_nothing_is_refused_and_holds_up_no_other(
    keeping: KeepingJournal, draft: Make, gone: Any
) -> None:
    wrong = draft("wrong", kind=EntryKind.CORRECTION, body={"text": "x", "corrects": 9})
    with pytest.raises(EntryRefusedError, match="found no entry #9 to correct; the journal has no entries"):
        keeping.append(wrong)
    assert keeping.kept().refused == ()
    put_back = gone()
    for each in (wrong, draft("right")):
        with pytest.raises(NotYetSavedError):
            keeping.append(each)
    put_back()
    assert [entry.id for entry in keeping.write_kept()] == ["right"]
    assert [(each.id, "no entry #9" in why) for each, why in keeping.kept().refused] == [("wrong", True)]


def test_another_program_that_holds_the_journal_costs_nothing_but_time(
    path: Path, draft: Make, clock: Any, raw: Any
) -> None:
    with KeepingJournal.open(
        path,
        scenario="tern",
        epoch=EPOCH,
        clock=lambda: clock.now,
        monotonic=lambda: clock.seconds,
        patience_s=0.0,
    ) as journal:
        holder = raw()
        holder.execute("BEGIN EXCLUSIVE")
        with pytest.raises(NotYetSavedError, match="another program holds the journal"):
            journal.append(draft("a"))
        holder.execute("ROLLBACK")
        assert [entry.id for entry in journal.write_kept()] == ["a"]


def test_trouble_is_found_before_an_entry_meets_it(
    keeping: KeepingJournal, gone: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeping.write_kept()
    assert keeping.kept().trouble == ""
    monkeypatch.setattr(database, "SPACE_NEEDED", sys.maxsize)
    keeping.write_kept()
    assert "the disk is full" in keeping.kept().trouble
    monkeypatch.undo()
    put_back = gone()
    keeping.write_kept()
    assert "found no file of that name (any more)" in keeping.kept().trouble
    put_back()
    keeping.write_kept()
    assert keeping.kept().trouble == ""


def test_a_file_that_may_not_be_written_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path.touch()
    monkeypatch.setattr(database.os, "access", lambda *_: False)
    assert "read-only" in database.disk_trouble(path)


def test_figures_go_on_with_the_steps_that_were_known_and_the_log_says_what_is_wrong(
    journal: Journal, draft: Make, gone: Any
) -> None:
    step = {"text": "radio off", "loads": {"s-radio": "off"}}
    journal.append(draft("a", kind=EntryKind.STEP, body=step))
    known = KnownEntries(journal)
    before = known.changes()
    put_back = gone()
    assert known.changes() is before
    with pytest.raises(JournalError, match="any more"):
        known.newest(10)
    put_back()
    assert [entry.id for entry in known.newest(10)] == ["a"]


def test_a_journal_that_cannot_be_read_from_the_start_is_told_and_gives_no_figures(
    journal: Journal, gone: Any
) -> None:
    gone()
    with pytest.raises(JournalError, match="any more"):
        KnownEntries(journal).changes()
