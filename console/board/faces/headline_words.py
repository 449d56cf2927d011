"""The headline in plain words, for a board that is too small to be drawn: the most needed first."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.cells import clipped, line, padded, wrap
from console.board.faces.cabin_words import limits_by_urgency
from console.board.faces.feed import feed_lines
from console.board.faces.first import First, first_of
from console.board.faces.headline import is_only_held, unknown_text
from console.board.faces.moments import not_updated_text
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import MINIMUM_SIZE, View
from console.display import margin_text

_WHOLE = 1000
"""Cells enough for the whole line of the feed, which is broken into rows here."""


def headline_words(view: View, width: int, height: int) -> list[Text]:
    """As many lines as there is room for; the last says what size the board needs."""
    first = first_of(view)
    ground = _ground(view, first)
    head, rest = _words(view, first)
    lines = [padded(line(text, style=ground), width) for text in wrap(head, width)]
    lines += [line(text) for part in rest if part for text in wrap(part, width)]
    columns, rows = MINIMUM_SIZE
    need = wrap(f"board needs {columns}x{rows}, has {view.size[0]}x{view.size[1]}", width)
    if height > len(need) + 1:
        lines = [*lines[: height - len(need)], *(line(text) for text in need)]
    return lines[:height]


def _ground(view: View, first: First | None) -> Style:
    if not_updated_text(view):
        return view.look.palette.old
    return Style() if first is None else view.look.palette.grounds[first.band]


def _words(view: View, first: First | None) -> tuple[str, list[str]]:
    snapshot = view.snapshot
    if snapshot is None:
        return "first reading ...", list(view.faults)
    old = not_updated_text(view)
    tail = [*(text.plain for text in feed_lines(view, _WHOLE, 1)), *view.faults]
    if first is None:
        nothing = (
            ". no cabin limit is reached"
            if is_only_held(snapshot)
            else f"{BAND_SYMBOLS[None]} no margin known"
        )
        return (f"{old}: {nothing}" if old else nothing), tail
    low_s = first.margin_s.p05 if first.margin_s is not None else None
    name = clipped(first.name, 24, view.look.glyphs.cut).upper()
    head = f"{BAND_SYMBOLS[first.band]} {name} {margin_text(low_s)} low end, {BAND_WORDS[first.band]}"
    is_supply = first.name in snapshot.supplies
    rest = [
        f"{'runs out' if is_supply else 'reached'} first: {first.when}",
        first.others,
        unknown_text(snapshot),
    ]
    if is_supply:
        rest += _reached_words(view)
    return (f"{old}: {head}" if old else head), [*rest, *tail]


def _reached_words(view: View) -> list[str]:
    """The limits of the cabin that are broken now, where the headline is of a supply."""
    snapshot = view.snapshot
    rows = () if snapshot is None else limits_by_urgency(snapshot)
    names = [clipped(row.limit.name, 24) for row in rows if row.is_reached]
    return [f"X CABIN LIMIT REACHED: {', '.join(names)}"] if names else []
