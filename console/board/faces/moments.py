"""Moments of a Snapshot as text, and the words for what is old."""

from __future__ import annotations

from console.board.view import View
from console.display import age_text, elapsed_text, utc_text
from console.engine.reading import Quality
from console.engine.snapshot import Snapshot, SupplyStatus
from console.instants import at_epoch_plus


def utc_at(snapshot: Snapshot, at_s: float) -> str:
    """A moment of the scenario in UTC, to the minute."""
    return utc_text(at_epoch_plus(snapshot.epoch, at_s))


def both_at(snapshot: Snapshot, at_s: float) -> str:
    """A moment of the scenario in UTC and as elapsed time."""
    return f"{utc_at(snapshot, at_s)}  {elapsed_text(at_s)}"


def not_updated_text(view: View) -> str:
    """How long no Snapshot has come; empty while they come."""
    return "" if view.not_updated_s is None else f"NOT UPDATED for {age_text(view.not_updated_s)}"


def distrust_text(view: View, supply: SupplyStatus) -> str:
    """The word and the age for a supply whose readings are not good; empty where they are."""
    if supply.quality is Quality.GOOD:
        return ""
    word = supply.quality.value.upper()
    return word if supply.age_s is None else f"{word} {age_text(supply.age_s + view.waited_s)}"


def falls_short_now(snapshot: Snapshot, supply: SupplyStatus) -> bool:
    """Whether at the present rate, in the central case, it would end before need."""
    now = supply.endurance_now_s
    return now is not None and now.p50 is not None and now.p50 < snapshot.need.in_s
