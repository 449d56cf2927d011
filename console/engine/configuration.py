"""What is switched how, and when: the plan's own moves and the logged steps as one list in time order.

The rule: for each load and each store the last word counts, whoever spoke it. A logged step therefore holds
until the plan itself next moves that load (a phase whose level gives it another state than the phase before
did); a phase that leaves the load alone leaves the step standing. What is in a module that was dropped is the
exception: its loads are off and its stores gone, and no word brings them back.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Generic, TypeVar

from console.craft.model import Activity, Craft, LoadState, Module, StoreState
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
    sequence: int | None = None
    """Of its entry in the journal; None for a step that nobody has logged."""
    option: str | None = None
    """The way home that it commits to."""
    released_si: Mapping[str, float] = field(default_factory=dict)
    """By supply, what it releases of the reserve."""
    by: str = ""
    """Who logged it."""


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


@dataclass(frozen=True, kw_only=True, slots=True)
class ModuleDrop:
    """One module that is left behind."""

    module: str
    at_s: float
    label: str
    """The event or step that does it."""


_T = TypeVar("_T")
_S = TypeVar("_S")


class _States(Generic[_T, _S]):
    """The states of all loads or stores over time; one and the same mapping from one move to the next.

    Args:
        courses: of each, the moments at which it is moved, in order, with what moves it.
        state_of: the state into which that moves it.
    """

    def __init__(self, courses: Mapping[str, list[tuple[float, _T]]], state_of: Callable[[_T], _S]) -> None:
        self._moves: dict[float, list[tuple[str, _T]]] = {}
        for name, course in courses.items():
            for at_s, word in course:
                self._moves.setdefault(at_s, []).append((name, word))
        self.moves_s = sorted(self._moves)
        self._state_of = state_of
        self._found: list[dict[str, _S]] = [{}]

    def at(self, at_s: float) -> Mapping[str, _S]:
        """Not to be written into."""
        number = bisect_right(self.moves_s, at_s)
        if number >= len(self._found):
            found = list(self._found)
            # Twice as far each time: whoever asks on and on pays once, who asks for now alone does not pay.
            for move_s in self.moves_s[len(found) - 1 : max(number, 2 * len(found))]:
                moved = {name: self._state_of(word) for name, word in self._moves[move_s]}
                found.append({**found[-1], **moved})
            self._found = found
        return self._found[number]


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
        self._drops = _drops(craft, events, logged)
        gone = {name: drop for module, drop in self._drops for name in (*module.stores, *module.loads)}
        self._gone_s = {name: drop.at_s for name, drop in gone.items()}
        levels = [(phase.start_s, craft.levels[phase.level].states) for phase in phases]
        self._loads = {
            name: _without_load(_load_course(name, levels, logged), gone.get(name)) for name in craft.loads
        }
        self._stores = {
            store.name: _without_store(
                _store_course(store.name, store.state, events, logged), gone.get(store.name)
            )
            for supply in craft.supplies.values()
            for store in supply.stores
        }

        self._load_states = _States(self._loads, lambda word: word.state)
        self._store_states = _States(self._stores, lambda word: word[0])

    def loads_at(self, at_s: float) -> dict[str, Commanded]:
        """The commanded state of every load, in the craft's order."""
        return {name: _last(course, at_s) for name, course in self._loads.items()}

    def load_states_at(self, at_s: float) -> dict[str, LoadState]:
        """The state of every load, in the craft's order."""
        return dict(self._load_states.at(at_s))

    def stores_at(self, at_s: float) -> dict[str, StoreState]:
        """The state of every store, in the craft's order."""
        return dict(self._store_states.at(at_s))

    def stores_before(self, at_s: float) -> dict[str, StoreState]:
        """The state of every store just before a moment, as what happens at it finds them."""
        return self.stores_at(math.nextafter(at_s, -math.inf))

    def store_moves(self, after_s: float, until_s: float) -> tuple[StoreMove, ...]:
        """The stores that begin or cease to be usable after one moment and up to another, in order of time.

        A spare cartridge is usable already, so fitting it is no such move.
        """
        return self._moves(after_s, until_s, lambda state: state.is_counted)

    def feeding_moves(self, after_s: float, until_s: float) -> tuple[StoreMove, ...]:
        """The stores that begin or cease to feed after one moment and up to another, in order of time."""
        return self._moves(after_s, until_s, lambda state: state is StoreState.FEEDING)

    def drops(self, after_s: float, until_s: float) -> tuple[ModuleDrop, ...]:
        """The modules that are left behind after one moment and up to another, in order of time."""
        return tuple(drop for _, drop in self._drops if after_s < drop.at_s <= until_s)

    def dropped_at(self, at_s: float) -> frozenset[str]:
        """The modules that were left behind by a moment."""
        return frozenset(drop.module for _, drop in self._drops if drop.at_s <= at_s)

    def is_gone(self, store_or_load: str, at_s: float) -> bool:
        """Whether a store or a load was left behind with its module by a moment."""
        return self._gone_s.get(store_or_load, math.inf) <= at_s

    def _moves(
        self, after_s: float, until_s: float, does: Callable[[StoreState], bool]
    ) -> tuple[StoreMove, ...]:
        """The stores that begin or cease to do something after one moment and up to another."""
        moves = []
        for name, course in self._stores.items():
            for (_, (before, _)), (at_s, (state, label)) in pairwise(course):
                did, opens = does(before), does(state)
                if after_s < at_s <= until_s and did is not opens:
                    moves.append(StoreMove(store=name, at_s=at_s, opens=opens, label=label))
        return tuple(sorted(moves, key=lambda move: move.at_s))

    def segments(self, start_s: float, until_s: float, also_s: Iterable[float] = ()) -> tuple[Segment, ...]:
        """From one moment on, the stretches in which nothing changes; the last one never ends.

        Changes after ``until_s`` are left out: what holds then holds for ever. ``also_s`` are moments at
        which something else changes.
        """
        moves = [phase.start_s for phase in self._phases]
        moves.extend(also_s)
        moves.extend(self._load_states.moves_s)
        moves.extend(self._store_states.moves_s)
        moments = {start_s, *(at_s for at_s in moves if start_s < at_s < until_s)}
        starts = sorted(moments)
        ends = [*starts[1:], float("inf")]
        return tuple(
            Segment(
                start_s=begin,
                end_s=end,
                loads=self._load_states.at(begin),
                stores=self._store_states.at(begin),
                crew=phase_at(self._phases, begin).crew,
            )
            for begin, end in zip(starts, ends, strict=True)
        )


