"""Moments of a Snapshot as text, and the words for what is old."""

from __future__ import annotations

from console.board.cells import one_line
from console.board.view import View
from console.display import UNKNOWN, age_text, elapsed_text, utc_text
from console.engine.reading import Quality
from console.engine.snapshot import RateSource, Snapshot, SupplyStatus
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


def not_current_text(view: View, quality: Quality, read_age_s: float | None) -> str:
    """Why figures resting on readings of that quality and age are not those of now; empty where they are."""
    if view.not_updated_s is not None:
        return f"NOT CURRENT: not updated for {age_text(view.not_updated_s)}"
    if quality is Quality.GOOD:
        return ""
    word = quality.value
    if read_age_s is None:
        return f"NOT CURRENT: {word}"
    age = age_text(read_age_s + view.waited_s)
    return f"NOT CURRENT: {word}, {age} old" if quality is Quality.STALE else f"NOT CURRENT: {word} for {age}"


def doubt_text(view: View, quality: Quality, read_age_s: float | None) -> str:
    """The word and the age for what rests on readings that are not good; empty where they are."""
    if quality is Quality.GOOD:
        return ""
    word = quality.value.upper()
    return word if read_age_s is None else f"{word} {age_text(read_age_s + view.waited_s)}"


def distrust_text(view: View, supply: SupplyStatus) -> str:
    """The word and the age for a supply whose readings are not good; empty where they are."""
    return doubt_text(view, supply.quality, supply.age_s)


def unknown_reason(supply: SupplyStatus) -> str:
    """Why nothing is known of a supply, without saying again that it is not known."""
    return one_line(supply.why).removeprefix(f"{UNKNOWN}: ") or "no reason was given"


def is_modelled_for_want_of_a_meter(supply: SupplyStatus) -> bool:
    """Whether the present rate is the model's though the supply has meters: one of them is not good."""
    return supply.rate_now_source is RateSource.MODEL and _MODEL_BECAUSE in supply.why


_MODEL_BECAUSE = "rate by the model, because"
"""How the engine begins to say that; a supply that never had meters has no such sentence."""


def falls_short_now(snapshot: Snapshot, supply: SupplyStatus) -> bool:
    """Whether at the present rate, in the central case, it would end before need."""
    now = supply.endurance_now_s
    return now is not None and now.p50 is not None and now.p50 < snapshot.need.in_s
