"""What the caller knows of a channel beside its readings: what is due, and second ways of knowing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from console.craft.channels import Channel
from console.engine.draws import Floats
from console.units import Unit


class ChannelKind(Enum):
    """What a channel reads, which says how a true value can move and on which side a wrong one flatters."""

    HELD = "held"
    """What a store holds, or its pressure: falls unless it is filled."""
    TAKEN = "taken"
    """A counter of what was taken: rises unless it is set back."""
    FLOW = "flow"
    """A meter of a rate of use, which wanders in proportion to itself."""
    OTHER = "other"
    """Anything else, such as warmth or the cabin's air."""

    @property
    def better_side(self) -> int:
        """+1 where a higher word looks better than a lower one, -1 where a lower, 0 where neither."""
        return _BETTER_SIDES[self]


_BETTER_SIDES: Mapping[ChannelKind, int] = {
    ChannelKind.HELD: 1,
    ChannelKind.TAKEN: -1,
    ChannelKind.FLOW: -1,
    ChannelKind.OTHER: 0,
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Course:
    """How a channel's value should have run by what was counted, metered or expected: only changes count."""

    by: str
    """By what, for people: ``bat-1.current``."""
    times_s: Floats
    """Rising, shape (n,)."""
    values_si: Floats
    """In the channel's own terms, from any zero: what was counted as taken falls for a HELD channel."""
    rate_sd_si_per_s: float
    """The steady error of its slope, one standard deviation: a meter's bias, an expectation's spread."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Amounts:
    """One way of knowing a quantity, over time."""

    times_s: Floats
    values_si: Floats
    sd_si: float
    """Of each, all errors together."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pair:
    """The same quantity known two ways, both in the supply's own amounts."""

    store: str
    other: str
    """The second way, for people: a channel, or ``counted charge``."""
    own: Amounts
    """As reckoned from the channel itself."""
    others: Amounts
    unit: Unit
    """In which people read the amounts."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ChannelContext:
    """What is known of one channel beside its readings."""

    channel: Channel
    kind: ChannelKind = ChannelKind.OTHER
    expected_rate_si_per_s: float | None = None
    """How fast it should move now, signed, by the model; 0 for what nobody touches; None where not known."""
    largest_rate_si_per_s: float | None = None
    """How fast it can ever truly move; None: twice the expected or the usual rate."""
    may_cycle: bool = False
    """Whether loads behind it cycle by themselves, so that swings and pulses are normal."""
    causes_s: tuple[float, ...] = ()
    """Moments at which it may truly jump or bend: steps, phases, events, stores opened or shut."""
    refills_s: tuple[float, ...] = ()
    """Moments at which it was filled (a counter: set back); each is a cause too."""
    better_side: int | None = None
    """+1, -1 or 0 where it is not as its kind says: a bottle's warmth flatters when it reads low."""
    courses: tuple[Course, ...] = ()
    pairs: tuple[Pair, ...] = ()

    @property
    def flattering_side(self) -> int:
        """The side on which a wrong word looks better than the truth."""
        return self.kind.better_side if self.better_side is None else self.better_side
