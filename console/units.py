"""Text with units to SI and back. This file alone knows pint.

Inside the house every number is a float in SI. A ``Unit`` read here carries its own factor, so that what
is read once (a scenario) can be shown for ever without asking pint again.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from console.errors import UnitsError

if TYPE_CHECKING:
    import pint

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*", re.ASCII)
_UNIT_TERM = r"[A-Za-z%_][A-Za-z0-9%_]*(?:\^-?[1-4])?"
_UNIT = re.compile(rf"{_UNIT_TERM}(?:[*/]{_UNIT_TERM})*")


LARGEST = 1e15
"""No number of this trade is larger, in any unit of ours; sums of such numbers stay finite."""


class Dimension(Enum):
    """What a quantity measures: its word, the exponents of (m, s, kg, A, K), its SI unit, an example."""

    FRACTION = ("fraction", (0, 0, 0, 0, 0), "1", "8 %")
    TIME = ("time", (0, 1, 0, 0, 0), "s", "12 h")
    LENGTH = ("length", (1, 0, 0, 0, 0), "m", "2.4 m")  # nothing is one, but it can stand where it should not
    AREA = ("area", (2, 0, 0, 0, 0), "m^2", "0.8 mm^2")
    MASS = ("mass", (0, 0, 1, 0, 0), "kg", "21 kg")
    VOLUME = ("volume", (3, 0, 0, 0, 0), "m^3", "0.08 m^3")
    CHARGE = ("charge", (0, 1, 0, 1, 0), "A*s", "320 A*h")
    ENERGY = ("energy", (2, -2, 1, 0, 0), "J", "4.2 kW*h")
    MASS_RATE = ("mass per time", (0, -1, 1, 0, 0), "kg/s", "0.036 kg/h")
    VOLUME_RATE = ("volume per time", (3, -1, 0, 0, 0), "m^3/s", "2.5 L/h")
    CURRENT = ("current", (0, 0, 0, 1, 0), "A", "2.4 A")
    POWER = ("power", (2, -3, 1, 0, 0), "W", "65 W")
    VOLTAGE = ("voltage", (2, -3, 1, -1, 0), "V", "28 V")
    PRESSURE = ("pressure", (-1, -2, 1, 0, 0), "Pa", "0.35 MPa")
    TEMPERATURE = ("temperature", (0, 0, 0, 0, 1), "K", "291 K")
    VELOCITY = ("velocity", (1, -1, 0, 0, 0), "m/s", "210 m/s")
    HEAT_CAPACITY = ("heat capacity", (2, -2, 1, 0, -1), "J/K", "900 kJ/K")
    CONDUCTANCE = ("conductance of heat", (2, -3, 1, 0, -1), "W/K", "40 W/K")

    def __init__(self, word: str, exponents: tuple[int, ...], si_unit: str, example: str) -> None:
        self.word = word
        self.exponents = exponents
        self.si_unit = si_unit
        self.example = example

    @property
    def per_time(self) -> Dimension:
        """The dimension of a rate of this quantity.

        Raises:
            KeyError: no rate of this quantity is used in the house.
        """
        return {
            Dimension.MASS: Dimension.MASS_RATE,
            Dimension.VOLUME: Dimension.VOLUME_RATE,
            Dimension.CHARGE: Dimension.CURRENT,
            Dimension.ENERGY: Dimension.POWER,
        }[self]


class UnitSystem(Enum):
    """In which units people read figures."""

    AS_WRITTEN = "as-written"
    METRIC = "metric"
    US = "us"


@dataclass(frozen=True, kw_only=True, slots=True)
class Unit:
    """A unit as a person wrote it, with what turns it into SI: ``si = value * factor + offset``."""

    text: str
    dimension: Dimension
    factor: float
    offset: float = 0.0

    def to_si(self, value: float) -> float:
        """A number in this unit, in SI."""
        return value * self.factor + self.offset

    def from_si(self, value_si: float) -> float:
        """A number in SI, in this unit."""
        return (value_si - self.offset) / self.factor


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint  # 140 ms: only those who read text with units pay for it

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)  # None: our own definitions only
    registry.load_definitions(
        resources.files("console").joinpath("units.txt").read_text("utf-8").splitlines()
    )
    return registry


@lru_cache(maxsize=1)
def _known_names() -> tuple[str, ...]:
    return tuple(sorted(name for name in _registry()._units if not name.startswith("delta_")))


_BASES = ("[length]", "[time]", "[mass]", "[current]", "[temperature]")


@lru_cache(maxsize=512)
def parse_unit(text: str) -> Unit:
    """Read a unit such as ``A*h``, ``kg/day``, ``m^3``, ``%`` or ``degC``.

    Raises:
        UnitsError: the text is no unit of ``units.txt`` or has a dimension the house has no use for.

    >>> parse_unit("A*h").factor
    3600.0
    """
    written = text.strip().replace("·", "*").replace("**", "^").replace("°", "deg")
    written = re.sub(r"\s*([*/^])\s*", r"\1", written)
    written = re.sub(r"\s+", "*", written)
    if len(written) > 40 or _UNIT.fullmatch(written) is None:
        raise UnitsError(f"unit {text!r}", "write a unit such as kg, A*h, kPa or kg/day")
    registry = _registry()
    for name in re.findall(r"[A-Za-z%_][A-Za-z0-9%_]*", written):
        if name not in registry._units:
            near = difflib.get_close_matches(name, _known_names(), n=1, cutoff=0.5)
            hint = f"did you mean {near[0]!r}?" if near else "units are listed in console/units.txt"
            raise UnitsError(f"unit {text!r}, where {name!r} is not known", hint)
    parsed = registry.parse_units(written)
    exponents = dict(parsed.dimensionality)
    wanted = tuple(exponents.get(base, 0) for base in _BASES)
    for dimension in Dimension:
        if dimension.exponents == wanted:
            zero, far = (float(registry.Quantity(n, parsed).to_base_units().magnitude) for n in (0.0, 1e6))
            return Unit(text=written, dimension=dimension, factor=(far - zero) / 1e6, offset=zero)
    raise UnitsError(f"unit {text!r}", "write a unit of a quantity that the board uses, such as kg or A*h")


def split_quantity(text: str) -> tuple[float, Unit | None]:
    """Split ``"320 A*h"`` into its number and its unit (None for a bare number).

    Raises:
        UnitsError: there is no number, it is not finite, or the unit is not known.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitsError(repr(text), "write a number and its unit, such as 320 A*h")
    if not abs(float(match.group(1))) <= LARGEST:
        raise UnitsError(repr(text), "write a number that is not beyond all measure, such as 320 A*h")
    return float(match.group(1)), parse_unit(match.group(2)) if match.group(2) else None


