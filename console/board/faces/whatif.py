"""A supposition: its changes, what is wrong with the one being written, and what all of them would do."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import choosable, clipped, fit, line, one_line
from console.board.faces.comparison import comparison_lines
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.look import Look
from console.engine.difference import Difference

NOTHING_LOGGED = "nothing of this is logged"
LIST_ROWS = 4
"""Changes in sight at once."""
HINT_ROWS = 2


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Supposed:
    """Changes, and what they would do."""

    texts: tuple[str, ...]
    compared: Difference


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Whatif:
    """What is shown of a supposition."""

    look: Look
    texts: tuple[str, ...]
    """The changes that hold, in the order in which they were added."""
    at: int
    """Which of them is in hand."""
    supposed: Supposed | None
    standing: Standing
    form: str
    """How the change being written goes on; empty before its first word."""
    completions: tuple[str, ...]
    """What it could go on with, the next word alone."""
    problem: str
    """What is wrong with it."""
    scroll: int


def changes_lines(state: Whatif, width: int, height: int) -> list[Text]:
    """The title, and the changes that hold together."""
    lines = [pane_title(state.look, f"what if: {NOTHING_LOGGED}", width, standing_note(state.standing))]
    if not state.texts:
        return [*lines, line("no change yet: write one below, enter adds it; several hold together")]
    room = max(1, height - 1)
    first = max(0, min(state.at - room // 2, len(state.texts) - room))
    for index in range(first, min(first + room, len(state.texts))):
        style = state.look.palette.selected if index == state.at else state.look.palette.strong
        words = clipped(state.texts[index], max(1, width - 6), state.look.glyphs.cut)
        text = line(
            f"{'>' if index == state.at else ' '}{index + 1:>2}  ", (words, choosable(style, str(index)))
        )
        lines.append(text)
    return lines


def hint_lines(state: Whatif, width: int, height: int) -> list[Text]:
    """Under the line being written: what is wrong with it, or how it can go on."""
    cut = state.look.glyphs.cut
    if state.problem:
        return caution_lines(state.look, state.problem, width)[:height]
    lines = [
        line(fit(f"  form: {state.form}" if state.form else "  words, tab takes the first:", width, cut))
    ]
    words = "  "
    for index, one in enumerate(state.completions):
        piece = f"{one_line(one)}{', ' if index < len(state.completions) - 1 else ''}"
        if cell_len(words) + cell_len(piece) > width - 12:
            words += f"{len(state.completions) - index} more"
            break
        words += piece
    return [*lines, line((fit(words, width, cut), state.look.palette.strong))][:height]


def effect_lines(state: Whatif, width: int, height: int) -> list[Text]:
    """Before, after and difference."""
    supposed = state.supposed
    snapshot = None if supposed is None else supposed.compared.before
    lines = standing_lines(state.look, state.standing, snapshot, width)
    if supposed is not None and supposed.texts != state.texts:
        # The list was changed and what it does now is not reckoned yet: no figure of another list is shown.
        supposed = None
        lines.append(line("reckoning ..."))
    if supposed is None or not supposed.texts:
        return lines[:height]
    body = comparison_lines(state.look, supposed.compared, width)
    room = max(0, height - len(lines))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*lines, *shown][:height]
