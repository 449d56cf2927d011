"""Releasing part of a reserve: the amount as typed, and what it would do to every margin. Logs nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from console.craft.model import Supply
from console.display import amount_text
from console.engine.decisions import decided
from console.engine.difference import Difference, difference
from console.errors import UnitsError, UsageError
from console.record.releases import release_body
from console.record.steps import change_of_body
from console.units import quantity_to_si

if TYPE_CHECKING:
    from console.session import Session

_SUPPOSED = "supposed"
_ROUNDING = 1e-9
"""Of a reserve, as where it is logged."""


def read_amount_si(text: str, supply: Supply, left_si: float) -> float:
    """What is typed as an amount of a supply.

    Args:
        text: what is typed.
        supply: whose reserve it is of.
        left_si: what is left of that reserve.

    Raises:
        UsageError: no amount, nothing, or more than is left.
    """
    left = amount_text(left_si, supply.unit)
    if not text.strip():
        raise UsageError(f"amount: nothing is written; write how much of the {left} that are left")
    try:
        amount_si, _ = quantity_to_si(text.strip(), supply.dimension)
    except UnitsError as error:
        raise UsageError(f"amount: {error}") from None
    if not 0.0 < amount_si <= left_si * (1.0 + _ROUNDING):
        raise UsageError(f"amount: found {text.strip()!r}; write more than zero and at most {left}")
    return amount_si


def supposed_release(session: Session, supply: str, amount_si: float, written: str) -> Difference:
    """Every figure without and with a release that nobody has logged, of one poll of the feed.

    Raises:
        UsageError: that much is not left, by all that is logged.
    """
    scenario, situation = session.scenario, session.situation()
    body = release_body(scenario.craft.supplies[supply], situation.changes, amount_si, written, _SUPPOSED)
    change = change_of_body(body, situation.at_s, _SUPPOSED)
    made = decided(scenario.craft, scenario.plan, (*situation.changes, change), situation.at_s)
    before, _ = session.whatif((), situation)
    _, after = session.whatif((), replace(situation, craft=made.craft))
    return difference(before, after)
