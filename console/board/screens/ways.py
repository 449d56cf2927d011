"""The ways home side by side, and the one dialog in which one of them is committed to."""

from __future__ import annotations

from collections.abc import Coroutine
from datetime import datetime
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.desk import Desk
from console.board.faces.commitment import Commitment, commitment_lines
from console.board.faces.ways import Ways, way_of, ways_lines
from console.board.happened import HAPPENED_HINT, looks_like_a_time, parse_happened_s, recorded_words
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.engine.options import Options
from console.errors import InstantError


class WaysScreen(ModalScreen[None]):
    """The ways home; what was typed for one stays until it is committed to.

    Args:
        look: how the board looks.
        desk: where they are asked for and commitments saved.
        read_only: nothing can be committed to.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,up", "move(-1)", "choose", id="ways.left", key_display="left"),
        Binding("right,down", "move(1)", "choose", id="ways.right", key_display="right"),
        Binding(
            "enter", "choose", "look at it, commit", id="ways.choose", key_display="enter", priority=True
        ),
        Binding("enter", "look", "look at it", id="ways.look", key_display="enter", priority=True),
        Binding("tab", "next_field", "next field", id="ways.field", key_display="tab", priority=True),
        Binding(
            "enter", "next_field", "next field", id="ways.field-enter", key_display="enter", priority=True
        ),
        Binding(
            "ctrl+s", "confirm", "COMMIT, LOG IT", id="ways.confirm", key_display="ctrl+s", priority=True
        ),
        Binding("r", "renew", "renew", id="ways.renew"),
        Binding("pagedown", "scroll(1)", "more", id="ways.more", show=False),
        Binding("pageup", "scroll(-1)", "less", id="ways.less", show=False),
        Binding("escape", "back", "back, log nothing", id="ways.back", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look, desk: Desk, *, read_only: bool) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._read_only = read_only
        self._inquiry: Inquiry[Options] = Inquiry(desk, self._answered)
        self._chosen = ""
        self._is_confirming = False
        self._scroll = 0
        self._problem = ""
        self._writing: str | None = None
        self._typed: dict[str, tuple[str, str]] = {}

    def compose(self) -> ComposeResult:
        """The columns, one way in full, and the two fields for committing to it."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[Ways](ways_lines, what="ways home", ascii_only=ascii_only, id="ways")
            yield Face[Commitment](commitment_lines, what="way home", ascii_only=ascii_only, id="way")
            with Horizontal(id="why-row"):
                yield Label("reason", markup=False)
                yield InertInput(id="why", placeholder="why this way home; may stay empty")
            with Horizontal(id="taken-row"):
                yield Label("decided at", markup=False)
                yield InertInput(id="taken", placeholder=HAPPENED_HINT)
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages and countdowns go on."""
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened: ask anew."""
        self._show_stage()
        self.action_renew()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Keys of the stage in hand."""
        if action in ("choose", "look"):
            return not self._is_confirming and self._read_only is (action == "look")
        if action in ("move", "renew"):
            return not self._is_confirming
        if action == "next_field":
            return self._is_confirming and self._can_commit
        if action == "confirm":
            return self._can_commit and self._is_confirming and self._writing is None
        return True

    def action_renew(self) -> None:
        """Reckon the ways home anew."""
        self._inquiry.put(self._desk.session.options)
        self._draw()

    def action_move(self, by: int) -> None:
        """The way home beside this one."""
        options = self._inquiry.answer
        if options is not None:
            names = [way.option.name for way in options.ways]
            at = names.index(self._chosen) if self._chosen in names else 0
            self._chosen, self._scroll = names[min(len(names) - 1, max(0, at + by))], 0
            self._draw()

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A column was chosen with the mouse."""
        if not self._is_confirming:
            self._chosen, self._scroll = message.item, 0
            self._draw()

    def action_choose(self) -> None:
        """The way in hand in full."""
        if self._inquiry.answer is None or not self._chosen:
            return
        self._is_confirming, self._scroll, self._problem = True, 0, ""
        reason, taken = self._typed.get(self._chosen, ("", ""))
        self._field("why").value = reason
        self._field("taken").value = taken
        self._show_stage()

    def action_look(self) -> None:
        """The same on a board that only shows."""
        self.action_choose()

    def action_next_field(self) -> None:
        """From the reason to the time and back; nothing is logged by it."""
        is_reason = self.focused is self._field("why")
        self.set_focus(self._field("taken" if is_reason else "why"))

    def action_scroll(self, by: int) -> None:
        """Move what does not fit."""
        self._scroll = max(0, self._scroll + 3 * by)
        self._draw()

    def action_back(self) -> None:
        """From one way to all, from all to the board; what was typed is kept."""
        if not self._is_confirming:
            self.app.pop_screen()
            return
        self._keep_typed()
        self._is_confirming, self._scroll = False, 0
        self._show_stage()

    def action_confirm(self) -> None:
        """Commit, once the fields have taken up every key that was pressed before this one."""
        self._field("why").call_later(self._field("taken").call_later, self._confirm)

    def _confirm(self) -> None:
        if self._writing is not None or not self._is_confirming or not self._can_commit:
            return
        try:
            taken_s = self._taken_s()
        except InstantError as error:
            self._problem = str(error)
            self._draw()
            return
        if looks_like_a_time(self._field("why").value, self._epoch):
            self._problem = "the reason is a time: write it in 'decided at'"
            self._draw()
            return
        self._keep_typed()
        self._writing, self._problem = self._chosen, ""
        saving = self._desk.save_commitment(self._chosen, taken_s, self._field("why").value.strip())
        self._show_stage()
        self.app.run_worker(self._follow_saving(self._chosen, saving), exit_on_error=False)

    def on_input_changed(self, _event: Input.Changed) -> None:
        """The recorded time follows what is typed."""
        self._draw()

    @property
    def _can_commit(self) -> bool:
        """Whether there is a decision to log: not where it stands in the log already."""
        options = self._inquiry.answer
        way = None if options is None else way_of(options, self._chosen)
        if self._read_only or options is None or way is None:
            return False
        return not (way.is_committed and options.snapshot.need.decided_at_s is not None)

    def _field(self, name: str) -> InertInput:
        return self.query_one(f"#{name}", InertInput)

    def _keep_typed(self) -> None:
        self._typed[self._chosen] = (self._field("why").value, self._field("taken").value)

    @property
    def _epoch(self) -> datetime:
        return self._desk.session.scenario.craft.epoch

    def _taken_s(self) -> float | None:
        return parse_happened_s(self._field("taken").value, self._epoch, self._desk.session.now_s())

    async def _follow_saving(self, option: str, saving: Coroutine[None, None, str]) -> None:
        problem = await saving
        self._writing = None
        if problem:
            self._problem = problem
            self._show_stage()
            return
        self._typed.pop(option, None)
        # What was reckoned before the decision must not be seen beside it.
        self._inquiry.forget()
        self._is_confirming = False
        self._show_stage()
        if self.is_active:
            self.app.pop_screen()

    def _answered(self) -> None:
        options = self._inquiry.answer
        if options is not None and way_of(options, self._chosen) is None:
            self._chosen = next((way.option.name for way in options.ways if way.is_committed), "")
        if self._is_confirming:
            self._show_fields()
        self._draw()

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._inquiry.is_due:
            self.action_renew()
        self._draw()

    def _show_stage(self) -> None:
        self.query_one("#ways").display = not self._is_confirming
        self.query_one("#way").display = self._is_confirming
        self._show_fields()
        self.set_focus(self._field("why") if self._is_confirming and self._can_commit else None)
        self._draw()
        self.call_after_refresh(self._draw)

    def _show_fields(self) -> None:
        has_fields = self._is_confirming and self._can_commit
        self.query_one("#why-row").display = has_fields
        self.query_one("#taken-row").display = has_fields
        self.refresh_bindings()

    def _draw(self) -> None:
        options, now_s = self._inquiry.answer, self._desk.session.now_s()
        if not self._is_confirming or options is None:
            ways = Ways(
                look=self._look,
                options=options,
                standing=self._inquiry.standing(),
                chosen=self._chosen,
                now_s=now_s,
                scroll=self._scroll,
            )
            self.query_one("#ways", Face).show(ways)
            return
        commitment = Commitment(
            look=self._look,
            options=options,
            standing=self._inquiry.standing(),
            chosen=self._chosen,
            now_s=now_s,
            can_commit=self._can_commit,
            read_only=self._read_only,
            recorded=recorded_words(self._field("taken").value, self._epoch, now_s),
            operator=self._desk.session.operator,
            problem=self._problem,
            is_writing=self._writing is not None,
            scroll=self._scroll,
        )
        self.query_one("#way", Face).show(commitment)
