"""Until when another way home stays open: the last moment at which a switch to it still leaves a margin.

Scans from now to the moment after which it cannot be taken at all, then halves. Between two neighbouring
moments at which either course changes its rates, every sample's margin only rises or only falls with the
delay: by then the two switches differ by the difference of two constant rates times the delay, one and the
same from there on. So the ends of such a stretch show every crossing in it, and none hides between. Where
some samples draw more and others less, the stretch is cut into quarter hours. Halving ends within 10 s.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from console.craft.plan import Option
from console.engine.delayed import Delayed

TOLERANCE_S = 10.0
"""How near to the true moment the search ends, on the early side."""

MIXED_STEP_S = 900.0
"""How long the pieces are into which a stretch is cut whose samples disagree."""

MOST_PIECES = 96


class Closing(Enum):
    """What ends the time in which a way home can be taken."""

    DECIDE_BY = "decide-by"
    OWN_EVENT = "its own event"
    UNDER_WAY = "the present course's event"
    ARRIVAL = "arrival"
    DELTA_V = "delta-v"
    SUPPLY = "supply"


@dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """What closes a way home, and when."""

    at_s: float
    by: Closing
    name: str
    """Of the event or the supply; empty where ``by`` says all."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Open:
    """At which moments from now on a switch leaves at least some margin on every supply."""

    spans_s: tuple[tuple[float, float], ...]
    """From and until, in order of time; none where no moment does."""
    closed_by: Stop
    """What ends the last of them; where there is none, what closes it already."""

    @property
    def until_s(self) -> float | None:
        """The last moment; None where there is none."""
        return self.spans_s[-1][1] if self.spans_s else None

    def is_open(self, at_s: float) -> bool:
        """Whether the switch may be made at a moment."""
        return any(since_s <= at_s <= until_s for since_s, until_s in self.spans_s)


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenUntil:
    """Until when a way home stays open, by the low end and by the central case, for two demands."""

    limit: Stop
    """After this it cannot be taken, whatever the supplies."""
    zero_low: Open
    zero_central: Open
    advisory_low: Open
    """Every supply at its own advisory margin."""
    advisory_central: Open


def limit_of(
    option: Option,
    present: Option,
    own_events: Iterable[tuple[str, float]],
    departures: Iterable[tuple[str, float]],
) -> Stop:
    """After what, at the latest, a way home cannot be taken any more.

    Args:
        option: the way home.
        present: the committed one.
        own_events: name and moment of what happens on the way home alone: missed, it cannot be flown.
        departures: the same of what takes us off for good on the present course alone.
    """
    stops = [Stop(at_s=option.arrival_s, by=Closing.ARRIVAL, name=option.name)]
    stops.append(Stop(at_s=present.arrival_s, by=Closing.ARRIVAL, name=present.name))
    stops += [Stop(at_s=at_s, by=Closing.UNDER_WAY, name=name) for name, at_s in departures]
    stops += [Stop(at_s=at_s, by=Closing.OWN_EVENT, name=name) for name, at_s in own_events]
    if option.decide_by_s is not None:
        stops.append(Stop(at_s=option.decide_by_s, by=Closing.DECIDE_BY, name=""))
    return min(reversed(stops), key=lambda stop: stop.at_s)


def open_until(delayed: Delayed, limit: Stop, now_s: float) -> OpenUntil:
    """Until when a way home stays open."""
    if limit.at_s <= now_s:
        closed = Open(spans_s=(), closed_by=limit)
        return OpenUntil(
            limit=limit, zero_low=closed, zero_central=closed, advisory_low=closed, advisory_central=closed
        )
    pieces = tuple(_pieces(delayed, now_s, limit.at_s))
    # Those that are quick to ask come first: one that is short throughout spares the others.
    supplies = sorted(delayed.supplies.values(), key=lambda supply: delayed.is_dear(supply.name))
    advisory = {supply.name: supply.bands.advisory_s for supply in supplies}
    zero = dict.fromkeys(advisory, 0.0)
    return OpenUntil(
        limit=limit,
        zero_low=_open(pieces, zero, limit, delayed.holds_low, delayed.low_s),
        zero_central=_open(pieces, zero, limit, delayed.holds_central, delayed.central_s),
        advisory_low=_open(pieces, advisory, limit, delayed.holds_low, delayed.low_s),
        advisory_central=_open(pieces, advisory, limit, delayed.holds_central, delayed.central_s),
    )


