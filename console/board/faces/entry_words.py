"""What a log entry says, in one line, and what is said of one that is not saved yet."""

from __future__ import annotations

from console.board.cells import one_line
from console.display import elapsed_text, time_of_day_text
from console.record.entry import Draft, Entry
from console.record.journal_corrections import Standing
from console.record.journal_kept import Kept


def entry_words(entry: Entry) -> str:
    """The entry's sentence without its line ends."""
    return one_line(entry.sentence)


def standing_words(standing: Standing) -> str:
    """What is right instead, with the numbers that say so; what was said stands behind it, struck through."""
    return f"{standing.words}: {one_line(standing.text)}; it said:"


def saved_words(entry: Entry) -> str:
    """That an entry is saved, with what identifies it."""
    at = f"{time_of_day_text(entry.happened_at)} UTC, {elapsed_text(entry.elapsed_s)}"
    return f"saved as #{entry.sequence} at {at}: {entry.kind.value} {entry_words(entry)}"


def drafts_of(kept: Kept) -> tuple[Draft, ...]:
    """Everything that was typed and is not in the journal."""
    return (*(draft for draft, _ in kept.refused), *kept.drafts)


def kept_text(draft: Draft) -> str:
    """What an entry that is not in the journal says, with when it happened."""
    place = f"{draft.body['procedure']}/{draft.body.get('step', '')} " if draft.body.get("procedure") else ""
    at = time_of_day_text(draft.happened_at)
    return f"{place}{one_line(str(draft.body.get('text', '')))} (happened {at} UTC)"


def kept_faults(kept: Kept) -> list[str]:
    """The standing faults of a log that cannot be written; none where all is well."""
    faults = []
    count = len(kept.drafts)
    if count:
        what = "1 entry" if count == 1 else f"{count} entries"
        faults.append(f"LOG: {what} NOT SAVED, kept here, do not type again: {one_line(kept.trouble)}")
    elif kept.trouble:
        faults.append(f"LOG: CANNOT BE WRITTEN, new entries will be kept: {one_line(kept.trouble)}")
    faults += [f"LOG: REFUSED, not saved: {kept_text(draft)}: {one_line(why)}" for draft, why in kept.refused]
    return faults
