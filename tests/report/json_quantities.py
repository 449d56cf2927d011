"""The figures of a JSON document with their units, turned into SI by the full list of a units library."""

from __future__ import annotations

import re
from typing import Any

import pint

_REGISTRY = pint.UnitRegistry()
_UNIT_OF = {
    **dict.fromkeys(("rate_now", "rate_plan", "allowance"), "rate_unit"),
    **dict.fromkeys(("delta_v", "delta_v_left", "delta_v_left_with", "delta_v_left_without"), "delta_v_unit"),
    "mass": "mass_unit",
}
"""The key that names a figure's unit, where that is not ``unit``."""
_PLAIN = re.compile(
    r"format|elapsed_h|people|fraction|lasts_probability|loads_differing_from_level|.*_(h|s|a)"
)
"""Keys of figures that have no unit beside them: hours, seconds, amperes, shares and counts."""


def quantities(
    document: Any, key: str = "", units: dict[str, str] | None = None, path: str = ""
) -> dict[str, Any]:
    """Every figure by its path, in SI by a library's own factors; a figure without a unit is refused."""
    units = units or {}
    if isinstance(document, dict):
        units = {**units, **{name: word for name, word in document.items() if name.endswith("unit")}}
        if set(document) == {"p05", "p50", "p95"}:
            return _joined(quantities(each, key, units, f"{path}.{end}") for end, each in document.items())
        return _joined(quantities(each, name, units, f"{path}.{name}") for name, each in document.items())
    if isinstance(document, list):
        return _joined(quantities(each, key, units, f"{path}[{at}]") for at, each in enumerate(document))
    if isinstance(document, bool) or not isinstance(document, int | float) or _PLAIN.fullmatch(key):
        return {}
    unit = units[_UNIT_OF.get(key, "unit")].replace("%", "percent")
    return {path: _REGISTRY.Quantity(document, "" if unit == "1" else unit).to_base_units().magnitude}


def _joined(parts: Any) -> dict[str, Any]:
    return {path: value for part in parts for path, value in part.items()}


def units_of(document: Any) -> list[str]:
    """Every unit that stands in it."""
    if isinstance(document, dict):
        own = [word for key, word in document.items() if key.endswith("unit") and isinstance(word, str)]
        return own + [unit for each in document.values() for unit in units_of(each)]
    return [unit for each in document for unit in units_of(each)] if isinstance(document, list) else []
