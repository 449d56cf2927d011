"""The cabin on the first look: under a thin rule, one row for every limit, the most urgent first.

They are no supplies and must not look so: a thin line that ends in a stop where the limit is reached, on the
axis that the gauges have, and never a filled bar. Lines of old numbers are never whole.
"""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.faces.axis import Axis, axis_of
from console.board.faces.cabin_words import (
    CABIN_KEY,
    NOT_REACHED,
    LimitClocks,
    clock_distrust_text,
    grace_text,
    limit_text,
    limits_by_urgency,
    now_figure,
    reach_text,
)
from console.board.faces.gauge_columns import LONGEST_LIMIT_NAME, columns_of
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import UNKNOWN, Rounding, margin_text, span_text
from console.engine.snapshot import Band, ClockState, Snapshot

_BAND_WIDTH = 10
_LEAST_NAME = 8
_LEAST_RULE = 3
_WIDE = 112
"""From here on each limit has a line on the axis of the gauges."""


def cabin_rows_wanted(view: View) -> int:
    """Rows that the rule and all limits take; none where the cabin has no limits."""
    if view.snapshot is None or not view.snapshot.clocks:
        return 0
    return 1 + len({clock.limit.name for clock in view.snapshot.clocks})


@dataclass(frozen=True, kw_only=True, slots=True)
class _Columns:
    """How a row is divided."""

    name: int
    axis: Axis | None
    """None where there is no room for lines."""
    now: int
    limit: int
    reach: int
    margin: int
    grace: int

    @property
    def figures(self) -> int:
        return self.now + self.limit + self.reach + self.margin + self.grace + 5


def cabin_lines(view: View, width: int, height: int) -> list[Text]:
    """The rule with its titles, and as many limits as there is room for."""
    snapshot = view.snapshot
    if snapshot is None or not snapshot.clocks or height < 1:
        return []
    rows = limits_by_urgency(snapshot)
    if height == 1:
        return [_one_line(view, snapshot, rows, width)]
    shown = rows[: height - 1]
    columns = _columns_of(snapshot, shown, width)
    return [
        _rule(view, snapshot, columns, (len(shown), len(rows)), width),
        *(
            _row(view, snapshot, row, name, columns, width)
            for row, name in zip(shown, _names(view, shown, columns.name), strict=True)
        ),
    ]


def _columns_of(snapshot: Snapshot, rows: tuple[LimitClocks, ...], width: int) -> _Columns:
    """Figures take what they need; a wide board draws lines on the gauges' axis, else names have the rest."""
    system = snapshot.shown_in
    now = max(4, *(len(now_figure(row.speaks, system)) for row in rows))
    limit = max(8, *(len(limit_text(row.limit, system)) for row in rows))
    gauges = columns_of(snapshot, width)
    axis = axis_of(snapshot, gauges.gauge)
    columns = _Columns(name=gauges.name, axis=axis, now=now, limit=limit, reach=8, margin=11, grace=14)
    lead = 1 + gauges.name + 1 + _BAND_WIDTH + 1
    names = max(cell_len(one_line(row.limit.name)) for row in rows)
    # A name that can be read is worth more than a line.
    has_names = gauges.name >= min(names, LONGEST_LIMIT_NAME)
    if width >= _WIDE and has_names and not axis.is_cut and lead + gauges.gauge + columns.figures <= width:
        return columns
    name = min(LONGEST_LIMIT_NAME, max(_LEAST_NAME, width - columns.figures - _BAND_WIDTH - 3))
    return _Columns(name=name, axis=None, now=now, limit=limit, reach=8, margin=11, grace=14)


