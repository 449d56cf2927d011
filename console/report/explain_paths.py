"""Which figure's path each number of the JSON documents has: keys alike, less units and containers."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from console.engine.explain.cabin import clock_keys
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, distinct, text_of
from console.engine.snapshot import Snapshot

Place = tuple[str | int, ...]
"""Keys and indices down to one value of a document."""

_UNIT = re.compile(r"_(h|s|a)$")


def numbers(document: object, place: Place = ()) -> Iterator[tuple[Place, float]]:
    """Every number of a document with its place."""
    if isinstance(document, Mapping):
        for key, value in document.items():
            yield from numbers(value, (*place, key))
    elif isinstance(document, list):
        for index, value in enumerate(document):
            yield from numbers(value, (*place, index))
    elif isinstance(document, int | float) and not isinstance(document, bool):
        yield place, float(document)


def margins_path(snapshot: Snapshot, place: Place) -> str:
    """The path of a number of the ``margins`` document.

    >>> figure_keys(("supplies", "power", "margin_h", "p05"))
    ('supplies', 'power', 'margin', 'p05')
    """
    match place:
        case ("supplies", str(name), "unlogged", int(index), *rest):
            keys = [str(key + 1) if isinstance(key, int) else key for key in rest]
            return text_of((*supply_keys(name), "unlogged", str(index + 1), *figure_keys(tuple(keys))))
        case ("supplies", str(name), *rest):
            return text_of((*supply_keys(name), *figure_keys(tuple(rest))))
        case ("cabin_clocks", int(index), *rest):
            return text_of((*clock_keys(snapshot.clocks[index]), *figure_keys(tuple(rest))))
        case ("peaks", int(index), str(figure)):
            return text_of(("peaks", str(index + 1), _UNIT.sub("", figure)))
        case ("cabin", str(name), "value"):
            return text_of(("cabin", name))
    return text_of(figure_keys(place))


def ledger_path(snapshot: Snapshot, name: str, place: Place) -> str:
    """The path of a number of the ``ledger`` document of one supply."""
    status, home = snapshot.supplies[name], supply_keys(name)
    match place:
        case ("lines", int(index), "amount"):
            return text_of((*home, "ledger", distinct(line.name for line in status.ledger)[index]))
        case ("rates", int(index), str(figure)):
            return text_of((*home, "rates", distinct(rate.name for rate in status.rates)[index], figure))
        case ("bus", str(store), str(figure)):
            return text_of((*home, "stores", store, "bus", _UNIT.sub("", figure)))
        case ("set_aside", "protected", str(store), str(figure)):
            return text_of((*home, "stores", store, figure))
        case ("set_aside", "reserve", str(figure)):
            return text_of((*home, "reserve" if figure == "amount" else figure))
        case ("free_phases", str()):
            return text_of((*home, *figure_keys(place)))
        case ("peaks", int(index), str(figure)):
            own = [number for number, peak in enumerate(snapshot.peaks, 1) if peak.supply == name]
            return text_of(("peaks", str(own[index]), _UNIT.sub("", figure)))
    return text_of(figure_keys(place))


def figure_keys(place: tuple[Any, ...]) -> Keys:
    """Keys of a document as keys of a path: the unit is taken off the last that names a figure."""
    keys = [str(key) for key in place]
    last = len(keys) - 1
    if keys[last] in ("p05", "p50", "p95"):
        last -= 1
    keys[last] = _UNIT.sub("", keys[last])
    return tuple(keys)
