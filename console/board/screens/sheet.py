"""A sheet that is only read: configuration or help. It follows the View and can be moved up and down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.screen import ModalScreen

from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.key_line import KeyLine


class SheetScreen(ModalScreen[None]):
    """One sheet.

    Args:
        look: how the board looks.
        draw: the sheet's lines.
        current: what is drawn now.
        what: what it shows.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pagedown,down,space", "move(1)", "scroll down", id="sheet.down", key_display="page-down"),
        Binding("pageup,up", "move(-1)", "scroll up", id="sheet.up", key_display="page-up"),
        Binding("escape,q,question_mark,c", "close", "back", id="sheet.close", key_display="esc"),
    ]
    AUTO_FOCUS = ""

    def __init__(
        self,
        look: Look,
        draw: Callable[[View, int, int], list[Text]],
        current: Callable[[], View | None],
        *,
        what: str,
    ) -> None:
        super().__init__()
        self._current = current
        self._look = look
        self._face: Face[View] = Face(draw, what=what, ascii_only=look.ascii_only, id="sheet")
        self._view: View | None = None
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """The sheet and its keys."""
        with Container(classes="dialog"):
            yield self._face
            yield KeyLine(self._look)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened."""
        view = self._current()
        if view is not None:
            self.follow(view)

    def follow(self, view: View) -> None:
        """Show what is now."""
        self._view = replace(view, scroll=self._scroll)
        self._face.show(self._view)

    def action_move(self, by: int) -> None:
        """Move the sheet by half its height."""
        if self._view is not None:
            self._scroll = max(0, self._scroll + by * max(1, self._face.size.height // 2))
            self.follow(self._view)

    def action_close(self) -> None:
        """Back to the board; the next time it opens at the top."""
        self._scroll = 0
        self.app.pop_screen()
