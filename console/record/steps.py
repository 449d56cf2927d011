"""What the logged steps mean: changes of the configuration, steps done, steps still required. Pure.

A step's body: ``text``, ``procedure`` and ``step`` (both or neither), ``loads`` and ``stores`` by name with
their new states, ``used_si`` by store, ``drops`` (a list of modules left behind) and ``confirms_control`` (a
boolean) where the step does so, ``option`` where it commits to a way home, ``reserves_si`` by supply where it
releases a reserve, and a ``reason`` where the step was taken out of turn or releases one. A step whose
correction says ``withdrawn`` counts for nothing, unless that correction was itself withdrawn later.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from typing import Any, TypeVar

from console.craft.model import Craft, LoadState, StoreState
from console.craft.plan import Plan
from console.craft.procedures import Procedure, Step
from console.engine.configuration import ConfigurationChange
from console.errors import JournalError
from console.record.entry import Draft, Entry, EntryKind

StepKey = tuple[str, str]
"""Procedure and step id."""


def body_of_step(procedure: Procedure, step: Step, craft: Craft, reason: str = "") -> dict[str, Any]:
    """The body of the entry that logs a step, with its level spelt out load by load.

    Spelt out, so that a level that is edited in craft.yaml later cannot change what was done.

    Raises:
        KeyError: the step names a level that the craft does not have.
    """
    action = step.action
    states = {} if action.level is None else dict(craft.levels[action.level].states)
    states.update(action.loads)
    body: dict[str, Any] = {
        "text": step.do,
        "procedure": procedure.name,
        "step": step.id,
        "loads": {name: state.value for name, state in states.items()},
        "stores": {name: state.value for name, state in action.stores.items()},
        "used_si": dict(action.used_si),
    }
    if action.drops:
        body["drops"] = list(action.drops)
    if action.confirms_control:
        body["confirms_control"] = True
    return {**body, "reason": reason} if reason else body


def body_of_commitment(option: str, reason: str = "") -> dict[str, Any]:
    """The body of the entry that commits to a way home."""
    body: dict[str, Any] = {"text": f"committed to {option}", "option": option}
    return {**body, "reason": reason} if reason else body


def body_of_release(supply: str, amount_si: float, written: str, reason: str) -> dict[str, Any]:
    """The body of the entry that releases part of a reserve.

    Args:
        supply: whose reserve it is.
        amount_si: how much.
        written: the same as the operator wrote it, for people.
        reason: why.
    """
    return {
        "text": f"released {written} of the reserve of {supply}",
        "reserves_si": {supply: amount_si},
        "reason": reason,
    }


def check_step_body(body: Mapping[str, Any]) -> None:
    """Refuse a step's body that ``changes_from`` could not read back.

    Raises:
        JournalError: says which key, what was found, what to write instead.
    """
    _key_of(body, "body")
    _states(body, "loads", LoadState, "body")
    _states(body, "stores", StoreState, "body")
    _amounts(body, "used_si", "body")
    _amounts(body, "reserves_si", "body")
    _option(body, "body")
    _drops(body, "body")
    _confirms_control(body, "body")


def changes_from(entries: Sequence[Entry]) -> tuple[ConfigurationChange, ...]:
    """The steps that count, as the engine sees them, in the journal's order.

    Raises:
        JournalError: a step's body cannot be read; names the entry.
    """
    return tuple(_change(entry) for entry in _counting_steps(entries))


def done_steps(entries: Sequence[Entry]) -> dict[StepKey, Entry]:
    """The newest entry of every procedure step that was logged and not withdrawn."""
    keyed = (
        (_key_of(entry.body, f"journal entry {entry.sequence}"), entry) for entry in _counting_steps(entries)
    )
    return {key: entry for key, entry in keyed if key is not None}


def keys_of(drafts: Iterable[Draft]) -> frozenset[StepKey]:
    """The procedure steps among entries that are still to be written."""
    keys = (_key_of(draft.body, "body") for draft in drafts if draft.kind is EntryKind.STEP)
    return frozenset(key for key in keys if key is not None)


def missing_requirements(procedure: Procedure, step: Step, done: Container[StepKey]) -> tuple[str, ...]:
    """The ids of those steps of the procedure that this one requires and that are not done yet."""
    return tuple(required for required in step.requires if (procedure.name, required) not in done)


def unknown_names(changes: Iterable[ConfigurationChange], craft: Craft) -> tuple[str, ...]:
    """Loads, stores and modules that steps name and the craft does not have (any more), each once.

    The engine passes over them, so whoever shows its figures must say so.
    """
    stores = {store.name for supply in craft.supplies.values() for store in supply.stores}
    modules = () if craft.propulsion is None else tuple(one.name for one in craft.propulsion.modules)
    names: dict[str, None] = {}
    for change in changes:
        names.update((name, None) for name in change.loads if name not in craft.loads)
        names.update((name, None) for name in (*change.stores, *change.used_si) if name not in stores)
        names.update((name, None) for name in change.drops if name not in modules)
        names.update((name, None) for name in change.released_si if name not in craft.supplies)
    return tuple(names)


def unknown_options(changes: Iterable[ConfigurationChange], plan: Plan) -> tuple[str, ...]:
    """The ways home that steps commit to and the plan does not have (any more), each once."""
    named = (change.option for change in changes if change.option is not None)
    return tuple(dict.fromkeys(name for name in named if name not in plan.options))


def withdrawn_sequences(entries: Sequence[Entry]) -> frozenset[int]:
    """The entries that a correction has withdrawn."""
    gone: set[int] = set()
    # A correction can only name an entry before it, so from the newest back each is settled when met.
    for entry in sorted(entries, key=lambda entry: -entry.sequence):
        withdraws = entry.kind is EntryKind.CORRECTION and entry.body.get("withdrawn") is True
        if withdraws and entry.sequence not in gone:
            gone.add(entry.body["corrects"])
    return frozenset(gone)


def _counting_steps(entries: Sequence[Entry]) -> list[Entry]:
    gone = withdrawn_sequences(entries)
    steps = (entry for entry in entries if entry.kind is EntryKind.STEP and entry.sequence not in gone)
    return sorted(steps, key=lambda entry: entry.sequence)


def change_of_body(body: Mapping[str, Any], at_s: float, where: str) -> ConfigurationChange:
    """A step's body as the engine sees it.

    Raises:
        JournalError: the body cannot be read; ``where`` says which.
    """
    key = _key_of(body, where)
    return ConfigurationChange(
        at_s=at_s,
        label="/".join(key) if key else str(body.get("text", "")),
        loads=_states(body, "loads", LoadState, where),
        stores=_states(body, "stores", StoreState, where),
        used_si=_amounts(body, "used_si", where),
        drops=_drops(body, where),
        confirms_control=_confirms_control(body, where),
        option=_option(body, where),
        released_si=_amounts(body, "reserves_si", where),
    )


def _change(entry: Entry) -> ConfigurationChange:
    change = change_of_body(entry.body, entry.elapsed_s, f"journal entry {entry.sequence}")
    return replace(change, sequence=entry.sequence, by=entry.operator)


def _key_of(body: Mapping[str, Any], where: str) -> StepKey | None:
    procedure, step = body.get("procedure"), body.get("step")
    if procedure is None and step is None:
        return None
    if isinstance(procedure, str) and isinstance(step, str) and procedure and step:
        return procedure, step
    raise JournalError(
        f"{where}: found procedure {procedure!r} and step {step!r}; write both as text, or neither"
    )


_State = TypeVar("_State", bound=Enum)


def _states(body: Mapping[str, Any], key: str, states: type[_State], where: str) -> dict[str, _State]:
    by_value = {state.value: state for state in states}
    result = {}
    for name, found in _mapping(body, key, where).items():
        if not isinstance(found, str) or found not in by_value:
            raise JournalError(f"{where}.{key}.{name}: found {found!r}; write {' or '.join(by_value)}")
        result[name] = by_value[found]
    return result


def _amounts(body: Mapping[str, Any], key: str, where: str) -> dict[str, float]:
    result = {}
    for name, found in _mapping(body, key, where).items():
        is_number = isinstance(found, int | float) and not isinstance(found, bool)
        # An amount below zero would fill the store up again: what was never used is withdrawn instead.
        if not is_number or not math.isfinite(found) or found < 0.0:
            raise JournalError(
                f"{where}.{key}.{name}: found {found!r}; write the amount taken, zero or more, in SI"
            )
        result[name] = float(found)
    return result


def _option(body: Mapping[str, Any], where: str) -> str | None:
    found = body.get("option")
    if found is not None and not (isinstance(found, str) and found):
        raise JournalError(f"{where}.option: found {str(found)[:40]!r}; write the name of a way home")
    return found


def _drops(body: Mapping[str, Any], where: str) -> tuple[str, ...]:
    found = body.get("drops", [])
    if not isinstance(found, list) or not all(isinstance(name, str) and name for name in found):
        raise JournalError(f"{where}.drops: found {str(found)[:40]!r}; write a list of names of modules")
    return tuple(found)


def _confirms_control(body: Mapping[str, Any], where: str) -> bool:
    found = body.get("confirms_control", False)
    if not isinstance(found, bool):
        raise JournalError(f"{where}.confirms_control: found {str(found)[:40]!r}; write true or false")
    return found


def _mapping(body: Mapping[str, Any], key: str, where: str) -> Mapping[str, Any]:
    found = body.get(key, {})
    if not isinstance(found, Mapping):
        raise JournalError(f"{where}.{key}: found {str(found)[:40]!r}; write names with their values")
    return found
