"""What corrections make of entries: both texts stay, the newest correction that holds says what is right."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from console.record.entry import Entry, EntryKind
from console.record.journal_corrections import standings

Make = Callable[..., Entry]


def _correction(entry: Make, sequence: int, corrects: int, text: str, *, withdrawn: bool = False) -> Entry:
    body: dict[str, Any] = {"text": text, "corrects": corrects, "withdrawn": withdrawn}
    return entry(sequence, EntryKind.CORRECTION, body)


def test_a_correction_says_what_is_right_and_by_which_number(entry: Make) -> None:
    found = standings((entry(1, EntryKind.NOTE, {"text": "fan 1"}), _correction(entry, 2, 1, "fan 2")))
    assert set(found) == {1}
    assert (found[1].words, found[1].text, found[1].is_withdrawn) == ("CORRECTED by #2", "fan 2", False)


def test_the_newest_correction_counts_and_all_are_named(entry: Make) -> None:
    found = standings((_correction(entry, 2, 1, "fan 2"), _correction(entry, 5, 1, "fan 3")))
    assert (found[1].words, found[1].text) == ("CORRECTED by #2, #5", "fan 3")


def test_a_correction_that_is_corrected_hands_its_new_text_on(entry: Make) -> None:
    found = standings((_correction(entry, 2, 1, "fan 2"), _correction(entry, 3, 2, "fan 4, in fact")))
    assert (found[1].by, found[1].text) == ((2, 3), "fan 4, in fact")
    assert (found[2].by, found[2].text) == ((3,), "fan 4, in fact")


def test_a_withdrawn_step_is_withdrawn_and_a_later_correction_does_not_bring_it_back(entry: Make) -> None:
    gone = _correction(entry, 2, 1, "not done", withdrawn=True)
    found = standings((gone, _correction(entry, 3, 1, "fan 3")))
    assert (found[1].is_withdrawn, found[1].words) == (True, "WITHDRAWN by #2, #3")


def test_a_withdrawal_that_was_withdrawn_leaves_the_entry_as_it_was(entry: Make) -> None:
    gone = _correction(entry, 2, 1, "not done", withdrawn=True)
    found = standings((gone, _correction(entry, 3, 2, "it was done", withdrawn=True)))
    assert 1 not in found
    assert (found[2].is_withdrawn, found[2].text) == (True, "it was done")


def test_entries_that_nobody_corrected_stand_for_themselves(entry: Make) -> None:
    assert standings((entry(1, EntryKind.NOTE, {"text": "a", "corrects": 1}),)) == {}
