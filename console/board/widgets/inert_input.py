"""A field for one line of text, in which pasted control characters are made harmless."""

from __future__ import annotations

from textual import events
from textual.widgets import Input

from console.display import clean_text


class InertInput(Input):
    """One line; what is pasted is cleaned first.

    Args:
        id: the widget's id.
        placeholder: what may be written, while nothing is.
    """

    def __init__(self, *, id: str, placeholder: str) -> None:
        # Coming back to a field must not put all of it under the next key.
        super().__init__(id=id, placeholder=placeholder, compact=True, select_on_focus=False)

    def on_paste(self, event: events.Paste) -> None:
        """Clean what is pasted; the field then takes it as usual."""
        event.text = clean_text(event.text)
