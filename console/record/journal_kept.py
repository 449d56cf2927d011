"""Entries that could not be written yet: what is said of them. See ``journal_keeping`` for who keeps them."""

from __future__ import annotations

from dataclasses import dataclass

from console.errors import JournalError
from console.record.entry import Draft


class NotYetSavedError(JournalError):
    """An entry is not in the journal; it is kept in memory, and written when the journal can be again."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept:
    """What waits to be written."""

    drafts: tuple[Draft, ...] = ()
    """In the order in which they were typed, with their ids and event times."""
    trouble: str = ""
    """Why nothing can be written now; empty where nothing is known to be in the way."""
    refused: tuple[tuple[Draft, str], ...] = ()
    """What turned out to be no entry of this journal when it could be looked at again, and why."""


NOTHING = Kept()
"""Of a journal that keeps nothing: what it does not write, it says at once."""
