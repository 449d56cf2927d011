"""The headline: what runs out first, when, by how much that makes or misses need, with which interval.

The low end of the margin stands biggest. The ground takes the band's colour, except where the numbers are
old: then it stays plain and the word OLD stands in front.
"""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.big_figures import big_figure
from console.board.cells import clipped, fit, line, one_line, padded
from console.board.faces.moments import both_at, distrust_text, not_updated_text
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import (
    UNKNOWN,
    hours_figure,
    hours_interval_text,
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
        line(" " + interval_text(supply)),
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
        if words.cell_len > room > 1:
            words.truncate(room - 1)
            words.append(view.look.glyphs.cut)
        whole = line(style=ground)
        whole.append_text(padded(words, room))
        if right:
            whole.append(f"{right[row]} ", Style(bold=True))
        lines.append(whole)
    return lines


def _title(view: View, supply: SupplyStatus) -> Text:
    palette = view.look.palette
    old = _old_text(view, supply)
    text = line(style=palette.strong)
    if old:
        text.append(f" OLD: {old} ", palette.old)
    mark = f" {BAND_SYMBOLS[supply.band]} {BAND_WORDS[supply.band]} "
    text.append(mark, palette.grounds[supply.band] if old else Style())
    text.append(f" {clipped(supply.name, 16, view.look.glyphs.cut).upper()} RUNS OUT FIRST")
    return text


def _old_text(view: View, supply: SupplyStatus) -> str:
    return not_updated_text(view) or distrust_text(view, supply)


def when_text(snapshot: Snapshot, supply: SupplyStatus) -> str:
    """When it runs out under the plan: in how many hours, UTC, elapsed."""
    endurance = supply.endurance_plan_s
    left_s = endurance.p50 if endurance is not None else None
    if supply.runs_out_at_s is None or left_s is None:
        return f"when it runs out under the plan is {UNKNOWN}" if endurance is None else "no end in sight"
    return f"in {hours_text(left_s)}  {both_at(snapshot, supply.runs_out_at_s)}"


def interval_text(supply: SupplyStatus) -> str:
    """The interval of the endurance, and the endurance at the present rate."""
    plan, now = supply.endurance_plan_s, supply.endurance_now_s
    interval = UNKNOWN if plan is None else hours_interval_text(plan.p05, plan.p95)
    present = UNKNOWN if now is None or now.p50 is None else hours_text(now.p50)
    return f"90 %: {interval}   at present rate {present}"


def _margin_line(supply: SupplyStatus) -> str:
    margin = supply.margin_s
    if margin is None:
        return f"margin to need {UNKNOWN}"
    return f"to need: low end {margin_text(margin.p05)}, central {margin_text(margin.p50)}"


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
    meaning = "hours SHORT of need" if margin.p05 < 0.0 else "hours to spare"
    column = ["margin, low end", *rows, meaning]
    width = max(len(row) for row in column)
    return [row.rjust(width) for row in column]


def _unknown_lines(view: View, snapshot: Snapshot, width: int) -> list[Text]:
    palette = view.look.palette
    old = not_updated_text(view)
    mark = (f" {BAND_SYMBOLS[None]} NO MARGIN IS KNOWN ", palette.grounds[None])
    lines = [line(mark) if not old else line((f" OLD: {old} ", palette.old), " ", mark)]
    for name in snapshot.unknown:
        why = snapshot.supplies[name].why or "no reason was given"
        lines.append(line(f" {fit(f'{name}: {why}', width - 1, view.look.glyphs.cut)}"))
    return lines
