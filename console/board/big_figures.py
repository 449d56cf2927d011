"""Figures three rows high, for the one number that must be read first. Own shapes; ASCII ones too."""

from __future__ import annotations

_PIXELS = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "+": ("   ", " # ", "###", " # ", "   "),
    "-": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
}
_STROKES = {
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
    "+": ("   ", "_|_", " | "),
    "-": ("   ", "___", "   "),
    ".": (" ", " ", "."),
}
_HALVES = {("#", "#"): "█", ("#", " "): "▀", (" ", "#"): "▄", (" ", " "): " "}


def big_figure(figure: str, *, ascii_only: bool, wide: bool = False) -> tuple[str, str, str]:
    """A figure of digits, sign and point as three rows of one width; any other character is left out."""
    shapes = [_shape(character, ascii_only, wide) for character in figure if character in _PIXELS]
    first, second, third = (" ".join(shape[row] for shape in shapes) for row in range(3))
    return first, second, third


def _shape(character: str, ascii_only: bool, wide: bool) -> tuple[str, str, str]:
    if ascii_only:
        return _STROKES[character]
    times = 2 if wide else 1
    pixels = [*_PIXELS[character], " " * len(_PIXELS[character][0])]
    rows = [
        "".join(
            _HALVES[upper, lower] * times for upper, lower in zip(pixels[row], pixels[row + 1], strict=True)
        )
        for row in (0, 2, 4)
    ]
    return rows[0], rows[1], rows[2]
