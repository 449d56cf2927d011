"""The last entries of the log, the newest at the bottom."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.cells import clipped, fit, line, one_line
from console.board.faces.entry_words import entry_words, standing_words
from console.board.faces.pane_title import pane_title, scrolled
from console.board.view import View
from console.craft.plan import watch_at
from console.display import elapsed_text, time_of_day_text
from console.record.entry import Entry

_WIDE = 110
"""Columns from which on an entry says also from where it was written and in whose watch."""
STRUCK = Style(strike=True, dim=True)
"""Of what an entry said before it was corrected; the word stands beside it wherever it is used."""


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
    text = line(
        (f"#{entry.sequence:<4}", strong),
        f" {time_of_day_text(entry.happened_at)[:5]} {elapsed_text(entry.elapsed_s):<9} ",
        fit(*_who(view, entry, width), view.look.glyphs.cut),
        f" {entry.kind.value} ",
    )
    if entry.is_late:
        text.append(f"(late, written {time_of_day_text(entry.written_at)[:5]}) ")
    standing = view.standings.get(entry.sequence)
    cut = view.look.glyphs.cut
    if standing is None:
        text.append(fit(entry_words(entry), max(0, width - text.cell_len), cut), strong)
        return text
    # What is right comes first, so that a narrow board cuts off the old text and never the new.
    text.append(fit(standing_words(standing), max(0, width - text.cell_len), cut).rstrip() + " ", strong)
    room = width - text.cell_len
    if room > 0:
        text.append(clipped(entry_words(entry), room, cut), STRUCK)
    text.truncate(width)
    return text


def _who(view: View, entry: Entry, width: int) -> tuple[str, int]:
    """Who wrote it, and in how many cells; with room also from where, and whose watch it was by the plan."""
    who = one_line(entry.operator or entry.position or f"host {entry.host}")
    if width < _WIDE:
        return who, 10
    if entry.operator and entry.position:
        who += f" ({one_line(entry.position)})"
    watch = watch_at(view.watches, entry.elapsed_s)
    return (who if watch is None else f"{who}, {one_line(watch.name)}"), 26
