"""The one drawing widget: shows the lines that a pure function makes of a state, and redraws what changed.

It keeps what it shows as strips, so that an unchanged line costs a comparison. Whatever a function does
wrong is reported once and shown in its place; the board goes on. Characters that would act on a terminal
are taken out here, whatever they came from.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from console.board.cells import CHOICE
from console.display import clean_text

State = TypeVar("State")


class Face(Widget, Generic[State]):
    """Lines of text drawn from a state.

    Args:
        draw: state, columns and rows to lines; pure.
        what: what it shows, for people, where it cannot be drawn.
        ascii_only: show nothing but ASCII.
        id: the widget's id.
    """

    class Failed(Message):
        """A function of drawing raised."""

        def __init__(self, what: str, error: Exception) -> None:
            super().__init__()
            self.what = what
            self.error = error

    class Clicked(Message):
        """The mouse was pressed on something that can be chosen."""

        def __init__(self, item: str) -> None:
            super().__init__()
            self.item = item

    def __init__(
        self,
        draw: Callable[[State, int, int], list[Text]],
        *,
        what: str,
        ascii_only: bool = False,
        id: str | None = None,
    ) -> None:
        super().__init__(id=id)
        self._draw = draw
        self._what = what
        self._ascii_only = ascii_only
        self._state: State | None = None
        self._strips: list[Strip] = []
        self._drawn_size = (0, 0)

    def show(self, state: State) -> None:
        """Draw this state."""
        self._state = state
        self._redraw()

    def on_resize(self, _event: events.Resize) -> None:
        """The same state in another size."""
        self._redraw()

    def on_click(self, event: events.Click) -> None:
        """What was drawn with ``choosable`` can be chosen with the mouse."""
        item = event.style.meta.get(CHOICE)
        if isinstance(item, str):
            self.post_message(self.Clicked(item))

    def render_line(self, y: int) -> Strip:
        """One row of what was made beforehand: nothing can fail here."""
        if y < len(self._strips):
            return self._strips[y]
        return Strip.blank(self.size.width, self.rich_style)

    def _redraw(self) -> None:
        width, height = self.size
        if self._state is None or width < 1 or height < 1:
            return
        strips = [self._strip(text, width) for text in self._lines(self._state, width, height)[:height]]
        if self._drawn_size != (width, height):
            self._strips, self._drawn_size = strips, (width, height)
            self.refresh()
            return
        before, self._strips = self._strips, strips
        blank = Strip.blank(width, self.rich_style)
        for row in range(max(len(before), len(strips))):
            old = before[row] if row < len(before) else blank
            new = strips[row] if row < len(strips) else blank
            if old != new:
                self.refresh(Region(0, row, width, 1))

    def _lines(self, state: State, width: int, height: int) -> list[Text]:
        try:
            return self._draw(state, width, height)
        except Exception as error:  # noqa: BLE001  an error while drawing would end the whole board
            # Straight to the application: posted in a screen's turn, it would not rise above that screen.
            self.app.post_message(self.Failed(self._what, error))
            return [Text(f"! {self._what} cannot be drawn: {type(error).__name__}", end="")]

    def _strip(self, text: Text, width: int) -> Strip:
        # A text without styled parts is rendered without its own style too.
        base = text.style if isinstance(text.style, Style) else None
        segments = [
            Segment(self._inert(segment.text), segment.style or base)
            for segment in text.render(self.app.console)
            if segment.control is None
        ]
        return Strip(segments).adjust_cell_length(width, self.rich_style).apply_style(self.rich_style)

    def _inert(self, text: str) -> str:
        """Text that can only be read."""
        cleaned = clean_text(text).translate({10: " ", 9: " "})
        if not self._ascii_only or cleaned.isascii():
            return cleaned
        return cleaned.translate(_TO_ASCII).encode("ascii", "replace").decode("ascii")


_TO_ASCII = {ord("·"): "*", ord("–"): "-", ord("−"): "-", ord("×"): "x", ord("…"): "~", ord("°"): " "}
