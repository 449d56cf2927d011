"""Which pane a small board shows in its lower part, and which the page keys move on a large one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rich.text import Text

from console.board.faces.cabin import cabin_pane_lines
from console.board.faces.figures import figures_lines
from console.board.faces.ledger import ledger_lines
from console.board.faces.logbook import logbook_lines
from console.board.faces.stores import stores_lines
from console.board.view import Pane, View

FIVE_PANES_SIZE = (176, 44)
"""From here on the cabin is seen beside all other panes."""
_DRAWN = {
    Pane.LOG: logbook_lines,
    Pane.FIGURES: figures_lines,
    Pane.STORES: stores_lines,
    Pane.LEDGER: ledger_lines,
    Pane.CABIN: cabin_pane_lines,
}


def shown_in_place(pane: Pane, in_hand: Pane, *, is_shared: bool) -> Pane:
    """What stands in the place of a pane: the cabin has the ledger's where it has none of its own."""
    return Pane.CABIN if is_shared and pane is Pane.LEDGER and in_hand is Pane.CABIN else pane


def one_of_all(pane: Pane) -> Callable[[View, int, int], list[Text]]:
    """A pane among all of them: only the one in hand is moved by the page keys."""

    def draw(view: View, width: int, height: int) -> list[Text]:
        shown = shown_in_place(pane, view.pane, is_shared=not has_five_panes(view))
        if view.pane is shown:
            return _DRAWN[shown](view, width, height, "in hand")
        return _DRAWN[shown](replace(view, scroll=0), width, height)

    return draw


def has_five_panes(view: View) -> bool:
    """Whether the board is large enough that the cabin has a place of its own beside the others."""
    columns, rows = view.size
    return Pane.CABIN in view.panes and columns >= FIVE_PANES_SIZE[0] and rows >= FIVE_PANES_SIZE[1]


def shown_pane_lines(view: View, width: int, height: int) -> list[Text]:
    """The pane in hand, with what the next key shows."""
    panes = view.panes
    at = panes.index(view.pane) if view.pane in panes else 0
    following = panes[(at + 1) % len(panes)]
    return _DRAWN[view.pane](view, width, height, f"tab: {following.value}")
