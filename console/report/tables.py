"""A Snapshot as lines of plain text, for a terminal, a pipe or a screen reader. Nothing is reckoned here."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import (
    UNKNOWN,
    Rounding,
    age_text,
    amount_text,
    countdown_text,
    elapsed_text,
    figure_text,
    hours_figure,
    hours_interval_text,
    margin_text,
    probability_text,
    rate_text,
    unit_text,
    utc_text,
)
from console.engine.reading import Quality
from console.engine.snapshot import Interval, LineKind, Snapshot, SupplyStatus
from console.instants import at_epoch_plus


def margins_text(snapshot: Snapshot) -> str:
    """Everything ``margins`` says: headline, need, a row for each supply, what is amiss."""
    return "\n".join(
        (
            *headline_lines(snapshot),
            "",
            *aligned(_margin_rows(snapshot)),
            "",
            *_remark_lines(snapshot),
        )
    ).rstrip()


def headline_lines(snapshot: Snapshot) -> tuple[str, ...]:
    """When this is, how fresh, what runs out first, until when it must last."""
    return (
        f"{snapshot.craft_name}   {_moment(snapshot, snapshot.at_s)}   {_freshness(snapshot)}",
        shortest_sentence(snapshot),
        _need_sentence(snapshot),
        _configuration_sentence(snapshot),
    )


def shortest_sentence(snapshot: Snapshot) -> str:
    """What runs out first, when, and by how much we make it or miss it."""
    if snapshot.shortest is None:
        return "Shortest supply: not known"
    supply = snapshot.supplies[snapshot.shortest]
    band = f" [{supply.band.value}]" if supply.band else ""
    beside = f" (margin not known of: {', '.join(snapshot.unknown)})" if snapshot.unknown else ""
    if supply.runs_out_at_s is None or supply.margin_s is None:
        return f"Shortest supply: {supply.name}{band}, does not run out under the plan{beside}"
    return (
        f"Shortest supply: {supply.name}{band}, runs out {_when(snapshot, supply.runs_out_at_s)}: "
        f"{margin_text(supply.margin_s.p50)} against need "
        f"(90 %: {hours_interval_text(supply.margin_s.p05, supply.margin_s.p95)}){beside}"
    )


def _need_sentence(snapshot: Snapshot) -> str:
    need = snapshot.need
    sentence = f"Need: {need.option}, until {_when(snapshot, need.at_s)}"
    if need.decide_by_s is not None:
        sentence += f"; decide by {_when(snapshot, need.decide_by_s)}"
    if need.delta_v_m_per_s is not None:
        left = UNKNOWN if need.delta_v_left_m_per_s is None else figure_text(need.delta_v_left_m_per_s, 0)
        sentence += f"; delta-v {figure_text(need.delta_v_m_per_s, 0, Rounding.UP)} of {left} m/s"
    return f"{sentence}. {need.note}" if need.note else sentence


def _configuration_sentence(snapshot: Snapshot) -> str:
    parts = [f"Phase: {snapshot.phase}, level {snapshot.level}"]
    if snapshot.level_differs:
        parts.append(f"{snapshot.level_differs} loads set otherwise by logged steps")
    if snapshot.watch is not None:
        parts.append(f"watch {snapshot.watch}")
    for word, coming in (("next phase", snapshot.next_phase), ("next event", snapshot.next_event)):
        if coming is not None:
            parts.append(f"{word} {coming.name} {countdown_text(coming.in_s)}")
    return "; ".join(parts)


_HEADER = (
    "supply",
    "band",
    "lasts h",
    "90 %",
    "now h",
    "margin h",
    "90 %",
    "left at need",
    "usable",
    "use now",
    "allowance",
)


def _margin_rows(snapshot: Snapshot) -> list[Sequence[str]]:
    return [_HEADER, *(_margin_row(supply) for supply in snapshot.supplies.values())]


def _margin_row(supply: SupplyStatus) -> Sequence[str]:
    source = "" if supply.rate_now_source is None else f" {supply.rate_now_source.value}"
    return (
        supply.name + ("" if supply.quality is Quality.GOOD else f" ({supply.quality.value})"),
        "not known" if supply.band is None else supply.band.value,
        *_figure_and_interval(supply.endurance_plan_s),
        UNKNOWN if supply.endurance_now_s is None else _end(supply.endurance_now_s.p50),
        *_figure_and_interval(supply.margin_s, signed=True),
        UNKNOWN if supply.left_at_need_si is None else amount_text(supply.left_at_need_si.p50, supply.unit),
        amount_text(supply.usable_si, supply.unit),
        rate_text(supply.rate_now_si_per_s, supply.rate_unit) + source,
        rate_text(supply.allowance_si_per_s, supply.rate_unit, Rounding.DOWN),
    )


def _figure_and_interval(interval: Interval | None, *, signed: bool = False) -> tuple[str, str]:
    if interval is None:
        return UNKNOWN, ""
    low, high = _end(interval.p05, signed=signed), _end(interval.p95, signed=signed)
    return _end(interval.p50, signed=signed), f"{low} to {high}"


def _end(seconds: float | None, *, signed: bool = False) -> str:
    return "no end" if seconds is None else hours_figure(seconds, signed=signed)


def _remark_lines(snapshot: Snapshot) -> list[str]:
    lines = [f"{supply.name}: {supply.why}" for supply in snapshot.supplies.values() if supply.why]
    lines.extend(f"feed: {fault}" for fault in snapshot.feed.faults)
    lines.extend(
        f"feed: {reading.channel} {reading.quality.value}: {reading.why}"
        for reading in snapshot.feed.readings.values()
        if reading.quality is not Quality.GOOD
    )
    lines.extend(f"note: {notice}" for notice in snapshot.notices)
    return lines


def ledger_text(snapshot: Snapshot, name: str) -> str:
    """Where every unit of one supply goes until need."""
    supply = snapshot.supplies[name]
    if not supply.ledger:
        return f"{name}: {supply.why}"
    rows: list[Sequence[str]] = [("", unit_text(supply.unit), "share")]
    on_board = supply.ledger[0].amount_si
    for line in supply.ledger:
        share = (
            ""
            if on_board == 0.0
            else f"{figure_text(100 * line.amount_si / on_board, 1, Rounding.NEAREST)} %"
        )
        label = line.name if line.kind in _PLAIN else f"{line.kind.value}: {line.name}"
        rows.append((label, figure_text(supply.unit.from_si(line.amount_si), 3, Rounding.NEAREST), share))
    probability = probability_text(supply.lasts_probability)
    return "\n".join(
        (
            f"{name} until {_moment(snapshot, snapshot.need.at_s)} ({snapshot.need.option})",
            *aligned(rows),
            f"lasts until need: {probability}" + (f"; {supply.why}" if supply.why else ""),
        )
    )


_PLAIN = (
    LineKind.ON_BOARD,
    LineKind.PROTECTED,
    LineKind.ISOLATED,
    LineKind.RESIDUAL,
    LineKind.RESERVE,
    LineKind.CARRIED,
    LineKind.LEFT,
)


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines: the first column to the left, the others to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(
            cell.ljust(width) if column == 0 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _freshness(snapshot: Snapshot) -> str:
    feed = snapshot.feed
    age_s = feed.age_s(snapshot.at_s)
    age = "no readings yet" if age_s is None else f"{age_text(age_s)} old"
    return f"feed {feed.quality.value}, {age} ({feed.source})"


def _when(snapshot: Snapshot, at_s: float) -> str:
    return f"{_moment(snapshot, at_s)}, {countdown_text(at_s - snapshot.at_s)}"


def _moment(snapshot: Snapshot, at_s: float) -> str:
    return f"{elapsed_text(at_s)} ({utc_text(at_epoch_plus(snapshot.epoch, at_s))})"
