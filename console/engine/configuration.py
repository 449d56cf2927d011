"""What is switched how, and when: the plan's own moves and the logged steps as one list in time order.

The rule: for each load and each store the last word counts, whoever spoke it. A logged step therefore holds
until the plan itself next moves that load (a phase whose level gives it another state than the phase before
did); a phase that leaves the load alone leaves the step standing.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

from console.craft.model import Activity, Craft, LoadState, StoreState
from console.craft.plan import Event, Phase, phase_at


@dataclass(frozen=True, kw_only=True, slots=True)
class ConfigurationChange:
    """A logged step as the engine sees it."""

    at_s: float
    """When it happened."""
    label: str
    """``quiet-down/3``, or what the operator wrote."""
    loads: Mapping[str, LoadState]
    stores: Mapping[str, StoreState]
    used_si: Mapping[str, float]
    """By store, an amount taken from it that no gauge sees."""
    drops: tuple[str, ...] = ()
    """The modules that were left behind."""
    confirms_control: bool = False
    """Whether it confirms that the craft can be controlled with the mass it has now."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Commanded:
    """The state a load is commanded to, and whether a logged step or the plan put it there."""

    state: LoadState
    by_step: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Segment:
    """A stretch of time in which no load, store or person changes."""

    start_s: float
    end_s: float
    """``math.inf`` for the last."""
    loads: Mapping[str, LoadState]
    stores: Mapping[str, StoreState]
    crew: Mapping[Activity, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class StoreMove:
    """One store that begins or ceases to give."""

    store: str
    at_s: float
    opens: bool
    label: str
    """The event or step that does it."""


class Configuration:
    """The course of every load, store and roster under one option, past and planned.

    Args:
        craft: the craft.
        phases: the phases that are flown, in order.
        events: the events that happen, in order.
        changes: what was logged, in the journal's order.
    """

    def __init__(
        self,
        craft: Craft,
        phases: tuple[Phase, ...],
        events: tuple[Event, ...],
        changes: Iterable[ConfigurationChange],
    ) -> None:
        self._phases = phases
        logged = sorted(changes, key=lambda change: change.at_s)
        self._loads = {name: _load_course(name, craft, phases, logged) for name in craft.loads}
        self._stores = {
            store.name: _store_course(store.name, store.state, events, logged)
            for supply in craft.supplies.values()
            for store in supply.stores
        }

    def loads_at(self, at_s: float) -> dict[str, Commanded]:
        """The commanded state of every load, in the craft's order."""
        return {name: _last(course, at_s) for name, course in self._loads.items()}

    def stores_at(self, at_s: float) -> dict[str, StoreState]:
        """The state of every store, in the craft's order."""
        return {name: _last(course, at_s)[0] for name, course in self._stores.items()}

    def stores_before(self, at_s: float) -> dict[str, StoreState]:
        """The state of every store just before a moment, as what happens at it finds them."""
        return self.stores_at(math.nextafter(at_s, -math.inf))

    def store_moves(self, after_s: float, until_s: float) -> tuple[StoreMove, ...]:
        """The stores that begin or cease to give after one moment and up to another, in order of time."""
        moves = []
        for name, course in self._stores.items():
            for (_, (before, _)), (at_s, (state, label)) in pairwise(course):
                gave, gives = before is StoreState.FEEDING, state is StoreState.FEEDING
                if after_s < at_s <= until_s and gave is not gives:
                    moves.append(StoreMove(store=name, at_s=at_s, opens=gives, label=label))
        return tuple(sorted(moves, key=lambda move: move.at_s))

    def segments(self, start_s: float, until_s: float) -> tuple[Segment, ...]:
        """From one moment on, the stretches in which nothing changes; the last one never ends.

        Changes after ``until_s`` are left out: what holds then holds for ever.
        """
        moves = [phase.start_s for phase in self._phases]
        moves.extend(at_s for course in self._loads.values() for at_s, _ in course)
        moves.extend(at_s for course in self._stores.values() for at_s, _ in course)
        moments = {start_s, *(at_s for at_s in moves if start_s < at_s < until_s)}
        starts = sorted(moments)
        ends = [*starts[1:], float("inf")]
        return tuple(
            Segment(
                start_s=begin,
                end_s=end,
                loads={name: commanded.state for name, commanded in self.loads_at(begin).items()},
                stores=self.stores_at(begin),
                crew=phase_at(self._phases, begin).crew,
            )
            for begin, end in zip(starts, ends, strict=True)
        )


_T = TypeVar("_T")
_FIRST_S = float("-inf")


def _load_course(
    name: str, craft: Craft, phases: tuple[Phase, ...], logged: list[ConfigurationChange]
) -> list[tuple[float, Commanded]]:
    """The moments at which one load is moved, in order, from before all time on."""
    planned: list[tuple[float, Commanded]] = []
    for phase in phases:
        state = craft.levels[phase.level].states[name]
        if not planned or planned[-1][1].state is not state:
            planned.append((phase.start_s if planned else _FIRST_S, Commanded(state=state, by_step=False)))
    steps = [
        (change.at_s, Commanded(state=change.loads[name], by_step=True))
        for change in logged
        if name in change.loads
    ]
    # Stable sort with the plan first: a step logged at the very moment of a phase start has the last word.
    return sorted((*planned, *steps), key=lambda move: move[0])


def _store_course(
    name: str, state: StoreState, events: tuple[Event, ...], logged: list[ConfigurationChange]
) -> list[tuple[float, tuple[StoreState, str]]]:
    """The moments at which one store is moved, with what moves it, in order, from before all time on."""
    planned = [(event.at_s, (event.sets[name], event.name)) for event in events if name in event.sets]
    steps = [(change.at_s, (change.stores[name], change.label)) for change in logged if name in change.stores]
    return [(_FIRST_S, (state, "")), *sorted((*planned, *steps), key=lambda move: move[0])]


def _last(course: list[tuple[float, _T]], at_s: float) -> _T:
    return course[bisect_right(course, at_s, key=lambda move: move[0]) - 1][1]
