"""Suppositions in words: ``load radio off from T+30h until T+32h`` to a change that the engine can lay over.

The forms are listed in ``FORMS``. A name is that of the craft or the plan and may hold blanks; a moment is
now where none is written, and none may lie in the past. Changes that cannot hold together are refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import combinations
from math import nextafter
from typing import Any, TypeVar

from console.craft.model import Activity, Craft, LoadState, StoreState
from console.craft.plan import Event, Plan
from console.engine.decisions import taken_over
from console.engine.whatif import (
    AddEvent,
    Change,
    DropEvent,
    LeaveModule,
    LoseStore,
    MoveArrival,
    MoveEvent,
    MovePeople,
    MoveStore,
    SetRate,
    SwitchLoad,
    SwitchOff,
    TakeLevel,
    TakeOption,
)
from console.errors import InstantError, UnitsError, UsageError, nearest_words
from console.instants import parse_instant_s
from console.units import Dimension, quantity_to_si

FORMS: Mapping[str, str] = {
    "load": "load NAME on|standby|off [from TIME] [until TIME]",
    "off": "off NAME[, NAME ...] [from TIME]",
    "level": "level NAME [from TIME]",
    "people": "people asleep 2, nominal 2 [from TIME]",
    "use": "use NAME RATE",
    "option": "option NAME",
    "add": "add SUPPLY AMOUNT at TIME",
    "move": "move EVENT to TIME",
    "drop": "drop EVENT",
    "store": "store NAME feeding|isolated|lost [at TIME]",
    "leave": "leave MODULE [at TIME]",
    "arrive": "arrive DURATION later|earlier",
}
"""By first word, how a change is written: load and off, level, people, use (a leak above all), and so on."""

_T = TypeVar("_T", bound=Enum)


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """What the words are about."""

    craft: Craft
    plan: Plan
    now_s: float


def read_changes(texts: Sequence[str], ground: Ground) -> tuple[Change, ...]:
    """Several changes that are to hold together.

    Raises:
        UsageError: one of them is no change, names what is not there or lies in the past, or two contradict.
    """
    ground = _under_option(texts, ground)
    changes = [read_change(text, ground) for text in texts]
    for (first, one), (second, other) in combinations(zip(texts, changes, strict=True), 2):
        if _contradict(one, other):
            raise UsageError(f"found {first!r} and {second!r}, which cannot both be: leave one of them out")
    return tuple(changes)


def _under_option(texts: Sequence[str], ground: Ground) -> Ground:
    """The ground under the way home that one of the changes takes: the others are meant for its plan."""
    for text in texts:
        kind, _, name = text.strip().partition(" ")
        if kind == "option" and name.strip() in ground.plan.options:
            return replace(ground, plan=taken_over(ground.plan, name.strip(), ground.now_s))
    return ground


def read_change(text: str, ground: Ground) -> Change:
    """One change.

    Raises:
        UsageError: says what was found and how to write it.
    """
    kind, _, rest = text.strip().partition(" ")
    reader = _READERS.get(kind)
    if reader is None:
        raise UsageError(f"found {text!r} as a change; {nearest_words(kind, FORMS)} ({FORMS['load']}, ...)")
    try:
        return reader(rest.strip(), ground)
    except _FormError as error:
        found = f": found {error.found}" if error.found else ""
        raise UsageError(f"change {text!r}{found}; {error.expected or f'write {FORMS[kind]}'}") from None


class _FormError(Exception):
    """What is wrong inside one change; without ``expected`` its form stands for that."""

    def __init__(self, found: str = "", expected: str = "") -> None:
        self.found = found
        self.expected = expected
        super().__init__(found)


def _load(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "from", "until")
    name, _, state = rest.rpartition(" ")
    load = _known(name, ground.craft.loads, "load")
    to = _one_of(state, LoadState)
    from_s, until_s = moments.get("from", ground.now_s), moments.get("until")
    if until_s is not None and until_s <= from_s:
        raise _FormError("an end that is not after the beginning", "write until a later moment")
    return SwitchLoad(load=load, to=to, from_s=from_s, until_s=until_s)


def _off(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "from")
    names = tuple(_known(name.strip(), ground.craft.loads, "load") for name in rest.split(","))
    return SwitchOff(loads=names, from_s=moments.get("from", ground.now_s))


def _level(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "from")
    level = _known(rest, ground.craft.levels, "level")
    return TakeLevel(level=level, from_s=moments.get("from", ground.now_s))


def _people(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "from")
    crew: dict[Activity, int] = {}
    for part in rest.split(","):
        match = re.fullmatch(r"\s*(\S+)\s+(\d{1,4})\s*", part, re.ASCII)
        if match is None:
            raise _FormError(repr(part.strip()))
        activity = _one_of(match.group(1), Activity)
        if activity in crew:
            raise _FormError(f"{activity.value} twice")
        crew[activity] = int(match.group(2))
    aboard = sum(crew.values())
    if aboard != ground.craft.crew_count:
        raise _FormError(f"{aboard} people", f"write what all {ground.craft.crew_count} aboard do")
    return MovePeople(crew=crew, from_s=moments.get("from", ground.now_s))


def _use(rest: str, ground: Ground) -> Change:
    uses = {use.name: use for use in ground.craft.uses}
    name, amount = _name_and_quantity(rest, uses, "use")
    use = uses[name]
    per_time = ground.craft.supplies[use.supply].dimension.per_time
    # A leak and what people breathe are rated in mass, whatever their supply is counted in.
    by_mass = use.leak_si_per_s is not None or use.metabolic is not None
    dimensions = dict.fromkeys((Dimension.MASS_RATE if by_mass else per_time, per_time))
    return SetRate(use=name, rate_si_per_s=_quantity(amount, *dimensions))


def _option(rest: str, ground: Ground) -> Change:
    return TakeOption(option=_known(rest, ground.plan.options, "option"))


def _add(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "at")
    if "at" not in moments:
        raise _FormError()
    supply, amount = _name_and_quantity(rest, ground.craft.supplies, "supply")
    amount_si = _quantity(amount, ground.craft.supplies[supply].dimension)
    event = Event(
        name=f"supposed use of {supply}",
        at_s=moments["at"],
        uses_si={supply: amount_si},
        spread_fraction=0.0,
        transfer=None,
        sets={},
    )
    return AddEvent(event=event)


def _move(rest: str, ground: Ground) -> Change:
    name, found, moment = rest.rpartition(" to ")
    if not found:
        raise _FormError()
    return MoveEvent(name=_event(name, ground), at_s=_moment(moment, ground))


def _drop(rest: str, ground: Ground) -> Change:
    return DropEvent(name=_event(rest, ground))


def _store(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "at")
    name, _, state = rest.rpartition(" ")
    stores = {store.name for supply in ground.craft.supplies.values() for store in supply.stores}
    store = _known(name, stores, "store")
    if state == "lost":
        if moments:
            raise _FormError("a moment", "leave it out: a store is supposed to be lost now")
        return LoseStore(store=store)
    to = _one_of(state, StoreState, "lost")
    return MoveStore(store=store, to=to, at_s=moments.get("at", ground.now_s))


def _leave(rest: str, ground: Ground) -> Change:
    rest, moments = _moments(rest, ground, "at")
    propulsion = ground.craft.propulsion
    modules = () if propulsion is None else tuple(module.name for module in propulsion.modules)
    return LeaveModule(module=_known(rest, modules, "module"), at_s=moments.get("at", ground.now_s))


def _arrive(rest: str, ground: Ground) -> Change:
    amount, _, side = rest.rpartition(" ")
    if side not in ("later", "earlier"):
        raise _FormError()
    by_s = _quantity(amount, Dimension.TIME)
    option = ground.plan.options[ground.plan.committed]
    if side == "earlier" and option.arrival_s - by_s < ground.now_s:
        raise _FormError("an arrival that lies in the past", "write a shorter time")
    return MoveArrival(by_s=by_s if side == "later" else -by_s)


_READERS: Mapping[str, Callable[[str, Ground], Change]] = {
    "load": _load,
    "off": _off,
    "level": _level,
    "people": _people,
    "use": _use,
    "option": _option,
    "add": _add,
    "move": _move,
    "drop": _drop,
    "store": _store,
    "leave": _leave,
    "arrive": _arrive,
}


def _moments(rest: str, ground: Ground, *words: str) -> tuple[str, dict[str, float]]:
    """What stands before the moments, and the moment behind each word that is there; each at most once."""
    moments: dict[str, float] = {}
    while True:
        match = re.fullmatch(rf"(.*?)\s+({'|'.join(words)})\s+(\S+)", rest)
        if match is None:
            return rest, moments
        rest, word, text = match.groups()
        if word in moments:
            raise _FormError(f"{word!r} twice")
        moments[word] = _moment(text, ground)


def _moment(text: str, ground: Ground) -> float:
    try:
        at_s = parse_instant_s(text, ground.craft.epoch)
    except InstantError as error:
        raise _FormError(error.found, error.expected) from None
    if at_s < ground.now_s:
        raise _FormError(f"{text!r}, which is over", "write a moment from now on, or log what was done")
    return at_s


def _quantity(text: str, *dimensions: Dimension) -> float:
    try:
        value_si, _ = quantity_to_si(text, *dimensions)
    except UnitsError as error:
        raise _FormError(error.found, error.expected) from None
    if value_si < 0.0:
        raise _FormError(repr(text), "write zero or more")
    return value_si


def _name_and_quantity(rest: str, known: Mapping[str, Any], what: str) -> tuple[str, str]:
    """A name and the quantity behind it; the quantity begins at the last number before a unit."""
    match = re.fullmatch(r"(.*?)\s+([+-]?\d.*)", rest)
    if match is None:
        raise _FormError()
    return _known(match.group(1), known, what), match.group(2)


def _known(name: str, known: Iterable[str], what: str) -> str:
    names = list(known)
    if not name:
        raise _FormError()
    if name not in names:
        raise _FormError(f"{what} {name!r}", nearest_words(name, names))
    return name


def _event(name: str, ground: Ground) -> str:
    """An event that lies ahead under the way home that is committed to."""
    option = ground.plan.options[ground.plan.committed]
    events = ground.plan.events_under(option)
    known = _known(name, [event.name for event in events], "event")
    if all(event.at_s < ground.now_s for event in events if event.name == known):
        raise _FormError(f"event {name!r}, which is over", "name an event that lies ahead")
    return known


def _one_of(text: str, states: type[_T], *others: str) -> _T:
    by_value: dict[str, _T] = {state.value: state for state in states}
    if text not in by_value:
        raise _FormError(repr(text), nearest_words(text, [*by_value, *others]))
    return by_value[text]


def _contradict(one: Change, other: Change) -> bool:
    """Whether two changes say something of one thing at one time."""
    return any(
        subject == others and from_s < others_until_s and others_from_s < until_s
        for subject, from_s, until_s in _subjects(one)
        for others, others_from_s, others_until_s in _subjects(other)
    )


_ALWAYS = (float("-inf"), float("inf"))


def _subjects(change: Change) -> list[tuple[str, float, float]]:
    """What a change speaks of, from when until when."""
    match change:
        case SwitchLoad():
            until_s = float("inf") if change.until_s is None else change.until_s
            return [(f"load {change.load}", change.from_s, until_s)]
        case SwitchOff():
            return [(f"load {load}", change.from_s, float("inf")) for load in change.loads]
        case TakeLevel():
            return [("level", *_at(change.from_s))]
        case MovePeople():
            return [("people", *_at(change.from_s))]
        case SetRate():
            return [(f"use {change.use}", *_ALWAYS)]
        case TakeOption():
            return [("option", *_ALWAYS)]
        case MoveArrival():
            return [("arrival", *_ALWAYS)]
        case MoveEvent() | DropEvent():
            return [(f"event {change.name}", *_ALWAYS)]
        case AddEvent():
            return []
        case MoveStore():
            return [(f"store {change.store}", *_at(change.at_s))]
        case LoseStore():
            return [(f"store {change.store}", *_ALWAYS)]
        case LeaveModule():
            return [(f"module {change.module}", *_ALWAYS)]


def _at(moment_s: float) -> tuple[float, float]:
    """One moment, as a span that overlaps with that moment alone."""
    return moment_s, nextafter(moment_s, float("inf"))
