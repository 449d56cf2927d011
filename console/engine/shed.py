"""What to switch off next: the least important loads that bring every supply to a margin, and what each buys.

Every figure is the engine's own answer to a supposition (``whatif.SwitchOff``); the search for the set is in
``shed_choice.py``. Switching a load off saves its current and, where its heat is carried away by evaporating
water, that water too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from console.craft.model import Craft, Load, LoadState
from console.engine.ahead import Ahead, look_ahead
from console.engine.configuration import Commanded
from console.engine.forecast import Draws, interval
from console.engine.known import Situation, known_of
from console.engine.shed_choice import Candidate, least_important
from console.engine.snapshot import Interval
from console.engine.whatif import SwitchLoad, SwitchOff, suppose

_CENTRAL = Draws(seed=0, count=0)
_ROUNDS = 12
"""How often a set is asked for again with what it was found to lack: savings do not quite add up."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Buys:
    """What switching one load off does, alone, by supply: hours of margin gained, in seconds."""

    load: Load
    margin_gained_s: Mapping[str, float | None]
    """Central; None where the supply has no end with it or without it, or is not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shed:
    """The answer to one question: what to switch off for this margin."""

    goal_s: float
    by_low_end: bool
    """Whether the low end of every margin must reach the goal, or the central one."""
    loads: tuple[Buys, ...]
    """What to switch off, the least important first; empty where nothing has to go."""
    is_enough: bool
    """Whether every supply reaches the goal with them."""
    before_s: Mapping[str, Interval | None]
    after_s: Mapping[str, Interval | None]
    """By supply, the margin without and with the loads off."""
    short: tuple[str, ...]
    """The supplies below the goal even so: by no load, or by not even all that may go."""
    may_go: tuple[Buys, ...]
    """Every load that is on and may go, the least important first, the ones chosen too."""
    kept: tuple[str, ...]
    """The loads that draw now and are not proposed: they must stay."""
    beyond_loads: tuple[str, ...] = ()
    """Those of ``short`` on which switching off has no effect, whatever the load."""

    @property
    def has_goal_already(self) -> bool:
        """Whether every supply reaches the goal with nothing switched off."""
        return self.is_enough and not self.loads


@dataclass(frozen=True, kw_only=True, slots=True)
class MayRun:
    """One load that is not on now: what running it for some time would leave."""

    load: Load
    is_affordable: bool
    margin_s: Mapping[str, Interval | None]
    """By supply, with it on."""


def shed_for(situation: Situation, goal_s: float, draws: Draws, *, by_low_end: bool = True) -> Shed:
    """The loads of least importance to switch off now so that every supply's margin reaches a goal.

    Args:
        situation: what is known.
        goal_s: the margin asked for, of every supply whose margin is known.
        draws: samples and seed.
        by_low_end: whether the low end must reach it, or the central case.
    """
    base = _ahead(situation, draws)
    candidates, kept = _candidates(situation.craft, base.configuration.loads_at(situation.at_s))
    central = _ahead(situation, _CENTRAL)
    alone = {load.name: _ahead(_without(situation, (load.name,)), _CENTRAL) for load in candidates}
    until_s = base.option.need_s + goal_s
    saves = {
        name: tuple(
            max(_left_si(ahead, supply, until_s) - _left_si(central, supply, until_s), 0.0)
            for supply in base.supplies
        )
        for name, ahead in alone.items()
    }
    chosen, after = _chosen(situation, base, candidates, saves, goal_s, draws, by_low_end=by_low_end)
    short = _short(after, goal_s, by_low_end=by_low_end)
    buys = {load.name: _buys(load, central, alone[load.name]) for load in candidates}
    in_turn = sorted(buys.values(), key=lambda each: (-each.load.priority, each.load.name))
    return Shed(
        goal_s=goal_s,
        by_low_end=by_low_end,
        loads=tuple(each for each in in_turn if each.load.name in chosen),
        is_enough=not short,
        before_s=_margins(base),
        after_s=_margins(after),
        short=short,
        may_go=tuple(in_turn),
        kept=kept,
        beyond_loads=tuple(
            name
            for column, name in enumerate(base.supplies)
            if name in short and not any(each[column] > 0.0 for each in saves.values())
        ),
    )


def may_run(
    situation: Situation, goal_s: float, lasts_s: float, draws: Draws, *, by_low_end: bool = True
) -> tuple[MayRun, ...]:
    """For every load that is not on: whether it may run for so long from now and every margin hold."""
    commanded = _ahead(situation, _CENTRAL).configuration.loads_at(situation.at_s)
    answers = []
    for load in situation.craft.loads.values():
        if commanded[load.name].state is not LoadState.ON:
            on = SwitchLoad(
                load=load.name,
                to=LoadState.ON,
                from_s=situation.at_s,
                until_s=situation.at_s + lasts_s,
            )
            ahead = _ahead(suppose(situation, (on,)), draws)
            answers.append(
                MayRun(
                    load=load,
                    is_affordable=not _short(ahead, goal_s, by_low_end=by_low_end),
                    margin_s=_margins(ahead),
                )
            )
    return tuple(answers)


def must_stay(craft: Craft) -> frozenset[str]:
    """The loads that are never proposed: those the craft says, what the cabin's air needs, what they need."""
    names = {load.name for load in craft.loads.values() if load.stays}
    cabin = craft.cabin
    if cabin is not None:
        for part in (cabin.removal, cabin.oxygen_feed, cabin.drying):
            names.update(() if part is None else part.needs)
        names.update(() if cabin.thermal is None else cabin.thermal.cooling_needs)
    waiting = list(names)
    while waiting:
        for needed in craft.loads[waiting.pop()].needs:
            if needed not in names:
                names.add(needed)
                waiting.append(needed)
    return frozenset(names)


