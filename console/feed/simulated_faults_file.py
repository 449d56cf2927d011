"""The faults of a simulated contingency as they are written: in simulation.yaml or on a command line.

Every kind has its own keys beside ``kind``, ``at`` and ``until``; they stand at ``read_fault``. What is wrong
with them is told with the rest of the file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType
from typing import Any

from console.craft.channels import Channel
from console.craft.model import Activity, Craft, LoadState, Store
from console.craft.procedures import Procedure
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault
from console.scenario.fields import Fields, Node
from console.scenario.quantities import (
    read_duration_s,
    read_in_unit,
    read_instant_s,
    read_number,
    read_quantity,
    read_unit,
)
from console.scenario.yaml_text import YamlMapping

MOST_FACTOR = 1000.0
MOST_PER_HOUR = 3600.0
EXPECTED = "write a fault, as {at: T+30h, kind: bias, channel: NAME, by: 0.3 A}"


class _Says(Enum):
    """What a producer writes of a channel that dropped out."""

    NOTHING = "nothing"
    NULL = "null"


@dataclass(frozen=True, kw_only=True, slots=True)
class FaultWords:
    """What a fault may name."""

    craft: Craft
    procedures: Mapping[str, Procedure]

    @property
    def stores(self) -> dict[str, Store]:
        """The craft's stores by name."""
        return {store.name: store for supply in self.craft.supplies.values() for store in supply.stores}


def read_faults(node: Node, words: FaultWords) -> tuple[SimulatedFault, ...]:
    """The key ``faults`` of simulation.yaml: a list, each as ``read_fault`` takes it."""
    items = (node.listed("write a list of faults, or leave the key out") or []) if node.is_given else []
    faults = [read_fault(item, words) for item in items]
    return tuple(fault for fault in faults if fault is not None)


def read_fault(node: Node, words: FaultWords) -> SimulatedFault | None:
    """One fault; None where it cannot be used, which has been told then.

    With ``kind``, ``at`` and, where it ends, ``until``::

        leak            store: NAME or use: NAME; rate: 0.05 kg/h; course: steady | decaying | growing;
                        doubles_in: 6 h (growing)
        load-state      load: NAME; is: on | standby | off      (unknown to the journal)
        load-draw       load: NAME; times: 1.5
        people          from: asleep; to: heavy; count: 1       (activities)
        use-factor      use: NAME; times: 1.2
        late-entry      by: 40 min; step: quiet-down/4          (without step: the next one that is due)
        mistimed-entry  later: 20 min, or earlier: 20 min; step (done later or earlier than logged)
        forgotten-entry step
        stratified      store: NAME; amplitude: 2 kg; period: 40 min
        bias            channel: NAME; by: 0.3 A
        drift           channel: NAME; per_hour: 0.05 A
        stuck           channel: NAME; value: 3.2 A             (without value: what it showed then)
        drop-out        channel: NAME, or all where it is left out; says: nothing | null
        spikes          channel: NAME; size: 5 A; per_hour: 4
        noise           channel: NAME; times: 6
        oscillation     channel: NAME; amplitude: 1 A; period: 4 min
        unit-slip       channel: NAME; unit: psi
        clock-step      ahead: 40 s, or back: 40 s
        repeated-times
    """
    kind = _kind_of(node)
    if kind is None:
        return None
    own = _READERS[kind]
    fields = node.fields(("kind", "at", "until", *own.keys), EXPECTED)
    if fields is None:
        return None
    at_s = read_instant_s(fields.need("at"), words.craft.epoch)
    until_s = _read_until_s(fields.may("until"), words.craft, at_s)
    told = len(node.faults.in_file_order())
    values = own.read(fields, words)
    if at_s is None or until_s is None or len(node.faults.in_file_order()) > told:
        return None
    return SimulatedFault(kind=kind, at_s=at_s, until_s=until_s, **values)


def _kind_of(node: Node) -> FaultKind | None:
    """The kind, before any other key: it says which keys there are."""
    if not node.has_value(EXPECTED):
        return None
    if not isinstance(node.value, YamlMapping):
        node.refuse_value(EXPECTED)
        return None
    kind = node.value.get("kind")
    line = node.value.key_lines.get("kind", node.line)
    if "kind" not in node.value:
        node.child("kind", None, line).refuse("nothing", "write the fault's kind, as kind: leak")
        return None
    return node.child("kind", kind, line, is_required=True).choice(FaultKind)


