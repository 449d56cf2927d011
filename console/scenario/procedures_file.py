"""procedures.yaml to frozen procedures, checked against the loads, stores and levels of the craft."""

from __future__ import annotations

from enum import Enum
from types import MappingProxyType

from console.craft.model import LoadState, StoreState
from console.craft.procedures import Action, Procedure, Step
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.outline import CraftOutline
from console.scenario.plan_changes import merge_states, read_change_out, read_drops, refuse_spare
from console.scenario.plan_events import check_fits
from console.scenario.quantities import STORED, read_duration_s, read_quantity

_STEP_KEYS = (
    *("id", "do", "load", "store", "to", "level", "used", "change_out", "drop", "confirms"),
    *("verify_within", "note", "requires", "caution"),
)
_PROCEDURE = "write a procedure, as {title: ..., steps: [{id: '1', do: ...}]}"


class _Confirmed(Enum):
    """What a step can confirm."""

    CONTROL = "control"


def read_procedures(node: Node, craft: CraftOutline) -> dict[str, Procedure]:
    """Every procedure that could be read; they may be used only if no fault was told."""
    fields = node.fields(("format", "procedures"), "write the keys of procedures, as format: 1")
    if fields is None:
        return {}
    fields.check_format()
    nodes = (
        fields.need("procedures").named("write procedures, each as NAME: {title: ..., steps: [...]}") or {}
    )
    read = {name: _read_procedure(name, each, craft) for name, each in nodes.items()}
    return {name: procedure for name, procedure in read.items() if procedure is not None}


def _read_procedure(name: str, node: Node, craft: CraftOutline) -> Procedure | None:
    _refuse_slash(node, name)
    fields = node.fields(("title", "steps"), _PROCEDURE)
    if fields is None:
        return None
    title = fields.need("title").text()
    nodes = fields.need("steps").listed("write a list of steps, each as {id: '1', do: ...}")
    if nodes is not None and not nodes:
        fields.need("steps").refuse("no step", "write at least one")
    earlier: list[str] = []
    steps = [_read_step(each, craft, earlier) for each in nodes or ()]
    return Procedure(name=name, title=title or "", steps=tuple(step for step in steps if step is not None))


def _refuse_slash(node: Node, name: str) -> None:
    """A step is addressed as PROCEDURE/STEP, so a name with a slash could not be."""
    if "/" in name:
        node.refuse(
            f"{shown(name)}, a name with a slash", "write it without, as steps are named PROCEDURE/STEP"
        )


def _read_step(node: Node, craft: CraftOutline, earlier: list[str]) -> Step | None:
    """One step; ``earlier`` holds the ids before it and is given its own."""
    fields = node.fields(_STEP_KEYS, "write a step, as {id: '1', do: ...}")
    if fields is None:
        return None
    step_id = _read_id(fields.need("id"), earlier)
    do = fields.need("do").text("write what the operator does")
    requires = _read_requires(fields.may("requires"), earlier)
    step = Step(
        id=step_id or "",
        do=do or "",
        action=_read_action(fields, craft),
        verify_within_s=read_duration_s(fields.may("verify_within"), is_positive=True),
        note=fields.may("note").text() or "",
        requires=requires,
        caution=fields.may("caution").text() or "",
    )
    if step_id is not None:
        earlier.append(step_id)
    return step


def _read_id(node: Node, earlier: list[str]) -> str | None:
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        node.refuse(f"{node.value}, a number", f'write text, as "{node.value}"')
        return None
    step_id = node.name("write an id, as '1'")
    if step_id is None:
        return None
    _refuse_slash(node, step_id)
    if step_id in earlier:
        node.refuse(f"{shown(step_id)}, the id of an earlier step", "write another id")
    return step_id


def _read_requires(node: Node, earlier: list[str]) -> tuple[str, ...]:
    nodes = node.listed("write the ids of earlier steps, as ['1', '2']") or []
    required: list[str] = []
    for each in nodes:
        step_id = each.text("write the id of an earlier step, as '1'")
        if step_id is not None and step_id not in earlier:
            expected = (
                each.faults.suggestion(step_id, earlier)
                if earlier
                else "leave it out: no step comes before this one"
            )
            each.refuse(f"{shown(step_id)}, which is not the id of an earlier step", expected)
        elif step_id is not None:
            required.append(step_id)
    return tuple(required)


def _read_action(fields: Fields, craft: CraftOutline) -> Action:
    load_node, store_node = fields.may("load"), fields.may("store")
    load = load_node.reference(craft.loads, "a load")
    store = store_node.reference(craft.stores, "a store")
    loads: dict[str, LoadState] = {}
    stores: dict[str, StoreState] = {}
    if load_node.is_given and store_node.is_given:
        store_node.refuse("a load and a store in one step", "make two steps, each with its own 'to'")
    elif load_node.is_given:
        load_state = fields.need("to").choice(LoadState)
        loads = {load: load_state} if load is not None and load_state is not None else {}
    elif store_node.is_given:
        store_state = fields.need("to").choice(StoreState)
        refuse_spare(fields.may("to"), store or "", store_state, craft)
        stores = {store: store_state} if store is not None and store_state is not None else {}
    elif fields.may("to").is_given:
        fields.may("to").refuse("'to' without a load or a store", "write which load or store is put into it")
    change_out = fields.may("change_out")
    stores = merge_states(change_out, stores, read_change_out(change_out, craft))
    return Action(
        loads=MappingProxyType(loads),
        stores=MappingProxyType(stores),
        used_si=MappingProxyType(_read_used(fields.may("used"), craft)),
        level=fields.may("level").reference(craft.levels, "a level"),
        drops=tuple(module for _, module in read_drops(fields.may("drop"), craft)),
        confirms_control=fields.may("confirms").choice(_Confirmed) is _Confirmed.CONTROL,
    )


def _read_used(node: Node, craft: CraftOutline) -> dict[str, float]:
    """By store, an amount taken from it that no gauge sees."""
    used_si: dict[str, float] = {}
    for store, each in (node.named("write what it takes, as {cart-1: 0.4 kg}") or {}).items():
        if not each.check_reference(store, craft.stores, "a store"):
            continue
        dimension = craft.dimension_of_store(store)
        amount_si = read_quantity(each, *(STORED if dimension is None else (dimension,)))
        if amount_si is not None:
            check_fits(each, amount_si, store, craft)
            used_si[store] = amount_si
    return used_si
