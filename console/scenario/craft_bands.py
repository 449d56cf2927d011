"""The ``bands`` of craft.yaml: below which margin each band begins, for all supplies and for single ones."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from console.craft.band_limits import BandLimits
from console.scenario.faults import nearest
from console.scenario.fields import Node
from console.scenario.quantities import read_duration_s

_LIMITS = ("advisory", "caution", "warning")
_MANNERS = ("deadband", "on_delay", "off_delay")
_KEYS = (*_LIMITS, *_MANNERS)
CABIN = "cabin"
"""The key of the bands of the cabin's clocks: no supply may have this name."""
_EXPECTED = "write margins, as {advisory: 24 h, caution: 12 h, warning: 3 h}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Bands:
    """What could be read of the bands: the default in full, and what single supplies have otherwise."""

    default_s: Mapping[str, float] | None
    """None where a fault keeps it from being known."""
    own_s: Mapping[str, Mapping[str, float]]

    def limits_of(self, name: str) -> BandLimits | None:
        """The limits that hold for a supply, or for the cabin."""
        if self.default_s is None:
            return None
        limits_s = {**self.default_s, **self.own_s.get(name, {})}
        return BandLimits(
            advisory_s=limits_s["advisory"],
            caution_s=limits_s["caution"],
            warning_s=limits_s["warning"],
            deadband_s=limits_s.get("deadband", 0.0),
            on_delay_s=limits_s.get("on_delay", 0.0),
            off_delay_s=limits_s.get("off_delay", 0.0),
        )


def read_bands(node: Node, supplies: Collection[str] | None) -> Bands | None:
    """The bands; ``supplies`` are the names that may have some of their own, None where not known.

    The cabin may have some too.
    """
    nodes = node.named("write bands, as {default: {advisory: 24 h, caution: 12 h, warning: 3 h}}")
    if nodes is None:
        return None
    default = nodes.pop("default", None)
    default_s = None
    if default is None:
        if nearest("default", [name for name in nodes if name not in (CABIN, *(supplies or ()))]) is None:
            node.below("default").refuse("nothing", _EXPECTED)  # else the misspelt one is told below
    else:
        default_s = _read_limits(default, is_default=True)
        _check_order(default, default_s)
        if any(key not in default_s for key in _LIMITS):
            default_s = None
    own_s = {}
    for name, each in nodes.items():
        known = None if supplies is None else ["default", CABIN, *supplies]
        each.check_reference(name, known, "a supply")
        own_s[name] = _read_limits(each, is_default=False)
        if default_s is not None:
            _check_order(each, {**default_s, **own_s[name]})
    return Bands(default_s=default_s, own_s=own_s)


def _read_limits(node: Node, *, is_default: bool) -> dict[str, float]:
    """Those limits that could be read, by their key."""
    fields = node.fields(_KEYS, _EXPECTED)
    if fields is None:
        return {}
    read: dict[str, float] = {}
    for key in _KEYS:
        is_limit = key in _LIMITS
        value_s = read_duration_s(
            fields.need(key) if is_default and is_limit else fields.may(key), is_positive=is_limit
        )
        if value_s is not None:
            read[key] = value_s
    return read


def _check_order(node: Node, limits_s: Mapping[str, float]) -> None:
    """A worse band may not begin before a better one."""
    for better, worse in (("advisory", "caution"), ("caution", "warning")):
        if better in limits_s and worse in limits_s and limits_s[better] < limits_s[worse]:
            found = f"{worse} at {_hours(limits_s[worse])}, above {better} at {_hours(limits_s[better])}"
            node.refuse(found, "write advisory >= caution >= warning")


def _hours(value_s: float) -> str:
    return f"{value_s / 3600.0:g} h"
