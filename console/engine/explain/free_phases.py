"""What may be drawn in the free phases: figures ``SUPPLY.free_phases.FIGURE``, those of the ledger."""

from __future__ import annotations

from console.craft.model import Supply
from console.engine.allowance_profile import AllowanceProfile, FreeTime, free_time, profiles_of
from console.engine.explain.book import Book
from console.engine.explain.explanation import Explanation
from console.engine.explain.free_draws import draw_figure, left_before
from console.engine.explain.free_times import FreePhases, time_figure
from console.engine.explain.paths import Keys
from console.engine.explain.track import Track

FREE_FIGURES = (
    *("free", "power_up", "power_ups_take", "allowance", "allowance_low", "planned", "present"),
    *("falls_by_each_hour", "held_down_at"),
)


def free_phases_figure(
    book: Book, supply: Supply, track: Track | None, keys: Keys, row: int
) -> Explanation | None:
    """One of those figures; ``keys`` are those behind ``free_phases``."""
    if not keys:
        return None
    profile, free = _profile(book, supply)
    one = FreePhases(book=book, supply=supply, track=track, profile=profile, free=free)
    if keys == ("left",):
        return left_before(one, row)
    return time_figure(one, keys) or draw_figure(one, keys)


def _profile(book: Book, supply: Supply) -> tuple[AllowanceProfile, FreeTime]:
    """Made once for all supplies."""
    grounds = book.grounds
    if "free phases" not in book.kept:
        ahead = grounds.ahead
        book.kept["free phases"] = (
            profiles_of(grounds.craft, ahead, grounds.at_s),
            free_time(grounds.craft, ahead.use, ahead.phases, grounds.at_s, ahead.option.need_s),
        )
    profiles, free = book.kept["free phases"]
    return profiles[supply.name], free
