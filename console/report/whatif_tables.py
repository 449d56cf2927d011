"""What would be if, as lines of plain text: what gets better, what worse, by how much. Reckons nothing."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    elapsed_text,
    figure_text,
    hours_figure,
    hours_text,
    margin_text,
    probability_text,
    rate_text,
    velocity_unit,
)
from console.engine.difference import ClockChange, Difference, SupplyChange, Verdict
from console.engine.first_end import FirstEnd, first_end
from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot
from console.report.bus import over_text
from console.report.cabin import NOT_REACHED
from console.report.columns import aligned, wrapped, wrapped_parts
from console.report.moments import when_text
from console.report.options_tables import head_lines
from console.units import Unit

BANDS_NOTE = (
    "Bands on both sides are those of the margins at this moment, without the delays and deadbands that a "
    "running board keeps: like is compared with like, and the board's own may differ."
)
ROUNDING_NOTE = "Every figure, a change too, is rounded to its bad side, so the last digits need not add up."

_WORDS = {
    Verdict.BETTER: "BETTER",
    Verdict.WORSE: "WORSE",
    Verdict.SAME: "the same",
    Verdict.UNKNOWN: "NOT KNOWN on one side",
}
_Row = tuple[str, str, str, str]


def whatif_text(changes: Sequence[str], compared: Difference) -> str:
    """Everything ``whatif`` says about changes that nobody has made."""
    head = "What if (nothing is changed or logged by asking):"
    blocks = (
        head_lines(compared.before),
        [head, *(line for change in changes for line in wrapped(f"- {change}"))],
        *difference_blocks(compared),
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def difference_blocks(compared: Difference) -> tuple[list[str], ...]:
    """The comparison: first in words, then the figures that change, then what stays the same."""
    return (
        summary_lines(compared),
        _change_lines(compared),
        _same_lines(compared),
        _remark_lines(compared),
        [*wrapped(BANDS_NOTE), *wrapped(ROUNDING_NOTE)],
    )


def summary_lines(compared: Difference) -> list[str]:
    """What gets better, what worse, what comes first, and whether need or delta-v move."""
    lines = []
    for verdict, word in ((Verdict.BETTER, "Better"), (Verdict.WORSE, "Worse")):
        lines += wrapped_parts(f"{word}: ", _gains(compared, verdict) or ["nothing"], joint=", ")
    for verdict, word in ((Verdict.SAME, "The same"), (Verdict.UNKNOWN, "Not known on one side")):
        if names := compared.of(verdict):
            lines += wrapped_parts(f"{word}: ", names, joint=", ")
    lines += wrapped(f"First by the low end: {_moved(_first(compared.before), _first(compared.after))}")
    lines += wrapped(f"Need: {_moved(_need(compared.before), _need(compared.after))}")
    lines += _delta_v_lines(compared)
    for peak in compared.peaks_over:
        lines += wrapped(f"NEW, OVER ITS LIMIT: {over_text(compared.after, peak)}")
    for notice in compared.after.notices:
        if notice not in compared.before.notices:
            lines += wrapped(f"MIND: {notice}")
    return lines


def _gains(compared: Difference, verdict: Verdict) -> list[str]:
    """Each supply and limit of a verdict, with what it gains or loses at the low end."""
    said = []
    for change in compared.supplies:
        if change.verdict is verdict:
            parts = [_low_change(change.before.margin_s, change.after.margin_s)]
            if change.is_band_changed:
                parts.append(f"band {_band(change.before.band)} -> {_band(change.after.band)}")
            said.append(f"{change.after.name} ({'; '.join(filter(None, parts))})")
    for clock in compared.clocks:
        if clock.verdict is verdict:
            said.append(f"cabin limit {clock.after.limit.name}{_band_move(clock)}")
    return said


def _low_change(before: Interval | None, after: Interval | None) -> str:
    if before is None or after is None:
        return UNKNOWN
    if before.p05 is None or after.p05 is None:
        return f"margin {_end(before.p05)} -> {_end(after.p05)}"
    change_s = after.p05 - before.p05
    if abs(change_s) < 1.0:
        return "by the amount left alone"
    return f"margin {hours_figure(change_s, signed=True)} h"


def _band_move(clock: ClockChange) -> str:
    if clock.before.band is clock.after.band:
        return ""
    return f" (band {_band(clock.before.band)} -> {_band(clock.after.band)})"


def _band(band: Band | None) -> str:
    return UNKNOWN if band is None else band.value


def _moved(before: str, after: str) -> str:
    return f"{before}, as before" if before == after else f"{before} -> {after}"


def _first(snapshot: Snapshot) -> str:
    end: FirstEnd | None = first_end(snapshot)
    if end is None:
        return UNKNOWN
    low = "does not come" if end.margin_s.p05 is None else margin_text(end.margin_s.p05)
    return f"{end.name} [{_band(end.band)}] {low}"


def _need(snapshot: Snapshot) -> str:
    return f"{snapshot.need.option} until {elapsed_text(snapshot.need.at_s)}"


def _delta_v_lines(compared: Difference) -> list[str]:
    needs = (compared.before.need, compared.after.need)
    unit = velocity_unit(compared.before.shown_in)
    texts = []
    for need in needs:
        left = amount_text(need.delta_v_left_m_per_s, unit)
        asked = amount_text(need.delta_v_m_per_s, unit, Rounding.UP)
        short = need.delta_v_left_m_per_s is not None and need.delta_v_left_m_per_s < (
            need.delta_v_m_per_s or 0.0
        )
        word = ": SHORT" if short else ""
        texts.append(left if need.delta_v_m_per_s is None else f"{left} ({need.option} asks {asked}{word})")
    if all(need.delta_v_left_m_per_s is None and need.delta_v_m_per_s is None for need in needs):
        return []
    return wrapped(f"Delta-v left: {_moved(*texts)}")


def _change_lines(compared: Difference) -> list[str]:
    """A block for each supply and limit that changes, its rows in one set of columns."""
    heads: list[str | None] = [None]
    rows: list[_Row] = [("", "before", "after", "change")]
    for change in compared.supplies:
        if change.verdict is not Verdict.SAME:
            heads.append(f"{change.after.name}: {_WORDS[change.verdict]}")
            rows += _supply_rows(change)
            heads += [None] * (len(_supply_rows(change)) - 1)
    moving = [clock for clock in compared.clocks if clock.verdict is not Verdict.SAME]
    for clock in moving:
        heads.append(f"cabin limit {clock.after.limit.name}: {_WORDS[clock.verdict]}")
        rows += _clock_rows(clock)
        heads += [None] * (len(_clock_rows(clock)) - 1)
    if len(rows) == 1:
        return ["Nothing changes."]
    lines = []
    for head, line in zip(heads, aligned(rows), strict=True):
        lines += [line] if head is None else [head, line]
    return lines


def _supply_rows(change: SupplyChange) -> list[_Row]:
    before, after = change.before, change.after
    unit, rate = after.unit, after.rate_unit
    rows = [
        _time_row("  margin h, low", *_both(before.margin_s, after.margin_s, "p05"), signed=True),
        _time_row("  margin h, central", *_both(before.margin_s, after.margin_s, "p50"), signed=True),
        _time_row("  lasts h, low", *_both(before.endurance_plan_s, after.endurance_plan_s, "p05")),
        _time_row("  lasts h, central", *_both(before.endurance_plan_s, after.endurance_plan_s, "p50")),
        _amount_row(
            "  left at need, low", *_both(before.left_at_need_si, after.left_at_need_si, "p05"), unit
        ),
        _allowance_row(before.allowance_si_per_s, after.allowance_si_per_s, rate),
        _chance_row(before.lasts_probability, after.lasts_probability),
    ]
    mark = "CHANGES" if change.is_band_changed else "same"
    return [*rows, ("  band", _band(before.band), _band(after.band), mark)]


def _both(before: Interval | None, after: Interval | None, end: str) -> tuple[object, object]:
    """One end of both; what is not known is the text that says so, an end that does not come is None."""
    return tuple(UNKNOWN if each is None else getattr(each, end) for each in (before, after))  # type: ignore[return-value]  # two of two


def _time_row(name: str, before: object, after: object, *, signed: bool = False) -> _Row:
    return (name, _end(before, signed=signed), _end(after, signed=signed), _time_change(before, after))


def _end(value: object, *, signed: bool = True) -> str:
    if value is None:
        return "no end"
    return hours_figure(value, signed=signed) if isinstance(value, float) else str(value)


def _time_change(before: object, after: object) -> str:
    if not isinstance(before, float) or not isinstance(after, float):
        return "same" if before == after else ""
    return "same" if abs(after - before) < 1.0 else hours_figure(after - before, signed=True)


def _amount_row(name: str, before: object, after: object, unit: Unit) -> _Row:
    cells = [amount_text(each, unit) if isinstance(each, float) else UNKNOWN for each in (before, after)]
    change = ""
    if isinstance(before, float) and isinstance(after, float):
        change = _amount_change(before, after, unit)
    return name, cells[0], cells[1], change


def _amount_change(before: float, after: float, unit: Unit) -> str:
    if abs(after - before) <= 1e-6 * max(abs(after), abs(before)):
        return "same"
    return amount_text(after - before, unit, signed=True)


def _allowance_row(before: float | None, after: float | None, unit: Unit) -> _Row:
    cells = [rate_text(each, unit, Rounding.DOWN) for each in (before, after)]
    change = "" if before is None or after is None else _amount_change(before, after, unit)
    return "  allowance", cells[0], cells[1], change


def _chance_row(before: float | None, after: float | None) -> _Row:
    change = ""
    if before is not None and after is not None:
        points = figure_text((after - before) * 100.0, 0, signed=True)
        change = "same" if before == after else f"{points} points"
    return "  lasts until need", probability_text(before), probability_text(after), change


def _clock_rows(change: ClockChange) -> list[_Row]:
    before, after = change.before, change.after
    rows = [
        _reached_row("  reached in h, low", before, after, "p05"),
        _reached_row("  reached in h, central", before, after, "p50"),
    ]
    if before.margin_s is not None or after.margin_s is not None:
        rows.append(_margin_row(before.margin_s, after.margin_s))
    mark = "same" if before.band is after.band else "CHANGES"
    return [*rows, ("  band", _band(before.band), _band(after.band), mark)]


def _margin_row(before: Interval | None, after: Interval | None) -> _Row:
    return _time_row("  margin h, low", *_both(before, after, "p05"), signed=True)


def _reached_row(name: str, before: CabinClock, after: CabinClock, end: str) -> _Row:
    values = [_reached(before, end), _reached(after, end)]
    change = _time_change(*values) if all(isinstance(value, float) for value in values) else ""
    cells = [hours_figure(value) if isinstance(value, float) else str(value) for value in values]
    return name, cells[0], cells[1], change


def _reached(clock: CabinClock, end: str) -> object:
    if clock.state is ClockState.REACHED:
        return "passed now"
    if clock.state is ClockState.HELD:
        return NOT_REACHED
    if clock.state is ClockState.UNKNOWN or clock.reached_in_s is None:
        return UNKNOWN
    value = getattr(clock.reached_in_s, end)
    return NOT_REACHED if value is None else value


def _same_lines(compared: Difference) -> list[str]:
    """What does not change, each in a sentence with its figures."""
    lines = []
    for change in compared.supplies:
        if change.verdict is Verdict.SAME:
            lines += wrapped(_same_supply(change))
    for clock in compared.clocks:
        if clock.verdict is Verdict.SAME:
            lines += wrapped(f"cabin limit {clock.after.limit.name}, the same: {reached_words(clock.after)}")
    return lines


def reached_words(clock: CabinClock) -> str:
    """When a limit is reached: ``in 40.2 h at the low end (central in 51.0 h)``."""
    ends = (_reached(clock, "p05"), _reached(clock, "p50"))
    low, central = (f"in {hours_text(end)}" if isinstance(end, float) else str(end) for end in ends)
    return low if low == central else f"{low} at the low end (central {central})"


def _same_supply(change: SupplyChange) -> str:
    after = change.after
    if after.margin_s is None:
        return f"{after.name}, the same: {UNKNOWN}"
    lasts, left = after.endurance_plan_s, after.left_at_need_si
    low, central = (UNKNOWN if lasts is None else _end(end, signed=False) for end in _two_ends(lasts))
    return "; ".join(
        (
            f"{after.name}, the same: margin {_end(after.margin_s.p05)} h low, "
            f"{_end(after.margin_s.p50)} central [{_band(after.band)}]",
            f"lasts {low} h low, {central} central",
            f"left at need, low {UNKNOWN if left is None else amount_text(left.p05, after.unit)}",
            f"allowance {rate_text(after.allowance_si_per_s, after.rate_unit, Rounding.DOWN)}",
            f"lasts until need {probability_text(after.lasts_probability)}",
        )
    )


def _two_ends(interval: Interval | None) -> tuple[float | None, float | None]:
    return (None, None) if interval is None else (interval.p05, interval.p50)


def _remark_lines(compared: Difference) -> list[str]:
    """What must be told beside the figures with the changes and was not to be told before."""
    lines = []
    for change in compared.supplies:
        known = change.before.why.split("; ")
        for sentence in change.after.why.split("; "):
            if sentence and sentence not in known:
                lines += wrapped(f"with the change, {change.after.name}: {sentence}")
    for notice in compared.after.notices:
        if notice in compared.before.notices:
            lines += wrapped(f"note: {notice}")
    need = compared.after.need
    moved = (need.option, need.decide_by_s) != (compared.before.need.option, compared.before.need.decide_by_s)
    if moved and need.decide_by_s is not None:
        lines += wrapped(f"{need.option}: decide by {when_text(compared.after, need.decide_by_s)}")
    return lines
