"""One way home in words: its decision, until when it stays open and what closes it, what waiting costs."""

from __future__ import annotations

from console.board.cells import one_line
from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    countdown_text,
    elapsed_text,
    figure_text,
    span_text,
    velocity_unit,
)
from console.engine.open_until import Closing, Open, Stop
from console.engine.options import Delay, WayHome
from console.engine.snapshot import Need
from console.units import UnitSystem

NO_END = "no end"


def stop_word(stop: Stop) -> str:
    """What closes a way home, in a word or two."""
    if stop.name and stop.by is not Closing.ARRIVAL:
        return one_line(stop.name)
    return {Closing.DECIDE_BY: "decide-by", Closing.DELTA_V: "delta-v", Closing.ARRIVAL: "arrival"}.get(
        stop.by, stop.by.value
    )


def open_cell(way: WayHome, found: Open | None, now_s: float) -> str:
    """Until when, and what closes it, for a column."""
    if way.open_until is None or found is None:
        return "begun" if way.is_begun else UNKNOWN
    if not found.spans_s:
        return f"CLOSED {stop_word(found.closed_by)}"
    if found.spans_s[-1][1] < now_s:
        # Passed since the answer was reckoned.
        return f"CLOSED {stop_word(found.closed_by)}"
    if not found.is_open(now_s):
        later = next(since_s for since_s, _ in found.spans_s if since_s > now_s)
        return f"CLOSED to {elapsed_text(later)}"
    until = elapsed_text(found.spans_s[-1][1])
    return f"{'at best ' if way.unknown else ''}{until} {stop_word(found.closed_by)}"


def open_sentence(found: Open, demand: str, now_s: float) -> str:
    """Whether a way home can still be taken, until when, and what ends that."""
    stop = found.closed_by
    by_supply = stop.by is Closing.SUPPLY
    if not found.spans_s:
        if by_supply:
            return f"CLOSED: {one_line(stop.name)} does not reach {demand}"
        return f"CLOSED: {_stop_sentence(stop)}"
    until_s = found.spans_s[-1][1]
    words = f"until {elapsed_text(until_s)}, {countdown_text(until_s - now_s)}"
    if until_s >= now_s and not found.is_open(now_s):
        later = next(since_s for since_s, _ in found.spans_s if since_s > now_s)
        words = f"CLOSED now, opens {elapsed_text(later)}, then {words}"
    elif len(found.spans_s) > 1:
        words += (
            f", but closed from {elapsed_text(found.spans_s[0][1])} to {elapsed_text(found.spans_s[1][0])}"
        )
    if by_supply:
        return f"{words}: then {one_line(stop.name)} does not reach {demand}"
    return f"{words}: {_stop_sentence(stop)}"


def _stop_sentence(stop: Stop) -> str:
    name = one_line(stop.name)
    return {
        Closing.DECIDE_BY: "its decide-by",
        Closing.OWN_EVENT: f"its own event {name}",
        Closing.UNDER_WAY: f"{name} takes us off on the present course",
        Closing.ARRIVAL: f"the arrival of {name}",
        Closing.DELTA_V: "it needs more delta-v than is left",
        Closing.SUPPLY: name,
    }[stop.by]


def delay_cell(way: WayHome) -> str:
    """Hours of the least margin lost for each hour of waiting, low end and central, for a column."""
    if way.delay is None:
        return "none: is taken" if way.is_committed else UNKNOWN
    return f"{_share(way.delay.low):>6} /{_share(way.delay.central):>6}"


def delay_sentence(delay: Delay) -> str:
    """The same in words."""
    tried = f"tried over {figure_text(delay.over_s / 3600.0, 1)} h"
    return (
        f"each hour of waiting takes {_share(delay.low)} h of the least margin by the low end, "
        f"{_share(delay.central)} h central ({tried})"
    )


def _share(share: float | None) -> str:
    if share is None:
        return UNKNOWN
    cost = figure_text(share, 2, Rounding.UP)
    return "0.00" if cost == "-0.00" else cost


def decide_cell(way: WayHome, need: Need, now_s: float) -> str:
    """How long there is to decide, or since when that is decided or overdue."""
    if way.is_committed and need.decided_at_s is not None:
        return f"taken {elapsed_text(need.decided_at_s)}"
    by_s = way.option.decide_by_s
    if by_s is None:
        return "none"
    if by_s < now_s:
        return f"OVERDUE {span_text(now_s - by_s, Rounding.UP)}"
    return f"{countdown_text(by_s - now_s)} {elapsed_text(by_s)}"


def is_overdue(way: WayHome, need: Need, now_s: float) -> bool:
    """Whether the time to decide is over, and nothing logged says that it was taken."""
    by_s = way.option.decide_by_s
    is_taken = way.is_committed and need.decided_at_s is not None
    return by_s is not None and by_s < now_s and not is_taken


def delta_v_cell(way: WayHome, system: UnitSystem) -> tuple[str, bool]:
    """What is spare or short of the delta-v, for a column, and whether it is short."""
    needed, left = way.option.delta_v_m_per_s, way.delta_v_left_m_per_s
    unit = velocity_unit(system)
    if needed is None:
        return "none needed", False
    if left is None:
        return f"{amount_text(needed, unit, Rounding.UP)}, left {'begun' if way.is_begun else '?'}", False
    is_short = left < needed
    by = amount_text(left - needed, unit, Rounding.DOWN).removeprefix("-")
    return f"{'SHORT' if is_short else 'spare'} {by}", is_short


def delta_v_sentence(way: WayHome, system: UnitSystem) -> str:
    """What is asked, what is left, what is spare or short."""
    needed, left = way.option.delta_v_m_per_s, way.delta_v_left_m_per_s
    unit = velocity_unit(system)
    if needed is None:
        return "delta-v: none needed"
    asked = f"delta-v: {amount_text(needed, unit, Rounding.UP)} needed"
    if left is None:
        return f"{asked}, {'part of it may be spent' if way.is_begun else f'left {UNKNOWN}'}"
    return f"{asked} of {amount_text(left, unit)} left: {delta_v_cell(way, system)[0]}"
