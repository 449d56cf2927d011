"""How the rows between plan and keys are shared: gauges, limits of the cabin, the pane below. Pure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Wishes:
    """What each would like to have."""

    free: int
    """Rows that there are to share."""
    supplies: int
    """Rows without which a supply is out of sight: the header and one for each; 0 without supplies."""
    gauges: int
    """All that the gauges can use."""
    cabin: int
    """The rule and one row for each limit; 0 without limits."""
    pane: int
    """What the pane below needs to be of use."""
    roomy_pane: int
    """What it should have before the cabin shows more than its most urgent limits."""


_LEAST_PANE = 1
_USABLE_PANE = 3
_MOST_URGENT = 3
"""The rule and two limits."""


def share_rows(wishes: Wishes) -> tuple[int, int]:
    """Rows for the gauges and for the cabin; what is left is the pane's.

    Every supply comes before every limit but the most urgent one, and before all of the pane but its title.
    The most urgent limit has a row of its own, besides the rule, before the pane has all that it needs.
    """
    if not wishes.cabin:
        return (max(1, min(wishes.gauges, wishes.free - wishes.pane)) if wishes.supplies else 0), 0
    left = wishes.free - 1
    gauges = max(min(wishes.supplies, 2), min(wishes.supplies, left - _LEAST_PANE))
    left -= gauges
    cabin = 1
    for wanted, kept in (
        (2, _USABLE_PANE),
        (_MOST_URGENT, wishes.pane),
    ):
        more = max(0, min(wanted, wishes.cabin) - cabin)
        given = max(0, min(more, left - kept))
        cabin, left = cabin + given, left - given
    given = max(0, min(wishes.gauges - gauges, left - wishes.pane)) if wishes.supplies else 0
    gauges, left = gauges + given, left - given
    given = max(0, min(wishes.cabin - cabin, left - wishes.roomy_pane))
    return gauges, cabin + given
