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
    """Where to find what is left out; empty where the whole part goes and nothing is missed by that."""
    compact: tuple[str, ...] = ()
    """The same in fewer lines and harder to read, where there is no room."""
    rank: int = 0
    """Those of the highest give way first."""


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


def across(items: Sequence[str]) -> list[str]:
    """Items in order, two to a line where both fit, the longer ones on a line of their own.

    >>> across(["a", "b", "c" * 60, "d"])[:2] == [f"{'a':<39}  b", "c" * 60]
    True
    """
    half = WIDTH // 2 - 1
    lines: list[str] = []
    is_open = False
    for item in items:
        text = cut(item, WIDTH)
        if is_open and len(text) <= half:
            lines[-1] = f"{lines[-1]:<{half}}  {text}"
            is_open = False
        else:
            lines.append(text)
            is_open = len(text) <= half
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
    """All sections on one page.

    Where there are too many lines, those that can be written closer are; then the least needed give way,
    the longest first.
    """
    whole = list(sections)
    for at, section in enumerate(whole):
        if _count(whole) > LINES and section.compact and len(section.compact) < len(section.lines):
            whole[at] = replace(
                section, lines=section.compact, least=min(section.least, len(section.compact))
            )
    fitted = list(whole)
    while _count(fitted) > LINES:
        giving = [at for at, each in enumerate(fitted) if len(each.lines) > each.least]
        if not giving:
            break
        at = max(giving, key=lambda at: (fitted[at].rank, len(fitted[at].lines) - fitted[at].least))
        kept = fitted[at].lines[:-1] if fitted[at].more else ()
        fitted[at] = replace(fitted[at], lines=kept)
    lines: list[str] = []
    for before, after in zip(whole, fitted, strict=True):
        kept_lines = list(after.lines)
        lost = len(before.lines) - len(kept_lines)
        if lost and kept_lines:
            # The line that says so takes the place of one more.
            kept_lines[-1] = cut(f"  ... {lost + 1} more lines: {before.more}", WIDTH)
        lines += kept_lines
    return lines[:LINES]


def _count(sections: Sequence[Section]) -> int:
    return sum(len(each.lines) for each in sections)
