"""The headline in plain words, for a board that is too small to be drawn: the most needed first."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.cells import clipped, line, padded, wrap
from console.board.faces.feed import feed_lines
from console.board.faces.headline import ends_text, unknown_text, when_text
from console.board.faces.moments import not_updated_text
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import MINIMUM_SIZE, View
from console.display import margin_text

_WHOLE = 1000
"""Cells enough for the whole line of the feed, which is broken into rows here."""


def headline_words(view: View, width: int, height: int) -> list[Text]:
    """As many lines as there is room for; the last says what size the board needs."""
    ground = _ground(view)
    first, rest = _words(view)
    lines = [padded(line(text, style=ground), width) for text in wrap(first, width)]
    lines += [line(text) for part in rest if part for text in wrap(part, width)]
    columns, rows = MINIMUM_SIZE
    need = wrap(f"board needs {columns}x{rows}, has {view.size[0]}x{view.size[1]}", width)
    if height > len(need) + 1:
        lines = [*lines[: height - len(need)], *(line(text) for text in need)]
    return lines[:height]


def _ground(view: View) -> Style:
    snapshot = view.snapshot
    if snapshot is None or snapshot.shortest is None or not_updated_text(view):
        return view.look.palette.old if not_updated_text(view) else Style()
    return view.look.palette.grounds[snapshot.supplies[snapshot.shortest].band]


def _words(view: View) -> tuple[str, list[str]]:
    snapshot = view.snapshot
    if snapshot is None:
        return "first reading ...", list(view.faults)
    old = not_updated_text(view)
    tail = [*(text.plain for text in feed_lines(view, _WHOLE, 1)), *view.faults]
    if snapshot.shortest is None:
        return f"{old or BAND_SYMBOLS[None]} no margin known", tail
    supply = snapshot.supplies[snapshot.shortest]
    low_s = supply.margin_s.p05 if supply.margin_s is not None else None
    name = clipped(supply.name, 24, view.look.glyphs.cut).upper()
    head = f"{BAND_SYMBOLS[supply.band]} {name} {margin_text(low_s)} low end, {BAND_WORDS[supply.band]}"
    rest = ["runs out first: " + when_text(snapshot, supply), ends_text(supply), unknown_text(snapshot)]
    return (f"{old}: {head}" if old else head), [*rest, *tail]
