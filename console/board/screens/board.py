"""The board itself: wires the faces to the one View, and the keys to what they do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.message import Message
from textual.reactive import reactive
from textual.screen import Screen

from console.board.faces.cabin_rows import cabin_lines, cabin_rows_wanted
from console.board.faces.cabin_words import CABIN_KEY
from console.board.faces.clock import clock_lines
from console.board.faces.feed import feed_lines, feed_rows_wanted
from console.board.faces.gauges import gauge_lines, gauge_rows_wanted
from console.board.faces.headline import HEADLINE_ROWS, headline_lines
from console.board.faces.headline_words import headline_words
from console.board.faces.panes import has_five_panes, one_of_all, shown_pane_lines
from console.board.faces.plan import PLAN_ROWS, plan_lines
from console.board.faces.strips import MOST_FAULTS, fault_lines, notice_lines
from console.board.held_keys import hold_keys
from console.board.look import Look
from console.board.rows import Wishes, share_rows
from console.board.view import ALL_PANES_SIZE, MINIMUM_SIZE, Pane, View
from console.board.widgets.face import Face
from console.board.widgets.key_line import KeyLine

Draw = Callable[[View, int, int], list[Text]]

_FACES: tuple[tuple[str, Draw, str], ...] = (
    ("clock", clock_lines, "clock"),
    ("feed", feed_lines, "feed"),
    ("faults", fault_lines, "faults"),
    ("headline", headline_lines, "headline"),
    ("plan", plan_lines, "plan"),
    ("gauges", gauge_lines, "gauges"),
    ("limits", cabin_lines, "limits of the cabin"),
)
_PANES = (Pane.FIGURES, Pane.LEDGER, Pane.CABIN, Pane.STORES, Pane.LOG)
"""In the order in which a large board shows them."""
_LEAST_LOWER_ROWS = 5
_ROOMY_PANE, _ROOMY_ALL_PANES = 8, 13
"""Rows below before more than the most urgent limits of the cabin are shown."""
_FOUR_COLUMNS = 176


class BoardScreen(Screen[None]):
    """The board."""

    class Asked(Message):
        """The operator asked for a dialog."""

        def __init__(self, dialog: str) -> None:
            super().__init__()
            self.dialog = dialog

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "supply", id="board.up", key_display="up"),
        Binding("down", "move(1)", "supply", id="board.down", key_display="down"),
        # The title of each pane names what tab shows next: the last line is for what nothing else tells.
        Binding("tab", "next_pane(1)", "next pane", id="board.next-pane", key_display="tab", show=False),
        Binding("shift+tab", "next_pane(-1)", "pane before", id="board.previous-pane", show=False),
        Binding(CABIN_KEY, "show_cabin", "cabin: air, warmth, limits", id="board.cabin", show=False),
        Binding("pagedown", "scroll_pane(1)", "pane down", id="board.pane-down", show=False),
        Binding("pageup", "scroll_pane(-1)", "pane up", id="board.pane-up", show=False),
        Binding(
            "escape", "first_look", "first look: log, shortest supply", id="board.first-look", show=False
        ),
        Binding("d", "ask('decide')", "decide", id="board.decide"),
        Binding("e", "ask('why')", "why", id="board.why"),
        Binding("s", "ask('step')", "log step", id="board.step"),
        Binding("n", "ask('note')", "note", id="board.note"),
        Binding("c", "ask('loads')", "config", id="board.loads"),
        Binding("question_mark,f1", "ask('help')", "help", id="board.help", key_display="?"),
        Binding("q", "app.quit", "quit", id="board.quit"),
    ]
    AUTO_FOCUS = ""

    view: reactive[View | None] = reactive(None, always_update=True)

    def __init__(self, look: Look, *, read_only: bool) -> None:
        super().__init__(id="board")
        self._look = look
        self._read_only = read_only

    def compose(self) -> ComposeResult:
        """Every face, once for ever."""
        ascii_only = self._look.ascii_only
        yield Face[View](headline_words, what="headline", ascii_only=ascii_only, id="small")
        for name, draw, what in _FACES:
            yield Face[View](draw, what=what, ascii_only=ascii_only, id=name)
        with Container(id="lower"):
            yield Face[View](shown_pane_lines, what="pane", ascii_only=ascii_only, id="pane")
            for pane in _PANES:
                yield Face[View](one_of_all(pane), what=pane.value, ascii_only=ascii_only, id=pane.value)
        yield Face[View](notice_lines, what="notice", ascii_only=ascii_only, id="notice")
        yield KeyLine(self._look)

    def on_resize(self, event: events.Resize) -> None:
        """Another size may be another arrangement."""
        columns, rows = event.size
        self.set_class(columns < MINIMUM_SIZE[0] or rows < MINIMUM_SIZE[1], "-small")
        self.set_class(columns >= ALL_PANES_SIZE[0] and rows >= ALL_PANES_SIZE[1], "-all-panes")
        self.set_class(columns >= _FOUR_COLUMNS, "-four-columns")
        if self.view is not None:
            self.view = replace(self.view, size=(columns, rows))

    def watch_view(self, view: View | None) -> None:
        """Show a state in every face."""
        if view is None or not self.is_mounted:
            return
        self._arrange(view)
        for face in self.query(Face):
            if face.display and not isinstance(face, KeyLine):
                face.show(view)

    def _arrange(self, view: View) -> None:
        """Give the rows to those who need them now; set only what changes, as each setting is a layout."""
        faults = min(len(view.faults), MOST_FAULTS)
        notice = 1 if view.notice else 0
        rows = self.size.height
        feed = feed_rows_wanted(view, self.size.width)
        others = 1 + feed + faults + HEADLINE_ROWS + PLAN_ROWS + notice + 1
        lower = _LEAST_LOWER_ROWS
        roomy = _ROOMY_ALL_PANES if self.has_class("-all-panes") else _ROOMY_PANE
        if view.pane is Pane.LOG and not self.has_class("-all-panes"):
            # What a short log leaves blank goes to the reasons for doubtful figures.
            lower = min(lower, 1 + len(view.entries))
            roomy = min(roomy, 1 + len(view.entries))
        supplies = len(view.snapshot.supplies) if view.snapshot is not None else 1
        gauges, limits = share_rows(
            Wishes(
                free=rows - others,
                supplies=1 + supplies if supplies else 0,
                gauges=gauge_rows_wanted(view),
                cabin=self._cabin_rows(view),
                pane=lower,
                roomy_pane=max(lower, roomy),
            )
        )
        heights = {"feed": feed, "faults": faults, "notice": notice, "gauges": gauges, "limits": limits}
        self.set_class(has_five_panes(view), "-five-panes")
        self.set_class(not supplies, "-no-supplies")
        # Whichever faces there are: while the board is taken down a last word may still come.
        for face in self.query(Face):
            height = heights.get(face.id or "")
            wanted = None if face.styles.height is None else face.styles.height.value
            if height is not None and wanted != height:
                face.styles.height = height
                face.set_class(height == 0, "-none")

    def _cabin_rows(self, view: View) -> int:
        """Where the pane of the cabin itself is below, its most urgent limit in one row is enough."""
        wanted = cabin_rows_wanted(view)
        is_below = view.pane is Pane.CABIN and not self.has_class("-all-panes")
        return min(wanted, 1) if is_below else wanted

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A board that only shows has no keys for logging."""
        return not (self._read_only and action == "ask" and parameters and parameters[0] in ("step", "note"))

    def action_move(self, by: int) -> None:
        """Select the next supply, and show its figures where the log stood."""
        view = self.view
        if view is None or view.snapshot is None or view.supply is None:
            return
        names = list(view.snapshot.supplies)
        at = min(len(names) - 1, max(0, names.index(view.supply.name) + by))
        pane = Pane.FIGURES if view.pane is Pane.LOG else view.pane
        self.view = replace(view, selected=names[at], pane=pane, scroll=0)

    def action_next_pane(self, by: int) -> None:
        """Show another pane in the lower part."""
        if self.view is not None:
            panes = self.view.panes
            at = panes.index(self.view.pane) if self.view.pane in panes else 0
            self.view = replace(self.view, pane=panes[(at + by) % len(panes)], scroll=0)

    def action_show_cabin(self) -> None:
        """Show the pane of the cabin, and the second time the log again."""
        if self.view is not None and Pane.CABIN in self.view.panes:
            pane = Pane.LOG if self.view.pane is Pane.CABIN else Pane.CABIN
            self.view = replace(self.view, pane=pane, scroll=0)

    def action_scroll_pane(self, by: int) -> None:
        """Move the shown pane by half its height; in the log, up is towards older entries."""
        if self.view is not None:
            step = max(1, self.query_one("#lower").size.height // 2)
            towards = -by if self.view.pane is Pane.LOG else by
            self.view = replace(self.view, scroll=max(0, self.view.scroll + towards * step))

    def action_first_look(self) -> None:
        """Back to what the board showed first."""
        if self.view is not None:
            self.view = replace(self.view, selected=None, pane=Pane.LOG, scroll=0)

    def action_ask(self, dialog: str) -> None:
        """Ask for a dialog."""
        hold_keys(self)
        self.post_message(self.Asked(dialog))
