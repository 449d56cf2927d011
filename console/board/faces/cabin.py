"""The pane of the cabin: its air and warmth now, and each limit with every clock that runs towards it."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import fit, flow, line, one_line, wrap
from console.board.faces.cabin_readings import cabin_reading_items
from console.board.faces.cabin_rows import cabin_lines
from console.board.faces.cabin_words import (
    LimitClocks,
    clock_distrust_text,
    ends_text,
    limit_text,
    limits_by_urgency,
    now_text,
    reach_text,
)
from console.board.faces.pane_title import scrolled
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import ALL_PANES_SIZE, View
from console.display import UNKNOWN, margin_text
from console.engine.snapshot import Band, CabinClock, ClockState, Snapshot, Supposition

_SUPPOSITION = max(len(supposition.value) for supposition in Supposition)


def cabin_pane_lines(view: View, width: int, height: int, hint: str = "") -> list[Text]:
    """The pane: what is read, then the limits, the most urgent first."""
    snapshot = view.snapshot
    if snapshot is None:
        return scrolled(view, "cabin", [], (width, height), hint)
    rows = limits_by_urgency(snapshot)
    # On a small board this is the one place where all limits are seen at once.
    is_small = view.size[0] < ALL_PANES_SIZE[0] or view.size[1] < ALL_PANES_SIZE[1]
    body = cabin_lines(view, width, 1 + len(rows)) if rows and is_small else []
    body += flow(cabin_reading_items(view), width)
    for row in rows:
        body += _limit_lines(view, snapshot, row, width)
    title = "cabin: clocks low / central / high" if rows else "cabin: no limits are set"
    return scrolled(view, title, body, (width, height), hint)


def _limit_lines(view: View, snapshot: Snapshot, row: LimitClocks, width: int) -> list[Text]:
    """One limit: what it is, who sets it, its clocks, and what each of them rests on, each sentence once."""
    palette = view.look.palette
    values = f"{limit_text(row.limit, snapshot.shown_in)}, now {now_text(row.speaks, snapshot.shown_in)}"
    items = [
        line(
            (f"{BAND_SYMBOLS[row.band]} {BAND_WORDS[row.band]}", palette.grounds[row.band]),
            " ",
            (one_line(row.limit.name), palette.title),
        ),
        line(values),
    ]
    if distrust := clock_distrust_text(view, row.speaks):
        items.append(line((f" {distrust} ", palette.old)))
    lines = flow(items, width, "  ")
    lines += [line(f"  {text}") for text in wrap(f"source: {row.limit.source}", width - 2)]
    said: set[str] = set()
    for clock in snapshot.clocks:
        if clock.limit.name == row.limit.name:
            lines += _clock_lines(view, clock, said, width)
    return lines


def _clock_lines(view: View, clock: CabinClock, said: set[str], width: int) -> list[Text]:
    """One clock, and what it rests on where no clock of this limit has said that."""
    palette = view.look.palette
    is_fresh = not clock_distrust_text(view, clock) and view.not_updated_s is None
    style = palette.strong if is_fresh else palette.plain
    if clock.state is ClockState.RUNNING and clock.reached_in_s is not None:
        ends = ends_text(clock.reached_in_s)
    else:
        ends = UNKNOWN if clock.state is ClockState.UNKNOWN else reach_text(clock)
        style = palette.grounds[Band.WARNING] if clock.state is ClockState.REACHED else style
    text = line(f"  {fit(clock.supposition.value, _SUPPOSITION)} ", (ends, style))
    lines = [text]
    margin = clock.margin_s
    if margin is not None and margin.p05 is not None and clock.state is ClockState.RUNNING:
        words = f"{margin_text(margin.p05)}, low end"
        if text.cell_len + len(words) + 2 <= width:
            text.append(f"  {words}")
        else:
            lines.append(line(f"    {words}"))
    parts = one_line(clock.why).removeprefix(f"{UNKNOWN}: ").split("; ")
    new = [part for part in dict.fromkeys(parts) if part and part not in said]
    said.update(new)
    return lines + [line(f"    {text}") for text in wrap("; ".join(new), width - 4) if text]
