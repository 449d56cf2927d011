"""Until when a way home stays open, what closes it, what waiting costs: in words. Reckons nothing."""

from __future__ import annotations

from console.display import Rounding, countdown_text, elapsed_text, figure_text
from console.engine.open_until import Closing, Open, Stop
from console.engine.options import Delay, WayHome
from console.engine.snapshot import Snapshot


def open_sentence(found: Open, demand: str, now_s: float) -> str:
    """Whether a way home may still be taken, until when, and what closes it.

    Args:
        found: what was found.
        demand: what is asked of every supply, as ``a margin of zero``.
        now_s: the moment.
    """
    stop = found.closed_by
    if not found.spans_s:
        return _closed(stop, demand, now_s)
    since_s, until_s = found.spans_s[-1]
    words = f"until {elapsed_text(until_s)}, {countdown_text(until_s - now_s)}"
    if not found.is_open(now_s):
        words = f"CLOSED now; opens {elapsed_text(found.spans_s[0][0])}, {words}"
    elif len(found.spans_s) > 1:
        words += f", but closed from {elapsed_text(found.spans_s[0][1])} to {elapsed_text(since_s)}"
    if stop.by is Closing.SUPPLY:
        return f"{words}: then {stop.name} does not reach {demand}"
    return f"{words}: {stop_words(stop)}; no supply closes it before"


def open_short(way: WayHome, now_s: float) -> str:
    """The same by the low end and for a margin of zero, in few words, for a column."""
    if way.open_until is None:
        return "begun" if way.is_begun else "not known"
    found = way.open_until.zero_low
    if not found.spans_s:
        stop = found.closed_by
        if stop.by is Closing.SUPPLY:
            return f"CLOSED ({stop.name})"
        return "CLOSED (delta-v)" if stop.by is Closing.DELTA_V else f"CLOSED {elapsed_text(stop.at_s)}"
    until = elapsed_text(found.spans_s[-1][1])
    unsure = "at best " if way.unknown else ""
    return (
        f"{unsure}{until}"
        if found.is_open(now_s)
        else f"CLOSED now, opens {elapsed_text(found.spans_s[0][0])}"
    )


def is_overdue(snapshot: Snapshot, way: WayHome) -> bool:
    """Whether the time to decide on a way home is over, and nobody has logged a decision for any."""
    decide_by_s = way.option.decide_by_s
    is_over = decide_by_s is not None and decide_by_s <= snapshot.at_s
    return is_over and snapshot.need.decided_at_s is None


def stop_words(stop: Stop) -> str:
    """What closes a way home."""
    match stop.by:
        case Closing.DECIDE_BY:
            return "its decide-by"
        case Closing.OWN_EVENT:
            return f"its own event {stop.name}"
        case Closing.UNDER_WAY:
            return f"{stop.name} takes us off on the present course"
        case Closing.ARRIVAL:
            return f"the arrival of {stop.name}"
        case Closing.DELTA_V:
            return "it needs more delta-v than is left"
        case Closing.SUPPLY:
            return stop.name


def delay_sentence(delay: Delay) -> str:
    """What an hour of waiting takes from the least margin."""
    tried = f"tried over {figure_text(delay.over_s / 3600.0, 1)} h"
    low, central = _cost(delay.low), _cost(delay.central)
    if low == central:
        return f"each hour of waiting {low} of the least margin ({tried})"
    return f"each hour of waiting {low} of the least margin by the low end, {central} central ({tried})"


def _closed(stop: Stop, demand: str, now_s: float) -> str:
    if stop.by is Closing.SUPPLY:
        return f"CLOSED already: {stop.name} does not reach {demand}"
    if stop.by is Closing.DELTA_V:
        return f"CLOSED: {stop_words(stop)}"
    return f"CLOSED since {elapsed_text(stop.at_s)}, {countdown_text(stop.at_s - now_s)}: {stop_words(stop)}"


def _cost(share: float | None) -> str:
    if share is None:
        return "has no figure"
    cost = figure_text(share, 2, Rounding.UP)
    if cost in ("0.00", "-0.00"):
        return "costs nothing"
    return f"costs {cost} h" if share > 0.0 else f"gains {cost.removeprefix('-')} h"
