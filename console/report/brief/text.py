"""A brief as lines of plain text, at most 78 columns. The short form fits one screen."""

from __future__ import annotations

import re
import textwrap

from console.report.brief.answer import Brief

WIDTH = 78
SHORT_LINES = 16
"""What is read aloud in little over a minute; warnings come on top of it."""
_KEPT = "\u00a0"
_FIGURE = re.compile(r"(?<=[\d+]) (?=[A-Za-z%°])")
"""Between a figure and its unit, where no line may end: read aloud, the one without the other misleads."""

_IN_FULL = (
    "Do we make it",
    "Lasts",
    "Ways home",
    "First",
    "Cabin",
    "Not known",
    "Change",
    "Set aside",
)
"""The answers that get their full words, as long as there is room; the last are the first to be left out."""


def short_lines(brief: Brief) -> list[str]:
    """A line or two for each answer: few words where room is short, and what is left out is said."""
    room = SHORT_LINES - sum(len(wrap(each)) for each in (brief.title, *brief.ahead))
    shown = {answer.head: answer for answer in brief.answers}
    words = {
        head: min((_lines(head, each) for each in (answer.short, answer.shorter)), key=len)
        for head, answer in shown.items()
    }
    left_out = 0
    for head in reversed(_IN_FULL):
        if _count(words) + bool(left_out) <= room:
            break
        del words[head]
        left_out += 1
    for head in _IN_FULL:
        full = {**words, head: _lines(head, shown[head].short)}
        if head in words and _count(full) + bool(left_out) <= room:
            words = full
    said = [line for head in shown if head in words for line in words[head]]
    return [*_head(brief), *said, *([f"{left_out} more answers: --long"] if left_out else [])]


def long_lines(brief: Brief) -> list[str]:
    """Everything."""
    lines = _head(brief)
    for number, answer in enumerate(brief.answers, 1):
        lines += ["", *wrap(f"{number}. {answer.question}", "   ")]
        for each in answer.sentences:
            lines += wrap(f"   {each}", "   ")
        if answer.assumptions:
            lines += wrap(f"   Rests on: {'; '.join(answer.assumptions)}.", "     ")
        lines += wrap(f"   Confidence: {answer.confidence}.", "     ")
    return lines


def wrap(text: str, indent: str = "  ") -> list[str]:
    """One thought over as many lines as it needs; a word is broken only where it is longer than a line."""
    text = text if text.startswith(" ") else " ".join(text.split())
    lines = textwrap.wrap(
        _FIGURE.sub(_KEPT, text),
        WIDTH,
        subsequent_indent=indent,
        break_on_hyphens=False,
        drop_whitespace=True,
    )
    return [line.replace(_KEPT, " ") for line in lines] or [""]


def _head(brief: Brief) -> list[str]:
    return [line for each in (*brief.warnings, brief.title, *brief.ahead) for line in wrap(each)]


def _lines(head: str, said: str) -> list[str]:
    return wrap(f"{head}: {said}")


def _count(words: dict[str, list[str]]) -> int:
    return sum(map(len, words.values()))
