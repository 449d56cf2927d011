"""What a YAML parser complains of, in words of the person who wrote the file. It must not parse anything."""

from __future__ import annotations

from typing import Any

import yaml

_BRACKETS = {"flow sequence": ("[", "]"), "flow mapping": ("{", "}")}


def explain(error: yaml.YAMLError, text: str) -> tuple[int, str, str]:
    """Line, what was found and what to write instead, for an error of either parser (C or Python)."""
    if not isinstance(error, yaml.MarkedYAMLError) or error.problem_mark is None:
        return 1, "text that is not YAML", "write 'key: value' lines"
    line = int(error.problem_mark.line) + 1
    character = _character_at(error.problem_mark, text)
    if character == "\t" or "tab character" in (error.problem or ""):
        return line, "a tab where spaces are due", "indent and separate with spaces"
    opened = _opened(error, line)
    if opened is not None:
        return opened
    return (line, *_plain_words(error.problem or "", character))


def _opened(error: yaml.MarkedYAMLError, line: int) -> tuple[int, str, str] | None:
    """What was opened and not closed, told at the line where it was opened."""
    context = error.context or ""
    start = int(error.context_mark.line) + 1 if error.context_mark is not None else line
    for kind, (opening, closing) in _BRACKETS.items():
        if kind in context:
            found = f"a {opening!r} that is not closed (reading stopped in line {line})"
            return start, found, f"close it with {closing!r}, with ',' between what it holds"
    if "quoted scalar" in context and "unexpected end" in (error.problem or ""):
        return start, "a quote that is not closed", "close the quote"
    return None


_PLAIN_WORDS = (
    (
        "mapping values are not allowed",
        "a ':' where no key can stand",
        "write one 'key: value' a line and put text that holds ': ' in quotes",
    ),
    ("could not find expected ':'", "a line without ':'", "write 'key: value'"),
    (
        "did not find expected key",
        "a line that is indented unlike its neighbours",
        "indent the keys of one mapping alike",
    ),
    ("block end", "a line that is indented unlike its neighbours", "indent the keys of one mapping alike"),
    (
        "'-' indicator",
        "a key among the items of a list",
        "begin every item of the list with '- ', or indent the list below its key",
    ),
    ("nesting depth", "brackets nested too deep", "nest at most 32 deep"),
    (
        "unknown escape character",
        "an escape that YAML does not know",
        "write '\\\\' for a backslash, or use '…'",
    ),
    ("alphabetic or numeric character", "a '*' or '&' at the start of a value", "put the text in quotes"),
)


def _plain_words(problem: str, character: str) -> tuple[str, str]:
    if "cannot start any token" in problem:
        return f"{character!r} at the start of a value", "put the text in quotes"
    for fragment, found, expected in _PLAIN_WORDS:
        if fragment in problem:
            return found, expected
    return f"text that is not YAML ({problem[:80]})", "write 'key: value' lines"


def _character_at(mark: Any, text: str) -> str:
    return text[mark.index : mark.index + 1]
