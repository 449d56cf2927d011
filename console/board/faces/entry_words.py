"""What a log entry says, in one line."""

from __future__ import annotations

from console.board.cells import one_line
from console.display import elapsed_text, time_of_day_text
from console.record.entry import Entry


def entry_words(entry: Entry) -> str:
    """The entry's sentence without its line ends."""
    return one_line(entry.sentence)


def saved_words(entry: Entry) -> str:
    """That an entry is saved, with what identifies it."""
    at = f"{time_of_day_text(entry.happened_at)} UTC, {elapsed_text(entry.elapsed_s)}"
    return f"saved as #{entry.sequence} at {at}: {entry.kind.value} {entry_words(entry)}"
