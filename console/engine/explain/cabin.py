"""The cabin's readings and clocks: figures ``cabin.PROPERTY``, ``cabin.LIMIT.SUPPOSITION.FIGURE``."""

from __future__ import annotations

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.shown import limit_unit
from console.display import cabin_unit
from console.engine.explain.book import Book, assumed
from console.engine.explain.clocks import clock_reached, property_now_input
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, Grounds
from console.engine.explain.paths import Keys
from console.engine.reading import CabinReading
from console.engine.snapshot import CabinClock, Interval, Supposition
from console.units import Unit, UnitSystem

SUPPOSITIONS = {
    "plan": Supposition.PLAN,
    "trend": Supposition.TREND,
    "no_removal": Supposition.NO_REMOVAL,
    "no_feed": Supposition.NO_FEED,
    "no_cooling": Supposition.NO_COOLING,
    "no_power": Supposition.NO_POWER,
}
_WORDS = {supposition: word for word, supposition in SUPPOSITIONS.items()}

CLOCK_FIGURES = ("at", "now", "reached_in", "margin")


def clock_keys(clock: CabinClock) -> Keys:
    """The first keys of a clock's figures."""
    return ("cabin", clock.limit.name, _WORDS[clock.supposition])


def cabin_paths(grounds: Grounds) -> list[Keys]:
    """Every figure of the cabin."""
    readings: list[Keys] = [
        keys for one in grounds.snapshot.cabin for keys in (("cabin", one.name), ("cabin", one.name, "age"))
    ]
    clocks = [(*clock_keys(clock), figure) for clock in grounds.snapshot.clocks for figure in CLOCK_FIGURES]
    return readings + clocks


def cabin(book: Book, keys: Keys, row: int) -> Explanation | None:
    """A reading, its age, or a figure of a clock."""
    snapshot = book.grounds.snapshot
    if len(keys) in (2, 3) and keys[2:] in ((), ("age",)):
        reading = next((one for one in snapshot.cabin if one.name == keys[1]), None)
        if reading is not None:
            return _reading(book, keys, reading) if len(keys) == 2 else _age(book, keys, reading)
    if len(keys) == 3 and keys[2] in SUPPOSITIONS:
        keys = (*keys, "reached_in")
    if len(keys) != 4 or keys[2] not in SUPPOSITIONS:
        return None
    for clock in snapshot.clocks:
        if clock.limit.name == keys[1] and clock.supposition is SUPPOSITIONS[keys[2]]:
            return _clock(book, keys, clock)
    return None


def clock_interval(grounds: Grounds, keys: Keys) -> Interval | None:
    """The interval of a clock's figure, for its ends; None where the path is none, or it is not known."""
    if len(keys) == 3:
        keys = (*keys, "reached_in")
    if len(keys) != 4 or keys[0] != "cabin":
        return None
    for clock in grounds.snapshot.clocks:
        if clock_keys(clock) == keys[:3]:
            return {"reached_in": clock.reached_in_s, "margin": clock.margin_s}.get(keys[3])
    return None


def _unit(reading: CabinReading, system: UnitSystem) -> Unit:
    """In which the documents show it: as they write it, in Pa, K and fractions."""
    if system is not UnitSystem.AS_WRITTEN:
        return cabin_unit(reading.name, system, written=reading.unit, is_share=reading.is_share)
    from console.units import Dimension

    is_fraction = reading.is_share or reading.name == "humidity" or reading.name.endswith("_share")
    dimension = Dimension.FRACTION if is_fraction else Dimension.PRESSURE
    dimension = Dimension.TEMPERATURE if reading.name.endswith("temperature") else dimension
    return Unit(text=dimension.si_unit, dimension=dimension, factor=1.0)


def _measured(cabin_of: Cabin | None, name: str) -> Measured | None:
    found = getattr(cabin_of, name, None)
    return found if isinstance(found, Measured) else None


