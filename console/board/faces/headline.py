"""The headline: what runs out first, when, by how much that makes or misses need, with which interval.

The low end of the margin stands biggest. The ground takes the band's colour, except where the numbers are
old: then it stays plain and the words NOT CURRENT stand in front.
"""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.big_figures import big_figure
from console.board.cells import clipped, fit, line, one_line, padded
from console.board.faces.gauge_columns import NO_END
from console.board.faces.moments import both_at, not_current_text, unknown_reason
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import (
    UNKNOWN,
    age_text,
    hours_figure,
    hours_text,
    margin_text,
    probability_text,
)
from console.engine.snapshot import Snapshot, SupplyStatus

HEADLINE_ROWS = 5
_WIDE = 110
_LEAST_LEFT = 46


def headline_lines(view: View, width: int, height: int) -> list[Text]:
    """Five lines, or as many as there is room for."""
    snapshot = view.snapshot
    if snapshot is None:
        return [line(), line((" FIRST READING ...", view.look.palette.strong))]
    if snapshot.shortest is None:
        return _unknown_lines(view, snapshot, width)[:height]
    supply = snapshot.supplies[snapshot.shortest]
    left = [
        _title(view, supply),
        line(" ", (when_text(snapshot, supply), view.look.palette.strong)),
        line(" " + ends_text(supply)),
        line(" " + _margin_line(supply)),
        line(" " + (unknown_text(snapshot) or _lasts_text(supply))),
    ]
    ground = Style() if _old_text(view, supply) else view.look.palette.grounds[supply.band]
    # The figures in words must be read whole; the big one gives way to them.
    needed = max(_LEAST_LEFT, *(words.cell_len for words in left[1:4]))
    right = _figure_column(view, supply, wide=width >= _WIDE)
    if right and width - len(right[0]) - 2 < needed:
        right = _figure_column(view, supply, wide=False)
    if right and width - len(right[0]) - 2 < needed:
        right = []
    return _beside(view, left, right, width, ground)[:height]


def _beside(view: View, left: list[Text], right: list[str], width: int, ground: Style) -> list[Text]:
    """The words, and the big figure at the right edge."""
    room = width - (len(right[0]) + 1 if right else 0)
    lines = []
    for row, words in enumerate(left):
        # The title is worth more than the word over the big figure.
        has_figure = bool(right) and not (row == 0 and words.cell_len > room)
        space = room if has_figure else width
        if words.cell_len > space > 1:
            words.truncate(space - 1)
            words.append(view.look.glyphs.cut)
        whole = line(style=ground)
        whole.append_text(padded(words, space))
        if has_figure:
            whole.append(f"{right[row]} ", Style(bold=True))
        lines.append(whole)
    return lines


def _title(view: View, supply: SupplyStatus) -> Text:
    palette = view.look.palette
    old = _old_text(view, supply)
    text = line(style=palette.strong)
    if old:
        text.append(f" {old} ", palette.old)
    mark = f" {BAND_SYMBOLS[supply.band]} {BAND_WORDS[supply.band]} "
    text.append(mark, palette.grounds[supply.band] if old else Style())
    text.append(f" {clipped(supply.name, 16, view.look.glyphs.cut).upper()} RUNS OUT FIRST")
    return text


def _old_text(view: View, supply: SupplyStatus) -> str:
    return not_current_text(view, supply)


def when_text(snapshot: Snapshot, supply: SupplyStatus) -> str:
    """When it runs out under the plan at the low end, the one to plan on: in how many hours, UTC, elapsed."""
    endurance = supply.endurance_plan_s
    if endurance is None:
        return f"when it runs out under the plan is {UNKNOWN}"
    if endurance.p05 is None:
        known = endurance.p50 is not None or endurance.p95 is not None
        return f"low end {UNKNOWN}" if known else "no end in sight, not even at the low end"
    return f"low end in {hours_text(endurance.p05)}  {both_at(snapshot, snapshot.at_s + endurance.p05)}"


def ends_text(supply: SupplyStatus) -> str:
    """The other two ends of the endurance under the plan, and the endurance at the present rate."""
    plan, now = supply.endurance_plan_s, supply.endurance_now_s
    others = f"central {UNKNOWN}"
    if plan is not None:
        others = f"central {_end(plan.p50)}, high {_end(plan.p95)}"
    present = UNKNOWN if now is None else _end(now.p50)
    return f"{others}; at present rate {present}"


def _end(seconds: float | None) -> str:
    return NO_END if seconds is None else hours_text(seconds)


def _margin_line(supply: SupplyStatus) -> str:
    margin = supply.margin_s
    if margin is None:
        return f"margin to need {UNKNOWN}"
    low, central = (NO_END if end is None else margin_text(end) for end in (margin.p05, margin.p50))
    return f"to need: low end {low}, central {central}"


def _lasts_text(supply: SupplyStatus) -> str:
    return f"chance to last until need: {probability_text(supply.lasts_probability)}"


def unknown_text(snapshot: Snapshot) -> str:
    """The supplies that could be shorter than the one named, as nobody knows."""
    if not snapshot.unknown:
        return ""
    names = ", ".join(one_line(name) for name in snapshot.unknown)
    return f"? {UNKNOWN}, could be shorter: {names}"


def _figure_column(view: View, supply: SupplyStatus, *, wide: bool) -> list[str]:
    """The low end of the margin, three rows high between what it is and what it means."""
    margin = supply.margin_s
    if margin is None or margin.p05 is None:
        return []
    figure = hours_figure(margin.p05, signed=True)
    rows = big_figure(figure, ascii_only=view.look.ascii_only, wide=wide)
    # A figure with its sign: the words beside it say what the sign means, and no second sign.
    meaning = "h, ends BEFORE need" if margin.p05 < 0.0 else "h, lasts past need"
    column = ["margin, low end", *rows, meaning]
    width = max(len(row) for row in column)
    return [row.rjust(width) for row in column]


def _unknown_lines(view: View, snapshot: Snapshot, width: int) -> list[Text]:
    palette = view.look.palette
    old = "" if view.not_updated_s is None else f"NOT CURRENT: not updated for {age_text(view.not_updated_s)}"
    mark = (f" {BAND_SYMBOLS[None]} NO MARGIN IS KNOWN ", palette.grounds[None])
    lines = [line(mark) if not old else line((f" {old} ", palette.old), " ", mark)]
    for name in snapshot.unknown:
        why = unknown_reason(snapshot.supplies[name])
        lines.append(line(f" {fit(f'{name}: {why}', width - 1, view.look.glyphs.cut)}"))
    return lines
