"""A field for several lines of text, in which pasted control characters are made harmless."""

from __future__ import annotations

from textual import events
from textual.widgets import TextArea

from console.display import clean_text


class InertTextArea(TextArea):
    """Several lines; what is pasted is cleaned first."""

    def on_paste(self, event: events.Paste) -> None:
        """Clean what is pasted; the field then takes it as usual."""
        event.text = clean_text(event.text)