def _read_until_s(node: Node, craft: Craft, at_s: float | None) -> float | None:
    if not node.is_given:
        return math.inf
    until_s = read_instant_s(node, craft.epoch)
    if until_s is not None and at_s is not None and until_s <= at_s:
        node.refuse_value("write a moment after the one at which it begins")
        return None
    return until_s


_Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Reader:
    """The keys of one kind, and what reads them."""

    keys: tuple[str, ...]
    read: Callable[[Fields, FaultWords], _Values]


def _leak(fields: Fields, words: FaultWords) -> _Values:
    values: _Values = {}
    store, use = fields.may("store"), fields.may("use")
    uses = {each.name: each.supply for each in words.craft.uses}
    if store.is_given == use.is_given:
        fields.node.refuse("both a store and a use" if use.is_given else "no store and no use", "write one")
        return values
    supply = None
    if store.is_given:
        values["store"] = store.reference(words.stores, "a store")
        if values["store"] is not None:
            supply = words.craft.store(values["store"])[0]
    else:
        values["use"] = use.reference(uses, "a use")
        if values["use"] is not None:
            supply = words.craft.supplies[uses[values["use"]]]
    course = fields.may("course").choice(LeakCourse) if fields.may("course").is_given else LeakCourse.STEADY
    values["course"] = course
    if supply is not None:
        rate = read_quantity(fields.need("rate"), supply.dimension.per_time, is_positive=True)
        values["rate_si_per_s"] = rate
    doubles = fields.may("doubles_in")
    if course is LeakCourse.GROWING:
        values["doubles_in_s"] = read_duration_s(fields.need("doubles_in"), is_positive=True)
    elif doubles.is_given and course is not None:
        doubles.refuse_value("leave it out: only a growing leak doubles")
    return values


def _load_state(fields: Fields, words: FaultWords) -> _Values:
    load = fields.need("load").reference(words.craft.loads, "a load")
    return {"load": load, "state": fields.need("is").choice(LoadState)}


def _load_draw(fields: Fields, words: FaultWords) -> _Values:
    return {"load": fields.need("load").reference(words.craft.loads, "a load"), **_times(fields)}


def _use_factor(fields: Fields, words: FaultWords) -> _Values:
    use = fields.need("use").reference({use.name for use in words.craft.uses}, "a use")
    return {"use": use, **_times(fields)}


def _times(fields: Fields) -> _Values:
    return {"factor": read_number(fields.need("times"), least=0.0, most=MOST_FACTOR)}


def _people(fields: Fields, words: FaultWords) -> _Values:
    most = words.craft.crew_count
    expected = f"write a whole number of people, from 1 to {most}"
    return {
        "moves_from": fields.need("from").choice(Activity),
        "moves_to": fields.need("to").choice(Activity),
        "count": fields.need("count").whole(expected, least=1, most=most),
    }


def _step(fields: Fields, words: FaultWords) -> _Values:
    node = fields.may("step")
    if not node.is_given:
        return {}
    keys = {
        f"{name}/{step.id}": (name, step.id) for name, one in words.procedures.items() for step in one.steps
    }
    written = node.reference(keys, "a step, as PROCEDURE/STEP,")
    return {"step": None if written is None else keys[written]}


def _late(fields: Fields, words: FaultWords) -> _Values:
    return {"by_s": read_duration_s(fields.need("by"), is_positive=True), **_step(fields, words)}


def _mistimed(fields: Fields, words: FaultWords) -> _Values:
    return {**_either(fields, "later", "earlier"), **_step(fields, words)}


def _either(fields: Fields, forward: str, backward: str) -> _Values:
    """A stretch of time one way or the other."""
    ahead, back = fields.may(forward), fields.may(backward)
    if ahead.is_given == back.is_given:
        found = f"{'both' if back.is_given else 'neither'} {forward} and {backward}"
        fields.node.refuse(found, f"write one of them, as {forward}: 20 s")
        return {}
    by_s = read_duration_s(ahead if ahead.is_given else back, is_positive=True)
    return {"by_s": by_s if by_s is None or ahead.is_given else -by_s}


def _clock(fields: Fields, words: FaultWords) -> _Values:  # noqa: ARG001  one signature for all
    return _either(fields, "ahead", "back")


def _nothing(fields: Fields, words: FaultWords) -> _Values:  # noqa: ARG001  one signature for all
    return {}


def _channel(fields: Fields, words: FaultWords) -> tuple[_Values, Channel | None]:
    name = fields.need("channel").reference(words.craft.channels, "a channel")
    return {"channel": name}, None if name is None else words.craft.channels[name]