def quantity_to_si(text: str, *dimensions: Dimension) -> tuple[float, Unit]:
    """Read a quantity of one of the given dimensions; returns its SI value and the unit it was written in.

    Raises:
        UnitsError: no quantity, no unit, or another dimension.

    >>> round(quantity_to_si("1 lb/h", Dimension.MASS_RATE)[0] * 3600, 8)
    0.45359237
    """
    value, unit = split_quantity(text)
    if unit is None:
        if Dimension.FRACTION in dimensions:
            unit = Unit(text="1", dimension=Dimension.FRACTION, factor=1.0)
        else:
            raise UnitsError(f"{text!r} without a unit", _due(dimensions))
    check_dimension(text, unit, *dimensions)
    return unit.to_si(value), unit


def check_dimension(text: str, unit: Unit, *dimensions: Dimension) -> None:
    """Refuse a unit whose dimension is none of those due.

    Raises:
        UnitsError: names both dimensions, and says so where amps stand for amp-hours or the reverse.
    """
    if unit.dimension in dimensions:
        return
    found = f"{text!r}, {_article(unit.dimension.word)}"
    due = _due(dimensions)
    mixed = {unit.dimension, *dimensions}
    if {Dimension.CURRENT, Dimension.CHARGE} <= mixed:
        due += " (amps are a rate, amp-hours a quantity)"
    elif {Dimension.POWER, Dimension.ENERGY} <= mixed:
        due += " (watts are a rate, watt-hours a quantity)"
    elif any(dimension.per_time in mixed for dimension in mixed & _STORED):
        due += " (a rate and a quantity are not the same)"
    raise UnitsError(found, due)


_STORED = {Dimension.MASS, Dimension.VOLUME, Dimension.CHARGE, Dimension.ENERGY}


