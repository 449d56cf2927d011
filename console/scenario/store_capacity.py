"""What a store holds when full: as an amount, as person-hours, or as what an absorbent lets through says."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from console.craft.model import Activity, StoreKind
from console.physics.absorbent import capacity_at_outlet_kg, person_hours_capacity_kg
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.scenario.fields import Fields, Node, describe
from console.scenario.pairs import Pair, read_pairs
from console.scenario.quantities import read_quantity
from console.units import Dimension

CAPACITY_KEYS = ("capacity", "person_hours", "capacity_by_outlet")
"""The three ways of saying it; only an absorbent has the last two."""
_TABLE = "write what it takes by what it lets through, as [[0.5 kPa, 2.4 kg], [1 kPa, 3.1 kg]]"
_FROM_SLEEP = 1.0 / 3.0
"""A rate below this part of a sleeping person's CO2, or above that of one who works hard, is not one person's
(common practice, no source)."""
_SECONDS_PER_DAY = 86400.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Capacity:
    """What could be read of a capacity."""

    value_si: float | None = None
    is_given: bool = False
    """Whether it is said at all, readable or not."""
    stated: tuple[tuple[Node, float], ...] = ()
    """Every amount that the file states as one, with its place."""
    outlet_pa: float | None = None
    """An absorbent's partial pressure of CO2 let through, where it is said."""
    written: str = ""
    """As the file says it, where it does so as an amount."""

    @property
    def words(self) -> str:
        """The capacity as it may stand in a message."""
        return self.written or f"of {self.value_si or 0.0:.4g} kg"


def read_capacity(fields: Fields, kind: StoreKind | None, *dimensions: Dimension) -> Capacity:
    """What a store holds when full, in one of the ways that its kind has."""
    plain = fields.may("capacity")
    plain_si = read_quantity(plain, *dimensions, is_positive=True)
    if kind is not StoreKind.ABSORBENT:
        return _capacity(plain, plain_si, written=describe(plain.value))
    by_hours_kg = _read_person_hours(fields)
    outlet_pa = _read_outlet(fields)
    pairs = _read_table(fields.may("capacity_by_outlet"), *dimensions)
    given = [key for key in CAPACITY_KEYS if fields.may(key).is_given]
    for key in given[1:]:
        fields.may(key).refuse(f"{key} beside {given[0]}", "write one of the two")
    match given[0] if given else "":
        case "capacity":
            return _capacity(plain, plain_si, written=describe(plain.value), outlet_pa=outlet_pa)
        case "person_hours":
            return _capacity(fields.may("person_hours"), by_hours_kg, outlet_pa=outlet_pa)
        case "capacity_by_outlet":
            return Capacity(
                value_si=_at_outlet_kg(fields, pairs, outlet_pa),
                is_given=True,
                stated=tuple((pair.second_node, pair.second) for pair in pairs or ()),
                outlet_pa=outlet_pa,
            )
        case _:
            return Capacity(outlet_pa=outlet_pa)


def _capacity(
    node: Node, value_si: float | None, *, written: str = "", outlet_pa: float | None = None
) -> Capacity:
    stated = () if value_si is None else ((node, value_si),)
    return Capacity(
        value_si=value_si, is_given=node.is_given, stated=stated, outlet_pa=outlet_pa, written=written
    )


def _read_person_hours(fields: Fields) -> float | None:
    hours_node, rate_node = fields.may("person_hours"), fields.may("person_rate")
    if not hours_node.is_given:
        if rate_node.is_given:
            rate_node.refuse("person_rate without person_hours", "write it beside person_hours alone")
        return None
    hours_s = read_quantity(hours_node, Dimension.TIME, is_positive=True)
    rate_kg_per_s = read_quantity(fields.need("person_rate"), Dimension.MASS_RATE, is_positive=True)
    if hours_s is None or rate_kg_per_s is None or not _is_human(rate_node, rate_kg_per_s):
        return None
    return person_hours_capacity_kg(hours_s, rate_kg_per_s)


def _is_human(node: Node, rate_kg_per_s: float) -> bool:
    """Whether one person can give off so much carbon dioxide."""
    low = DEFAULT_PERSON_RATES[Activity.ASLEEP].carbon_dioxide_kg_per_s * _FROM_SLEEP
    high = DEFAULT_PERSON_RATES[Activity.HEAVY].carbon_dioxide_kg_per_s
    if low <= rate_kg_per_s <= high:
        return True
    low_per_day, high_per_day = low * _SECONDS_PER_DAY, high * _SECONDS_PER_DAY
    node.refuse_value(
        f"write the carbon dioxide of one person, from {low_per_day:.2g} to {high_per_day:.2g} kg/day "
        "(per person, not per crew; per day or per hour as meant)"
    )
    return False


def _read_outlet(fields: Fields) -> float | None:
    """What it may let through; needed where the capacity goes by it."""
    node = fields.need("outlet") if fields.may("capacity_by_outlet").is_given else fields.may("outlet")
    return read_quantity(node, Dimension.PRESSURE, is_positive=True)


def _read_table(node: Node, *dimensions: Dimension) -> tuple[Pair, ...] | None:
    pairs = read_pairs(
        node,
        lambda each: read_quantity(each, Dimension.PRESSURE, is_positive=True),
        lambda each: read_quantity(each, *dimensions, is_positive=True),
        _TABLE,
    )
    if pairs is None:
        return None
    falls = [later for before, later in pairwise(pairs) if later.second < before.second]
    for pair in falls:
        found = f"{describe(pair.second_node.value)}, less than at the lower outlet before it"
        pair.second_node.refuse(
            found, "write capacities that do not fall: it takes no less where more may pass"
        )
    return None if falls else pairs


def _at_outlet_kg(fields: Fields, pairs: tuple[Pair, ...] | None, outlet_pa: float | None) -> float | None:
    if pairs is None or outlet_pa is None:
        return None
    if not pairs[0].first <= outlet_pa <= pairs[-1].first:
        low, high = (describe(pair.first_node.value) for pair in (pairs[0], pairs[-1]))
        fields.may("outlet").refuse_value(
            f"write an outlet for which capacities are stated, from {low} to {high}"
        )
        return None
    return capacity_at_outlet_kg([(pair.first, pair.second) for pair in pairs], outlet_pa)
