"""Releasing part of a reserve: what may be released, and what is logged. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from console.craft.model import Supply
from console.display import amount_text
from console.engine.configuration import ConfigurationChange
from console.errors import UsageError
from console.record.steps import body_of_release

_ROUNDING = 1e-9
"""Of a reserve: amounts that differ by less are one, whatever units they were written in."""


def release_body(
    supply: Supply, changes: Iterable[ConfigurationChange], amount_si: float, written: str, reason: str
) -> dict[str, Any]:
    """The body of the entry that releases an amount of a supply's reserve.

    Args:
        supply: as its file describes it.
        changes: the logged steps that count, whenever they were: what they released cannot be released again.
        amount_si: how much.
        written: the same for people.
        reason: why; always asked for.

    Raises:
        UsageError: there is no reserve, less than that is left of it, or no reason.
    """
    released_si = sum(change.released_si.get(supply.name, 0.0) for change in changes)
    left_si = max(supply.reserve_si - released_si, 0.0)
    asked = f"found {written} of the reserve of {supply.name}"
    if left_si <= 0.0:
        had = amount_text(supply.reserve_si, supply.unit)
        why = f"all of its {had} is released" if supply.reserve_si > 0.0 else "it has none"
        raise UsageError(f"{asked}, but {why}")
    if not 0.0 < amount_si <= left_si * (1.0 + _ROUNDING):
        left = amount_text(left_si, supply.unit)
        raise UsageError(f"{asked}; write more than zero and at most {left}, which is what is left of it")
    if not reason.strip():
        raise UsageError(f"spending a reserve needs a reason: what {supply.name} is released for")
    return body_of_release(supply.name, min(amount_si, left_si), written, reason.strip())
