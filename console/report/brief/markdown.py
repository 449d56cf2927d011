"""A brief as Markdown: headings and lists alone. Names and notes are text, whatever stands in them."""

from __future__ import annotations

import re

from console.report.brief.answer import Answer, Brief

_ACTIVE = re.compile(r"([\\`*_{}\[\]<>|#~])")
"""Characters that Markdown acts on (CommonMark 0.31, section 2.4)."""
_LEADING = re.compile(r"^(\s*)([-+]|\d+[.)])(?=\s)")
"""What would make a list of a line."""


def markdown_lines(brief: Brief, *, is_long: bool) -> list[str]:
    """The brief as Markdown; the short form has a list of one item for each answer."""
    lines = [f"# {escaped(brief.title)}", ""]
    for warning in brief.warnings:
        lines += [f"**{escaped(warning)}**", ""]
    for each in brief.ahead:
        lines += [escaped(each), ""]
    if not is_long:
        lines += [f"- **{escaped(answer.head)}:** {escaped(answer.short)}" for answer in brief.answers]
        return lines
    for number, answer in enumerate(brief.answers, 1):
        lines += _section(number, answer)
    return lines[:-1]


def escaped(text: str) -> str:
    r"""Text in which nothing is Markdown.

    >>> escaped("a_b *c* <d>"), escaped("- x")
    ('a\\_b \\*c\\* \\<d\\>', '\\- x')
    """
    one_line = _ACTIVE.sub(r"\\\1", " ".join(text.split()))
    return _LEADING.sub(lambda match: f"{match[1]}\\{match[2]}", one_line)


def _section(number: int, answer: Answer) -> list[str]:
    lines = [f"## {number}. {escaped(answer.question)}", ""]
    lines += [f"- {escaped(each)}" for each in answer.sentences]
    if answer.assumptions:
        lines += ["", "Rests on:", "", *(f"- {escaped(each)}" for each in answer.assumptions)]
    return [*lines, "", f"*Confidence: {escaped(answer.confidence)}.*", ""]