def _due(dimensions: tuple[Dimension, ...]) -> str:
    due = (f"{_article(dimension.word)}, such as {dimension.example}" for dimension in dimensions)
    return f"write {' or '.join(due)}"


def _article(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def rate_unit_of(unit: Unit) -> Unit:
    """The unit in which rates of a quantity are shown: ``A`` for ``A*h``, ``kW`` for ``kW*h``, else per hour.

    >>> rate_unit_of(parse_unit("A*h")).text, rate_unit_of(parse_unit("lb")).text
    ('A', 'lb/h')
    """
    if unit.dimension is Dimension.CHARGE:
        return parse_unit("A")
    if unit.dimension is Dimension.ENERGY:
        return parse_unit(unit.text.removesuffix("*h") if unit.text.endswith("*h") else "W")
    return parse_unit(f"{unit.text}/h")


_CUSTOMARY: dict[Dimension, tuple[tuple[str, str], ...]] = {
    Dimension.LENGTH: (("m", "ft"), ("cm", "in")),
    Dimension.MASS: (("kg", "lb"), ("t", "lb"), ("g", "oz")),
    Dimension.VOLUME: (("m^3", "ft^3"), ("L", "gal"), ("mL", "in^3")),
    Dimension.PRESSURE: (("kPa", "psi"), ("MPa", "psi"), ("bar", "psi"), ("kPa", "mmHg")),
    Dimension.TEMPERATURE: (("degC", "degF"), ("K", "degF")),
    Dimension.VELOCITY: (("m/s", "ft/s"),),
}
"""Names only, metric and US, the first pair first; factors stand in units.txt alone. What is not here
(electricity, fractions, time) reads alike in both. Which unit goes with which: common practice, no source."""

_US_NAMES = frozenset(
    (
        *("ft", "foot", "in", "inch", "cfm", "cubic_foot_per_minute", "gal", "gallon", "lb", "lbm", "pound"),
        *("oz", "ounce", "lbf", "pound_force", "psi", "psia", "mmHg", "degF", "degree_Fahrenheit"),
    )
)
_NEITHER_NAMES = frozenset(("atm", "atmosphere"))


def shown_unit(unit: Unit, system: UnitSystem) -> Unit:
    """The unit in which a quantity written in ``unit`` is read in a system of units; rates keep their time.

    Pressures become psi: what is a gas's own, and read in mmHg, only its caller can know.

    >>> [shown_unit(parse_unit(text), UnitSystem.US).text for text in ("kg/day", "MPa", "A*h")]
    ['lb/day', 'psi', 'A*h']
    """
    if system is UnitSystem.AS_WRITTEN:
        return unit
    return _shown_unit(unit, system)


@lru_cache(maxsize=256)
def _shown_unit(unit: Unit, system: UnitSystem) -> Unit:
    if unit.dimension in (Dimension.MASS_RATE, Dimension.VOLUME_RATE):
        return _shown_rate_unit(unit, system)
    names = set(re.findall(r"[A-Za-z%_]+", unit.text))
    is_us = bool(names & _US_NAMES)
    is_of_system = is_us if system is UnitSystem.US else not is_us and not names & _NEITHER_NAMES
    if is_of_system or unit.dimension not in _CUSTOMARY:
        return unit
    asked, other = (1, 0) if system is UnitSystem.US else (0, 1)
    pairs = [tuple(map(parse_unit, pair)) for pair in _CUSTOMARY[unit.dimension]]
    # The partner of the unit itself, else of the one nearest to it in size: of milligrams as of grams.
    return min(pairs, key=lambda pair: abs(math.log(pair[other].factor / unit.factor)))[asked]


def _shown_rate_unit(unit: Unit, system: UnitSystem) -> Unit:
    amount, slash, time = ("ft^3", "/", "min") if unit.text == "cfm" else unit.text.rpartition("/")
    if not slash or parse_unit(time).dimension is not Dimension.TIME:
        amount, time = ("kg" if unit.dimension is Dimension.MASS_RATE else "m^3"), "h"
    shown = f"{shown_unit(parse_unit(amount), system).text}/{time}"
    if shown == unit.text:
        return unit
    return parse_unit("cfm" if shown == "ft^3/min" else shown)