_FIRST_S = float("-inf")
_BY_PLAN = {state: Commanded(state=state, by_step=False) for state in LoadState}


def _load_course(
    name: str, levels: list[tuple[float, Mapping[str, LoadState]]], logged: list[ConfigurationChange]
) -> list[tuple[float, Commanded]]:
    """The moments at which one load is moved, in order, from before all time on."""
    planned: list[tuple[float, Commanded]] = []
    last = None
    for start_s, states in levels:
        state = states[name]
        if state is not last:
            planned.append((start_s if planned else _FIRST_S, _BY_PLAN[state]))
            last = state
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


def _drops(
    craft: Craft, events: tuple[Event, ...], logged: list[ConfigurationChange]
) -> tuple[tuple[Module, ModuleDrop], ...]:
    """Every module that is ever left behind, in order of time; one is left behind once, the first time."""
    if craft.propulsion is None:
        return ()
    modules = {module.name: module for module in craft.propulsion.modules}
    named = [(event.at_s, event.name, name) for event in events for name in event.drops]
    named.extend((change.at_s, change.label, name) for change in logged for name in change.drops)
    first: dict[str, ModuleDrop] = {}
    for at_s, label, name in sorted(named, key=lambda drop: drop[0]):
        if name in modules:
            first.setdefault(name, ModuleDrop(module=name, at_s=at_s, label=label))
    return tuple((modules[name], drop) for name, drop in first.items())


def _without_load(
    course: list[tuple[float, Commanded]], drop: ModuleDrop | None
) -> list[tuple[float, Commanded]]:
    """A load's course, off for good from the moment at which it is left behind."""
    if drop is None:
        return course
    off = Commanded(state=LoadState.OFF, by_step=False)
    return [*(move for move in course if move[0] < drop.at_s), (drop.at_s, off)]


def _without_store(
    course: list[tuple[float, tuple[StoreState, str]]], drop: ModuleDrop | None
) -> list[tuple[float, tuple[StoreState, str]]]:
    """A store's course, shut for good from the moment at which it is left behind."""
    if drop is None:
        return course
    shut = (StoreState.ISOLATED, f"{drop.module} dropped")
    return [*(move for move in course if move[0] < drop.at_s), (drop.at_s, shut)]


def _last(course: list[tuple[float, _T]], at_s: float) -> _T:
    return course[bisect_right(course, at_s, key=lambda move: move[0]) - 1][1]
