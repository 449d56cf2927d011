"""Faults that change the simulated craft itself: leaks, loads, people and uses that are not as commanded.

The truth, which no instrument reads exactly. It must not use anything of the engine's forecast.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from console.craft.model import Activity, LoadState
from console.engine.configuration import Segment
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault
from console.feed.simulated_stores import TrueStore


@dataclass(frozen=True, kw_only=True, slots=True)
class Held:
    """A load that stays in a state for a while, whatever was commanded."""

    load: str
    state: LoadState
    from_s: float
    until_s: float


class TruthFaults:
    """The faults of the truth, each at work from its moment on.

    Args:
        faults: those of kinds that are of the truth; others are passed over.
        held: what a step that is done at another time than logged leaves as it was.
    """

    def __init__(self, faults: Sequence[SimulatedFault], held: Sequence[Held] = ()) -> None:
        self._faults = [fault for fault in faults if fault.kind.is_of_truth]
        self._held = list(held)
        self._onset_si: dict[int, float] = {}
        """By leak, what there was when it began."""
        self._moments_s: list[float] = []
        self._find_moments()

    def hold(self, held: Held) -> None:
        """One more load that stays as it is."""
        self._held.append(held)
        self._find_moments()

    def _find_moments(self) -> None:
        ends_s = [each for fault in self._faults for each in (fault.at_s, fault.until_s)]
        ends_s += [each for held in self._held for each in (held.from_s, held.until_s)]
        self._moments_s = sorted({each for each in ends_s if math.isfinite(each)})

    def next_s(self, at_s: float) -> float:
        """The next moment at which a fault begins or ends."""
        place = bisect_right(self._moments_s, at_s)
        return self._moments_s[place] if place < len(self._moments_s) else math.inf

    def changed(self, segment: Segment, at_s: float) -> Segment:
        """A stretch as it truly is: which loads are in another state, what people do instead."""
        loads: dict[str, LoadState] = {}
        crew = segment.crew
        for held in self._held:
            if held.from_s <= at_s < held.until_s:
                loads[held.load] = held.state
        for fault in self._on(FaultKind.LOAD_STATE, at_s):
            if fault.load is not None and fault.state is not None:
                loads[fault.load] = fault.state
        for fault in self._on(FaultKind.PEOPLE, at_s):
            crew = _moved(crew, fault)
        if not loads and crew is segment.crew:
            return segment
        return replace(segment, loads={**segment.loads, **loads}, crew=crew)

    def load_factors(self, at_s: float) -> dict[str, float]:
        """By load, how many times its own draw it takes."""
        return _product((fault.load, fault.factor) for fault in self._on(FaultKind.LOAD_DRAW, at_s))

    def use_factors(self, at_s: float) -> dict[str, float]:
        """By use, how many times what it would take."""
        return _product((fault.use, fault.factor) for fault in self._on(FaultKind.USE_FACTOR, at_s))

    def leak_stores(self, stores: Mapping[str, TrueStore], at_s: float, dt_s: float) -> None:
        """Let stores lose what leaks from them in a step."""
        for number, fault in enumerate(self._faults):
            if fault.kind is FaultKind.LEAK and fault.store is not None and fault.is_on(at_s):
                store = stores[fault.store]
                store.leak(self._leaked_si(number, fault, store.held_si, at_s, dt_s))

    def use_leaks(self, held_si: Mapping[str, float], at_s: float, dt_s: float) -> list[tuple[str, float]]:
        """By use, what it takes more, on average over a step, in its supply's SI unit for each second.

        Args:
            held_si: by use, what its supply's feeding stores hold.
            at_s: the moment.
            dt_s: the step.
        """
        return [
            (fault.use, self._leaked_si(number, fault, held_si[fault.use], at_s, dt_s) / dt_s)
            for number, fault in enumerate(self._faults)
            if fault.kind is FaultKind.LEAK and fault.use is not None and fault.is_on(at_s)
        ]

    @property
    def has_use_leaks(self) -> bool:
        """Whether any use ever takes more."""
        return any(fault.kind is FaultKind.LEAK and fault.use is not None for fault in self._faults)

    def _leaked_si(
        self, number: int, fault: SimulatedFault, held_si: float, at_s: float, dt_s: float
    ) -> float:
        rate, since_s = fault.rate_si_per_s, at_s - fault.at_s
        if fault.course is LeakCourse.DECAYING:
            onset_si = self._onset_si.setdefault(number, held_si)
            return held_si * -math.expm1(-rate / onset_si * dt_s) if onset_si > 0.0 else 0.0
        if fault.course is LeakCourse.GROWING:
            per_s = math.log(2.0) / fault.doubles_in_s
            # Beyond some hundred doublings nothing is left to leak, and a float would not hold the rate.
            return rate * math.exp(min(since_s * per_s, 100.0)) * math.expm1(dt_s * per_s) / per_s
        return rate * dt_s

    def _on(self, kind: FaultKind, at_s: float) -> list[SimulatedFault]:
        return [fault for fault in self._faults if fault.kind is kind and fault.is_on(at_s)]


def _moved(crew: Mapping[Activity, int], fault: SimulatedFault) -> Mapping[Activity, int]:
    """As many people as there are, up to the number that is meant, from one activity to another."""
    if fault.moves_from is None or fault.moves_to is None:
        return crew
    moving = min(crew.get(fault.moves_from, 0), fault.count)
    moved = dict(crew)
    moved[fault.moves_from] = moved.get(fault.moves_from, 0) - moving
    moved[fault.moves_to] = moved.get(fault.moves_to, 0) + moving
    return moved


def _product(factors: Iterable[tuple[str | None, float]]) -> dict[str, float]:
    result: dict[str, float] = {}
    for name, factor in factors:
        if name is not None:
            result[name] = result.get(name, 1.0) * factor
    return result
