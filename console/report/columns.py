"""Cells to lines of plain text that a terminal of 80 columns does not break. Knows no figures."""

from __future__ import annotations

from collections.abc import Sequence

WIDTH = 80
"""The narrowest terminal that is reckoned with; what is printed does not depend on the real one."""


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines: the first column to the left, the others to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(
            cell.ljust(width) if column == 0 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def folded(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines; where they are too wide, each row's name stands on a line of its own above its figures.

    >>> folded([("limit", "now"), ("a name", "1 kPa")])
    ['limit     now', 'a name  1 kPa']
    """
    lines = aligned(rows)
    if max(map(len, lines)) <= WIDTH:
        return lines
    figures = aligned([("", *row[1:]) for row in rows])
    return [line for row, below in zip(rows, figures, strict=True) for line in (row[0], below)]


def wrapped(text: str) -> list[str]:
    """A sentence over as many lines as it needs, the further ones indented."""
    return wrapped_parts("", text.split(), joint=" ")


def wrapped_parts(head: str, parts: Sequence[str], *, joint: str = "; ") -> list[str]:
    """Parts over as many lines as they need, the further ones indented; no part is broken.

    >>> wrapped_parts("cabin: ", ["oxygen 30.2 kPa", "temperature " + 60 * "9"])[1][:16]
    '    temperature '
    """
    lines = [head]
    for index, part in enumerate(parts):
        piece = part if index == len(parts) - 1 else part + joint
        if lines[-1].strip() and len(lines[-1]) + len(piece.rstrip()) > WIDTH and (index or head):
            lines.append("    ")
        lines[-1] += piece
    return [line.rstrip() for line in lines]
