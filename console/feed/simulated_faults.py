"""What can go wrong in a simulated contingency: kinds of faults, and what each says. Frozen, in SI.

Nothing happens here: ``simulated_faults_truth`` does what changes the craft, ``simulated_faults_sensors``
what changes its readings, ``simulated_operators`` what changes the journal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from console.craft.model import Activity, LoadState
from console.units import Unit


class FaultKind(Enum):
    """What goes wrong; the value is the word of simulation.yaml."""

    LEAK = "leak"
    LOAD_STATE = "load-state"
    """A load is truly in another state than commanded, and nobody logs it."""
    LOAD_DRAW = "load-draw"
    PEOPLE = "people"
    """People do something else than planned."""
    USE_FACTOR = "use-factor"
    LATE_ENTRY = "late-entry"
    MISTIMED_ENTRY = "mistimed-entry"
    """A step is done at another time than logged."""
    FORGOTTEN_ENTRY = "forgotten-entry"
    STRATIFIED = "stratified"
    """A tank whose gauge swings about what it holds."""
    BIAS = "bias"
    DRIFT = "drift"
    STUCK = "stuck"
    DROP_OUT = "drop-out"
    SPIKES = "spikes"
    NOISE = "noise"
    OSCILLATION = "oscillation"
    UNIT_SLIP = "unit-slip"
    """The value is a number in another unit than the channel's."""
    CLOCK_STEP = "clock-step"
    REPEATED_TIMES = "repeated-times"
    """Every second reading carries the time of the one before."""

    @property
    def is_of_entry(self) -> bool:
        """Whether it is a mistake in the journal."""
        return self in _OF_ENTRY

    @property
    def is_of_truth(self) -> bool:
        """Whether it changes the craft itself."""
        return self in _OF_TRUTH

    @property
    def is_of_sensor(self) -> bool:
        """Whether it changes what is read, and nothing else."""
        return not self.is_of_truth and not self.is_of_entry


_OF_TRUTH = frozenset(
    (FaultKind.LEAK, FaultKind.LOAD_STATE, FaultKind.LOAD_DRAW, FaultKind.PEOPLE, FaultKind.USE_FACTOR)
)
_OF_ENTRY = frozenset((FaultKind.LATE_ENTRY, FaultKind.MISTIMED_ENTRY, FaultKind.FORGOTTEN_ENTRY))


class LeakCourse(Enum):
    """How a leak goes on."""

    STEADY = "steady"
    DECAYING = "decaying"
    """In proportion to what is left."""
    GROWING = "growing"
    """Twice as fast each time that ``doubles_in_s`` has passed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SimulatedFault:
    """One thing that goes wrong. Which fields are set follows from its kind."""

    kind: FaultKind
    at_s: float
    until_s: float = math.inf
    channel: str | None = None
    """Of a sensor's fault; None for all channels, where the kind allows it."""
    store: str | None = None
    use: str | None = None
    load: str | None = None
    step: tuple[str, str] | None = None
    """Procedure and step of an entry; None for the next one that is due."""
    rate_si_per_s: float = 0.0
    """Leak: how fast it begins, in its supply's SI unit."""
    course: LeakCourse = LeakCourse.STEADY
    doubles_in_s: float = math.inf
    state: LoadState | None = None
    factor: float = 1.0
    moves_from: Activity | None = None
    moves_to: Activity | None = None
    count: int = 0
    """How many people."""
    by_s: float = 0.0
    """Entry: how late it is written, or how much later it was done than logged; clock: how far it steps."""
    size_si: float = 0.0
    """Bias, amplitude or height of a spike, a difference in the channel's SI unit."""
    per_hour_si: float = 0.0
    """Drift."""
    per_hour: float = 0.0
    """Spikes."""
    period_s: float = math.inf
    value_si: float | None = None
    """Stuck: what it shows; None for what it showed when it stuck."""
    is_null: bool = False
    """Drop-out: whether the producer writes null, instead of nothing."""
    unit: Unit | None = None

    def is_on(self, at_s: float) -> bool:
        """Whether it lasts at a moment."""
        return self.at_s <= at_s < self.until_s


def in_order(faults: tuple[SimulatedFault, ...]) -> tuple[SimulatedFault, ...]:
    """Faults by their moment."""
    return tuple(sorted(faults, key=lambda fault: (fault.at_s, fault.kind.value)))
