"""What readings taught of the model, as it is shown: factors of uses, and changes that nobody logged."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from console.craft.model import LoadState


class ChangeCourse(Enum):
    """How a change goes on."""

    STEADY = "steady"
    GROWING = "growing"
    IN_PROPORTION = "in proportion to what is left"


@dataclass(frozen=True, kw_only=True, slots=True)
class UseFactor:
    """Measured over modelled use of one group."""

    name: str
    """Of the use; ``loads`` for all loads of the supply together."""
    factor: float
    sd: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Cause:
    """A switching that nobody logged and that would explain a change."""

    loads: tuple[tuple[str, LoadState, LoadState], ...]
    """Each load with its commanded state and the one that it would be in."""
    change_si_per_s: float
    """By how much that would change the draw."""
    share: float
    """How likely among all that is looked at and something else."""


@dataclass(frozen=True, kw_only=True, slots=True)
class UnloggedChange:
    """A change of a supply's use that no entry explains."""

    supply: str
    store: str
    """The one that loses it, where the gauges tell; else empty."""
    since_s: float
    change_si_per_s: float
    """At present."""
    sd_si_per_s: float
    probability: float
    """That there is such a change at all, by the readings."""
    course: ChangeCourse
    doubles_in_s: float | None
    """Of one that grows."""
    parts: tuple[int, ...]
    """Which changes of the likeliest way it is the sum of, counted from 0."""
    causes: tuple[Cause, ...]
    """The likeliest first; empty where no load explains it or the supply feeds none."""
