"""Rows of the card as lines of at most 80 columns, and one page of them. Knows no figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from console.report.brief.card_figures import WIDTH, cut

LINES = 84
"""Of one page of A4 paper at eight lines to the inch, with margins."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """One part of the card."""

    lines: tuple[str, ...]
    least: int
    """How many of its lines must stand whatever the room."""
    more: str = ""
    """Where to find what is left out."""


def rows(cells: Sequence[Sequence[str]], first: int = 18) -> list[str]:
    """Cells as lines: the first column to the left and cut to a width, the others to the right.

    >>> rows([("supply", "A.h"), ("power", "1461")])
    ['supply   A.h', 'power   1461']
    """
    table = [[cut(row[0], first), *map(str, row[1:])] for row in cells]
    widths = [max(len(row[at]) for row in table) for at in range(len(table[0]))]
    over = sum(widths) + len(widths) - 1 - WIDTH
    if over > 0:
        # The names give way, never a figure.
        widths[0] = max(widths[0] - over, 4)
    gap = " " * (2 if sum(widths) + 2 * (len(widths) - 1) <= WIDTH else 1)
    return [
        gap.join(
            cut(cell, width).ljust(width) if at == 0 else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in table
    ]


def paired(items: Sequence[str]) -> list[str]:
    """Short items two to a line, read down the left column first."""
    half = (len(items) + 1) // 2
    width = WIDTH // 2 - 1
    lines = []
    for at in range(half):
        left = cut(items[at], width)
        right = cut(items[at + half], width) if at + half < len(items) else ""
        lines.append(f"{left:<{width}}  {right}".rstrip())
    return lines


def folded(head: str, parts: Sequence[str], joint: str = "; ") -> list[str]:
    """Parts behind a head over as many lines as they need; no part is broken, one too long is cut."""
    lines = [head]
    for at, part in enumerate(parts):
        piece = cut(part, WIDTH - 6) + (joint if at < len(parts) - 1 else "")
        if len(lines[-1]) + len(piece.rstrip()) > WIDTH:
            lines.append("    ")
        lines[-1] += piece
    return [line.rstrip() for line in lines]


def page(sections: Sequence[Section]) -> list[str]:
    """All sections on one page: where there are too many lines, the longest that may give way do."""
    fitted = list(sections)
    while _count(fitted) > LINES:
        spare = [len(each.lines) - each.least for each in fitted]
        at = spare.index(max(spare))
        if spare[at] <= 0:
            break
        fitted[at] = replace(fitted[at], lines=fitted[at].lines[:-1])
    lines = []
    for before, after in zip(sections, fitted, strict=True):
        lost = len(before.lines) - len(after.lines)
        kept = list(after.lines)
        if lost:
            # The line that says so takes the place of one more.
            kept[-1] = cut(f"  ... {lost + 1} more lines: {before.more}", WIDTH)
        lines += kept
    return lines[:LINES]


def _count(sections: Sequence[Section]) -> int:
    return sum(len(each.lines) for each in sections)
