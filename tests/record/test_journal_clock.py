"""The clock of the host is set while the journal is in use: an entry of its own, found at the next append."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from console.record.entry import Draft, EntryKind
from console.record.journal import Journal
from console.record.verify import verify

Make = Callable[..., Draft]


@pytest.fixture(autouse=True)
def one_boot(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every journal of the test lives in the same boot, also where the system names none."""
    monkeypatch.setattr("console.record.journal.boot_id", lambda: "boot-1")


def _pass(clock: Any, seconds: float, step_s: float = 0.0) -> None:
    clock.seconds += seconds
    clock.now += timedelta(seconds=seconds + step_s)


def test_a_clock_that_was_set_back_is_told_before_the_entry_that_finds_it(
    opened: Callable[..., Journal], draft: Make, clock: Any
) -> None:
    journal = opened(watches_clock=True)
    journal.append(draft("a"))
    due = clock.now + timedelta(minutes=10)
    _pass(clock, 600.0, step_s=-3600.0)
    entry = journal.append(draft("b"))
    kinds = [(each.sequence, each.kind) for each in journal.entries()]
    assert kinds == [(1, EntryKind.NOTE), (2, EntryKind.CLOCK), (3, EntryKind.NOTE)]
    assert (entry.sequence, entry.id) == (3, "b")
    told = journal.entries()[1]
    assert told.body["step_s"] == -3600.0
    assert told.body["since"] == 1
    assert told.body["from"] == due.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    assert "clock of console-1 was set back by 1 h after #1" in told.text
    assert (told.host, told.operator, told.happened_at) == ("console-1", "", clock.now)


@pytest.mark.parametrize("step_s", [2.5, -2.5, 86400.0, -86400.0 * 400])
def test_a_step_either_way_is_told_once(
    opened: Callable[..., Journal], draft: Make, clock: Any, step_s: float
) -> None:
    journal = opened(watches_clock=True)
    journal.append(draft("a"))
    _pass(clock, 5.0, step_s=step_s)
    journal.append(draft("b"))
    _pass(clock, 5.0)
    journal.append(draft("c"))
    told = journal.of_kinds((EntryKind.CLOCK,))
    assert [entry.body["step_s"] for entry in told] == [pytest.approx(step_s)]


@pytest.mark.parametrize("seconds", [0.0, 1.0, 86400.0 * 30])
def test_time_that_passes_is_no_step(
    opened: Callable[..., Journal], draft: Make, clock: Any, seconds: float
) -> None:
    journal = opened(watches_clock=True)
    for number in range(3):
        journal.append(draft(f"n{number}"))
        _pass(clock, seconds, step_s=1.5)  # a leap second and the way of a busy moment
    assert journal.of_kinds((EntryKind.CLOCK,)) == ()


def test_two_consoles_of_one_host_tell_a_step_once(
    opened: Callable[..., Journal], draft: Make, clock: Any
) -> None:
    here, there = opened(watches_clock=True), opened(watches_clock=True)
    here.append(draft("a"))
    there.append(draft("b"))
    _pass(clock, 60.0, step_s=120.0)
    here.append(draft("c"))
    there.append(draft("d"))
    assert [entry.sequence for entry in here.of_kinds((EntryKind.CLOCK,))] == [3]


def test_another_boot_is_not_compared(
    opened: Callable[..., Journal], draft: Make, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(watches_clock=True).append(draft("a"))
    monkeypatch.setattr("console.record.journal.boot_id", lambda: "boot-2")
    clock.seconds = 5.0
    after = opened(watches_clock=True)
    after.append(draft("b"))
    assert after.of_kinds((EntryKind.CLOCK,)) == ()


def test_a_resend_tells_no_step_and_a_rehearsal_never_does(
    opened: Callable[..., Journal], draft: Make, clock: Any
) -> None:
    journal = opened(watches_clock=True)
    journal.append(draft("a"))
    _pass(clock, 60.0, step_s=-300.0)
    assert journal.append(draft("a")).sequence == 1
    rehearsal = opened()
    rehearsal.append(draft("b"))
    assert [entry.kind for entry in journal.entries()] == [EntryKind.NOTE, EntryKind.NOTE]


def test_the_entry_of_a_step_is_chained_and_verified_like_any_other(
    opened: Callable[..., Journal], draft: Make, clock: Any, path: Any
) -> None:
    journal = opened(watches_clock=True)
    journal.append(draft("a"))
    _pass(clock, 60.0, step_s=7200.0)
    journal.append(draft("b"))
    found = verify(path)
    assert (found.is_sound, found.count) == (True, 3)


def test_an_entry_of_the_last_boot_with_an_unreadable_time_does_not_keep_a_new_one_out(
    opened: Callable[..., Journal], draft: Make, tampered: Callable[..., None]
) -> None:
    opened(watches_clock=True).append(draft("a"))
    tampered("UPDATE entry SET written_at = 'noon' WHERE sequence = 1")
    assert opened(watches_clock=True).append(draft("b")).sequence == 2
