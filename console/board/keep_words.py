"""What is typed for "leave it on, or off and pay to bring it back": load, moment, costs, completions. Pure.

Whether a question holds is said by the session, which answers it; here texts become names, moments, amounts.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from console.craft.model import Craft
from console.display import Rounding, amount_text, countdown_text, elapsed_text, utc_text
from console.engine.snapshot import Snapshot
from console.errors import EnduranceError, InstantError, UsageError
from console.instants import at_epoch_plus, parse_instant_s, seconds_since
from console.restart_words import restart_si

UNTIL_HINT = "T+31h, 10:30 (UTC), RFC 3339"
_UNTIL_EXPECTED = "write T+31h, 10:30 (UTC, the next) or 2041-06-03T10:10:00Z"
_TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)", re.ASCII)
_BETWEEN = re.compile(r";|,(?=\s|$)")
"""Between two amounts; a comma inside a number is left to the reading of the number, which refuses it."""


def restart_hint(craft: Craft) -> str:
    """How costs are written, in the craft's own names and units."""
    own = next((load.supply for load in craft.loads.values()), None)
    other = next((name for name in craft.supplies if name != own), None)
    several = "" if own is None or other is None else f", {other} 0.2 {craft.supplies[other].unit.text}"
    unit = "A*h" if own is None else craft.supplies[own].unit.text
    return f"what that takes: 2.3 {unit}{several and f'; or several: 2.3 {unit}{several}'}"


def read_load(text: str, craft: Craft) -> str:
    """The load that is meant.

    Raises:
        UsageError: there is none of that name; names the nearest.
    """
    name = text.strip()
    if name in craft.loads:
        return name
    near = difflib.get_close_matches(name, craft.loads, n=1)
    hint = f"did you mean {near[0]!r}?" if near else "tab goes through the loads that draw now"
    raise UsageError(f"load: found {name!r}; {hint}" if name else f"load: nothing is written; {hint}")


def read_until_s(text: str, epoch: datetime, now_s: float) -> float:
    """When the load is wanted again; a time of day is the next one that comes.

    Raises:
        InstantError: the text is no moment, or one that is over.
    """
    stripped = text.strip()
    match = _TIME_OF_DAY.fullmatch(stripped)
    if match is not None:
        now = at_epoch_plus(epoch, now_s)
        moment = now.replace(hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0)
        return seconds_since(epoch, moment if moment > now else moment + timedelta(days=1))
    if not stripped:
        raise InstantError("nothing for 'wanted again'", _UNTIL_EXPECTED)
    try:
        at_s = parse_instant_s(stripped, epoch)
    except InstantError as error:
        raise InstantError(error.found, _UNTIL_EXPECTED) from None
    if at_s <= now_s:
        raise InstantError(repr(stripped), f"that is over, now is {elapsed_text(now_s)}: write a later one")
    return at_s


def until_words(text: str, epoch: datetime, now_s: float, need_s: float | None) -> str:
    """The moment that a text is taken for, or why it will not do; nothing while nothing is written."""
    if not text.strip():
        return ""
    try:
        at_s = read_until_s(text, epoch, now_s)
    except InstantError as error:
        return str(error)
    at = f"{elapsed_text(at_s)}, {utc_text(at_epoch_plus(epoch, at_s))}, {countdown_text(at_s - now_s)}"
    if need_s is not None and at_s > need_s:
        return f"{at}: lies after need, {elapsed_text(need_s)}; write an earlier one"
    return f"wanted again {at}"


def read_restart_si(text: str, load: str, craft: Craft) -> dict[str, float]:
    """By supply, what bringing the load back takes; an amount without a name is of the load's own supply.

    Raises:
        UsageError: no amount, an unknown supply, one supply twice, or less than nothing.
    """
    return restart_si(_BETWEEN.split(text), load, craft, "restart")


def restart_words(text: str, load: str, craft: Craft) -> str:
    """What the costs are taken for, or what is wrong with them; nothing while nothing is written."""
    if not text.strip() or load not in craft.loads:
        return ""
    try:
        amounts = read_restart_si(text, load, craft)
    except EnduranceError as error:
        return str(error)
    said = (
        f"{name} {amount_text(amount_si, craft.supplies[name].unit, Rounding.UP)}"
        for name, amount_si in amounts.items()
    )
    return f"bringing it back takes {', '.join(said)}"


def load_completions(typed: str, craft: Craft, snapshot: Snapshot | None) -> tuple[str, ...]:
    """The loads that fit what is typed: those that draw now before the others, the likeliest first."""
    draws = {} if snapshot is None else {load.name: load.draw_si_per_s for load in snapshot.loads}
    lower = typed.strip().lower()
    found = [name for name in craft.loads if lower in name.lower()]

    def rank(name: str) -> tuple[bool, bool]:
        return draws.get(name, 0.0) <= 0.0, not name.lower().startswith(lower)

    ranked = sorted(found, key=rank)
    drawing = [name for name in ranked if draws.get(name, 0.0) > 0.0]
    return tuple(drawing or ranked)


def restart_completions(typed: str, supplies: Sequence[str]) -> tuple[str, ...]:
    """Whole lines in which the supply that is begun is written out; none where an amount is begun."""
    begin = max((match.end() for match in _BETWEEN.finditer(typed)), default=0)
    kept, rest = typed[:begin], typed[begin:]
    blank = rest[: len(rest) - len(rest.lstrip())]
    word = rest.strip().lower()
    if not word or word[0].isdigit() or word[0] in "+-.":
        return ()
    return tuple(f"{kept}{blank}{name} " for name in supplies if name.lower().startswith(word))