def _candidates(craft: Craft, commanded: Mapping[str, Commanded]) -> tuple[list[Load], tuple[str, ...]]:
    """The loads that draw now and may go, and those that draw and must stay."""
    stays = must_stay(craft)
    drawing = [load for load in craft.loads.values() if load.draw_si_per_s(commanded[load.name].state) > 0.0]
    return (
        [load for load in drawing if load.name not in stays],
        tuple(load.name for load in drawing if load.name in stays),
    )


def _without(situation: Situation, loads: tuple[str, ...]) -> Situation:
    return suppose(situation, (SwitchOff(loads=loads, from_s=situation.at_s),))


def _ahead(situation: Situation, draws: Draws) -> Ahead:
    plan = situation.plan
    return look_ahead(known_of(situation), plan, plan.options[plan.committed], draws)


def _chosen(
    situation: Situation,
    base: Ahead,
    candidates: Sequence[Load],
    saves: Mapping[str, tuple[float, ...]],
    goal_s: float,
    draws: Draws,
    *,
    by_low_end: bool,
) -> tuple[tuple[str, ...], Ahead]:
    """The set and the look ahead with it: asked for again with what it lacks, until the engine agrees."""
    asked = [
        Candidate(name=load.name, priority=load.priority, saves=saves[load.name], needs=load.needs)
        for load in candidates
    ]
    helped = [any(each) for each in zip(*saves.values(), strict=True)] or [False] * len(base.supplies)
    lacking = _lacking(base, goal_s, helped, by_low_end=by_low_end)
    chosen: tuple[str, ...] | None = ()
    after = base
    for _ in range(_ROUNDS):
        if not any(lack > 0.0 for lack in _lacking(after, goal_s, helped, by_low_end=by_low_end).values()):
            return chosen or (), after
        chosen = least_important(asked, list(lacking.values()))
        if chosen is None:
            break
        after = _ahead(_without(situation, chosen), draws)
        still = _lacking(after, goal_s, helped, by_low_end=by_low_end)
        lacking = {name: lacking[name] + max(still[name], 0.0) for name in lacking}
    everything = tuple(load.name for load in candidates)
    return everything, _ahead(_without(situation, everything), draws)


def _lacking(ahead: Ahead, goal_s: float, helped: Sequence[bool], *, by_low_end: bool) -> dict[str, float]:
    """By supply, how much it is short of up to the goal; zero or less where it is not, or is not known.

    What no load can help is not asked for: switching everything off for it would be for nothing.
    """
    lacking = {}
    for (name, one), is_helped in zip(ahead.supplies.items(), helped, strict=True):
        course, need_s = one.outlook.course, one.outlook.need_s
        lacking[name] = 0.0
        if is_helped and course is not None and need_s is not None:
            least = interval(course.least_si(np.maximum(need_s + goal_s, course.times_s[0])))
            low = least.p05 if by_low_end else least.p50
            lacking[name] = -(low or 0.0)
    return lacking


def _left_si(ahead: Ahead, supply: str, at_s: float) -> float:
    """What is left of a supply at one moment, central; a shortfall is below zero."""
    course = ahead.supplies[supply].outlook.course
    if course is None:
        return 0.0
    return float(course.central().left_at_si(max(at_s, float(course.times_s[0])))[0])


def _margins(ahead: Ahead) -> dict[str, Interval | None]:
    return {name: one.outlook.margin_s for name, one in ahead.supplies.items()}


def _short(ahead: Ahead, goal_s: float, *, by_low_end: bool) -> tuple[str, ...]:
    """The supplies whose margin is known and below the goal."""
    short = []
    for name, margin in _margins(ahead).items():
        end = None if margin is None else (margin.p05 if by_low_end else margin.p50)
        if end is not None and end < goal_s:
            short.append(name)
    return tuple(short)


def _buys(load: Load, base: Ahead, without: Ahead) -> Buys:
    gained: dict[str, float | None] = {}
    for name, before in _margins(base).items():
        after = without.supplies[name].outlook.margin_s
        ends = (None if before is None else before.p50, None if after is None else after.p50)
        gained[name] = None if ends[0] is None or ends[1] is None else ends[1] - ends[0]
    return Buys(load=load, margin_gained_s=gained)
