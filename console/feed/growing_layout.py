"""What the lines of a growing file are, by its first line: CSV under a header, or JSON Lines. Pure.

A first line that is neither leaves the whole file unread: cells could be taken for what they are not.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from console.errors import FeedError
from console.feed.growing_line import LineRefusedError, csv_cells, text_of
from console.feed.raw_value import shown_name

COLUMNS = ("at", "channel", "value", "unit")
NEEDED = COLUMNS[:3]
HEADER = "at,channel,value"
"""The shortest header of CSV."""

JSON_SUFFIXES = (".jsonl", ".ndjson", ".json")
"""Under these a first line that is neither is a bad line of JSON Lines."""


class NoLayoutError(FeedError):
    """The first line says nothing that can be used; the text completes "growing file x.csv: "."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """How a line is to be read."""

    columns: tuple[str, ...]
    """The columns of CSV in their order; empty for JSON Lines."""

    @property
    def is_json(self) -> bool:
        """Whether each line is a JSON text."""
        return not self.columns

    @property
    def header_text(self) -> str:
        """The header as one would write it."""
        return ",".join(self.columns)


def layout_of(first_line: bytes, line: int, suffix: str) -> tuple[Layout, bool]:
    """The layout of a file, and whether its first line is a header that holds no reading.

    Args:
        first_line: the first line that is not blank, without a byte order mark.
        line: its number, for messages.
        suffix: of the file's name; it decides only where the line says nothing.

    Raises:
        NoLayoutError: the line is no header and no JSON.
    """
    if first_line.lstrip().startswith(b"{"):
        return Layout(columns=()), False
    try:
        names = tuple(cell.strip() for cell in csv_cells(text_of(first_line)))
        _check(names)
    except LineRefusedError as error:
        if suffix.lower() in JSON_SUFFIXES:
            return Layout(columns=()), False
        raise NoLayoutError(f"line {line}: {error}") from None
    return Layout(columns=names), True


def _check(names: tuple[str, ...]) -> None:
    unknown = [name for name in names if name not in COLUMNS]
    twice = [name for name in names if names.count(name) > 1]
    lacking = [name for name in NEEDED if name not in names]
    if not unknown and not twice and not lacking:
        return
    if len(lacking) == len(NEEDED):
        found = "no header and no JSON"
    elif unknown:
        near = difflib.get_close_matches(unknown[0], COLUMNS, n=1)
        found = f"the column {shown_name(unknown[0])}" + (f" (did you mean {near[0]}?)" if near else "")
    elif twice:
        found = f"the column {twice[0]} twice"
    else:
        found = f"no column {lacking[0]}"
    raise LineRefusedError(f"found {found}; write the header {HEADER}, or {HEADER},unit")