def _rule(view: View, snapshot: Snapshot, columns: _Columns, counts: tuple[int, int], width: int) -> Text:
    """The rule with the word before them, what else there is, and the titles of the columns."""
    glyphs, title = view.look.glyphs, view.look.palette.title
    shown, count = counts
    lead = 1 + columns.name + 1 + _BAND_WIDTH + 1
    part = "" if shown == count else f"{shown} of {count}"
    heads = (f"{part}, {CABIN_KEY}: all" if part else f"{CABIN_KEY}: all", part or f"{CABIN_KEY}: all", "")
    fixed = cell_len(f"{glyphs.rule * 2} CABIN  ")
    more = next(words for words in heads if fixed + len(words) <= lead or not words)
    head = line(glyphs.rule * 2, " ", ("CABIN", title), f" {more} " if more else " ")
    head.append(glyphs.rule * max(0, lead - head.cell_len))
    if columns.axis is not None:
        head.append_text(_rule_axis(view, snapshot, columns.axis))
    titles = line()
    for words, cells in (
        ("now", columns.now),
        ("limit", columns.limit),
        ("reached", columns.reach),
        ("margin, low", columns.margin),
        ("if stopped now", columns.grace),
    ):
        ruled = glyphs.rule * (cells - len(words) - 1)
        ruled = "" if len(ruled) < _LEAST_RULE else ruled
        titles.append(" " + f"{ruled} {words}".rjust(cells)[-cells:])
    head.append(glyphs.rule * max(0, width - head.cell_len - titles.cell_len))
    return head.append_text(titles)


def _rule_axis(view: View, snapshot: Snapshot, axis: Axis) -> Text:
    """The rule over the lines: need goes through it, and is named where no gauges stand above."""
    glyphs, need = view.look.glyphs, axis.need_cell
    if need is None:
        return line(glyphs.rule * axis.width)
    label = "" if snapshot.supplies else f" need {span_text(snapshot.need.in_s, Rounding.UP)} "
    label = label if len(label) < need else ""
    return line(
        glyphs.rule * (need - len(label)),
        (label + glyphs.need, view.look.palette.need),
        glyphs.rule * (axis.width - need - 1),
    )


def _names(view: View, rows: tuple[LimitClocks, ...], width: int) -> list[str]:
    """The names in so many cells; those that would look alike lose their middle instead of their end."""
    cut = view.look.glyphs.cut
    names = [one_line(row.limit.name) for row in rows]
    fitted = [fit(name, width, cut) for name in names]
    return [
        _without_middle(name, width, cut) if fitted.count(text) > 1 and cell_len(name) > width else text
        for name, text in zip(names, fitted, strict=True)
    ]


def _without_middle(name: str, width: int, cut: str) -> str:
    end = (width - 1) // 2
    return fit(fit(name, width - 1 - end) + cut + name[len(name) - end :], width)


def _row(view: View, snapshot: Snapshot, row: LimitClocks, name: str, columns: _Columns, width: int) -> Text:
    palette, cut, system = view.look.palette, view.look.glyphs.cut, snapshot.shown_in
    distrust = clock_distrust_text(view, row.speaks)
    is_fresh = not distrust and view.not_updated_s is None
    strong = palette.strong if is_fresh else Style()
    band = f"{BAND_SYMBOLS[row.band]} {BAND_WORDS[row.band]}"
    text = line(" ", (name, palette.strong), " ", (band, palette.grounds[row.band]))
    text.append(" " * (_BAND_WIDTH - len(band) + 1))
    if row.speaks.state is ClockState.UNKNOWN:
        why = one_line(row.speaks.why).removeprefix(f"{UNKNOWN}: ") or "no reason was given"
        return text.append(fit(f"{UNKNOWN}: {why}", max(0, width - text.cell_len), cut))
    if columns.axis is not None:
        text.append_text(_axis_line(view, row, columns.axis, distrust, is_fresh=is_fresh))
    text.append(" " * max(0, width - text.cell_len - columns.figures))
    text.append(f" {now_figure(row.speaks, system):>{columns.now}}", strong)
    text.append(f" {limit_text(row.limit, system):>{columns.limit}} ")
    text.append_text(_reach(view, row, columns, strong))
    tail = grace_text(row)
    if distrust and columns.axis is None:
        # Where no line carries the mark, it stands in the place of what rests on the same readings.
        return text.append(" ").append(fit(distrust, columns.grace, right=True), palette.old)
    return text.append(f" {fit(tail, columns.grace, right=True)}")


