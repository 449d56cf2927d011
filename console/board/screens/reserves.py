"""The reserves and what each is for, and the one dialog in which part of one is released."""

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
from console.board.faces.release import Release, Releasing, release_lines
from console.board.faces.reserves import Reserves, reserved, reserves_lines
from console.board.happened import HAPPENED_HINT, looks_like_a_time, parse_happened_s, recorded_words
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.releasing import read_amount_si, supposed_release
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.craft.model import Supply
from console.display import age_text
from console.engine.snapshot import SupplyStatus
from console.errors import InstantError, UsageError

_FIELDS = ("release", "release-why", "release-at")


class ReservesScreen(ModalScreen[None]):
    """The reserves; what was typed for one stays until it is released.

    Args:
        look: how the board looks.
        desk: who asks the engine, and where releases are saved.
        read_only: nothing can be released.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "choose", id="reserves.up", key_display="up"),
        Binding("down", "move(1)", "choose", id="reserves.down", key_display="down"),
        Binding(
            "enter", "choose", "look at it, release", id="reserves.choose", key_display="enter", priority=True
        ),
        Binding("enter", "look", "look at it", id="reserves.look", key_display="enter", priority=True),
        Binding("tab", "next_field", "next field", id="reserves.field", key_display="tab", priority=True),
        Binding(
            "enter", "next_field", "next field", id="reserves.field-enter", key_display="enter", priority=True
        ),
        Binding(
            "ctrl+s", "confirm", "RELEASE, LOG IT", id="reserves.confirm", key_display="ctrl+s", priority=True
        ),
        Binding("pagedown", "scroll(1)", "more", id="reserves.more", show=False),
        Binding("pageup", "scroll(-1)", "less", id="reserves.less", show=False),
        Binding("escape", "back", "back, log nothing", id="reserves.back", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look, desk: Desk, *, read_only: bool) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._read_only = read_only
        self._inquiry: Inquiry[Releasing] = Inquiry(desk, self._draw)
        self._asked = ""
        """The amount that was last asked about."""
        self._chosen = ""
        self._is_confirming = False
        self._scroll = 0
        self._problem = ""
        self._writing: str | None = None
        self._typed: dict[str, tuple[str, ...]] = {}

    def compose(self) -> ComposeResult:
        """The list, one reserve in full, and the three fields for releasing part of it."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[Reserves](reserves_lines, what="reserves", ascii_only=ascii_only, id="reserves")
            yield Face[Release](release_lines, what="reserve", ascii_only=ascii_only, id="release-effect")
            for name, label, placeholder in (
                ("release", "amount", "how much, with its unit"),
                ("release-why", "reason", "why it is released; always asked for"),
                ("release-at", "decided at", HAPPENED_HINT),
            ):
                with Horizontal(id=f"{name}-row"):
                    yield Label(label, markup=False)
                    yield InertInput(id=name, placeholder=placeholder)
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened."""
        self._inquiry.forget()
        self._asked = ""
        self._ask()
        self._show_stage()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Keys of the stage in hand."""
        if action in ("choose", "look"):
            has_any = self._supply is not None
            return has_any and not self._is_confirming and self._read_only is (action == "look")
        if action == "move":
            return not self._is_confirming
        if action == "next_field":
            return self._is_confirming and self._can_release
        if action == "confirm":
            return self._can_release and self._is_confirming and self._writing is None
        return True

    def action_move(self, by: int) -> None:
        """The reserve below or above this one."""
        names = [supply.name for supply in reserved(self._desk.tick.snapshot)]
        if names:
            at = names.index(self._chosen) if self._chosen in names else 0
            self._chosen = names[min(len(names) - 1, max(0, at + by))]
            self._draw()

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A reserve was chosen with the mouse."""
        if not self._is_confirming:
            self._chosen = message.item
            self._draw()

    def action_choose(self) -> None:
        """The reserve in hand in full."""
        self._is_confirming, self._scroll, self._problem = True, 0, ""
        for name, text in zip(_FIELDS, self._typed.get(self._chosen, ("", "", "")), strict=True):
            self._field(name).value = text
        self._inquiry.forget()
        self._asked = ""
        self._ask()
        self._show_stage()

    def action_look(self) -> None:
        """The same on a board that only shows."""
        self.action_choose()

    def action_next_field(self) -> None:
        """From the amount to the reason to the time and round again; nothing is logged by it."""
        names = [name for name in _FIELDS if self.focused is self._field(name)]
        at = _FIELDS.index(names[0]) if names else -1
        self.set_focus(self._field(_FIELDS[(at + 1) % len(_FIELDS)]))

    def action_scroll(self, by: int) -> None:
        """Move what does not fit."""
        self._scroll = max(0, self._scroll + 3 * by)
        self._draw()

    def action_back(self) -> None:
        """From one reserve to all, from all to the board; what was typed is kept."""
        if not self._is_confirming:
            self.app.pop_screen()
            return
        self._keep_typed()
        self._is_confirming, self._scroll = False, 0
        self._inquiry.forget()
        self._show_stage()

    def action_confirm(self) -> None:
        """Release, once the fields have taken up every key that was pressed before this one."""
        first, second, third = (self._field(name) for name in _FIELDS)
        first.call_later(second.call_later, third.call_later, self._confirm)

    def _confirm(self) -> None:
        if self._writing is not None or not self._is_confirming or not self._can_release:
            return
        written, reason, _ = self._written
        try:
            amount_si = self._amount_si()
        except UsageError as error:
            self._refuse("release", str(error))
            return
        if not reason:
            self._refuse("release-why", "a reason is needed: what is it released for?")
            return
        if looks_like_a_time(reason, self._epoch):
            self._refuse("release-why", "the reason is a time: write it in 'decided at'")
            return
        try:
            happened_s = self._happened_s()
        except InstantError as error:
            self._refuse("release-at", str(error))
            return
        self._keep_typed()
        self._writing, self._problem = self._chosen, ""
        saving = self._desk.save_release(self._chosen, amount_si, written, reason, happened_s)
        self._show_stage()
        self.app.run_worker(self._follow_saving(self._chosen, saving), exit_on_error=False)

    def _refuse(self, name: str, words: str) -> None:
        """Say what is wrong and go to where it is written."""
        self._problem = words
        self._field(name).focus()
        self._draw()

    async def _follow_saving(self, supply: str, saving: Coroutine[None, None, str]) -> None:
        problem = await saving
        self._writing = None
        if problem:
            self._problem = problem
            self._show_stage()
            return
        self._typed.pop(supply, None)
        # What was reckoned before the release must not be seen beside it.
        self._inquiry.forget()
        self._is_confirming = False
        self._show_stage()
        if self.is_active:
            self.app.pop_screen()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Another amount: ask what that would do."""
        self._problem = ""
        if event.input.id == "release":
            self._ask()
        self._draw()

    @property
    def _supply(self) -> SupplyStatus | None:
        """The reserve in hand, as the board last saw it."""
        found = reserved(self._desk.tick.snapshot)
        return next((supply for supply in found if supply.name == self._chosen), next(iter(found), None))

    @property
    def _craft_supply(self) -> Supply:
        return self._desk.session.scenario.craft.supplies[self._chosen]

    @property
    def _can_release(self) -> bool:
        supply = self._supply
        return not self._read_only and supply is not None and supply.reserve_si > 0.0

    def _field(self, name: str) -> InertInput:
        return self.query_one(f"#{name}", InertInput)

    @property
    def _written(self) -> tuple[str, ...]:
        return tuple(" ".join(self._field(name).value.split()) for name in _FIELDS)

    def _keep_typed(self) -> None:
        self._typed[self._chosen] = tuple(self._field(name).value for name in _FIELDS)

    @property
    def _epoch(self) -> datetime:
        return self._desk.session.scenario.craft.epoch

    def _happened_s(self) -> float | None:
        return parse_happened_s(self._field("release-at").value, self._epoch, self._desk.session.now_s())

    def _amount_si(self) -> float:
        supply = self._supply
        left_si = 0.0 if supply is None else supply.reserve_si
        return read_amount_si(self._written[0], self._craft_supply, left_si)

    def _amount_problem(self) -> str:
        if not self._is_confirming or not self._can_release or not self._written[0]:
            return ""
        try:
            self._amount_si()
        except UsageError as error:
            return str(error)
        return ""

    def _ask(self) -> None:
        """Ask what the amount would do, where it can be read; else no figure of another amount is shown."""
        written = self._written[0]
        if not self._is_confirming or not written or self._amount_problem():
            self._inquiry.forget()
            self._asked = ""
            return
        if written != self._asked:
            self._inquiry.forget()
            self._asked = written
            self._put()

    def _put(self) -> None:
        session, supply, written, amount_si = (
            self._desk.session,
            self._chosen,
            self._asked,
            self._amount_si(),
        )

        def work() -> Releasing:
            return Releasing(amount=written, compared=supposed_release(session, supply, amount_si, written))

        self._inquiry.put(work)

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._asked and self._is_confirming and self._writing is None and self._inquiry.is_due:
            if self._amount_problem():
                self._ask()
            else:
                self._put()
        self._draw()

    def _show_stage(self) -> None:
        confirming = self._is_confirming
        self.query_one("#reserves").display = not confirming
        self.query_one("#release-effect").display = confirming
        has_fields = confirming and self._can_release
        for name in _FIELDS:
            self.query_one(f"#{name}-row").display = has_fields
        self.set_focus(self._field("release") if has_fields else None)
        self.refresh_bindings()
        self._draw()
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        supply = self._supply
        if supply is not None and not self._chosen:
            self._chosen = supply.name
        if not self._is_confirming or supply is None:
            self.query_one("#reserves", Face).show(self._reserves())
            return
        release = Release(
            look=self._look,
            supply=supply,
            effect=self._inquiry.answer,
            standing=self._inquiry.standing(),
            amount_problem=self._amount_problem(),
            can_release=self._can_release,
            read_only=self._read_only,
            recorded=recorded_words(self._field("release-at").value, self._epoch, self._desk.session.now_s()),
            operator=self._desk.session.operator,
            problem=self._problem,
            is_writing=self._writing is not None,
            scroll=self._scroll,
        )
        self.query_one("#release-effect", Face).show(release)

    def _reserves(self) -> Reserves:
        old_s = self._desk.not_updated_s()
        return Reserves(
            look=self._look,
            snapshot=self._desk.tick.snapshot,
            entries=self._desk.tick.entries,
            chosen=self._chosen,
            not_current="" if old_s is None else f"NOT CURRENT: not updated for {age_text(old_s)}",
            read_only=self._read_only,
            scroll=self._scroll,
        )
