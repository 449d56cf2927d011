"""Before and after a supposition, a row for each supply and each limit of the cabin; reckons nothing."""

from __future__ import annotations

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from console.board.cells import fit, line, one_line, wrap
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    elapsed_text,
    hours_figure,
    margin_text,
    velocity_unit,
)
from console.engine.difference import ClockChange, Difference, SupplyChange, Verdict
from console.engine.first_end import first_end
from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot

_SAME_S = 1.0
_WIDE, _WIDEST = 112, 140
"""From here on what is left at need stands beside the margins: after the change, then before it too."""
_WORDS = {
    Verdict.BETTER: "better",
    Verdict.WORSE: "WORSE",
    Verdict.SAME: "same",
    Verdict.UNKNOWN: "NOT KNOWN",
}

End = float | str
"""Seconds, or the word that stands in their place."""


def comparison_lines(look: Look, compared: Difference, width: int) -> list[Text]:
    """What comes first and what moves, then the rows, then what must be told beside them."""
    changes: list[SupplyChange | ClockChange] = [*compared.supplies, *compared.clocks]
    names = [one_line(_name(change)) for change in changes]
    name = min(22 if width >= 100 else 14, max([10, *(cell_len(each) for each in names)]))
    lines = [line(text) for words in _heads(compared) for text in wrap(words, width)]
    lines.append(line((fit(_header(name, "margin h"), width), look.palette.title)))
    lines += [_supply_row(look, change, name, width) for change in compared.supplies]
    moves = compared.before.need.at_s != compared.after.need.at_s
    if compared.clocks:
        lines.append(line((fit(_header(name, "limit in h"), width), look.palette.title)))
        lines += [_clock_row(look, change, name, moves=moves) for change in compared.clocks]
    return lines + [line(text) for words in _remarks(compared) for text in wrap(words, width)]


def _name(change: SupplyChange | ClockChange) -> str:
    return change.after.name if isinstance(change, SupplyChange) else change.after.limit.name


def _header(name: int, words: str) -> str:
    return f"{fit(words, name)} {'low':>7} {'after':>7} {'change':>7}  {'central':>7} {'after':>7}  band"


def _heads(compared: Difference) -> list[str]:
    before, after = compared.before, compared.after
    heads = [f"first by the low end: {_moved(_first(before), _first(after))}"]
    if before.need.option != after.need.option or before.need.at_s != after.need.at_s:
        heads.append(f"need: {_moved(_need(before), _need(after))}")
    unit = velocity_unit(after.shown_in)
    left = [each.need.delta_v_left_m_per_s for each in (before, after)]
    if left[0] != left[1]:
        heads.append(f"delta-v left: {_moved(*(amount_text(each, unit) for each in left))}")
    heads += [
        f"NEW, OVER ITS LIMIT: current of {one_line(peak.supply)} in {one_line(peak.name)}"
        for peak in compared.peaks_over
    ]
    return heads


def _moved(before: str, after: str) -> str:
    return f"{before}, as before" if before == after else f"{before} -> {after}"


def _first(snapshot: Snapshot) -> str:
    end = first_end(snapshot)
    if end is None:
        return UNKNOWN
    low = "does not come" if end.margin_s.p05 is None else margin_text(end.margin_s.p05)
    return f"{one_line(end.name)} {low}"


def _need(snapshot: Snapshot) -> str:
    return f"{one_line(snapshot.need.option)} {elapsed_text(snapshot.need.at_s)}"


def _supply_row(look: Look, change: SupplyChange, name: int, width: int) -> Text:
    before, after = change.before, change.after
    text = _row(look, after.name, name, _ends(before.margin_s), _ends(after.margin_s), signed=True)
    text.append_text(_bands(look, before.band, after.band, change.verdict))
    if width >= _WIDE:
        lows = [
            None if each.left_at_need_si is None else each.left_at_need_si.p05 for each in (before, after)
        ]
        shown = [UNKNOWN if low is None else amount_text(low, after.unit, signed=True) for low in lows]
        is_same = shown[0] == shown[1] or width < _WIDEST
        left = shown[1] if is_same else f"{shown[0]} -> {shown[1]}"
        text.append(f"{' ' * max(2, name + 68 - text.cell_len)}left at need, low {left}")
    return text


