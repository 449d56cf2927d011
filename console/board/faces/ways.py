"""The ways home side by side, one column each; with room left, the one in hand in words below."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.style import Style
from rich.text import Text

from console.board.cells import choosable, fit, line, one_line, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, standing_lines, standing_note
from console.board.faces.way_words import (
    NO_END,
    decide_cell,
    delay_cell,
    delay_sentence,
    delta_v_cell,
    delta_v_sentence,
    is_overdue,
    open_cell,
    open_sentence,
)
from console.board.look import Look
from console.display import UNKNOWN, countdown_text, elapsed_text, hours_figure
from console.engine.options import Options, WayHome
from console.engine.snapshot import Band, Interval, Need

_LABEL = 13
_LEAST_CELL, _MOST_CELL = 21, 34


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ways:
    """What is shown of the ways home."""

    look: Look
    options: Options | None
    standing: Standing
    chosen: str
    """The way in hand; empty before there is an answer."""
    now_s: float
    """Countdowns go on while the answer ages."""
    scroll: int


Cell = tuple[str, Style]
_Row = tuple[str, Callable[[WayHome], Cell]]


def ways_lines(state: Ways, width: int, height: int) -> list[Text]:
    """The whole screen."""
    options = state.options
    if options is None:
        title = pane_title(state.look, "ways home", width, standing_note(state.standing))
        return [title, *standing_lines(state.look, state.standing, None, width)][:height]
    columns = max(1, (width - _LABEL) // (_LEAST_CELL + 1))
    cell = max(4, min(_MOST_CELL, (width - _LABEL) // min(columns, len(options.ways)) - 1))
    shown, hidden = _window(options.ways, state.chosen, columns)
    notes = [f"{len(options.ways)} ways, {hidden} out of sight"] if hidden else []
    notes.append(standing_note(state.standing))
    lines = [pane_title(state.look, "ways home", width, ", ".join(filter(None, notes)))]
    lines += standing_lines(state.look, state.standing, options.snapshot, width)
    lines += [_row(state, row, shown, cell) for row in _rows(state, options)]
    below = _below(state, options, width)
    room = max(0, height - len(lines))
    if room >= 2:
        first = min(state.scroll, max(0, len(below) - room))
        lines += below[first : first + room]
        if len(below) - first > room:
            lines[-1] = line(f"{len(below) - first - room + 1} more lines: page keys")
    return lines[:height]


def _window(ways: Sequence[WayHome], chosen: str, count: int) -> tuple[Sequence[WayHome], int]:
    """As many ways as there are columns for, the one in hand among them."""
    names = [way.option.name for way in ways]
    at = names.index(chosen) if chosen in names else 0
    first = max(0, min(at - count // 2, len(ways) - count))
    return ways[first : first + count], max(0, len(ways) - count)


def _row(state: Ways, row: _Row, shown: Sequence[WayHome], cell: int) -> Text:
    label, draw = row
    plain = state.look.palette.plain
    text = line(fit(label, _LABEL, state.look.glyphs.cut))
    for way in shown:
        words, style = draw(way)
        cells = fit(words, cell, state.look.glyphs.cut)
        # The ground ends with the words: a bar across the column would say more than it is.
        kept = len(cells.rstrip())
        text.append(" ")
        text.append(cells[:kept], choosable(style, way.option.name))
        text.append(cells[kept:], choosable(plain, way.option.name))
    return text


def _rows(state: Ways, options: Options) -> list[_Row]:
    palette, now_s, need = state.look.palette, state.now_s, options.snapshot.need
    plain, strong, bad = palette.plain, palette.strong, palette.grounds[Band.WARNING]
    caution = palette.grounds[Band.CAUTION]

    def name(way: WayHome) -> Cell:
        is_chosen = way.option.name == state.chosen
        return f"{'>' if is_chosen else ' '}{one_line(way.option.name)}", (
            palette.selected if is_chosen else strong
        )

    def decide(way: WayHome) -> Cell:
        return decide_cell(way, need, now_s), caution if is_overdue(way, need, now_s) else strong

    def opened(end: str) -> Callable[[WayHome], Cell]:
        def cell(way: WayHome) -> Cell:
            found = None if way.open_until is None else getattr(way.open_until, end)
            words = open_cell(way, found, now_s)
            return words, caution if words.startswith("CLOSED") else plain

        return cell

    def delta_v(way: WayHome) -> Cell:
        words, is_short = delta_v_cell(way, options.snapshot.shown_in)
        return words, bad if is_short else plain

    rows: list[_Row] = [
        ("", name),
        ("", lambda way: (_status(way, need), strong if way.is_committed else plain)),
        ("arrival", lambda way: (_moment(way.option.arrival_s, now_s), plain)),
        ("need until", lambda way: (_moment(way.option.need_s, now_s), plain)),
        ("decide by", decide),
        ("open, low", opened("zero_low")),
        ("open, central", opened("zero_central")),
        ("h lost per h", lambda way: (delay_cell(way), plain)),
        ("delta-v", delta_v),
        ("margin h", lambda _: ("  low /central <least", palette.title)),
    ]
    return rows + [(one_line(name), _margin(state, name, bad)) for name in options.snapshot.supplies]


def _margin(state: Ways, name: str, bad: Style) -> Callable[[WayHome], Cell]:
    def cell(way: WayHome) -> Cell:
        one = way.supplies.get(name)
        margin = None if one is None else one.margin_s
        words = margin_pair(margin)
        is_short = margin is not None and margin.p05 is not None and margin.p05 < 0.0
        words += f" {'SHORT' if is_short else ''}{'<' if way.shortest == name else ''}"
        return words.rstrip(), bad if is_short else state.look.palette.plain

    return cell


def margin_pair(margin: Interval | None) -> str:
    """Low end and central case in hours, under one another."""
    if margin is None:
        return UNKNOWN
    low, central = (
        NO_END if end is None else hours_figure(end, signed=True) for end in (margin.p05, margin.p50)
    )
    return f"{low:>6} /{central:>6}"


def _status(way: WayHome, need: Need) -> str:
    if not way.is_committed:
        return " not committed"
    return " COMMITTED, logged" if need.decided_at_s is not None else " COMMITTED, plan only"


def _moment(at_s: float, now_s: float) -> str:
    return f"{elapsed_text(at_s)} {countdown_text(at_s - now_s)}"


def _below(state: Ways, options: Options, width: int) -> list[Text]:
    """The way in hand, in words."""
    way = way_of(options, state.chosen)
    if way is None:
        return []
    lines = [line((one_line(way.option.name), state.look.palette.title))]
    for sentence in way_sentences(options, way, state.now_s):
        lines += [line(text) for text in wrap(sentence, width)]
    return lines


def way_of(options: Options, name: str) -> WayHome | None:
    """The way home of a name."""
    return next((way for way in options.ways if way.option.name == name), None)


def way_sentences(options: Options, way: WayHome, now_s: float) -> list[str]:
    """Until when it stays open, what waiting costs, what it asks."""
    sentences = []
    found = way.open_until
    best = f" (at best: {', '.join(one_line(name) for name in way.unknown)} not known)" if way.unknown else ""
    if found is not None:
        zero, advisory = "a margin of zero", "its advisory margin"
        sentences = [
            f"open{best}, low end: {open_sentence(found.zero_low, zero, now_s)}",
            f"open{best}, central: {open_sentence(found.zero_central, zero, now_s)}",
            f"open with the advisory margin, low end: {open_sentence(found.advisory_low, advisory, now_s)}",
        ]
    else:
        sentences.append("begun: carrying on is this way home" if way.is_begun else f"open until: {UNKNOWN}")
    if way.delay is not None:
        sentences.append(delay_sentence(way.delay))
    sentences.append(delta_v_sentence(way, options.snapshot.shown_in))
    if way.option.note:
        sentences.append(f"posture: {one_line(way.option.note)}")
    return sentences
