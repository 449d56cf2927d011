"""Leave a load on until a moment, or switch it off now and pay to bring it back then: what each way takes.

Every figure is the engine's own answer to a supposition. Nothing is remembered and nothing is logged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from console.craft.model import Load, LoadState, Supply
from console.craft.plan import Event
from console.engine.ahead import Ahead, look_ahead
from console.engine.assess import assess
from console.engine.configuration import ConfigurationChange
from console.engine.draws import Floats
from console.engine.forecast import Course, Draws
from console.engine.known import Situation, judged, known_of
from console.engine.snapshot import Snapshot
from console.engine.whatif import LABEL, AddEvent, SwitchLoad, suppose
from console.errors import UsageError

_CENTRAL = Draws(seed=0, count=0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Trade:
    """One supply in this choice; amounts central, None where the supply is not known."""

    supply: Supply
    keeping_si: float | None
    """What leaving it on takes up to the moment at which it is wanted again."""
    restart_si: float
    """What bringing it back takes."""
    pays_after_s: float | None
    """How long it must be off for switching off to pay; 0 where bringing it back takes nothing of this
    supply, None where it does not pay before need or is not known."""

    @property
    def saved_si(self) -> float | None:
        """What switching off leaves more of this supply; below zero it leaves less."""
        return None if self.keeping_si is None else self.keeping_si - self.restart_si


@dataclass(frozen=True, kw_only=True, slots=True)
class KeepOrOff:
    """The choice, with both ways assessed."""

    load: Load
    state: LoadState
    """In which it is now, and would be kept."""
    state_then: LoadState
    """In which plan and logged steps have it once the moment has come, either way."""
    until_s: float
    keep: Snapshot
    off: Snapshot
    trades: tuple[Trade, ...]
    """Of every supply, in the order of the craft."""

    @property
    def pays_after_s(self) -> float | None:
        """How long it must be off to pay on every supply; None where on some it never does before need."""
        spans = [trade.pays_after_s for trade in self.trades if trade.restart_si or trade.keeping_si]
        return None if not spans or None in spans else max(span for span in spans if span is not None)


def keep_or_off(
    situation: Situation, load: str, until_s: float, restart_si: Mapping[str, float], draws: Draws
) -> KeepOrOff:
    """Both ways of one load.

    Args:
        situation: what is known.
        load: the load.
        until_s: when it is wanted again.
        restart_si: by supply, what bringing it back takes.
        draws: samples and seed.

    Raises:
        UsageError: the load draws nothing now, or the moment does not lie between now and need.
    """
    situation = judged(situation)
    present = _ahead(situation)
    state = present.configuration.loads_at(situation.at_s)[load].state
    then = present.configuration.loads_at(until_s)[load].state
    _check(situation, present, load, state, until_s)
    kept = held_until(situation, load, state, until_s, then)
    off = held_until(situation, load, LoadState.OFF, until_s, then)
    paid = suppose(off, (AddEvent(event=brought_back(load, until_s, restart_si)),))
    always = SwitchLoad(load=load, to=state, from_s=situation.at_s)
    never = replace(always, to=LoadState.OFF)
    on_for_good, off_for_good = _ahead(suppose(situation, (always,))), _ahead(suppose(situation, (never,)))
    kept_ahead, off_ahead = _ahead(kept), _ahead(off)
    need_s = present.option.need_s
    return KeepOrOff(
        load=situation.craft.loads[load],
        state=state,
        state_then=then,
        until_s=until_s,
        keep=assess(kept, None, draws).snapshot,
        off=assess(paid, None, draws).snapshot,
        trades=tuple(
            Trade(
                supply=one.supply,
                keeping_si=_more_left_si(off_ahead, kept_ahead, name, need_s),
                restart_si=restart_si.get(name, 0.0),
                pays_after_s=_pays_after_s(
                    on_for_good.supplies[name].outlook.course,
                    off_for_good.supplies[name].outlook.course,
                    restart_si.get(name, 0.0),
                    situation.at_s,
                    need_s,
                ),
            )
            for name, one in present.supplies.items()
        ),
    )


def _check(situation: Situation, present: Ahead, load: str, state: LoadState, until_s: float) -> None:
    if situation.craft.loads[load].draw_si_per_s(state) <= 0.0:
        raise UsageError(f"load {load!r} is {state.value} and draws nothing now: there is nothing to save")
    if until_s <= situation.at_s:
        raise UsageError("found a moment that is over; write when the load is wanted again, from now on")
    if until_s > present.option.need_s:
        raise UsageError("found a moment after need, when nothing is reckoned any more; write an earlier one")


def held_until(
    situation: Situation, load: str, state: LoadState, until_s: float, then: LoadState
) -> Situation:
    """The load held in a state until a moment, and from then on as it would have been anyway."""
    held = suppose(situation, (SwitchLoad(load=load, to=state, from_s=situation.at_s, until_s=until_s),))
    back = ConfigurationChange(at_s=until_s, label=LABEL, loads={load: then}, stores={}, used_si={})
    return replace(held, supposed=(*held.supposed, back))


def brought_back(load: str, at_s: float, restart_si: Mapping[str, float]) -> Event:
    """The one-off that bringing a load back is."""
    return Event(
        name=f"{load} brought back",
        at_s=at_s,
        uses_si=MappingProxyType(dict(restart_si)),
        spread_fraction=0.0,
        transfer=None,
        sets={},
    )


def _ahead(situation: Situation) -> Ahead:
    plan = situation.plan
    return look_ahead(known_of(situation), plan, plan.options[plan.committed], _CENTRAL)


def _more_left_si(more: Ahead, less: Ahead, supply: str, at_s: float) -> float | None:
    """By how much one way leaves more of a supply at a moment than the other."""
    courses = [each.supplies[supply].outlook.course for each in (more, less)]
    if courses[0] is None or courses[1] is None:
        return None
    return _left_si(courses[0], at_s) - _left_si(courses[1], at_s)


def _left_si(course: Course, at_s: float) -> float:
    return float(course.central().left_at_si(at_s)[0])


def _pays_after_s(
    on: Course | None, off: Course | None, restart_si: float, now_s: float, need_s: float
) -> float | None:
    """How long after now what is saved has grown to what bringing back takes.

    Between the moments at which anything changes the saving grows evenly: the time has a closed form.
    """
    if on is None or off is None:
        return None
    if restart_si <= 0.0:
        return 0.0
    moments = moments_s(on, off, now_s, need_s)
    saved = np.array([_left_si(off, at_s) - _left_si(on, at_s) for at_s in moments])
    reached = np.flatnonzero(saved >= restart_si)
    if not len(reached):
        return None
    index = int(reached[0])
    if index == 0:
        return 0.0
    share = (restart_si - saved[index - 1]) / (saved[index] - saved[index - 1])
    at_s = moments[index - 1] + share * (moments[index] - moments[index - 1])
    return float(at_s - now_s)


def moments_s(on: Course, off: Course, now_s: float, need_s: float) -> Floats:
    """The moments from now to need between which what is saved grows evenly."""
    every = np.concatenate(([now_s, need_s], on.times_s, off.times_s))
    return np.unique(every[(every >= now_s) & (every <= need_s)])
