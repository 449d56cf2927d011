"""The cabin's readings and clocks: figures ``cabin.PROPERTY``, ``cabin.LIMIT.SUPPOSITION.FIGURE``."""

from __future__ import annotations

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.shown import limit_unit
from console.display import cabin_unit
from console.engine.draws import Floats
from console.engine.explain.book import Book, assumed
from console.engine.explain.clocks import clock_figure, clock_samples
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, Grounds
from console.engine.explain.paths import Keys
from console.engine.reading import CabinReading, cabin_keys
from console.engine.snapshot import CabinClock, Supposition
from console.units import Dimension, Unit, UnitSystem

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
        keys for key in cabin_keys(grounds.snapshot.cabin) for keys in (("cabin", key), ("cabin", key, "age"))
    ]
    clocks = [(*clock_keys(clock), figure) for clock in grounds.snapshot.clocks for figure in CLOCK_FIGURES]
    return readings + clocks


def cabin(book: Book, keys: Keys, row: int) -> Explanation | None:
    """A reading, its age, or a figure of a clock."""
    snapshot = book.grounds.snapshot
    if len(keys) in (2, 3) and keys[2:] in ((), ("age",)):
        named = dict(zip(cabin_keys(snapshot.cabin), snapshot.cabin, strict=True))
        reading = named.get(keys[1])
        if reading is not None:
            return _reading(book, keys, reading) if len(keys) == 2 else _age(book, keys, reading)
    if len(keys) == 3 and keys[2] in SUPPOSITIONS:
        keys = (*keys, "reached_in")
    clock = clock_at(book.grounds, keys)
    if clock is None or len(keys) < 4:
        return None
    return _of_clock(book, keys, clock) or clock_figure(book, keys, clock, row, cabin_inputs(book))


def clock_at(grounds: Grounds, keys: Keys) -> CabinClock | None:
    """The clock that the first three keys name."""
    return next((clock for clock in grounds.snapshot.clocks if clock_keys(clock) == keys[:3]), None)


def cabin_samples(book: Book, keys: Keys) -> Floats | None:
    """The samples of a clock's interval; None where the path is none, or it has no samples."""
    clock = clock_at(book.grounds, keys)
    if clock is None or len(keys) != 4 or keys[3] not in ("reached_in", "margin"):
        return None
    return clock_samples(book, keys, clock)


def _unit(reading: CabinReading, system: UnitSystem) -> Unit:
    """In which the documents show it: as they write it, in Pa, K and fractions."""
    if system is not UnitSystem.AS_WRITTEN:
        return cabin_unit(reading.name, system, written=reading.unit, is_share=reading.is_share)
    is_fraction = reading.is_share or reading.name == "humidity"
    dimension = Dimension.FRACTION if is_fraction else Dimension.PRESSURE
    dimension = Dimension.TEMPERATURE if reading.name.endswith("temperature") else dimension
    return Unit(text=dimension.si_unit, dimension=dimension, factor=1.0)


def _measured(cabin_of: Cabin | None, reading: CabinReading) -> Measured | None:
    """The property that an instrument reads, or the config states; None for what follows from others."""
    found = getattr(cabin_of, reading.name, None)
    is_read_so = reading.is_share is getattr(cabin_of, f"{reading.name}_is_share", False)
    return found if isinstance(found, Measured) and is_read_so else None


def _reading(book: Book, keys: Keys, reading: CabinReading) -> Explanation:
    grounds = book.grounds
    unit, title = _unit(reading, grounds.snapshot.shown_in), f"{reading.name.replace('_', ' ')} of the cabin"
    if reading.value_si is None:
        return book.explanation(keys, 0, title, None, unit.text, "", (), (reading.why,))
    value = unit.from_si(reading.value_si)
    measured = _measured(grounds.craft.cabin, reading)
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
        if _measured(grounds.craft.cabin, reading) is not None and reading.value_si is not None:
            found.append(book.figure(reading.name, "cabin", reading.name))
    return tuple(found)


def _age(book: Book, keys: Keys, reading: CabinReading) -> Explanation:
    title = f"age of the {reading.name.replace('_', ' ')} of the cabin"
    if reading.age_s is None:
        return book.explanation(keys, 0, title, None, "s", "", (), ("no reading is behind it",))
    read_s = book.grounds.at_s - reading.age_s
    measured = _measured(book.grounds.craft.cabin, reading)
    name = f"moment of the reading of the {reading.name.replace('_', ' ')}"
    if measured is not None and measured.channel is not None:
        read = book.reading("read", name, measured.channel, read_s / 3600.0, "h")
    else:
        read = assumed("read", name, read_s / 3600.0, "h", "the oldest of the readings it follows from")
    inputs = (book.figure("now", "elapsed"), read)
    return book.explanation(keys, 0, title, reading.age_s, "s", "(now - read) * 3600", inputs)


def _of_clock(book: Book, keys: Keys, clock: CabinClock) -> Explanation | None:
    """Where its limit lies, and the property now."""
    limit, unit = clock.limit, limit_unit(clock.limit, book.grounds.snapshot.shown_in)
    if keys[3:] == ("at",):
        place = f"cabin.limits[{limit.name}].{limit.side.value}"
        title = f"limit {limit.name}, {limit.side.value}"
        one = book.config("limit", title, unit.from_si(limit.at_si), unit.text, CRAFT, place)
        return book.leaf(keys, 0, title, one, (limit.source,))
    if keys[3:] != ("now",):
        return None
    title = f"{limit.of.value.replace('_', ' ')} now, against {limit.name}"
    if clock.now_si is None:
        return book.explanation(keys, 0, title, None, unit.text, "", (), (clock.why,))
    how = "by the cabin's last readings (console/engine/cabin/now.py)"
    source = SolvedSource(how=how, arguments=cabin_inputs(book))
    now = Input(symbol="now", name=title, value=unit.from_si(clock.now_si), unit=unit.text, source=source)
    return book.leaf(keys, 0, title, now)
