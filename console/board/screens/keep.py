"""One load: leave it on until a moment, or off now and pay to bring it back. Changes nothing."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.completing import Completing
from console.board.desk import Desk
from console.board.faces.keep import (
    HINT_ROWS,
    KeepState,
    Kept,
    Typed,
    keep_hint_lines,
    keep_lines,
    keep_title_lines,
    listed_hint,
)
from console.board.held_keys import hold_keys, release_keys
from console.board.inquiry import Inquiry
from console.board.keep_words import (
    UNTIL_HINT,
    load_completions,
    read_load,
    read_restart_si,
    read_until_s,
    restart_completions,
    restart_hint,
    restart_words,
    until_words,
)
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.engine.difference import difference
from console.errors import EnduranceError

_FIELDS = ("keep-load", "keep-until", "keep-restart")


class KeepScreen(ModalScreen[None]):
    """One dialog; what is typed stays while it is closed.

    Args:
        look: how the board looks.
        desk: who asks the engine.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "ask", "next, ask", id="keep.ask", key_display="enter", priority=True),
        Binding(
            "tab", "complete", "complete, next field", id="keep.complete", key_display="tab", priority=True
        ),
        Binding("shift+tab", "field(-1)", "field before", id="keep.before", show=False, priority=True),
        Binding("pagedown,down", "scroll(1)", "more", id="keep.more", show=False, priority=True),
        Binding("pageup,up", "scroll(-1)", "less", id="keep.less", show=False, priority=True),
        Binding("escape", "close", "back", id="keep.close", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = "#keep-load"

    def __init__(self, look: Look, desk: Desk) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._craft = desk.session.scenario.craft
        self._inquiry: Inquiry[Kept] = Inquiry(desk, self._draw)
        self._completing = Completing()
        self._asked: tuple[Typed, str, float, dict[str, float]] | None = None
        """The last question that could be read."""
        self._problem = ""
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """The question, its three fields, what helps to write them, and the answer."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[KeepState](keep_title_lines, what="question", ascii_only=ascii_only, id="keep-title")
            with Horizontal(id="keep-row"):
                yield Label("load", markup=False)
                yield InertInput(id="keep-load", placeholder="tab completes")
                yield Label("wanted again", id="keep-until-label", markup=False)
                yield InertInput(id="keep-until", placeholder=UNTIL_HINT)
            with Horizontal(id="keep-restart-row"):
                yield Label("bring back", markup=False)
                yield InertInput(id="keep-restart", placeholder=restart_hint(self._craft))
            yield Face[KeepState](keep_hint_lines, what="hint", ascii_only=ascii_only, id="keep-hint")
            yield Face[KeepState](keep_lines, what="both ways", ascii_only=ascii_only, id="keep")
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.query_one("#keep-title").styles.height = 1
        self.query_one("#keep-hint").styles.height = HINT_ROWS
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened: what was asked before is reckoned anew."""
        self.set_focus(self._field(_FIELDS[0]))
        if self._asked is not None:
            self._put()
        self._draw()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        """Another field in hand: another hint."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def action_ask(self) -> None:
        """Ask, once the fields have taken up every key before this one; the first empty one comes first."""
        hold_keys(self)
        first, second, third = (self._field(name) for name in _FIELDS)
        first.call_later(second.call_later, third.call_later, self._ask)

    def _ask(self) -> None:
        field = self._in_hand
        empty = [name for name in _FIELDS if not self._field(name).value.strip()]
        if empty and field.id not in empty:
            self._problem = self._fault(field.id or "")
            if not self._problem:
                self.set_focus(self._field(empty[0]))
            self._draw()
        else:
            self._read()
        release_keys(self)

    def _fault(self, name: str) -> str:
        """What is wrong with one field by itself; empty where nothing is."""
        load, until, restart = self._typed
        try:
            if name == "keep-load":
                read_load(load, self._craft)
            elif name == "keep-until":
                read_until_s(until, self._craft.epoch, self._desk.session.now_s())
            elif load in self._craft.loads:
                read_restart_si(restart, load, self._craft)
        except EnduranceError as error:
            return str(error)
        return ""

    def _read(self) -> None:
        """Take up what is written, or go to the first field that cannot be read and say why."""
        for name in _FIELDS:
            self._problem = self._fault(name)
            if self._problem:
                self.set_focus(self._field(name))
                self._draw()
                return
        typed = self._typed
        until_s = read_until_s(typed[1], self._craft.epoch, self._desk.session.now_s())
        self._asked = (typed, typed[0], until_s, read_restart_si(typed[2], typed[0], self._craft))
        self._scroll = 0
        self._put()
        self._draw()

    def _put(self) -> None:
        if self._asked is None:
            return
        typed, load, until_s, restart_si = self._asked
        session = self._desk.session

        def work() -> Kept:
            choice = session.keep_or_off(load, until_s, restart_si)
            drawing = {each.name for each in choice.keep.loads if each.draw_si_per_s > 0.0}
            needed_by = tuple(
                other.name
                for other in session.scenario.craft.loads.values()
                if load in other.needs and other.name in drawing
            )
            compared = difference(choice.keep, choice.off)
            return Kept(asked=typed, choice=choice, compared=compared, needed_by=needed_by)

        self._inquiry.put(work)

    def action_complete(self) -> None:
        """Complete the name that is begun; where there is none, go to the next field."""
        hold_keys(self)
        field = self._in_hand
        field.call_later(self._complete, field)

    def _complete(self, field: InertInput) -> None:
        taken = None
        if field.id == "keep-load" and not self._is_settled(field.value):
            taken = self._completing.taken(field.value.strip(), self._load_completions(field.value))
        elif field.id == "keep-restart":
            taken = self._completing.taken(field.value, self._restart_completions(field.value))
        if taken is None:
            self.action_field(1)
        else:
            field.value = taken
            field.cursor_position = len(taken)
        release_keys(self)

    def action_field(self, by: int) -> None:
        """The next field, and after the last the first."""
        at = _FIELDS.index(self._in_hand.id or _FIELDS[0])
        self.set_focus(self._field(_FIELDS[(at + by) % len(_FIELDS)]))

    def action_scroll(self, by: int) -> None:
        """Move the answer."""
        self._scroll = max(0, self._scroll + 4 * by)
        self._draw()

    def action_close(self) -> None:
        """Back to the board; nothing was changed, and nothing typed is lost."""
        self.app.pop_screen()

    def on_input_changed(self, _event: Input.Changed) -> None:
        """What was wrong belongs to what was written then."""
        self._problem = ""
        self._draw()

    def _field(self, name: str) -> InertInput:
        return self.query_one(f"#{name}", InertInput)

    @property
    def _in_hand(self) -> InertInput:
        return self.focused if isinstance(self.focused, InertInput) else self._field(_FIELDS[0])

    @property
    def _typed(self) -> Typed:
        load, until, restart = (self._field(name).value.strip() for name in _FIELDS)
        return load, until, restart

    def _is_settled(self, typed: str) -> bool:
        """Whether a load is written that tab does not go round in with others."""
        name = typed.strip()
        return name in self._craft.loads and not self._completing.goes_round(name)

    def _load_completions(self, typed: str) -> tuple[str, ...]:
        return load_completions(typed, self._craft, self._desk.tick.snapshot)

    def _restart_completions(self, typed: str) -> tuple[str, ...]:
        return restart_completions(typed, tuple(self._craft.supplies))

    def _hints(self) -> tuple[str, ...]:
        """For the field in hand."""
        field, (load, until, restart), width = self._in_hand, self._typed, self.size.width - 2
        snapshot = self._desk.tick.snapshot
        if field.id == "keep-until":
            need_s = None if snapshot is None else snapshot.need.at_s
            words = until_words(until, self._craft.epoch, self._desk.session.now_s(), need_s)
            return (words or "when is it wanted again?",)
        if field.id == "keep-restart":
            found = self._restart_completions(field.value)
            if found:
                return (listed_hint([each.split()[-1] for each in found], width, "tab: "),)
            words = restart_words(restart, load, self._craft)
            return (words or "what does it take to bring it back? 0 of its unit, if nothing",)
        if self._is_settled(load):
            return (self._load_words(load),)
        found = self._load_completions(load)
        head = "tab, loads that draw now: " if not load else "tab: "
        return (listed_hint(found, width, head) if found else "no load begins so",)

    def _load_words(self, name: str) -> str:
        snapshot = self._desk.tick.snapshot
        load = self._craft.loads[name]
        found = (
            None if snapshot is None else next((each for each in snapshot.loads if each.name == name), None)
        )
        state = "" if found is None else f" is {found.state.value}"
        nothing = "" if found is None or found.draw_si_per_s > 0.0 else " and draws nothing: nothing to save"
        return f"{load.title or name}{state}{nothing}"

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._asked is not None and self._inquiry.is_due:
            self._put()
        self._draw()

    def _draw(self) -> None:
        answer = self._inquiry.answer
        state = KeepState(
            look=self._look,
            answer=answer,
            standing=self._inquiry.standing(),
            problem=self._problem,
            is_other=answer is not None and answer.asked != self._typed,
            hints=self._hints(),
            scroll=self._scroll,
        )
        for name in ("#keep-title", "#keep-hint", "#keep"):
            self.query_one(name, Face).show(state)
