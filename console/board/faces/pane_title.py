"""The line above a pane: its name, and on a small board what else can be shown in its place."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import line
from console.board.look import Look
from console.board.view import View


def pane_title(look: Look, title: str, width: int, note: str = "") -> Text:
    """A rule with a name in it, and a note at its right."""
    rule = look.glyphs.rule
    text = line(rule * 2, " ", (title, look.palette.title), " ")
    if note and text.cell_len + len(note) + 4 <= width:
        text.append(rule * (width - text.cell_len - len(note) - 4))
        text.append(f" {note} ")
    text.append(rule * max(0, width - text.cell_len))
    return text


def scrolled(view: View, title: str, body: list[Text], size: tuple[int, int], hint: str = "") -> list[Text]:
    """A title and as much of a body as there is room for, with what lies out of sight said in the title."""
    width, height = size
    room = max(0, height - 1)
    first = min(view.scroll, max(0, len(body) - room))
    above, below = first, max(0, len(body) - first - room)
    note = hint
    if above or below:
        hidden = ", ".join(
            text for count, text in ((above, f"{above} above"), (below, f"{below} below")) if count
        )
        note = f"{hidden}: page keys{'; ' if hint else ''}{hint}"
    return [pane_title(view.look, title, width, note), *body[first : first + room]]
