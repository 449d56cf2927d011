"""The ways home side by side: what each leaves of every supply, until when it stays open, what waiting costs.

Each is what we fly if we take it now, so what the present course has done by now counts for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Craft, Supply
from console.craft.plan import Event, Option, Plan
from console.engine.ahead import Ahead, look_ahead
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.delayed import Delayed
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, judged, known_of
from console.engine.mass import delta_v_left_m_per_s
from console.engine.memory import Memory
from console.engine.open_until import Closing, OpenUntil, Stop, limit_of, open_until
from console.engine.snapshot import Interval, Snapshot
from console.engine.switch import just_before, own_events, switched_at

DELAY_S = 3600.0
"""Over how long a delay its cost is taken, or to the way home's limit where that is nearer."""

LEAST_DELAY_S = 60.0


@dataclass(frozen=True, kw_only=True, slots=True)
class WaySupply:
    """One supply on one way home; every figure None where it cannot be known."""

    supply: Supply
    margin_s: Interval | None
    lasts_probability: float | None
    left_at_need_si: Interval | None
    runs_out_at_s: float | None
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Delay:
    """Hours of the least final margin that are lost for each hour of delay; below zero it is gained."""

    low: float | None
    """By the low ends; None where the margin has no end there."""
    central: float | None
    over_s: float
    """The delay that was tried."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WayHome:
    """One way home."""

    option: Option
    is_committed: bool
    is_begun: bool
    """Committed, and its decision or its first event lies behind: it stays open no longer or shorter."""
    supplies: Mapping[str, WaySupply]
    shortest: str | None
    """By the low end, as in a Snapshot; None where no margin is known."""
    unknown: tuple[str, ...]
    """The supplies whose margin is not known: the rest says at best until when it stays open."""
    delta_v_left_m_per_s: float | None
    """Now, alike for all; None where it is not known or part of this way's own is spent."""
    open_until: OpenUntil | None
    """None for what has begun, and where no margin is known."""
    delay: Delay | None
    """None for the committed way, which no delay changes, and where a switch is not possible or not known."""

    @property
    def is_over(self) -> bool:
        """Whether it is not flown and cannot be taken any more, whatever the supplies."""
        found = self.open_until
        if found is None or self.is_committed:
            return False
        return not found.zero_central.spans_s and found.zero_central.closed_by == found.limit


@dataclass(frozen=True, kw_only=True, slots=True)
class Options:
    """Every way home of the plan, and the Snapshot that they go with."""

    snapshot: Snapshot
    ways: tuple[WayHome, ...]
    """In the order of the plan."""


def options_of(situation: Situation, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS) -> Options:
    """The ways home of a situation's plan side by side."""
    situation = judged(situation)
    snapshot = assess(situation, memory, draws).snapshot
    return Options(snapshot=snapshot, ways=ways_home(known_of(situation), situation.plan, draws))


def ways_home(known: Known, plan: Plan, draws: Draws) -> tuple[WayHome, ...]:
    """Each way home from what is known."""
    carrying_on = look_ahead(known, plan, plan.options[plan.committed], draws)
    return tuple(_way(known, plan, option, carrying_on, draws) for option in plan.options.values())


def delta_v_left(known: Known, ahead: Ahead) -> float | None:
    """What the usable propellant still gives now; None where it is not known or nothing uses it."""
    propulsion = known.craft.propulsion
    if propulsion is None:
        return None
    usable_kg = ahead.supplies[propulsion.supply].outlook.usable_si
    return delta_v_left_m_per_s(propulsion, usable_kg, ahead.configuration.dropped_at(known.at_s))


def _way(known: Known, plan: Plan, option: Option, carrying_on: Ahead, draws: Draws) -> WayHome:
    is_committed = option.name == plan.committed
    ahead = carrying_on
    if not is_committed:
        ahead = look_ahead(known, plan, switched_at(plan, option, known.at_s), draws)
    left_m_per_s = delta_v_left(known, carrying_on)
    limit = limit_of_way(known, plan, option, left_m_per_s)
    is_begun = is_committed and limit.at_s <= known.at_s and limit.by is not Closing.DELTA_V
    lows = {name: one.outlook.band_margin_s for name, one in ahead.supplies.items()}
    known_lows = {name: low for name, low in lows.items() if low is not None}
    delayed = Delayed(known, plan, option, carrying_on, ahead, draws)
    is_open_to_question = bool(known_lows) and not is_begun
    return WayHome(
        option=option,
        is_committed=is_committed,
        is_begun=is_begun,
        supplies={name: _supply(ahead, name) for name in ahead.supplies},
        shortest=min(known_lows, key=lambda name: known_lows[name], default=None),
        unknown=tuple(name for name, low in lows.items() if low is None),
        delta_v_left_m_per_s=None if is_begun else left_m_per_s,
        open_until=open_until(delayed, limit, known.at_s) if is_open_to_question else None,
        delay=None if is_committed or not known_lows else _delay(delayed, limit, known.at_s),
    )


def limit_of_way(known: Known, plan: Plan, option: Option, left_m_per_s: float | None) -> Stop:
    """After what, at the latest, a way home cannot be taken any more, whatever the supplies."""
    present = plan.options[plan.committed]
    if option.name == plan.committed:
        own: tuple[Event, ...] = option.events
        others: tuple[Event, ...] = ()
    else:
        own, others = own_events(option, present), own_events(present, option)
    departures = [event for event in others if _departs(known.craft, event)]
    limit = limit_of(
        option,
        present,
        own_events=[(event.name, event.at_s) for event in own],
        departures=[(event.name, event.at_s) for event in departures],
    )
    needed = option.delta_v_m_per_s
    is_too_little = needed is not None and left_m_per_s is not None and needed > left_m_per_s
    if is_too_little and limit.at_s > known.at_s:
        return Stop(at_s=known.at_s, by=Closing.DELTA_V, name="")
    return limit


def _departs(craft: Craft, event: Event) -> bool:
    """Whether an event of the present course takes us off on it: what was burnt or left is not had back."""
    propulsion = craft.propulsion
    uses_propellant = propulsion is not None and propulsion.supply in event.uses_si
    return uses_propellant or event.burn_m_per_s is not None or bool(event.drops)


def _supply(ahead: Ahead, name: str) -> WaySupply:
    one = ahead.supplies[name]
    return WaySupply(
        supply=one.supply,
        margin_s=one.outlook.margin_s,
        lasts_probability=one.outlook.lasts_probability,
        left_at_need_si=one.outlook.left_at_need_si,
        runs_out_at_s=one.outlook.runs_out_at_s,
        why="; ".join((*one.outlook.why, *one.held.why)),
    )


def _delay(delayed: Delayed, limit: Stop, now_s: float) -> Delay | None:
    """What an hour's delay takes from the least margin, whichever supply has it then."""
    later_s = min(now_s + DELAY_S, just_before(limit.at_s))
    over_s = later_s - now_s
    if over_s < LEAST_DELAY_S:
        return None
    names = tuple(delayed.supplies)
    low = min(delayed.low_s(name, now_s) for name in names) - min(
        delayed.low_s(name, later_s) for name in names
    )
    central = min(delayed.central_s(name, now_s) for name in names) - min(
        delayed.central_s(name, later_s) for name in names
    )
    return Delay(low=_per(low, over_s), central=_per(central, over_s), over_s=over_s)


def _per(lost_s: float, over_s: float) -> float | None:
    """A share; what has no end has no share either."""
    return lost_s / over_s if abs(lost_s) < float("inf") else None
