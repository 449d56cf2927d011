"""The menu of questions that help to decide: which there are, and what each answers."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import choosable, fit, line
from console.board.faces.pane_title import pane_title
from console.board.look import Look


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """One question, and the dialog that answers it."""

    key: str
    dialog: str
    name: str
    answers: str


QUESTIONS = (
    Question(
        key="o",
        dialog="ways",
        name="options",
        answers="the ways home side by side, until when open; commit to one",
    ),
    Question(
        key="w", dialog="whatif", name="what if", answers="any change, before and after; nothing is logged"
    ),
    Question(
        key="k", dialog="keep", name="keep or off", answers="leave it on, or off now and pay to bring it back"
    ),
    Question(
        key="s", dialog="shed", name="switch off", answers="what to switch off next for a margin; advice only"
    ),
    Question(
        key="r",
        dialog="reserves",
        name="reserves",
        answers="what is set aside and for what; release part of it",
    ),
    Question(
        key="l", dialog="losses", name="losses", answers="which single failure the plan does not survive"
    ),
    Question(
        key="e", dialog="why", name="explain", answers="why a figure is what it is, down to the readings"
    ),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Menu:
    """The menu with one question in hand."""

    look: Look
    at: int


def menu_lines(menu: Menu, width: int, _height: int) -> list[Text]:
    """A line for each question."""
    palette = menu.look.palette
    lines = [pane_title(menu.look, "decide: what do you want to know?", width), line()]
    for index, one in enumerate(QUESTIONS):
        style = palette.selected if index == menu.at else palette.strong
        text = line("  >" if index == menu.at else "   ", (one.key, palette.key), "  ")
        text.append(fit(one.name, 11), choosable(style, one.dialog))
        text.append(
            fit(f"  {one.answers}", max(0, width - text.cell_len), menu.look.glyphs.cut),
            choosable(palette.plain, one.dialog),
        )
        lines.append(text)
    return lines
