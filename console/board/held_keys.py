"""Keys that come while a dialog opens or a field is left wait here: over a slow line several come at once.

Without it, those pressed for the dialog would reach the screen below it, where ``q`` quits.
"""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from textual import events
from textual.widget import Widget

HOLD_AT_MOST_S = 3.0
"""Then keys go on, whatever became of what they waited for: a keyboard must never stay dead."""


class HeldKeys:
    """The keys of one application."""

    def __init__(self) -> None:
        self._held: list[events.Key] | None = None

    def begin(self) -> None:
        """From now on keys wait."""
        if self._held is None:
            self._held = []

    def takes(self, event: events.Event) -> bool:
        """Whether an event is a key that has to wait; it is kept then."""
        if self._held is None or not isinstance(event, events.Key):
            return False
        # Made anew: this one may have gone past the screen that it was not meant for.
        self._held.append(events.Key(event.key, event.character))
        return True

    def let_go(self) -> list[events.Key]:
        """All that waited, in order; keys wait no longer."""
        held, self._held = self._held, None
        return held or []


@runtime_checkable
class KeyHolder(Protocol):
    """An application whose keys can wait."""

    def hold_keys(self) -> None:
        """From now on they wait."""

    def release_keys(self) -> None:
        """They go to whatever has the focus then."""


def hold_keys(screen: Widget) -> None:
    """Let keys wait; an action calls it that leads to another field or dialog, and not at once."""
    if isinstance(screen.app, KeyHolder):
        screen.app.hold_keys()


def release_keys(screen: Widget) -> None:
    """Let them go on: the field or dialog is there."""
    if isinstance(screen.app, KeyHolder):
        screen.app.release_keys()
