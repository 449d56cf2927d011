"""How the board looks: its symbols and its styles, for terminals with 256 colours, 16, or none.

A state is always a symbol and a word; a colour only adds. Warning is red, caution amber, advisory cyan
(14 CFR 25.1322); nothing else on the board uses these. Coloured text stands on a ground of its own, so that
it can be read on a dark and on a light terminal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from rich.style import Style

from console.engine.snapshot import Band


class Depth(Enum):
    """What the terminal can show."""

    MANY = "256 colours or more"
    SIXTEEN = "16 colours"
    NONE = "no colours"


@dataclass(frozen=True, kw_only=True, slots=True)
class Glyphs:
    """The characters that gauges and rules are drawn with, each one cell wide."""

    sure: str
    """From now to the low end of the interval."""
    probable: str
    """From the low end to the central case."""
    possible: str
    """From the central case to the high end."""
    old: str
    """In the place of ``sure`` where the numbers are old."""
    need: str
    axis: str
    beyond: str
    """The gauge goes on past the end of the axis."""
    begun: str
    """The axis begins later than now: what lies before is cut off."""
    rule: str
    stop: str
    """Where the line of a cabin limit ends."""
    doubtful: str
    """In the place of ``rule`` in such a line where the numbers are old."""
    cut: str
    """Text goes on where there was no room for it."""


BLOCKS = Glyphs(
    sure="█",
    probable="▒",
    possible="░",
    old="▒",
    need="│",
    axis="·",
    beyond="►",
    begun="«",
    rule="─",
    stop="┤",
    doubtful="~",
    cut="…",
)
"""All in the old PC character set, so that a Linux console has them too."""

ASCII = Glyphs(
    sure="#",
    probable="=",
    possible="-",
    old="=",
    need="|",
    axis=".",
    beyond=">",
    begun="/",
    rule="-",
    stop="+",
    doubtful="~",
    cut="~",
)

BAND_SYMBOLS: Mapping[Band | None, str] = {
    Band.NOMINAL: ".",
    Band.ADVISORY: "i",
    Band.CAUTION: "!",
    Band.WARNING: "X",
    None: "?",
}
"""The same in both sets of glyphs: the more ink, the worse."""

BAND_WORDS: Mapping[Band | None, str] = {
    Band.NOMINAL: "nominal",
    Band.ADVISORY: "ADVISORY",
    Band.CAUTION: "CAUTION",
    Band.WARNING: "WARNING",
    None: "unknown",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Palette:
    """The styles of the board."""

    grounds: Mapping[Band | None, Style]
    """A band's word, and the whole headline."""
    bars: Mapping[Band | None, Style]
    """A supply's gauge."""
    old: Style
    """The mark on numbers that are old or not to be trusted."""
    fault: Style
    plain: Style
    title: Style
    strong: Style
    selected: Style
    need: Style
    key: Style


def palette(depth: Depth) -> Palette:
    """The styles for a terminal of that depth."""
    warning, caution, advisory, unknown = (Style.parse(text) for text in _GROUNDS[depth])
    grounds = {
        Band.NOMINAL: Style(),
        Band.ADVISORY: advisory,
        Band.CAUTION: caution,
        Band.WARNING: warning,
        None: unknown,
    }
    bars = {band: Style.parse(text) for band, text in _BARS[depth].items()}
    return Palette(
        grounds=grounds,
        bars=bars,
        old=caution,
        fault=caution,
        plain=Style(),
        title=Style(bold=True),
        strong=Style(bold=True),
        selected=Style(bold=True, reverse=True),
        need=Style(bold=True),
        key=Style(bold=True),
    )


_GROUNDS = {
    Depth.MANY: (
        "bold #ffffff on #af0000",
        "bold #000000 on #ffaf00",
        "bold #000000 on #5fd7ff",
        "bold #ffffff on #444444",
    ),
    Depth.SIXTEEN: ("bold white on red", "black on yellow", "black on cyan", "reverse"),
    Depth.NONE: ("bold reverse", "reverse", "bold underline", "underline"),
}
"""Warning, caution, advisory, unknown. The first three of MANY have a contrast of 8:1 and more."""

_BARS: dict[Depth, dict[Band | None, str]] = {
    Depth.MANY: {
        Band.NOMINAL: "#9e9e9e",
        Band.ADVISORY: "#5fd7ff",
        Band.CAUTION: "#ffaf00",
        Band.WARNING: "#ff5f5f",
        None: "",
    },
    Depth.SIXTEEN: {
        Band.NOMINAL: "",
        Band.ADVISORY: "cyan",
        Band.CAUTION: "yellow",
        Band.WARNING: "red",
        None: "",
    },
    Depth.NONE: {Band.NOMINAL: "", Band.ADVISORY: "", Band.CAUTION: "", Band.WARNING: "bold", None: ""},
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Look:
    """Glyphs and styles of one running board."""

    glyphs: Glyphs
    palette: Palette
    ascii_only: bool


def look(depth: Depth, *, ascii_only: bool) -> Look:
    """The look for a terminal."""
    return Look(glyphs=ASCII if ascii_only else BLOCKS, palette=palette(depth), ascii_only=ascii_only)
