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
    hours_text,
    margin_text,
    mass_unit,
    rate_text,
    velocity_unit,
)
from console.engine.first_end import EndKind, FirstEnd, first_end, supply_end, unknown_ends
from console.engine.reading import Quality
from console.engine.snapshot import Band, ClockState, Interval, Need, Snapshot, SupplyStatus
from console.report.bus import over_lines
from console.report.cabin import cabin_lines, cabin_remarks, limit_texts
from console.report.columns import aligned
from console.report.learnt import learnt_lines
from console.report.moments import moment_text, when_text
from console.report.set_aside import set_aside_lines
from console.units import Unit


def margins_text(snapshot: Snapshot) -> str:
    """Everything ``margins`` says: headline, need, a row for each supply and limit, what is amiss."""
    blocks = (
        headline_lines(snapshot),
        aligned(_time_rows(snapshot)) if snapshot.supplies else (),
        aligned(_amount_rows(snapshot)) if snapshot.supplies else (),
        cabin_lines(snapshot),
        over_lines(snapshot),
        _module_lines(snapshot),
        set_aside_lines(snapshot),
        _remark_lines(snapshot),
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def headline_lines(snapshot: Snapshot) -> tuple[str, ...]:
    """When this is, how fresh, what comes first, until when it must last."""
    return (
        f"{snapshot.craft_name}   {moment_text(snapshot, snapshot.at_s)}   {_freshness(snapshot)}",
        *_first_sentences(snapshot),
        _need_sentence(snapshot),
        _configuration_sentence(snapshot),
    )


def _first_sentences(snapshot: Snapshot) -> tuple[str, ...]:
    """What comes first; where that is a limit of the cabin, the shortest supply after it."""
    first, unknown = first_end(snapshot), unknown_ends(snapshot)
    beside = f" (margin not known of: {', '.join(unknown)})" if unknown else ""
    if not snapshot.supplies and first is None:
        return (f"No supplies, and no limit of the cabin whose time is known{beside}",)
    if first is None or first.kind is EndKind.SUPPLY:
        return (f"{_supply_sentence(snapshot)}{beside}",)
    supply = (_supply_sentence(snapshot),) if snapshot.supplies else ()
    return (f"First: {_limit_sentence(snapshot, first)}{beside}", *supply)


def _limit_sentence(snapshot: Snapshot, first: FirstEnd) -> str:
    """Which limit of the cabin is reached, when, and by how much that makes it or misses it."""
    name = f"cabin limit {first.name}{_band(first.band)}"
    if first.clock is not None and first.clock.state is ClockState.REACHED:
        now, limit = limit_texts(first.clock, snapshot.shown_in)
        return f"{name} is passed now: {now}, limit {limit}"
    return f"{name}, {_ends_sentence(snapshot, first, 'is not reached', 'it is reached')}"


def _supply_sentence(snapshot: Snapshot) -> str:
    """What runs out first, when, and by how much we make it or miss it."""
    if snapshot.shortest is None:
        return "Shortest supply: not known"
    supply = snapshot.supplies[snapshot.shortest]
    end = supply_end(snapshot)
    name = f"Shortest supply: {supply.name}{_band(supply.band)}"
    words = (
        "does not run out"
        if end is None
        else _ends_sentence(snapshot, end, "does not run out", "it runs out")
    )
    return f"{name}, {words}"


def _ends_sentence(snapshot: Snapshot, end: FirstEnd, never: str, comes: str) -> str:
    margin, when = end.margin_s, end.comes_in_s
    if when is None or margin.p05 is None or when.p05 is None:
        return f"{never} under the plan"
    central = "no end" if margin.p50 is None else margin_text(margin.p50)
    high = "no end" if margin.p95 is None else margin_text(margin.p95)
    return (
        f"low end {margin_text(margin.p05)} against need (central {central}, high end {high}); "
        f"at the low end {comes} {when_text(snapshot, snapshot.at_s + when.p05)}"
    )


def _band(band: Band | None) -> str:
    return "" if band is None else f" [{band.value}]"


def _need_sentence(snapshot: Snapshot) -> str:
    need = snapshot.need
    sentence = f"Need: {need.option}, until {when_text(snapshot, need.at_s)}"
    if need.decided_at_s is not None:
        sentence += f"; {committed_text(need)}"
    elif need.decide_by_s is not None:
        overdue = "" if need.decide_by_s > snapshot.at_s else "DECISION OVERDUE: "
        sentence += f"; {overdue}decide by {when_text(snapshot, need.decide_by_s)}"
    unit = velocity_unit(snapshot.shown_in)
    left = _velocity(need.delta_v_left_m_per_s, unit)
    is_ahead = need.decide_by_s is None or need.decide_by_s > snapshot.at_s
    if need.delta_v_m_per_s is not None and is_ahead:
        asked = _velocity(need.delta_v_m_per_s, unit, Rounding.UP)
        sentence += f"; delta-v {asked} of {left} {unit.text}"
    elif need.delta_v_left_m_per_s is not None:
        # Once the way home is begun, part of its delta-v is spent, and how much is not known here.
        sentence += f"; delta-v left {left} {unit.text}"
    return f"{sentence}. {need.note}" if need.note else sentence


def committed_text(need: Need) -> str:
    """That a logged decision stands behind the way home, and how it lay to its deadline."""
    if need.decided_at_s is None:
        return ""
    words = f"committed at {elapsed_text(need.decided_at_s)} by {need.decided_by or 'nobody named'}"
    if need.decide_by_s is None:
        return words
    late = "LATE: " if need.decided_at_s > need.decide_by_s else ""
    return f"{words} ({late}decide-by {elapsed_text(need.decide_by_s)})"


def _velocity(value_m_per_s: float | None, unit: Unit, rounding: Rounding = Rounding.DOWN) -> str:
    return UNKNOWN if value_m_per_s is None else figure_text(unit.from_si(value_m_per_s), 0, rounding)


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


def _module_lines(snapshot: Snapshot) -> list[str]:
    """What each module is worth: the delta-v with and without it."""
    velocity, mass = velocity_unit(snapshot.shown_in), mass_unit(snapshot.shown_in)
    lines = []
    for drop in snapshot.drops:
        without = _velocity(drop.delta_v_left_m_per_s, velocity)
        words = f"dropped; delta-v left without it {without}"
        if not drop.is_dropped:
            with_it = _velocity(snapshot.need.delta_v_left_m_per_s, velocity)
            words = f"aboard; delta-v left {with_it} with it, {without} without"
        amount = amount_text(drop.mass_kg, mass, Rounding.NEAREST)
        lines.append(f"module {drop.module}, {amount}: {words} ({velocity.text})")
    return lines


def _fitted_lines(snapshot: Snapshot) -> list[str]:
    """Until when the next spare must be fitted; nothing where what is fitted has no end."""
    lines = []
    for supply in snapshot.supplies.values():
        fitted = supply.fitted_lasts_s
        if fitted is not None and fitted.p05 is not None:
            central = "no end" if fitted.p50 is None else hours_text(fitted.p50)
            lines.append(
                f"{supply.name}: what is fitted lasts {hours_text(fitted.p05)} at the low end (central "
                f"{central}); a spare must be fitted before"
            )
    return lines


def _remark_lines(snapshot: Snapshot) -> list[str]:
    lines = [f"{supply.name}: {supply.why}" for supply in snapshot.supplies.values() if supply.why]
    lines.extend(learnt_lines(snapshot))
    lines.extend(_fitted_lines(snapshot))
    lines.extend(cabin_remarks(snapshot))
    lines.extend(f"feed: {fault}" for fault in snapshot.feed.faults)
    lines.extend(
        f"feed: {reading.channel} {reading.quality.value}: {reading.why}"
        for reading in snapshot.feed.readings.values()
        if reading.quality is not Quality.GOOD
    )
    lines.extend(f"note: {notice}" for notice in snapshot.notices)
    return lines


def _freshness(snapshot: Snapshot) -> str:
    feed = snapshot.feed
    age_s = feed.age_s(snapshot.at_s)
    age = "no readings yet" if age_s is None else f"{age_text(age_s)} old"
    return f"feed {feed.quality.value}, {age} ({feed.source})"