def _difference(node: Node, channel: Channel | None) -> float | None:
    """A difference in a channel's unit; not looked at where the channel is not known."""
    return None if channel is None else read_in_unit(node, channel.unit, is_difference=True)


def _bias(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    return {**values, "size_si": _difference(fields.need("by"), channel)}


def _drift(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    return {**values, "per_hour_si": _difference(fields.need("per_hour"), channel)}


def _stuck(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    shown = fields.may("value")
    if not shown.is_given or channel is None:
        return values
    return {**values, "value_si": read_in_unit(shown, channel.unit)}


def _drop_out(fields: Fields, words: FaultWords) -> _Values:
    values: _Values = {}
    if fields.may("channel").is_given:
        values, _ = _channel(fields, words)
    says = fields.may("says")
    if says.is_given and says.value is None:  # a bare null is the very word that is meant
        return {**values, "is_null": True}
    return {**values, "is_null": says.is_given and says.choice(_Says) is _Says.NULL}


def _spikes(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    per_hour = read_number(fields.need("per_hour"), least=0.001, most=MOST_PER_HOUR)
    return {**values, "size_si": _difference(fields.need("size"), channel), "per_hour": per_hour}


def _noise(fields: Fields, words: FaultWords) -> _Values:
    return {**_channel(fields, words)[0], **_times(fields)}


def _swing(fields: Fields, channel: Channel | None) -> _Values:
    period_s = read_duration_s(fields.need("period"), is_positive=True)
    return {"size_si": _difference(fields.need("amplitude"), channel), "period_s": period_s}


def _oscillation(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    return {**values, **_swing(fields, channel)}


def _stratified(fields: Fields, words: FaultWords) -> _Values:
    node = fields.need("store")
    store = node.reference(words.stores, "a store")
    gauge = None if store is None else gauge_of(words.stores[store])
    if store is not None and gauge is None:
        node.refuse_value("name a store whose quantity, use or pressure a channel reads")
    channel = None if gauge is None else words.craft.channels[gauge]
    return {"store": store, "channel": gauge, **_swing(fields, channel)}


def _unit_slip(fields: Fields, words: FaultWords) -> _Values:
    values, channel = _channel(fields, words)
    node = fields.need("unit")
    return {**values, "unit": None if channel is None else read_unit(node, channel.unit.dimension)}


def gauge_of(store: Store) -> str | None:
    """The channel that tells what a store holds; None where none does."""
    for measured in (store.quantity, store.pressure, store.used):
        if measured is not None and measured.channel is not None:
            return measured.channel
    return None


_READERS: Mapping[FaultKind, _Reader] = MappingProxyType(
    {
        FaultKind.LEAK: _Reader(("store", "use", "rate", "course", "doubles_in"), _leak),
        FaultKind.LOAD_STATE: _Reader(("load", "is"), _load_state),
        FaultKind.LOAD_DRAW: _Reader(("load", "times"), _load_draw),
        FaultKind.PEOPLE: _Reader(("from", "to", "count"), _people),
        FaultKind.USE_FACTOR: _Reader(("use", "times"), _use_factor),
        FaultKind.LATE_ENTRY: _Reader(("by", "step"), _late),
        FaultKind.MISTIMED_ENTRY: _Reader(("later", "earlier", "step"), _mistimed),
        FaultKind.FORGOTTEN_ENTRY: _Reader(("step",), _step),
        FaultKind.STRATIFIED: _Reader(("store", "amplitude", "period"), _stratified),
        FaultKind.BIAS: _Reader(("channel", "by"), _bias),
        FaultKind.DRIFT: _Reader(("channel", "per_hour"), _drift),
        FaultKind.STUCK: _Reader(("channel", "value"), _stuck),
        FaultKind.DROP_OUT: _Reader(("channel", "says"), _drop_out),
        FaultKind.SPIKES: _Reader(("channel", "size", "per_hour"), _spikes),
        FaultKind.NOISE: _Reader(("channel", "times"), _noise),
        FaultKind.OSCILLATION: _Reader(("channel", "amplitude", "period"), _oscillation),
        FaultKind.UNIT_SLIP: _Reader(("channel", "unit"), _unit_slip),
        FaultKind.CLOCK_STEP: _Reader(("ahead", "back"), _clock),
        FaultKind.REPEATED_TIMES: _Reader((), _nothing),
    }
)
