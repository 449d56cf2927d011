"""What was found about one channel's newest word, and what it is used for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Doubt(Enum):
    """What is wrong, the gravest first: of two that ask for different uses the graver decides."""

    MISSING = "missing"
    REFUSED = "refused"
    STALE = "stale"
    WRONG_UNIT = "wrong unit"
    STUCK = "stuck"
    STEP = "step"
    SPIKE = "spike"
    DISAGREES = "disagrees"
    DRIFT = "drift"
    OSCILLATING = "oscillating"


OF_THE_FEED = frozenset({Doubt.MISSING, Doubt.REFUSED, Doubt.STALE})
"""Found by the feed itself: said again for who asks of one channel, and changing nothing more."""


class Use(Enum):
    """What is done with the newest word; the table in the package's docstring says which kind leads where."""

    AS_IT_IS = "as it is"
    AVERAGED = "averaged"
    LEFT_OUT = "left out"
    LOWER = "lower"
    """Of two ways of knowing, whichever leaves less."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """One finding about one channel."""

    channel: str
    kind: Doubt
    since_s: float | None
    """Since when it is so; None where that is not known."""
    why: str
    """One sentence for people: what was found, against what was due."""
    use: Use
    value_si: float | None = None
    """What is taken instead of the newest word; None: the word itself, or nothing where it is left out."""
    value_at_s: float | None = None
    """The moment for which that holds; None with ``value_si``."""
    extra_sd_si: float = 0.0
    """Of an average: its standard deviation beside that of the instrument."""
    is_doubt: bool = True
    """Whether the newest word is doubted; else it is only told (a spike that is over, loads that cycle)."""
