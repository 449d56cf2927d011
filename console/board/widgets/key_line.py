"""The line of keys: what can be pressed here, read from the bindings of the place."""

from __future__ import annotations

from typing import Any

from rich.text import Text
from textual.screen import Screen

from console.board.cells import fitting, line
from console.board.look import Look
from console.board.widgets.face import Face

KeyList = tuple[tuple[str, str], ...]
"""Keys and what they do, in order."""


class KeyLine(Face[KeyList]):
    """One row of keys.

    Args:
        look: how the board looks.
        id: the widget's id.
    """

    def __init__(self, look: Look, *, id: str = "keys") -> None:
        key_style = look.palette.key

        def draw(keys: KeyList, width: int, _height: int) -> list[Text]:
            parts = [(index, line((key, key_style), f" {words}")) for index, (key, words) in enumerate(keys)]
            return [fitting(parts, width)]

        super().__init__(draw, what="keys", ascii_only=look.ascii_only, id=id)

    def on_mount(self) -> None:
        """Follow the bindings of the screen this line stands on."""
        self.screen.bindings_updated_signal.subscribe(self, self._follow)
        self.call_after_refresh(self._follow, self.screen)

    def _follow(self, screen: Screen[Any]) -> None:
        if screen is self.screen:
            self.show(keys_of(screen))


def keys_of(screen: Screen[Any]) -> KeyList:
    """The keys that work now and are meant to be seen, those for one action together."""
    shown: dict[str, tuple[list[str], str]] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        if binding.show and active.enabled:
            keys, _ = shown.setdefault(binding.description, ([], binding.description))
            display = screen.app.get_key_display(binding)
            if display not in keys:
                keys.append(display)
    return tuple(("/".join(keys), words) for keys, words in shown.values())
