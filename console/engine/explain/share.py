"""One battery's part of its bus: figures ``SUPPLY.stores.STORE.bus.FIGURE``."""

from __future__ import annotations

from console.craft.model import BusSharing, Store, StoreKind, Supply
from console.engine.bus import amps_per_rate
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import CRAFT
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys
from console.engine.quantity import read_value
from console.engine.snapshot import BusShare, StoreStatus


def share_paths(store: StoreStatus) -> tuple[str, ...]:
    """The figures of a battery that feeds."""
    return () if store.bus is None else ("fraction", "planned", "limit", "reaches_residual_in")


def share_figure(book: Book, supply: Supply, name: str, figure: str) -> Explanation | None:
    """One of those figures; None for any other."""
    status = book.grounds.snapshot.supplies[supply.name]
    share = next((store.bus for store in status.stores if store.name == name), None)
    if share is None:
        return None
    store = next(one for one in supply.stores if one.name == name)
    keys = (*supply_keys(supply.name), "stores", name, "bus", figure)
    match figure:
        case "fraction":
            return _fraction(book, supply, store, share, keys)
        case "planned":
            return _planned(book, supply, share, keys)
        case "limit":
            title = f"most that {name} may be asked for"
            if share.limit_a is None:
                return book.explanation(keys, 0, title, None, "A", "", (), ("none is stated",))
            key = f"supplies.{supply.name}.stores.{name}.current_limit"
            return book.leaf(keys, 0, title, book.config("limit", title, share.limit_a, "A", CRAFT, key))
        case "reaches_residual_in":
            return _reaches(book, supply, store, share, keys)
    return None


def _batteries(book: Book, supply: Supply) -> list[Store]:
    giving = book.grounds.ahead.supplies[supply.name].giving
    return [store for store in giving if store.kind is StoreKind.BATTERY]


def _fraction(book: Book, supply: Supply, store: Store, share: BusShare, keys: Keys) -> Explanation:
    """By capacity, or by the batteries' own meters."""
    place = f"supplies.{supply.name}.stores"
    title = f"share of the bus that {store.name} carries, {share.by.value}"
    batteries = _batteries(book, supply)
    own: Input
    if share.by is BusSharing.CAPACITY:
        parts = series("c", (_capacity(book, supply, one, place) for one in batteries if one.capacity_si))
        own = _capacity(book, supply, store, place)
        said = "batteries share a bus by their capacity (common practice, no source)"
    else:
        parts = series("c", (_current(book, one, place) for one in batteries))
        own = _current(book, store, place)
        said = "as their own meters say"
    index = next(number for number, one in enumerate(parts, 1) if one.name == own.name)
    text = f"c_{index} / sum(c_i)"
    if any(one.value < 0.0 for one in parts):
        text = f"max(0, c_{index}) / sum(max(0, c_i))"
    return book.explanation(keys, 0, title, share.fraction, "1", text, parts, (said,))


def _capacity(book: Book, supply: Supply, store: Store, place: str) -> Input:
    amounts = Amounts(supply=supply)
    value = amounts.amount(store.capacity_si or 0.0)
    key = f"{place}.{store.name}.capacity"
    return book.config("c", f"capacity of {store.name}", value, amounts.unit, CRAFT, key)


def _current(book: Book, store: Store, place: str) -> Input:
    if store.current is None:
        raise ValueError(f"store {store.name} shares a bus by a meter that it has not")
    known = book.grounds.known
    said = read_value(store.current, known.feed.readings, known.craft.channels).value_si or 0.0
    name = f"current of {store.name}"
    return book.measured("c", name, store.current, said, "A", CRAFT, f"{place}.{store.name}.current")


def _planned(book: Book, supply: Supply, share: BusShare, keys: Keys) -> Explanation:
    title = f"current planned for {keys[-3]} now"
    inputs: tuple[Input, ...] = (
        book.figure("share", *keys[:-1], "fraction"),
        book.figure("draw", *supply_keys(supply.name), "rate_plan"),
    )
    text = "share * draw"
    per = (amps_per_rate(supply) or 1.0) * supply.rate_unit.factor
    if per != 1.0:
        key = f"supplies.{supply.name}.bus_voltage"
        name = f"amperes in one {supply.rate_unit.text}"
        inputs, text = (*inputs, book.config("y", name, per, "A", CRAFT, key)), "share * draw * y"
    return book.explanation(keys, 0, title, share.planned_a, "A", text, inputs)


def _reaches(book: Book, supply: Supply, store: Store, share: BusShare, keys: Keys) -> Explanation:
    title = f"time until {store.name} is down to its residual at its share"
    if share.reaches_residual_in_s is None:
        said = ("it gives nothing now, or what it holds is not known",)
        return book.explanation(keys, 0, title, None, "h", "", (), said)
    place = f"supplies.{supply.name}.stores.{store.name}"
    amounts = Amounts(supply=supply)
    per = (amps_per_rate(supply) or 1.0) * supply.unit.factor / 3600.0
    inputs: tuple[Input, ...] = (
        book.figure("gives", *keys[:-2], "gives"),
        book.figure("current", *keys[:-1], "planned"),
    )
    top = "gives" if inputs[0].value >= 0.0 else "max(0, gives)"
    if abs(per - 1.0) > 1e-12:
        name = f"ampere-hours in one {amounts.unit}"
        key = f"supplies.{supply.name}.bus_voltage"
        inputs, top = (*inputs, book.config("y", name, per, "A*h", CRAFT, key)), f"{top} * y"
    text = f"{top} / current"
    if store.rated_current_a and store.peukert > 1.0:
        rated = book.config(
            "rated",
            f"current at which {store.name} was rated",
            store.rated_current_a,
            "A",
            CRAFT,
            f"{place}.rated_current",
        )
        exponent = book.config(
            "k", f"Peukert exponent of {store.name}", store.peukert, "1", CRAFT, f"{place}.peukert"
        )
        inputs = (*inputs, rated, exponent)
        text = f"{top} / (current * max(1, pow(current / rated, k - 1)))"
    value = share.reaches_residual_in_s / 3600.0
    return book.explanation(keys, 0, title, value, "h", text, inputs)
