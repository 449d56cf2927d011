"""The ``lines`` of craft.yaml: through which cable, pipe or manifold stores feed, and so fail together."""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import Line
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.outline import StoreOutline

_KEYS = ("stores", "title")
_STORES_EXPECTED = "write the stores that feed through it, as [bat-1, bat-2]"


def read_lines(node: Node, stores: Mapping[str, StoreOutline] | None) -> tuple[Line, ...]:
    """Every line that could be read.

    Args:
        node: the value of ``lines``.
        stores: the craft's stores; None where they could not be read, so that any name passes.
    """
    if not node.is_given:
        return ()
    nodes = node.named("write lines, each as NAME: {stores: [bat-1, bat-2]}")
    lines = (_read_line(name, each, stores) for name, each in (nodes or {}).items())
    return tuple(line for line in lines if line is not None)


def _read_line(name: str, node: Node, stores: Mapping[str, StoreOutline] | None) -> Line | None:
    if stores is not None and name in stores:
        node.refuse(f"a line of the name {shown(name)}, which a store has", "write another name")
    fields = node.fields(_KEYS, "write the line, as {stores: [bat-1, bat-2]}")
    if fields is None:
        return None
    named = _read_stores(fields.need("stores"), stores)
    title = fields.may("title").text()
    return Line(name=name, stores=named, title=title or "") if named else None


def _read_stores(node: Node, stores: Mapping[str, StoreOutline] | None) -> tuple[str, ...]:
    nodes = node.listed(_STORES_EXPECTED)
    if nodes is None:
        return ()
    if not nodes:
        node.refuse("no store", _STORES_EXPECTED)
    named: list[str] = []
    for each in nodes:
        name = each.reference(stores, "a store")
        if name is None:
            continue
        if name in named:
            each.refuse(f"{shown(name)} for the second time", "name each store once")
        elif named and not _share_a_supply(named[0], name, stores):
            found = f"{shown(name)}, a store of another supply than {shown(named[0])}"
            each.refuse(found, "name stores of one supply")
        else:
            named.append(name)
    return tuple(named)


def _share_a_supply(first: str, second: str, stores: Mapping[str, StoreOutline] | None) -> bool:
    return stores is None or stores[first].supply == stores[second].supply
