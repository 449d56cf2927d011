"""Journal entries as lines of plain text. A correction stands on a line of its own; nothing is hidden."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import elapsed_text, utc_text
from console.record.entry import Entry


def entries_text(entries: Sequence[Entry]) -> str:
    """One line an entry, newest last; further lines of a long text are indented."""
    if not entries:
        return "the journal has no entries"
    return "\n".join(entry_line(entry) for entry in entries)


def entry_line(entry: Entry) -> str:
    """One entry: sequence, when it happened, who, what; both times where it was written late."""
    who = f"{entry.operator} ({entry.position})" if entry.position else entry.operator
    late = f" [late, written {utc_text(entry.written_at)}]" if entry.is_late else ""
    head = (
        f"{entry.sequence:>5}  {elapsed_text(entry.elapsed_s)}  {utc_text(entry.happened_at)}  "
        f"{entry.kind.value}  {who}{late}: "
    )
    return head + entry.sentence.replace("\n", "\n       ")
