"""The sheet of help: keys from the bindings, what symbols and gauges mean, and what the tool is not."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rich.text import Text

from console.board.cells import fit, line, wrap
from console.board.faces.gauge_columns import MODEL_MARK, SHORT_MARK
from console.board.faces.pane_title import scrolled
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import CAUTIONS

Keys = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
"""By place, keys and what they do."""

_WORDS = (
    ("endurance", "time from now until usable is gone, under the plan or at the present rate"),
    ("margin", "endurance under the plan minus the time to need; SHORT: it does not reach"),
    ("need", "the moment until which every supply must last: arrival, recovery and hold"),
    ("low end", "only 1 case in 20 is worse (of the 90 % interval)"),
    ("usable", "on board without protected, isolated, residual and reserve"),
    ("allowance", "the steady use that would end exactly at need"),
    ("rounding", "what is left is rounded down and what is used up, so no figure looks better than it is"),
)

_CABIN = (
    "under the supplies, one row for each limit of the cabin, the most urgent first",
    "reached, margin: under the plan, low end; at the trend: the measured trend is worse than the plan",
    "if stopped now: the hours that are left if removal, feed, cooling or all loads stopped at this moment",
)


def guide_lines(keys: Keys) -> Callable[[View, int, int], list[Text]]:
    """The sheet for a board with these keys."""

    def draw(view: View, width: int, height: int) -> list[Text]:
        return scrolled(view, "help", list(_body(view, keys, width)), (width, height))

    return draw


def _body(view: View, keys: Keys, width: int) -> Iterable[Text]:
    palette, glyphs = view.look.palette, view.look.glyphs
    yield from _keys(view, keys[:1])
    yield line()
    yield line(("bands, on the low end of the margin", palette.title))
    for band, words in BAND_WORDS.items():
        yield line("  ", (f"{BAND_SYMBOLS[band]} {words}", palette.grounds[band]))
    yield line()
    yield line(("gauges", palette.title))
    yield line(f"  {glyphs.sure * 3} to the low end  {glyphs.probable * 3} to the central case")
    yield line(
        f"  {glyphs.possible * 3} to the high end  {glyphs.need} need  {glyphs.beyond} goes on past the axis"
    )
    yield line(f"  {glyphs.old * 3}{glyphs.possible * 3} without the solid part: the numbers are old")
    yield line(
        f"  {glyphs.begun} the axis begins at the hour beside it, not now; the line of need takes no time"
    )
    yield line(f"  {SHORT_MARK} after a figure at the present rate: it ends before need at this rate")
    yield line(
        f"  {MODEL_MARK} after it: the rate is the model's, because a meter of this supply is not good"
    )
    yield line()
    yield line(("cabin", palette.title))
    for texts in _CABIN:
        for index, text in enumerate(wrap(texts, max(10, width - 4))):
            yield line("  " if index == 0 else "    ", text)
    yield line(f"  {glyphs.rule * 5}{glyphs.stop} until the limit is reached, low end")
    yield line(f"  {glyphs.doubtful * 5}{glyphs.stop} the same of old numbers")
    yield line()
    yield line(("words", palette.title))
    for word, words in _WORDS:
        for index, text in enumerate(wrap(words, max(10, width - 14))):
            yield line("  ", (fit(word if index == 0 else "", 12), palette.strong), text)
    yield line()
    for caution in CAUTIONS:
        for text in wrap(caution, width):
            yield line(text)
    yield line()
    yield from _keys(view, keys[1:])


def _keys(view: View, places: Keys) -> Iterable[Text]:
    for place, listed in places:
        yield line((f"keys: {place}", view.look.palette.title))
        for key, words in listed:
            yield line("  ", (fit(key, 20), view.look.palette.key), words)
