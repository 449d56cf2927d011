"""One row for every supply: band, gauge on the common axis, endurance, margin, what is left at need.

The gauge is solid to the low end of the interval, lighter to the central case, lightest to the high end;
one line through all rows marks need. Gauges of old numbers are never solid.
"""

from __future__ import annotations

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from console.board.cells import fit, fitting, line, one_line, wrap
from console.board.faces.axis import Axis, axis_of
from console.board.faces.gauge_columns import Columns, columns_of, legend_of
from console.board.faces.moments import distrust_text, unknown_reason
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import UNKNOWN, Rounding, span_text
from console.engine.snapshot import Interval, Snapshot, SupplyStatus

_BAND_WIDTH = 10


def gauge_rows_wanted(view: View) -> int:
    """Rows that the header, all supplies with their lines of distrust, and the legend take."""
    if view.snapshot is None:
        return 2
    return 2 + sum(2 if distrust_text(view, supply) else 1 for supply in view.snapshot.supplies.values())


def gauge_lines(view: View, width: int, height: int) -> list[Text]:
    """A header and as many supplies as there is room for, the selected one always among them."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    columns = columns_of(snapshot, width)
    axis = axis_of(snapshot, columns.gauge)
    explained = _explained(view, snapshot, height - 1)
    rows = [
        _supply_lines(view, snapshot, supply, columns, axis, width, supply.name in explained)
        for supply in snapshot.supplies.values()
    ]
    first, last = _window(view, snapshot, rows, height - 1)
    header = _header(view, snapshot, columns, axis, (first, last))
    lines = [header, *(text for row in rows[first:last] for text in row)]
    return lines if len(lines) >= height else [*lines, _legend(view, snapshot, width)]


def _explained(view: View, snapshot: Snapshot, room: int) -> frozenset[str]:
    """The supplies whose distrust has a line of its own: the shortest first, as far as the room goes."""
    doubtful = [name for name, supply in snapshot.supplies.items() if distrust_text(view, supply)]
    doubtful.sort(key=lambda name: name != snapshot.shortest)
    return frozenset(doubtful[: max(0, room - len(snapshot.supplies))])


def _legend(view: View, snapshot: Snapshot, width: int) -> Text:
    """What the parts of a gauge and the marks in the rows mean."""
    glyphs = view.look.glyphs
    marks = [(0, line(words)) for words in legend_of(snapshot)]
    parts = (f"{glyphs.sure} to low end", f"{glyphs.probable} central", f"{glyphs.possible} high")
    legend = fitting([*((1, line(words)) for words in parts), *marks], width - 1)
    return line(" ").append_text(legend)


def _window(view: View, snapshot: Snapshot, rows: list[list[Text]], room: int) -> tuple[int, int]:
    """Which rows are shown: from the top as long as the selected one is in sight."""
    selected = view.supply.name if view.supply is not None else None
    wanted = list(snapshot.supplies).index(selected) if selected is not None else 0
    first = 0
    while first < wanted and sum(len(row) for row in rows[first : wanted + 1]) > room:
        first += 1
    last = first
    while last < len(rows) and sum(len(row) for row in rows[first : last + 1]) <= room:
        last += 1
    return first, max(last, min(first + 1, len(rows)))


def _header(view: View, snapshot: Snapshot, columns: Columns, axis: Axis, shown: tuple[int, int]) -> Text:
    count = len(snapshot.supplies)
    name = "supply" if shown == (0, count) else f"supply {shown[0] + 1} to {shown[1]} of {count}"
    text = line(" ", fit(name, columns.name + 1 + _BAND_WIDTH), " ")
    text.append_text(_axis_labels(view, snapshot, axis))
    for column in columns.figures:
        text.append(f" {fit(column.title, column.width, right=True)}")
    return text


def _axis_labels(view: View, snapshot: Snapshot, axis: Axis) -> Text:
    """Its start at the left, need at its line, its end at the right; what does not fit is left out."""
    cells = [" "] * axis.width
    glyphs, need_cell = view.look.glyphs, axis.need_cell
    start = f"{glyphs.begun}{axis.start_h} h" if axis.is_cut else "now"
    styles: list[tuple[int, int, Style]] = []
    if need_cell is not None:
        cells[need_cell] = glyphs.need
        room = need_cell - len(start) - 1
        whole = f"need {span_text(snapshot.need.in_s, Rounding.UP)}"
        label = next((text for text in (whole, "need") if len(text) <= room), "")
        at = need_cell - len(label)
        if not label:
            label = "need" if len("need") < axis.width - need_cell else ""
            at = need_cell + 1
        cells[at : at + len(label)] = label
        styles.append((min(at, need_cell), max(at + len(label), need_cell + 1), view.look.palette.need))
    # Of a cut axis the start must be read: without it the lengths mean nothing.
    _put(cells, 0, start)
    _put(cells, axis.width - len(f"{axis.end_h} h"), f"{axis.end_h} h")
    for hour in _ticks_h(axis):
        _put(cells, axis.cell_of(hour * 3600.0), f"{hour}")
    labels = line("".join(cells))
    for begin, end, style in styles:
        labels.stylize(style, begin, end)
    return labels


def _put(cells: list[str], start: int, text: str) -> None:
    """Write a label where there is room for it, with a blank on both sides."""
    end = start + len(text)
    if start < 0 or end > len(cells) or set(cells[max(0, start - 1) : end + 1]) != {" "}:
        return
    cells[start:end] = text


def _ticks_h(axis: Axis) -> range:
    if axis.width < 32:
        return range(0)
    step = next((step for step in (1, 2, 3, 6, 12, 24, 48, 120) if axis.end_h / step <= 6), 240)
    return range(step, axis.end_h, step)


def _supply_lines(
    view: View,
    snapshot: Snapshot,
    supply: SupplyStatus,
    columns: Columns,
    axis: Axis,
    width: int,
    is_explained: bool,
) -> list[Text]:
    palette = view.look.palette
    selected = view.supply is supply
    name = fit(supply.name, columns.name, view.look.glyphs.cut)
    band = f"{BAND_SYMBOLS[supply.band]} {BAND_WORDS[supply.band]}"
    text = line(
        ">" if selected else " ",
        (name, palette.selected if selected else palette.strong),
        " ",
        (band, palette.grounds[supply.band]),
        " " * (_BAND_WIDTH - len(band) + 1),
    )
    distrust = distrust_text(view, supply)
    if supply.endurance_plan_s is None or supply.margin_s is None:
        return _unknown_lines(view, supply, text, width, 2 if is_explained else 1)
    gauge = _gauge(
        view, supply, supply.endurance_plan_s, axis, solid=not distrust and view.not_updated_s is None
    )
    if distrust and not is_explained:
        gauge = _marked(gauge, distrust, palette.old)
    text.append_text(gauge)
    for column in columns.figures:
        strong = column.is_strong and not distrust and view.not_updated_s is None
        figure = fit(column.figure(snapshot, supply), column.width, right=True)
        text.append(" ")
        text.append(figure, palette.strong if strong else Style())
    if not distrust or not is_explained:
        return [text]
    return [text, _distrust_line(view, supply, distrust, width)]


def _unknown_lines(view: View, supply: SupplyStatus, head: Text, width: int, height: int) -> list[Text]:
    """Why nothing is known, beside the name and on the line below where that is free."""
    cut = view.look.glyphs.cut
    words, room = f"{UNKNOWN}: {unknown_reason(supply)}", width - head.cell_len
    if height < 2 or room < 1 or cell_len(words) <= room:
        return [head.append(fit(words, room, cut))]
    first = wrap(words, room)[0]
    rest = words[len(first) :].strip()
    return [head.append(first), line("   ", fit(rest, width - 4, cut))]


def _distrust_line(view: View, supply: SupplyStatus, distrust: str, width: int) -> Text:
    mark = f" {distrust} "
    why = one_line(supply.why) or "these figures rest on old or doubtful readings"
    return line(
        "   ", (mark, view.look.palette.old), " ", fit(why, width - cell_len(mark) - 4, view.look.glyphs.cut)
    )


def _gauge(view: View, supply: SupplyStatus, endurance: Interval, axis: Axis, *, solid: bool) -> Text:
    """The gauge of one supply."""
    glyphs, palette = view.look.glyphs, view.look.palette
    # No high end means that it goes on past the axis; no low end that nothing is sure.
    low = axis.cell_of(endurance.p05) if endurance.p05 is not None else 0
    central = axis.cell_of(endurance.p50) if endurance.p50 is not None else axis.width
    high = axis.cell_of(endurance.p95) if endurance.p95 is not None else axis.width
    text = Text(no_wrap=True, end="")
    for cell in range(axis.width):
        if cell == axis.need_cell:
            text.append(glyphs.need, palette.need)
        elif cell == 0 and axis.is_cut:
            text.append(glyphs.begun, palette.bars[supply.band])
        elif cell < low:
            text.append(glyphs.sure if solid else glyphs.old, palette.bars[supply.band])
        elif cell < central:
            text.append(glyphs.probable if solid else glyphs.possible, palette.bars[supply.band])
        elif cell < high:
            text.append(glyphs.possible, palette.bars[supply.band])
        else:
            text.append(glyphs.axis)
    return _with_arrow(text, view, endurance, axis)


def _with_arrow(text: Text, view: View, endurance: Interval, axis: Axis) -> Text:
    """Put an arrow into the last cell where the central case lies beyond it."""
    central_s = endurance.p50
    if axis.width < 2 or (central_s is not None and central_s < axis.end_h * 3600.0):
        return text
    text.right_crop(1)
    text.append(view.look.glyphs.beyond, view.look.palette.strong)
    return text


def _marked(gauge: Text, distrust: str, style: Style) -> Text:
    """Where no line of its own is free, the mark covers the start of the gauge."""
    mark = f" {distrust} "
    width = gauge.cell_len
    if width <= len(mark):
        return line((fit(mark, width), style))
    rest = gauge[len(mark) :]
    text = line((mark, style))
    text.append_text(rest)
    return text
