"""The last entries of the log, the newest at the bottom."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.faces.entry_words import entry_words
from console.board.faces.pane_title import pane_title, scrolled
from console.board.view import View
from console.display import elapsed_text, time_of_day_text
from console.record.entry import Entry


def logbook_lines(view: View, width: int, height: int, hint: str = "") -> list[Text]:
    """The pane of the log."""
    if not view.entries:
        return scrolled(view, "log: nothing is logged yet", [], (width, height), hint)
    room = max(0, height - 1)
    last = max(min(room, len(view.entries)), len(view.entries) - view.scroll)
    body = [_entry_line(view, entry, width) for entry in view.entries[max(0, last - room) : last]]
    newest = view.entries[-1]
    title = "log" if last == len(view.entries) else "log, older entries"
    note = hint or f"newest #{newest.sequence}"
    return [pane_title(view.look, title, width, note), *body]


def _entry_line(view: View, entry: Entry, width: int) -> Text:
    """One entry: sequence, when it happened, who, what; a late entry says when it was written."""
    strong = view.look.palette.strong
    who = one_line(entry.operator or entry.position)
    text = line(
        (f"#{entry.sequence:<4}", strong),
        f" {time_of_day_text(entry.happened_at)[:5]} {elapsed_text(entry.elapsed_s):<9} ",
        fit(who, 10, view.look.glyphs.cut),
        f" {entry.kind.value} ",
    )
    if entry.is_late:
        text.append(f"(late, written {time_of_day_text(entry.written_at)[:5]}) ")
    text.append(fit(entry_words(entry), max(0, width - text.cell_len), view.look.glyphs.cut), strong)
    return text