_Holds = Callable[[str, float, float], bool]
"""Whether a margin is at least so much, by supply and moment of the switch."""


def _pieces(delayed: Delayed, now_s: float, limit_s: float) -> Iterable[tuple[float, float]]:
    """The stretches in which each margin only rises or only falls with the delay."""
    for begin, end in delayed.stretches(now_s, limit_s):
        if delayed.is_one_way(begin):
            yield begin, end
        else:
            count = min(max(math.ceil((end - begin) / MIXED_STEP_S), 1), MOST_PIECES)
            edges = np.linspace(begin, end, count + 1).tolist()
            yield from pairwise(edges)


def _open(
    pieces: tuple[tuple[float, float], ...],
    demands_s: Mapping[str, float],
    limit: Stop,
    holds: _Holds,
    end: Callable[[str, float], float],
) -> Open:
    spans: list[tuple[float, float]] = []
    stop: Stop | None = None
    for begin, finish in pieces:
        since, until, closer = _open_part(begin, finish, demands_s, holds)
        if since is None:
            # Open to the end of the piece before, and closed at once in this one: something happens here.
            if spans and _meet(spans[-1][1], begin):
                stop = Stop(at_s=begin, by=Closing.SUPPLY, name=closer)
            continue
        if spans and _meet(spans[-1][1], since):
            spans[-1] = (spans[-1][0], until)
        else:
            spans.append((since, until))
        stop = Stop(at_s=until, by=Closing.SUPPLY, name=closer) if closer else limit
    if stop is None:
        now_s = pieces[0][0]
        stop = Stop(at_s=now_s, by=Closing.SUPPLY, name=_shortest(now_s, demands_s, end))
    return Open(spans_s=tuple(spans), closed_by=stop)


def _meet(until_s: float, since_s: float) -> bool:
    """Whether one piece goes on where the other ends; a stretch ends just before the next."""
    return since_s <= math.nextafter(until_s, math.inf)


def _shortest(at_s: float, demands_s: Mapping[str, float], end: Callable[[str, float], float]) -> str:
    """The supply that falls furthest below what is asked of it."""
    return min(demands_s, key=lambda name: end(name, at_s) - demands_s[name])


def _open_part(
    begin: float, finish: float, demands_s: Mapping[str, float], holds: _Holds
) -> tuple[float | None, float, str]:
    """From when until when one piece is open, and the supply that closes it before its end."""
    since, until, closer = begin, finish, ""
    for name, demand_s in demands_s.items():
        first = holds(name, begin, demand_s)
        last = holds(name, finish, demand_s)
        if first and last:
            continue
        if not first and not last:
            return None, begin, name
        crossing = _crossing(name, begin, finish, demand_s, holds)
        if first and crossing < until:
            until, closer = crossing, name
        elif last:
            since = max(since, crossing)
    return (since, until, closer) if since <= until else (None, begin, closer)


def _crossing(name: str, begin: float, finish: float, demand_s: float, holds: _Holds) -> float:
    """The open side of the one moment in a piece at which a supply's margin passes what is asked of it."""
    opens_first = holds(name, begin, demand_s)
    is_open, is_shut = (begin, finish) if opens_first else (finish, begin)
    while abs(is_shut - is_open) > TOLERANCE_S:
        middle = 0.5 * (is_open + is_shut)
        if holds(name, middle, demand_s):
            is_open = middle
        else:
            is_shut = middle
    return is_open
