"""The dialog that logs a step: choose it, see what it does and costs, confirm it with one key."""

from __future__ import annotations

from collections.abc import Coroutine, Mapping
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.desk import Desk, Effect
from console.board.faces.step_choice import Choice, choice_lines, is_so
from console.board.faces.step_effect import Intent, intent_lines
from console.board.happened import HAPPENED_HINT, looks_like_a_time, parse_happened_s, recorded_words
from console.board.look import Look
from console.board.ticker import described
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.errors import InstantError
from console.record.entry import Entry
from console.record.steps import StepKey


class StepScreen(ModalScreen[None]):
    """One dialog for all steps; what was typed for a step stays until that step is saved.

    Args:
        look: how the board looks.
        desk: where steps are asked for and saved.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "step", id="step.up", key_display="up"),
        Binding("down", "move(1)", "step", id="step.down", key_display="down"),
        Binding("enter", "choose", "see what it does", id="step.choose", key_display="enter", priority=True),
        Binding("tab", "next_field", "next field", id="step.field", key_display="tab", priority=True),
        Binding(
            "enter", "next_field", "next field", id="step.field-enter", key_display="enter", priority=True
        ),
        Binding("ctrl+s", "confirm", "LOG IT", id="step.confirm", key_display="ctrl+s", priority=True),
        Binding("pagedown", "scroll(1)", "more", id="step.more", show=False),
        Binding("pageup", "scroll(-1)", "less", id="step.less", show=False),
        Binding("escape", "back", "back, log nothing", id="step.back", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look, desk: Desk) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._procedures = tuple(desk.session.scenario.procedures.values())
        self._steps: tuple[StepKey, ...] = tuple(
            (procedure.name, step.id) for procedure in self._procedures for step in procedure.steps
        )
        self._at = 0
        self._is_untouched = True
        """Whether the step in hand is still the one that the list opened on."""
        self._done: Mapping[StepKey, Entry] = {}
        self._is_confirming = False
        self._effect: Effect | None = None
        self._missing: tuple[str, ...] = ()
        self._effect_problem = ""
        self._problem = ""
        self._writing: StepKey | None = None
        self._typed: dict[StepKey, tuple[str, str]] = {}
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """List, step and keys; the two fields are seen when a step is to be confirmed."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[Choice](choice_lines, what="steps", ascii_only=ascii_only, id="choice")
            yield Face[Intent](intent_lines, what="step", ascii_only=ascii_only, id="intent")
            with Horizontal(id="reason-row"):
                yield Label("reason  ", markup=False)
                yield InertInput(id="reason", placeholder="why this step is done out of order")
            with Horizontal(id="happened-row"):
                yield Label("done at ", markup=False)
                yield InertInput(id="happened", placeholder=HAPPENED_HINT)
            yield KeyLine(self._look)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened: read anew which steps are done, and go to the first that is open."""
        self._is_untouched = True
        self._go_to_first_open()
        self._show_stage()
        self.app.run_worker(self._read_done(), exit_on_error=False)

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Keys of the stage in hand; enter belongs to the list alone."""
        if action in ("move", "choose"):
            return not self._is_confirming and bool(self._steps)
        if action == "next_field":
            return self._is_confirming
        if action == "confirm":
            return self._is_confirming and self._writing is None
        return True

    def action_move(self, by: int) -> None:
        """The next step of the list."""
        self._is_untouched = False
        self._at = min(len(self._steps) - 1, max(0, self._at + by))
        self._draw()

    def action_choose(self) -> None:
        """Look at the step in hand before logging it."""
        self._is_confirming, self._is_untouched = True, False
        self._effect, self._missing, self._effect_problem, self._problem = None, (), "", ""
        self._scroll = 0
        reason, happened = self._typed.get(self._key, ("", ""))
        self._field("reason").value = reason
        self._field("happened").value = happened
        self._show_stage()
        self.app.run_worker(self._reckon(self._key), exit_on_error=False)

    def action_back(self) -> None:
        """From the step to the list, from the list to the board; what was typed is kept."""
        if not self._is_confirming:
            self.app.pop_screen()
            return
        self._keep_typed()
        self._is_confirming = False
        self._show_stage()

    def action_scroll(self, by: int) -> None:
        """Move the table of effects."""
        self._scroll = max(0, self._scroll + 3 * by)
        self._draw()

    def action_confirm(self) -> None:
        """Log the step, once the fields have taken up every key that was pressed before this one.

        Keys that come in a bundle, as over a slow line, wait in the queue of the field that they are for.
        """
        reason, happened = self._field("reason"), self._field("happened")
        reason.call_later(happened.call_later, self._confirm)

    def _confirm(self) -> None:
        """A second press while it is being written does nothing."""
        if self._writing is not None or not self._is_confirming:
            return
        try:
            happened_s = self._happened_s()
        except InstantError as error:
            self._refuse(str(error))
            return
        reason = self._field("reason").value
        if self._missing and looks_like_a_time(reason, self._desk.session.scenario.craft.epoch):
            self._refuse("the reason is a time: write why it is done out of order, and the time in 'done at'")
            self._field("reason").focus()
            return
        if self._missing and not reason.strip():
            self._refuse("a reason is needed, as steps that come first are not logged")
            self._field("reason").focus()
            return
        self._keep_typed()
        self._writing, self._problem = self._key, ""
        saving = self._desk.save_step(*self._key, happened_s, reason if self._missing else "")
        self._show_stage()
        self.app.run_worker(self._follow_saving(self._key, saving), exit_on_error=False)

    def action_next_field(self) -> None:
        """From the reason to the time and back, where there are both; nothing is logged by it."""
        other = "reason" if self._missing and self.focused is self._field("happened") else "happened"
        # At once, so that the keys that follow come to the right field.
        self.set_focus(self._field(other))

    def on_input_changed(self, _event: Input.Changed) -> None:
        """The recorded time follows what is typed."""
        self._draw()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size may need another arrangement."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on: so does the time that would be recorded."""
        self._draw()

    @property
    def _key(self) -> StepKey:
        return self._steps[self._at]

    def _field(self, name: str) -> InertInput:
        return self.query_one(f"#{name}", InertInput)

    def _keep_typed(self) -> None:
        self._typed[self._key] = (self._field("reason").value, self._field("happened").value)

    def _happened_s(self) -> float | None:
        session = self._desk.session
        return parse_happened_s(self._field("happened").value, session.scenario.craft.epoch, session.now_s())

    def _refuse(self, words: str) -> None:
        self._problem = words
        self._draw()

    async def _read_done(self) -> None:
        self._done = await self._desk.steps_done()
        if self._is_untouched and not self._is_confirming:
            self._go_to_first_open()
        self._draw()

    def _go_to_first_open(self) -> None:
        """The first step neither done nor already so; one for which something is typed goes before."""
        begun = next((at for at, key in enumerate(self._steps) if any(self._typed.get(key, ()))), None)
        closed = {*self._done, *self._so()}
        first = next((at for at, key in enumerate(self._steps) if key not in closed), self._at)
        self._at = first if begun is None else begun

    def _so(self) -> frozenset[StepKey]:
        """The steps whose loads and stores stand already as they would set them."""
        snapshot = self._desk.tick.snapshot
        levels = self._desk.session.scenario.craft.levels
        return frozenset(
            (procedure.name, step.id)
            for procedure in self._procedures
            for step in procedure.steps
            if snapshot is not None and is_so(step.action, snapshot, levels)
        )

    async def _reckon(self, key: StepKey) -> None:
        missing = await self._desk.missing(*key)
        if not self._is_in_hand(key):
            return
        self._missing = missing
        self._show_stage()
        try:
            effect, problem = await self._desk.effect_of(*key), ""
        except Exception as error:  # noqa: BLE001  a step can be logged even where its effect is not known
            effect, problem = None, described(error)
        if self._is_in_hand(key):
            self._effect, self._effect_problem = effect, problem
            self._draw()

    def _is_in_hand(self, key: StepKey) -> bool:
        return self._is_confirming and self._key == key

    async def _follow_saving(self, key: StepKey, saving: Coroutine[None, None, str]) -> None:
        problem = await saving
        self._writing = None
        if problem:
            self._problem = problem
            self._show_stage()
            return
        self._typed.pop(key, None)
        if self._is_in_hand(key):
            self._is_confirming = False
            self._at = min(self._at + 1, len(self._steps) - 1)
            self._show_stage()
            if self.is_active:
                self.app.pop_screen()

    def _show_stage(self) -> None:
        """List or step; the field for the reason only where one is needed."""
        confirming = self._is_confirming
        self.query_one("#choice").display = not confirming
        self.query_one("#intent").display = confirming
        self.query_one("#happened-row").display = confirming
        self.query_one("#reason-row").display = confirming and bool(self._missing)
        if not confirming:
            self.set_focus(None)
        elif self._missing:
            self._field("reason").focus()
        else:
            self._field("happened").focus()
        self.refresh_bindings()
        self._draw()
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        if not self._is_confirming:
            chosen = self._key if self._steps else None
            choice = Choice(
                look=self._look,
                procedures=self._procedures,
                done=self._done,
                so=self._so(),
                chosen=chosen,
            )
            self.query_one("#choice", Face).show(choice)
            return
        self.query_one("#intent", Face).show(self._intent())

    def _intent(self) -> Intent:
        procedure = self._desk.session.scenario.procedures[self._key[0]]
        effect = self._effect
        return Intent(
            look=self._look,
            procedure=procedure,
            step=procedure.step(self._key[1]),
            done=self._done.get(self._key),
            missing=self._missing,
            before=effect.before if effect is not None else None,
            after=effect.after if effect is not None else None,
            effect_problem=self._effect_problem,
            recorded=self._recorded(),
            problem=self._problem,
            is_writing=self._writing is not None,
            scroll=self._scroll,
        )

    def _recorded(self) -> str:
        session = self._desk.session
        return recorded_words(self._field("happened").value, session.scenario.craft.epoch, session.now_s())
