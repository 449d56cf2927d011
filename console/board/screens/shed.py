"""The dialog that says what to switch off next for a margin. Advice alone: it switches and logs nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.desk import Desk
from console.board.faces.shed import Answer, ShedState, shed_lines
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.errors import UnitsError
from console.units import Dimension, quantity_to_si

_HOUR_S = 3600.0
_DEFAULT_MARGIN_S = 12.0 * _HOUR_S
"""Where no supply is short of anything, or its bands are not known."""


class ShedScreen(ModalScreen[None]):
    """One dialog; what is typed stays while it is closed.

    Args:
        look: how the board looks.
        desk: who asks the engine.
        current: what is drawn now, for the supply that is shortest.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "ask", "ask", id="shed.ask", key_display="enter", priority=True),
        Binding("tab", "next_field", "next field", id="shed.field", key_display="tab", priority=True),
        Binding("pagedown,down", "scroll(1)", "more", id="shed.more", show=False, priority=True),
        Binding("pageup,up", "scroll(-1)", "less", id="shed.less", show=False, priority=True),
        Binding("escape", "close", "back", id="shed.close", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = "#margin"

    def __init__(self, look: Look, desk: Desk, current: Callable[[], View | None]) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._current = current
        self._inquiry: Inquiry[Answer] = Inquiry(desk, self._draw)
        self._asked: tuple[str, str] | None = None
        self._problem = ""
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """The two fields and the answer."""
        with Container(classes="dialog"):
            yield Face[ShedState](shed_lines, what="advice", ascii_only=self._look.ascii_only, id="shed")
            with Horizontal(id="shed-row"):
                yield Label("margin", markup=False)
                yield InertInput(id="margin", placeholder="12 h")
                yield Label("switch on for", id="run-for-label", markup=False)
                yield InertInput(id="run-for", placeholder="2 h; may stay empty")
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened: the margin of the caution band of the shortest supply is asked for at first."""
        if not self._field("margin").value.strip():
            self._field("margin").value = self._default_margin()
        self._put()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def action_ask(self) -> None:
        """Ask with what is written, once the fields have taken up every key before this one."""
        self._field("margin").call_later(self._field("run-for").call_later, self._put)

    def action_next_field(self) -> None:
        """From the margin to the time and back."""
        is_margin = self.focused is self._field("margin")
        self.set_focus(self._field("run-for" if is_margin else "margin"))

    def action_scroll(self, by: int) -> None:
        """Move the answer."""
        self._scroll = max(0, self._scroll + 4 * by)
        self._draw()

    def action_close(self) -> None:
        """Back to the board."""
        self.app.pop_screen()

    def on_input_changed(self, _event: Input.Changed) -> None:
        """What was wrong belongs to what was written then."""
        self._problem = ""
        self._draw()

    def _field(self, name: str) -> InertInput:
        return self.query_one(f"#{name}", InertInput)

    def _default_margin(self) -> str:
        view = self._current()
        snapshot = None if view is None else view.snapshot
        supplies = self._desk.session.scenario.craft.supplies
        name = None if snapshot is None else snapshot.shortest
        margin_s = (
            supplies[name].bands.caution_s if name is not None and name in supplies else _DEFAULT_MARGIN_S
        )
        return f"{margin_s / _HOUR_S:g} h"

    def _put(self) -> None:
        asked = (self._field("margin").value.strip(), self._field("run-for").value.strip())
        try:
            goal_s = _time_s(asked[0], "margin")
            run_for_s = _time_s(asked[1], "switch on for") if asked[1] else None
            if run_for_s is not None and run_for_s <= 0.0:
                raise UnitsError(repr(asked[1]), "write a time above zero, as 2 h")
        except UnitsError as error:
            self._problem = f"found {error.found}; {error.expected}"
            self._draw()
            return
        self._problem, self._asked, self._scroll = "", asked, 0
        self._ask(asked, goal_s, run_for_s)

    def _ask(self, asked: tuple[str, str], goal_s: float, run_for_s: float | None) -> None:
        session = self._desk.session
        self._again = (asked, goal_s, run_for_s)

        def work() -> Answer:
            advice = session.shed(goal_s, run_for_s=run_for_s)
            return Answer(asked=asked, advice=advice, allowances=session.allowances())

        self._inquiry.put(work)
        self._draw()

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._asked is not None and self._inquiry.is_due:
            self._ask(*self._again)
        self._draw()

    def _draw(self) -> None:
        answer = self._inquiry.answer
        written = (self._field("margin").value.strip(), self._field("run-for").value.strip())
        state = ShedState(
            look=self._look,
            answer=answer,
            standing=self._inquiry.standing(),
            problem=self._problem,
            is_other=answer is not None and answer.asked != written,
            scroll=self._scroll,
        )
        self.query_one("#shed", Face).show(state)


def _time_s(text: str, field: str) -> float:
    if not text:
        raise UnitsError(f"no {field}", "write a time, as 12 h or 90 min")
    value_s, _ = quantity_to_si(text, Dimension.TIME)
    return value_s
