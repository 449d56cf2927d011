"""What the crew means to do: phases, events, options, watches. Frozen; times in seconds since the epoch."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Activity, StoreState


@dataclass(frozen=True, kw_only=True, slots=True)
class Phase:
    """A stretch of the plan with one level and one roster; it lasts until the next phase starts."""

    name: str
    start_s: float
    level: str
    crew: Mapping[Activity, int]
    """How many people do what; always sums to the people aboard."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Transfer:
    """Moving an amount into a store, with what is lost on the way."""

    source: str
    """The supply it is taken from."""
    target_store: str
    amount_si: float
    """What arrives, in the target's unit; the source loses ``amount_si / efficiency_fraction``."""
    efficiency_fraction: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """A one-off at one moment: uses, a transfer, stores moved, a burn, modules dropped (any together)."""

    name: str
    at_s: float
    uses_si: Mapping[str, float]
    """By supply, what it takes."""
    spread_fraction: float
    """How sure the amounts are: one standard deviation as a fraction of them."""
    transfer: Transfer | None
    sets: Mapping[str, StoreState]
    """By store, the state it is put into."""
    lasts_s: float = 0.0
    """How long its uses and its transfer take, for the currents; the amounts are taken at its beginning."""
    burn_m_per_s: float | None = None
    """A change of velocity, paid by the mass that the craft has then."""
    drops: tuple[str, ...] = ()
    """The modules that are left behind."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Option:
    """One way home. Its phases replace the plan's from the first of them on; its events are added."""

    name: str
    arrival_s: float
    arrival_spread_s: float
    """One standard deviation of the arrival."""
    recovery_s: float
    hold_s: float
    decide_by_s: float | None
    delta_v_m_per_s: float | None
    phases: tuple[Phase, ...]
    events: tuple[Event, ...]
    note: str

    @property
    def need_s(self) -> float:
        """The moment until which every supply must last."""
        return self.arrival_s + self.recovery_s + self.hold_s


@dataclass(frozen=True, kw_only=True, slots=True)
class Watch:
    """Who has the board from a moment on."""

    name: str
    start_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """One plan as plan.yaml describes it."""

    phases: tuple[Phase, ...]
    """In order of start; the first starts at or before every moment asked for, the last does not end."""
    events: tuple[Event, ...]
    """In order of time."""
    options: Mapping[str, Option]
    committed: str
    watches: tuple[Watch, ...]

    def phases_under(self, option: Option) -> tuple[Phase, ...]:
        """The phases that are flown when this option is taken, in order."""
        if not option.phases:
            return self.phases
        switch_s = option.phases[0].start_s
        return (*(phase for phase in self.phases if phase.start_s < switch_s), *option.phases)

    def events_under(self, option: Option) -> tuple[Event, ...]:
        """The events that happen when this option is taken, in order."""
        return tuple(sorted((*self.events, *option.events), key=lambda event: event.at_s))


def phase_at(phases: tuple[Phase, ...], at_s: float) -> Phase:
    """The phase in progress; before the first one starts, the first."""
    return phases[max(bisect_right(phases, at_s, key=lambda phase: phase.start_s) - 1, 0)]


def watch_at(watches: tuple[Watch, ...], at_s: float) -> Watch | None:
    """The watch that has the board by the plan; None before the first or without watches."""
    current = None
    for watch in watches:
        if watch.start_s > at_s:
            break
        current = watch
    return current
