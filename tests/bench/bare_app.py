"""A bare Textual application that imports what the board imports: what any board pays at the least."""

from __future__ import annotations

import numpy  # noqa: F401  imported for its cost alone
import pint  # noqa: F401  the same
import yaml  # noqa: F401  the same
from textual.app import App, ComposeResult
from textual.widgets import Static


class BareApp(App[None]):
    """One line of text."""

    def compose(self) -> ComposeResult:
        """The one line."""
        yield Static("READY TO SEE")


if __name__ == "__main__":
    BareApp().run()
