"""The menu of what helps to decide: each question with its own key, the same on every board."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.message import Message
from textual.screen import ModalScreen

from console.board.faces.decide import QUESTIONS, Menu, menu_lines
from console.board.held_keys import hold_keys
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.key_line import KeyLine


class DecideScreen(ModalScreen[None]):
    """The menu.

    Args:
        look: how the board looks.
    """

    class Chosen(Message):
        """A question was chosen."""

        def __init__(self, dialog: str) -> None:
            super().__init__()
            self.dialog = dialog

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "choose", id="decide.up", key_display="up"),
        Binding("down", "move(1)", "choose", id="decide.down", key_display="down"),
        Binding("enter", "open", "open", id="decide.open", key_display="enter"),
        *(
            Binding(one.key, f"ask('{one.dialog}')", one.name, id=f"decide.{one.dialog}", show=False)
            for one in QUESTIONS
        ),
        Binding("escape,q,d", "close", "back", id="decide.close", key_display="esc"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self._at = 0

    def compose(self) -> ComposeResult:
        """The questions and the keys."""
        with Container(classes="dialog"):
            yield Face[Menu](menu_lines, what="menu", ascii_only=self._look.ascii_only, id="menu")
            yield KeyLine(self._look)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened."""
        self._draw()

    def follow(self, _view: View) -> None:
        """Nothing here moves with the clock."""

    def action_move(self, by: int) -> None:
        """The next question."""
        self._at = min(len(QUESTIONS) - 1, max(0, self._at + by))
        self._draw()

    def action_open(self) -> None:
        """The question in hand."""
        self.action_ask(QUESTIONS[self._at].dialog)

    def action_ask(self, dialog: str) -> None:
        """A question by its key."""
        self._at = next(at for at, one in enumerate(QUESTIONS) if one.dialog == dialog)
        hold_keys(self)
        self.post_message(self.Chosen(dialog))

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A question was chosen with the mouse."""
        self.action_ask(message.item)

    def action_close(self) -> None:
        """Back to the board."""
        self.app.pop_screen()

    def _draw(self) -> None:
        self.query_one("#menu", Face).show(Menu(look=self._look, at=self._at))
