"""What a log entry says, in one line."""

from __future__ import annotations

from console.board.cells import one_line
from console.display import elapsed_text, time_of_day_text
from console.record.entry import Entry, EntryKind


def entry_words(entry: Entry) -> str:
    """The entry's text, with the step's place and its reason, or the entry that it corrects."""
    body = entry.body
    words = one_line(entry.text)
    if entry.kind is EntryKind.STEP and body.get("procedure"):
        words = f"{one_line(str(body['procedure']))}/{one_line(str(body.get('step', '')))} {words}"
    if entry.kind is EntryKind.STEP and body.get("reason"):
        words = f"{words} (out of order: {one_line(str(body['reason']))})"
    if entry.kind is EntryKind.CORRECTION:
        words = f"corrects #{one_line(str(body.get('corrects', '?')))}: {words}"
    return words


def saved_words(entry: Entry) -> str:
    """That an entry is saved, with what identifies it."""
    at = f"{time_of_day_text(entry.happened_at)} UTC, {elapsed_text(entry.elapsed_s)}"
    return f"saved as #{entry.sequence} at {at}: {entry.kind.value} {entry_words(entry)}"
