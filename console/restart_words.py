"""What bringing a load back takes, in words: ``2.3 A*h`` of its own supply, ``oxygen 0.2 kg`` of another.

Commands and board read it here, so that both take the same words and refuse the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from console.craft.model import Craft
from console.errors import UnitsError, UsageError, nearest_words
from console.units import quantity_to_si

_AMOUNT = re.compile(r"(?:(.*?\S)\s+)?([+-]?[\d.].*)", re.DOTALL)


def restart_si(parts: Iterable[str], load: str, craft: Craft, asked: str) -> dict[str, float]:
    """By supply, what bringing a load back takes; an amount without a name is of the load's own supply.

    Args:
        parts: one amount each; what is blank is passed over.
        load: the load's name.
        craft: the craft.
        asked: what a message calls the question, as ``--restart``.

    Raises:
        UsageError: no amount, an unknown supply, one supply twice, or less than nothing.
    """
    amounts: dict[str, float] = {}
    for part in parts:
        if part.strip():
            name, amount_si = _amount_si(part.strip(), load, craft, asked)
            if name in amounts:
                raise UsageError(f"{asked}: found {name} twice; write one amount for it")
            amounts[name] = amount_si
    if not amounts:
        unit = craft.supplies[craft.loads[load].supply].unit.text
        raise UsageError(
            f"{asked}: nothing is written; write what bringing it back takes, as 2.3 {unit}, or 0 {unit}"
        )
    return amounts


def _amount_si(text: str, load: str, craft: Craft, asked: str) -> tuple[str, float]:
    match = _AMOUNT.fullmatch(text)
    if match is None:
        if text in craft.supplies:
            raise UsageError(f"{asked}: found {text!r} without an amount; write {text} and how much of it")
        raise UsageError(f"{asked}: found {text!r}; write an amount, as 2.3 A*h or oxygen 0.2 kg")
    name = match.group(1) or craft.loads[load].supply
    if name not in craft.supplies:
        raise UsageError(f"{asked}: found supply {name!r}; {nearest_words(name, craft.supplies)}")
    try:
        amount_si, _ = quantity_to_si(match.group(2), craft.supplies[name].dimension)
    except UnitsError as error:
        raise UsageError(f"{asked}, {name}: {error}") from None
    if amount_si < 0.0:
        raise UsageError(f"{asked}: found {text!r}; write zero or more")
    return name, amount_si
