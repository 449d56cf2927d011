"""Which pane a small board shows in its lower part, and which the page keys move on a large one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rich.text import Text

from console.board.faces.figures import figures_lines
from console.board.faces.ledger import ledger_lines
from console.board.faces.logbook import logbook_lines
from console.board.faces.stores import stores_lines
from console.board.view import Pane, View

_DRAWN = {
    Pane.LOG: logbook_lines,
    Pane.FIGURES: figures_lines,
    Pane.STORES: stores_lines,
    Pane.LEDGER: ledger_lines,
}


def one_of_all(pane: Pane) -> Callable[[View, int, int], list[Text]]:
    """A pane among all of them: only the one in hand is moved by the page keys."""

    def draw(view: View, width: int, height: int) -> list[Text]:
        if view.pane is pane:
            return _DRAWN[pane](view, width, height, "in hand")
        return _DRAWN[pane](replace(view, scroll=0), width, height)

    return draw


def shown_pane_lines(view: View, width: int, height: int) -> list[Text]:
    """The pane in hand, with what the next key shows."""
    panes = list(Pane)
    following = panes[(panes.index(view.pane) + 1) % len(panes)]
    return _DRAWN[view.pane](view, width, height, f"tab: {following.value}")
