"""Text into cells of a fixed width, by what a terminal really shows: wide characters take two, marks none."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from rich.style import Style
from rich.text import Text

from console.display import clean_text

CHOICE = "choice"
"""In a style's meta: what is chosen by the mouse there."""


def choosable(style: Style, item: str) -> Style:
    """A style for what can be chosen with the mouse too."""
    return style + Style(meta={CHOICE: item})


def fit(text: str, width: int, cut: str = "", *, right: bool = False) -> str:
    """Text in exactly so many cells; what does not fit is cut off, and marked where ``cut`` is given."""
    if width <= 0:
        return ""
    flat = _flat(text)
    length = cell_len(flat)
    if length <= width:
        blank = " " * (width - length)
        return blank + flat if right else flat + blank
    if cut and width > cell_len(cut):
        return set_cell_size(flat, width - cell_len(cut)) + cut
    return set_cell_size(flat, width)


def clipped(text: str, limit: int, cut: str = "") -> str:
    """Text on one line in at most so many cells."""
    flat = one_line(text)
    return flat if cell_len(flat) <= limit else fit(flat, limit, cut)


def _flat(text: str) -> str:
    """Our own texts as they are, blanks and all; others on one line."""
    return text if text.isprintable() else one_line(text)


def one_line(text: str) -> str:
    """The same text, harmless, with every stretch of white space as one blank."""
    return " ".join(clean_text(text).split())


def wrap(text: str, width: int, limit: int | None = None, cut: str = "") -> list[str]:
    """Text in lines of at most so many cells, broken between words where possible."""
    if width <= 0:
        return []
    lines = [""]
    for word in one_line(text).split(" "):
        for piece in _pieces(word, width):
            joined = f"{lines[-1]} {piece}" if lines[-1] else piece
            if cell_len(joined) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    if limit is not None and len(lines) > limit:
        kept = lines[:limit]
        if kept:
            kept[-1] = fit(f"{kept[-1]} {lines[limit]}", width, cut)
        return kept
    return lines


def _pieces(word: str, width: int) -> list[str]:
    """A word that is longer than a line, in pieces."""
    if cell_len(word) <= width:
        return [word]
    pieces, piece, length = [], "", 0
    for character in word:
        size = cell_len(character)
        if length + size > width and piece:
            pieces.append(piece)
            piece, length = "", 0
        piece, length = piece + character, length + size
    return [*pieces, piece]


def line(*parts: str | tuple[str, Style], style: Style | None = None) -> Text:
    """One line of plain text and styled parts; nothing in it is read as markup."""
    text = Text(style=style if style is not None else "", no_wrap=True, end="")
    for part in parts:
        if isinstance(part, str):
            text.append(_flat(part))
        else:
            text.append(_flat(part[0]), part[1])
    return text


def padded(text: Text, width: int) -> Text:
    """The same line with its ground carried on to the edge."""
    missing = width - text.cell_len
    if missing > 0:
        text.append(" " * missing)
    return text


def fitting(parts: list[tuple[int, Text]], width: int, gap: str = "  ") -> Text:
    """As many parts as fit side by side; those of the highest rank are dropped first, rank 0 never."""
    kept = list(parts)
    while sum(part.cell_len for _, part in kept) + len(gap) * (len(kept) - 1) > width:
        worst = max((rank for rank, _ in kept), default=0)
        if worst == 0:
            break
        last = max(index for index, (rank, _) in enumerate(kept) if rank == worst)
        del kept[last]
    joined = line()
    for index, (_, part) in enumerate(kept):
        joined.append(gap if index else "")
        joined.append_text(part)
    return joined


def flow(items: list[Text], width: int, gap: str = "   ") -> list[Text]:
    """Items one after another, in as many lines as they take; only what is longer than a line is broken."""
    lines: list[Text] = []
    for item in items:
        if lines and lines[-1].cell_len + len(gap) + item.cell_len <= width:
            lines[-1].append(gap)
            lines[-1].append_text(item)
        else:
            lines.extend(_broken(item.copy(), width))
    return lines


def _broken(item: Text, width: int) -> list[Text]:
    lines = []
    while item.cell_len > width > 0:
        at = item.plain.rfind(" ", 1, width + 1)
        first, item = item.divide([at if at > 0 else width])
        lines.append(first)
        if item.plain.startswith(" "):
            item = item[1:]
    return [*lines, item]
