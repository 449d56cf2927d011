"""The lines above a note: its title, and what became of the last try to save it."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import fit, line, padded
from console.board.faces.pane_title import pane_title
from console.board.look import Look


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NoteState:
    """What is to be said about a note in hand."""

    look: Look
    problem: str
    """Why it was not saved; empty where nothing is wrong."""
    is_writing: bool


def note_lines(state: NoteState, width: int, _height: int) -> list[Text]:
    """Two lines."""
    title = pane_title(state.look, "note for the log", width)
    if state.is_writing:
        return [title, line(("writing, not saved yet", state.look.palette.strong))]
    if state.problem:
        words = fit(f" ! NOT SAVED: {state.problem}", width, state.look.glyphs.cut)
        return [title, padded(line(words, style=state.look.palette.fault), width)]
    return [title, line("what is saved can only be corrected by another entry, never changed")]
