"""Where the cells of many lines of CSV stand, as far as the lines are plain: the due cells, no quotes inside.

Pure. Judges nothing in a cell; a line that is not plain is named, for whoever reads lines one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.feed.growing_bytes import Flags, Ints, Padded

_COMMA, _LINE_BREAK, _RETURN, _QUOTE = b',\n\r"'


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Cells:
    """Lines and where their cells stand; places as in ``Padded``, an end is the place behind."""

    line_starts: Ints
    """Of every line, shape (n,)."""
    line_ends: Ints
    """Before the line break."""
    plain: Ints
    """The lines, counted from 0, whose cells are told, shape (m,)."""
    starts: Ints
    """Shape (columns, m)."""
    ends: Ints


def cells_of(padded: Padded, columns: int) -> Cells:
    """Find lines and cells.

    Args:
        padded: whole lines, each with its line break.
        columns: how many cells are due in a line.
    """
    lines = padded.bytes[padded.begin : padded.end]
    is_break = lines == _LINE_BREAK
    marks = np.flatnonzero(is_break | (lines == _COMMA))
    last = np.flatnonzero(is_break[marks])
    """In ``marks``, the line breaks."""
    marks += padded.begin
    breaks = marks[last]
    begins = np.concatenate(([padded.begin], breaks[:-1] + 1)) if len(breaks) else breaks
    plain = np.flatnonzero(np.diff(last, prepend=-1) == columns)
    if len(plain) == len(last):
        ends = np.ascontiguousarray(marks.reshape(-1, columns).T)
    else:
        ends = marks[last[plain] - np.arange(columns - 1, -1, -1)[:, None]]
    starts = np.concatenate((begins[None, plain], ends[:-1] + 1)) if columns > 1 else begins[None, plain]
    if b"\r" in padded.content:
        ends[-1] -= (padded.bytes[ends[-1] - 1] == _RETURN) & (ends[-1] > starts[-1])
    cells = Cells(line_starts=begins, line_ends=breaks, plain=plain, starts=starts, ends=ends)
    return _without_quotes(padded, cells) if b'"' in padded.content else cells


def _without_quotes(padded: Padded, cells: Cells) -> Cells:
    """Take off quotes that stand around a whole cell; lines with any others are not plain."""
    starts, ends = cells.starts, cells.ends
    is_quoted: Flags = (ends - starts >= 2) & (padded.bytes[starts] == _QUOTE)
    is_quoted &= padded.bytes[ends - 1] == _QUOTE
    places = np.flatnonzero(padded.bytes == _QUOTE)
    of_lines = np.bincount(np.searchsorted(cells.line_ends, places), minlength=len(cells.line_ends))
    is_plain = of_lines[cells.plain] == 2 * is_quoted.sum(axis=0)
    return Cells(
        line_starts=cells.line_starts,
        line_ends=cells.line_ends,
        plain=cells.plain[is_plain],
        starts=(starts + is_quoted)[:, is_plain],
        ends=(ends - is_quoted)[:, is_plain],
    )
