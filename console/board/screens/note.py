"""The dialog for a note. What was typed stays in it until it is saved, whatever closes it."""

from __future__ import annotations

import math
from collections.abc import Coroutine
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.desk import Desk
from console.board.faces.note_state import NoteState, note_lines
from console.board.happened import HAPPENED_HINT, parse_happened_s
from console.board.look import Look
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.inert_text_area import InertTextArea
from console.board.widgets.key_line import KeyLine
from console.errors import InstantError


class NoteScreen(ModalScreen[None]):
    """One dialog for all notes.

    Args:
        look: how the board looks.
        desk: where notes are saved.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "save", "LOG IT", id="note.save", key_display="ctrl+s", priority=True),
        Binding("tab", "other_field", "text/time", id="note.field", key_display="tab", priority=True),
        Binding("escape", "close", "back, keep the text", id="note.close", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = "#note-text"

    def __init__(self, look: Look, desk: Desk) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._problem = ""
        self._is_writing = False

    def compose(self) -> ComposeResult:
        """Title, text, time and keys."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[NoteState](note_lines, what="note", ascii_only=ascii_only, id="note-state")
            yield InertTextArea(id="note-text", soft_wrap=True, tab_behavior="focus", compact=True)
            with Horizontal(id="note-happened-row"):
                yield Label("happened at ", markup=False)
                yield InertInput(id="note-happened", placeholder=HAPPENED_HINT)
            yield KeyLine(self._look)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened."""
        self._draw()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Nothing is saved twice."""
        return not (action == "save" and self._is_writing)

    def on_text_area_changed(self) -> None:
        """Keep what is typed where it outlives the dialog, and even the board."""
        text = self._text.text
        if text.strip():
            self._desk.unsaved["note"] = f"note: {text}"
        else:
            self._desk.unsaved.pop("note", None)

    def on_input_changed(self, _event: Input.Changed) -> None:
        """A time that will not do is said at once."""
        try:
            self._happened_s()
        except InstantError as error:
            self._problem = str(error)
        else:
            self._problem = ""
        self._draw()

    def action_other_field(self) -> None:
        """From the text to its time and back."""
        other = self.query_one("#note-happened", InertInput) if self.focused is self._text else self._text
        self.set_focus(other)

    def action_close(self) -> None:
        """Back to the board; the text stays."""
        if self._text.text.strip() and not self._is_writing:
            self._desk.say("a note is begun and not logged: n to go on with it", math.inf)
        self.app.pop_screen()

    def action_save(self) -> None:
        """Log the note, once text and time have taken up every key that was pressed before this one."""
        happened = self.query_one("#note-happened", InertInput)
        self._text.call_later(happened.call_later, self._save)

    def _save(self) -> None:
        text = self._text.text
        if self._is_writing:
            return
        if not text.strip():
            self._refuse("a note needs a text")
            return
        try:
            happened_s = self._happened_s()
        except InstantError as error:
            self._refuse(str(error))
            return
        self._is_writing, self._problem = True, ""
        self._text.read_only = True
        self.refresh_bindings()
        self._draw()
        saving = self._desk.save_note(text, happened_s)
        self.app.run_worker(self._follow_saving(saving), exit_on_error=False)

    @property
    def _text(self) -> InertTextArea:
        return self.query_one("#note-text", InertTextArea)

    def _happened_s(self) -> float | None:
        session = self._desk.session
        typed = self.query_one("#note-happened", InertInput).value
        return parse_happened_s(typed, session.scenario.craft.epoch, session.now_s())

    def _refuse(self, words: str) -> None:
        self._problem = words
        self._draw()

    async def _follow_saving(self, saving: Coroutine[None, None, str]) -> None:
        problem = await saving
        self._is_writing = False
        self._text.read_only = False
        self.refresh_bindings()
        if problem:
            self._refuse(problem)
            return
        self._text.text = ""
        self.query_one("#note-happened", InertInput).value = ""
        self._desk.unsaved.pop("note", None)
        if self.is_active:
            self.app.pop_screen()

    def _draw(self) -> None:
        state = NoteState(look=self._look, problem=self._problem, is_writing=self._is_writing)
        self.query_one("#note-state", Face).show(state)
