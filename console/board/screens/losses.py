"""The dialog of single losses: which the plan does not survive, and what would save it then."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.screen import ModalScreen

from console.board.desk import Desk
from console.board.faces.losses import LossState, key_of, losses_lines, ordered
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.key_line import KeyLine
from console.engine.loss import Losses


class LossesScreen(ModalScreen[None]):
    """Single losses.

    Args:
        look: how the board looks.
        desk: who asks the engine.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "choose", id="losses.up", key_display="up"),
        Binding("down", "move(1)", "choose", id="losses.down", key_display="down"),
        Binding("r", "renew", "renew", id="losses.renew"),
        Binding("pagedown", "scroll(1)", "more", id="losses.more", show=False),
        Binding("pageup", "scroll(-1)", "less", id="losses.less", show=False),
        Binding("escape,q", "close", "back", id="losses.close", key_display="esc"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look, desk: Desk) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._inquiry: Inquiry[Losses] = Inquiry(desk, self._draw)
        self._chosen = ""
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """List, detail and keys."""
        with Container(classes="dialog"):
            yield Face[LossState](losses_lines, what="losses", ascii_only=self._look.ascii_only, id="losses")
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened at the worst."""
        self._chosen, self._scroll = "", 0
        self.action_renew()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def action_renew(self) -> None:
        """Try every loss anew."""
        self._inquiry.put(self._desk.session.losses)
        self._draw()

    def action_move(self, by: int) -> None:
        """The next loss of the list."""
        losses = self._inquiry.answer
        if losses is None or not losses.losses:
            return
        keys = [key_of(loss) for loss in ordered(losses)]
        at = keys.index(self._chosen) if self._chosen in keys else 0
        self._chosen, self._scroll = keys[min(len(keys) - 1, max(0, at + by))], 0
        self._draw()

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A loss was chosen with the mouse."""
        self._chosen, self._scroll = message.item, 0
        self._draw()

    def action_scroll(self, by: int) -> None:
        """Move what is said of the loss in hand."""
        self._scroll = max(0, self._scroll + 3 * by)
        self._draw()

    def action_close(self) -> None:
        """Back to the board."""
        self.app.pop_screen()

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._inquiry.is_due:
            self.action_renew()
        self._draw()

    def _draw(self) -> None:
        state = LossState(
            look=self._look,
            losses=self._inquiry.answer,
            standing=self._inquiry.standing(),
            chosen=self._chosen,
            scroll=self._scroll,
        )
        self.query_one("#losses", Face).show(state)
