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
            *aligned(_time_rows(snapshot)),
            "",
            *aligned(_amount_rows(snapshot)),
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
    margin, lasts = supply.margin_s, supply.endurance_plan_s
    if margin is None or lasts is None or margin.p05 is None or lasts.p05 is None:
        return f"Shortest supply: {supply.name}{band}, does not run out under the plan{beside}"
    central = "no end" if margin.p50 is None else margin_text(margin.p50)
    high = "no end" if margin.p95 is None else margin_text(margin.p95)
    return (
        f"Shortest supply: {supply.name}{band}, low end {margin_text(margin.p05)} against need "
        f"(central {central}, high end {high}); at the low end it runs out "
        f"{_when(snapshot, snapshot.at_s + lasts.p05)}{beside}"
    )


def _need_sentence(snapshot: Snapshot) -> str:
    need = snapshot.need
    sentence = f"Need: {need.option}, until {_when(snapshot, need.at_s)}"
    if need.decide_by_s is not None:
        overdue = "" if need.decide_by_s > snapshot.at_s else "DECISION OVERDUE: "
        sentence += f"; {overdue}decide by {_when(snapshot, need.decide_by_s)}"
    left = UNKNOWN if need.delta_v_left_m_per_s is None else figure_text(need.delta_v_left_m_per_s, 0)
    is_ahead = need.decide_by_s is None or need.decide_by_s > snapshot.at_s
    if need.delta_v_m_per_s is not None and is_ahead:
        sentence += f"; delta-v {figure_text(need.delta_v_m_per_s, 0, Rounding.UP)} of {left} m/s"
    elif need.delta_v_left_m_per_s is not None:
        # Once the way home is begun, part of its delta-v is spent, and how much is not known here.
        sentence += f"; delta-v left {left} m/s"
    return f"{sentence}. {need.note}" if need.note else sentence


def _configuration_sentence(snapshot: Snapshot) -> str:
    parts = [f"Phase: {snapshot.phase}, level {snapshot.level}"]
    if snapshot.level_differs:
        moved = snapshot.level_differs
        parts.append(f"{moved} load{'s' if moved != 1 else ''} set otherwise by logged steps")
    if snapshot.watch is not None:
        parts.append(f"watch {snapshot.watch}")
    for word, coming in (("next phase", snapshot.next_phase), ("next event", snapshot.next_event)):
        if coming is not None:
            parts.append(f"{word} {coming.name} {countdown_text(coming.in_s)}")
    return "; ".join(parts)


def _time_rows(snapshot: Snapshot) -> list[Sequence[str]]:
    """How long each supply lasts, and by how much that makes it."""
    rows: list[Sequence[str]] = [
        ("supply", "band", "margin h, low", "central", "high", "lasts h, low", "central", "at present rate")
    ]
    rows.extend(
        (
            _name(supply),
            UNKNOWN if supply.band is None else supply.band.value,
            *_ends(supply.margin_s, signed=True),
            *_ends(supply.endurance_plan_s)[:2],
            _ends(supply.endurance_now_s)[1],
        )
        for supply in snapshot.supplies.values()
    )
    return rows


def _amount_rows(snapshot: Snapshot) -> list[Sequence[str]]:
    """What there is of each supply, what is used, what is left."""
    rows: list[Sequence[str]] = [
        ("supply", "usable", "left at need, low", "central", "use now", "by", "allowance")
    ]
    rows.extend(
        (
            _name(supply),
            amount_text(supply.usable_si, supply.unit),
            *(amount_text(end, supply.unit) for end in _low_and_central(supply.left_at_need_si)),
            rate_text(supply.rate_now_si_per_s, supply.rate_unit),
            "" if supply.rate_now_source is None else supply.rate_now_source.value,
            rate_text(supply.allowance_si_per_s, supply.rate_unit, Rounding.DOWN),
        )
        for supply in snapshot.supplies.values()
    )
    return rows


def _name(supply: SupplyStatus) -> str:
    return supply.name if supply.quality is Quality.GOOD else f"{supply.name} ({supply.quality.value})"


def _low_and_central(interval: Interval | None) -> tuple[float | None, float | None]:
    return (None, None) if interval is None else (interval.p05, interval.p50)


def _ends(interval: Interval | None, *, signed: bool = False) -> tuple[str, str, str]:
    if interval is None:
        return UNKNOWN, UNKNOWN, UNKNOWN
    low, central, high = (_end(end, signed=signed) for end in (interval.p05, interval.p50, interval.p95))
    return low, central, high


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