def _reading(book: Book, keys: Keys, reading: CabinReading) -> Explanation:
    grounds = book.grounds
    unit, title = _unit(reading, grounds.snapshot.shown_in), f"{reading.name.replace('_', ' ')} of the cabin"
    if reading.value_si is None:
        return book.explanation(keys, 0, title, None, unit.text, "", (), (reading.why,))
    value = unit.from_si(reading.value_si)
    measured = _measured(grounds.craft.cabin, reading.name)
    if measured is not None:
        one = book.measured("x", title, measured, value, unit.text, CRAFT, f"cabin.{reading.name}")
        return book.leaf(keys, 0, title, one, (reading.why,))
    return book.leaf(keys, 0, title, _derived(book, title, value, unit.text), (reading.why,))


def _derived(book: Book, title: str, value: float, unit: str) -> Input:
    """A property that no instrument reads: it follows from those that do."""
    how = "follows from the cabin's readings (console/physics/cabin_air.py, humidity.py)"
    source = SolvedSource(how=how, arguments=cabin_inputs(book))
    return Input(symbol="x", name=title, value=value, unit=unit, source=source)


def cabin_inputs(book: Book) -> tuple[Input, ...]:
    """Every property of the cabin that an instrument reads."""
    grounds, found = book.grounds, []
    for reading in grounds.snapshot.cabin:
        if _measured(grounds.craft.cabin, reading.name) is not None and reading.value_si is not None:
            found.append(book.figure(reading.name, "cabin", reading.name))
    return tuple(found)


def _age(book: Book, keys: Keys, reading: CabinReading) -> Explanation:
    title = f"age of the {reading.name.replace('_', ' ')} of the cabin"
    if reading.age_s is None:
        return book.explanation(keys, 0, title, None, "s", "", (), ("no reading is behind it",))
    read_s = book.grounds.at_s - reading.age_s
    measured = _measured(book.grounds.craft.cabin, reading.name)
    name = f"moment of the reading of the {reading.name.replace('_', ' ')}"
    if measured is not None and measured.channel is not None:
        read = book.reading("read", name, measured.channel, read_s / 3600.0, "h")
    else:
        read = assumed("read", name, read_s / 3600.0, "h", "the oldest of the readings it follows from")
    inputs = (book.figure("now", "elapsed"), read)
    return book.explanation(keys, 0, title, reading.age_s, "s", "(now - read) * 3600", inputs)


def _clock(book: Book, keys: Keys, clock: CabinClock) -> Explanation | None:
    limit, unit = clock.limit, limit_unit(clock.limit, book.grounds.snapshot.shown_in)
    words = f"{limit.name}, {clock.supposition.value}"
    match keys[3]:
        case "at":
            place = f"cabin.limits[{limit.name}].{limit.side.value}"
            title = f"limit {limit.name}, {limit.side.value}"
            one = book.config("limit", title, unit.from_si(limit.at_si), unit.text, CRAFT, place)
            return book.leaf(keys, 0, title, one, (limit.source,))
        case "now":
            title = f"{limit.of.value.replace('_', ' ')} now, against {limit.name}"
            if clock.now_si is None:
                return book.explanation(keys, 0, title, None, unit.text, "", (), (clock.why,))
            one = property_now_input(book, clock, unit, cabin_inputs(book))
            return book.leaf(keys, 0, title, one)
        case "reached_in":
            return clock_reached(book, keys, clock, f"time until {words}", cabin_inputs(book))
        case "margin":
            return _margin(book, keys, clock, f"time by which {words} is reached after need")
    return None


def _margin(book: Book, keys: Keys, clock: CabinClock, title: str) -> Explanation:
    if clock.margin_s is None or clock.margin_s.p50 is None:
        said = "it does not come" if clock.margin_s is not None else "reckoned for plan and trend alone"
        return book.explanation(keys, 0, title, None, "h", "", (), (said, clock.why))
    inputs = (book.figure("reached", *keys[:3], "reached_in"), book.figure("need", "need", "in"))
    value = clock.margin_s.p50 / 3600.0
    return book.explanation(keys, 0, title, value, "h", "reached - need", inputs, (clock.why,))
