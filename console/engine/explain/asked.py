"""What was asked of the commands whose figures go by a question: changes, a margin, a load to keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from console.engine.whatif import Change

DOCUMENTS: Final = ("options", "loss", "brief", "whatif", "shed")
"""The documents beside ``margins`` and ``ledger``; each is the first key of its figures."""


@dataclass(frozen=True, kw_only=True, slots=True)
class KeepAsked:
    """Leave a load on, or switch it off and bring it back?"""

    load: str
    until_s: float
    restart_si: Mapping[str, float]
    """By supply, what bringing it back takes."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ShedAsked:
    """What to switch off for a margin."""

    goal_s: float
    by_low_end: bool
    run_for_s: float | None
    """For how long something may be switched on; None where that is not asked."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """Everything that was asked."""

    changes: tuple[Change, ...] = ()
    words: tuple[str, ...] = ()
    """The changes as they were written."""
    keep: KeepAsked | None = None
    shed: ShedAsked | None = None


NOTHING: Final = Asked()