def _reach(view: View, row: LimitClocks, columns: _Columns, strong: Style) -> Text:
    """When, and by how much before or after need."""
    when = reach_text(row.speaks)
    margin = row.speaks.margin_s
    if when == NOT_REACHED:
        return line(fit(NOT_REACHED, columns.reach + 1 + columns.margin, right=True))
    style = view.look.palette.grounds[Band.WARNING] if row.is_reached else strong
    text = line(" " * (columns.reach - len(when)), (when, style), " ")
    if margin is None or margin.p05 is None:
        return text.append(" " * columns.margin)
    word, _, figure = margin_text(margin.p05).removesuffix(" h").partition(" ")
    return text.append(fit(f"{word} {figure:>5}", columns.margin, right=True), strong)


def _axis_line(view: View, row: LimitClocks, axis: Axis, distrust: str, *, is_fresh: bool) -> Text:
    """The thin line to where the limit is reached at the low end, with a stop; need goes through it."""
    glyphs, palette = view.look.glyphs, view.look.palette
    low_s = row.speaks.reached_in_s.p05 if row.speaks.reached_in_s is not None else None
    end = axis.width if low_s is None else axis.cell_of(low_s)
    if row.is_reached:
        end = 0
    text = Text(no_wrap=True, end="")
    for cell in range(axis.width):
        if cell == axis.need_cell:
            text.append(glyphs.need, palette.need)
        elif cell == end - 1 and end < axis.width:
            text.append(glyphs.stop, palette.bars[row.band])
        elif cell < end:
            text.append(glyphs.rule if is_fresh else glyphs.doubtful, palette.bars[row.band])
        else:
            text.append(glyphs.axis)
    if low_s is None and axis.width > 1 and not row.is_reached:
        text.right_crop(1)
        text.append(glyphs.beyond, palette.strong)
    return _marked(text, distrust, palette.old)


def _marked(text: Text, distrust: str, style: Style) -> Text:
    mark = f" {distrust} "
    if not distrust or text.cell_len <= len(mark):
        return text
    return line((mark, style)).append_text(text[len(mark) :])


def _one_line(view: View, snapshot: Snapshot, rows: tuple[LimitClocks, ...], width: int) -> Text:
    """The most urgent limit in the rule itself, where there is one row."""
    palette, glyphs, system = view.look.palette, view.look.glyphs, snapshot.shown_in
    first, others = rows[0], len(rows) - 1
    band = f"{BAND_SYMBOLS[first.band]} {BAND_WORDS[first.band]}"
    distrust = clock_distrust_text(view, first.speaks)
    text = line(glyphs.rule * 2, " ", ("CABIN", palette.title), " ", (band, palette.grounds[first.band]), " ")
    if distrust:
        text.append_text(line((distrust, palette.old), " "))
    tail = f" {others} more, {CABIN_KEY}: all" if others else f" {CABIN_KEY}: all"
    reach = reach_text(first.speaks)
    values = f"now {now_figure(first.speaks, system)}, {limit_text(first.limit, system)}"
    when = f"in {reach}" if first.speaks.state is ClockState.RUNNING and reach != NOT_REACHED else reach
    figures = f" {when}, {values}" if first.speaks.state is not ClockState.UNKNOWN else f" {UNKNOWN}"
    room = width - text.cell_len - len(tail)
    name = fit(first.limit.name, max(0, min(LONGEST_LIMIT_NAME, room - len(figures))), glyphs.cut).rstrip()
    text.append_text(line((f"{name}{figures}", palette.strong if not distrust else Style())))
    text.append(tail if text.cell_len + len(tail) <= width else "")
    return text
