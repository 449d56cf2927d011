"""A simulated contingency as files: the feed that its instruments would have grown, and its truth.

The same contingency gives the same bytes. Times are RFC 3339 in UTC, values in each channel's own unit, the
truth's amounts in each supply's; what a fault says stays in SI.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import fields
from enum import Enum
from typing import Any

import numpy as np

from console.craft.model import Craft, Supply
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulated_operators import Act
from console.feed.simulated_recorded import Recorded
from console.instants import at_epoch_plus, format_utc
from console.units import Unit

TRUTH_FORMAT = 1
DIGITS = 9
"""Of the truth's numbers; the feed's have what the display has."""


def csv_feed(recorded: Recorded) -> Iterator[str]:
    """The growing file as CSV with its header; an empty value is null."""
    yield "at,channel,value\n"
    words = {name: _csv_word(name) for name in recorded.values_si}
    for at, name, value in _readings(recorded):
        yield f"{at},{words[name]},{value}\n"


def jsonl_feed(recorded: Recorded) -> Iterator[str]:
    """The growing file as JSON Lines of the same keys."""
    words = {name: json.dumps(name) for name in recorded.values_si}
    for at, name, value in _readings(recorded):
        yield f'{{"at": "{at}", "channel": {words[name]}, "value": {value or "null"}}}\n'


def truth_lines(recorded: Recorded, every_s: float) -> Iterator[str]:
    """The truth as JSON Lines: what was drawn, the faults, what the crew did, the course, and the ends.

    Each line says ``what`` it is: contingency, fault, act, state, usable_gone or ran_out.

    Args:
        recorded: the contingency.
        every_s: at least so much time lies between two states.
    """
    epoch = recorded.craft.epoch
    documents = [_contingency(recorded), *(_fault(fault, recorded.craft) for fault in recorded.faults)]
    documents += [_act(act, recorded.craft) for act in recorded.acts]
    for document in (*documents, *_states(recorded, every_s)):
        yield _line(document)
    for what, ends in (("usable_gone", recorded.usable_gone_s), ("ran_out", recorded.ran_out_s)):
        for supply, at_s in ends.items():
            yield _line({"what": what, "supply": supply, "at": format_utc(at_epoch_plus(epoch, at_s))})


def _readings(recorded: Recorded) -> Iterator[tuple[str, str, str]]:
    """Every reading as it was written: its time, its channel, its value as text, empty for null."""
    craft, epoch = recorded.craft, recorded.craft.epoch
    drop_outs = [fault for fault in recorded.faults if fault.kind is FaultKind.DROP_OUT and fault.is_null]
    names = list(recorded.values_si)
    columns = [
        (recorded.values_si[name] - craft.channels[name].unit.offset) / craft.channels[name].unit.factor
        for name in names
    ]
    rows = np.array(columns).T.tolist()
    moments = zip(recorded.times_s.tolist(), recorded.stamps_s.tolist(), rows, strict=True)
    for time_s, stamp_s, row in moments:
        at = format_utc(at_epoch_plus(epoch, stamp_s))
        nulls = [fault.channel for fault in drop_outs if fault.is_on(time_s)]
        for name, value in zip(names, row, strict=True):
            if not math.isnan(value):
                # Ten digits: beyond them stand only the last bits of a float.
                yield at, name, f"{value + 0.0:.10g}"
            elif name in nulls or None in nulls:
                yield at, name, ""


def _csv_word(text: str) -> str:
    """A text as CSV writes it, in quotes where it must be."""
    written = io.StringIO()
    csv.writer(written, lineterminator="").writerow([text])
    return written.getvalue()


def _line(document: Mapping[str, Any]) -> str:
    return json.dumps(document, allow_nan=False) + "\n"


def _contingency(recorded: Recorded) -> dict[str, Any]:
    craft, drawn = recorded.craft, recorded.drawn
    truth_times_s = recorded.truth_times_s
    moments = {
        "from": float(truth_times_s[0]),
        "until": recorded.horizon_s,
        "arrival": drawn.arrival_s,
        "need": drawn.need_s,
    }
    return {
        "what": "contingency",
        "format": TRUTH_FORMAT,
        "craft": craft.name,
        "seed": recorded.seed,
        **{name: format_utc(at_epoch_plus(craft.epoch, at_s)) for name, at_s in moments.items()},
        "load_factors": _rounded(drawn.load_factors),
        "use_factors": _rounded(drawn.use_factors),
        "event_factors": _rounded(drawn.event_factors),
        "biases": {
            name: {
                "value": _round(bias_si / craft.channels[name].unit.factor),
                "unit": craft.channels[name].unit.text,
            }
            for name, bias_si in drawn.biases_si.items()
        },
        "nothing_to_log": list(recorded.nothing_to_log),
    }


def _fault(fault: SimulatedFault, craft: Craft) -> dict[str, Any]:
    """A fault by what differs from a fault that says nothing; the names of its figures carry their unit."""
    document: dict[str, Any] = {"what": "fault", "kind": fault.kind.value}
    document["at"] = format_utc(at_epoch_plus(craft.epoch, fault.at_s))
    if math.isfinite(fault.until_s):
        document["until"] = format_utc(at_epoch_plus(craft.epoch, fault.until_s))
    for field in fields(fault):
        value = getattr(fault, field.name)
        if field.name in ("kind", "at_s", "until_s") or value == field.default:
            continue
        if isinstance(value, Unit):
            value = value.text
        elif isinstance(value, Enum):
            value = value.value
        elif isinstance(value, float):
            value = _round(value)
        document[field.name] = "/".join(value) if isinstance(value, tuple) else value
    return document


def _act(act: Act, craft: Craft) -> dict[str, Any]:
    """What the crew did, with the time at which it truly did; ``written`` is null where it forgot to log."""

    def moment(at_s: float | None) -> str | None:
        return None if at_s is None else format_utc(at_epoch_plus(craft.epoch, at_s))

    step = None if act.procedure is None or act.step is None else f"{act.procedure.name}/{act.step.id}"
    return {
        "what": "act",
        "step": step,
        "text": act.text,
        "done": moment(act.done_s),
        "logged_for": moment(act.happened_s),
        "written": moment(act.written_s),
    }


def _states(recorded: Recorded, every_s: float) -> Iterator[dict[str, Any]]:
    """The course of the truth: by supply and store, and of the cabin's air."""
    craft, truth = recorded.craft, recorded.truth
    of_store = {store.name: supply for supply in craft.supplies.values() for store in supply.stores}
    next_s = -math.inf
    for row, at_s in enumerate(truth.times_s.tolist()):
        # Half a second, so that sums of many steps come out on the same rows.
        if at_s < next_s - 0.5:
            continue
        next_s = at_s + every_s
        yield {
            "what": "state",
            "at": format_utc(at_epoch_plus(craft.epoch, at_s)),
            "elapsed_h": _round(at_s / 3600.0),
            "supplies": {name: _supply(supply, recorded, row) for name, supply in craft.supplies.items()},
            "stores": {
                name: _round(of_store[name].unit.from_si(float(held_si[row])))
                for name, held_si in truth.store_held_si.items()
            },
            "cabin": {name: _round(float(values[row])) for name, values in truth.cabin.items()},
        }


def _supply(supply: Supply, recorded: Recorded, row: int) -> dict[str, Any]:
    truth, name = recorded.truth, supply.name
    return {
        "held": _round(supply.unit.from_si(float(truth.held_si[name][row]))),
        "usable": _round(supply.unit.from_si(float(truth.usable_si[name][row]))),
        "unit": supply.unit.text,
        "rate": _round(supply.rate_unit.from_si(float(truth.rates_si_per_s[name][row]))),
        "rate_unit": supply.rate_unit.text,
    }


def _rounded(values: Mapping[str, float]) -> dict[str, float]:
    return {name: _round(value) for name, value in values.items()}


def _round(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