def _clock_row(look: Look, change: ClockChange, name: int, *, moves: bool) -> Text:
    before, after = change.before, change.after
    text = _row(look, after.limit.name, name, _reached(before), _reached(after), signed=False)
    text.append_text(_bands(look, before.band, after.band, change.verdict))
    if moves and change.verdict is not Verdict.SAME and before.band is after.band:
        # The hours are those to the limit, the verdict that against a need which moves as well.
        text.append(" to need")
    return text


def _row(
    look: Look, label: str, name: int, before: tuple[End, End], after: tuple[End, End], *, signed: bool
) -> Text:
    return line(
        (fit(_short(label, name, look.glyphs.cut), name), look.palette.strong),
        f" {_cell(before[0], signed=signed):>7} ",
        (f"{_cell(after[0], signed=signed):>7}", look.palette.strong),
        f" {_change(before[0], after[0]):>7}  {_cell(before[1], signed=signed):>7} "
        f"{_cell(after[1], signed=signed):>7}  ",
    )


def _short(name: str, width: int, cut: str) -> str:
    """A name that is too long keeps its last words: limits that begin alike are told apart by them."""
    flat = one_line(name)
    if cell_len(flat) <= width:
        return flat
    words = flat.split(" ")
    tail = words.pop()
    while words and cell_len(tail) + cell_len(words[-1]) + 1 <= width - 5:
        tail = f"{words.pop()} {tail}"
    head = width - cell_len(tail) - cell_len(cut)
    return fit(flat, width, cut) if head < 2 else f"{fit(flat, head)}{cut}{tail}"


def _ends(margin: Interval | None) -> tuple[End, End]:
    if margin is None:
        return "?", "?"
    low, central = ("no end" if end is None else end for end in (margin.p05, margin.p50))
    return low, central


def _reached(clock: CabinClock) -> tuple[End, End]:
    if clock.state is ClockState.REACHED:
        return "NOW", "NOW"
    if clock.state is ClockState.HELD:
        return "never", "never"
    if clock.state is ClockState.UNKNOWN or clock.reached_in_s is None:
        return "?", "?"
    low, central = (
        "never" if end is None else end for end in (clock.reached_in_s.p05, clock.reached_in_s.p50)
    )
    return low, central


def _cell(end: End, *, signed: bool) -> str:
    return end if isinstance(end, str) else hours_figure(end, signed=signed)


def _change(before: End, after: End) -> str:
    if isinstance(before, str) or isinstance(after, str):
        return "same" if before == after else ""
    if abs(after - before) < _SAME_S:
        return "same"
    return hours_figure(after - before, Rounding.DOWN, signed=True)


def _bands(look: Look, before: Band | None, after: Band | None, verdict: Verdict) -> Text:
    """The band after, with the one before where it is another."""
    style: Style = look.palette.grounds[after]
    if before is after:
        text = line((f"{BAND_SYMBOLS[after]} {BAND_WORDS[after]}", style))
        if verdict is not Verdict.SAME:
            text.append(f" {_WORDS[verdict]}")
        return text
    return line(
        f"{BAND_SYMBOLS[before]} {BAND_WORDS[before]} -> ",
        (f"{BAND_SYMBOLS[after]} {BAND_WORDS[after]}", style),
    )


def _remarks(compared: Difference) -> list[str]:
    """What is to be told with the changes and was not to be told before."""
    words = []
    for change in compared.supplies:
        known = change.before.why.split("; ")
        words += [
            f"with the change, {one_line(change.after.name)}: {sentence}"
            for sentence in change.after.why.split("; ")
            if sentence and sentence not in known
        ]
    words += [notice for notice in compared.after.notices if notice not in compared.before.notices]
    words.append("bands on both sides go by the margins of now, without the board's delays and deadbands")
    return words
