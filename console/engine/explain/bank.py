"""What a current costs the batteries that share it, in equations."""

from __future__ import annotations

import math
from collections.abc import Mapping

from console.craft.model import Store, Supply
from console.engine.evidence.luck import UNLOGGED
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series, summed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys
from console.engine.explain.stretch import Equation, Stretch
from console.units import Dimension


def rate_effect(stretch: Stretch) -> Equation:
    """What batteries lose by giving faster than rated."""
    book = stretch.book
    has_unlogged = any(stretch.lines[name][1].name == UNLOGGED for name in stretch.running)
    # What nobody logged is not known as a current of the batteries: it is taken as it costs the stores.
    draw = book.figure("draw", *stretch.keys, "draw_known" if has_unlogged else "draw")
    batteries = sharing(book, stretch.supply, stretch.fed_by)
    if draw.value <= 0.0 or not batteries:
        return "0", (), ("nothing is drawn",)
    text, inputs = bank_cost(book, stretch.supply, stretch.fed_by, "draw", stretch.keys)
    by = "batteries share a bus by their capacity (common practice, no source)"
    if measured_shares(book, stretch.supply, stretch.fed_by):
        by = "batteries share this bus as their own meters say now"
    remarks = (
        "Peukert's law in its rated form (common practice), with no credit below the rated current",
        by,
    )
    return f"{text} - draw", (draw, *inputs), remarks


def measured_shares(book: Book, supply: Supply, feeding: tuple[Store, ...]) -> Mapping[str, float]:
    """How the stores that feed share their bus, where their meters say it of just these; else empty."""
    shares = book.grounds.ahead.shares.get(supply.name)
    return shares if shares and shares.keys() == {store.name for store in feeding} else {}


def sharing(book: Book, supply: Supply, feeding: tuple[Store, ...]) -> tuple[Store, ...]:
    """Which of the stores that feed share a current: by their meters all, else those of a known capacity."""
    if measured_shares(book, supply, feeding):
        return feeding
    return tuple(store for store in feeding if store.capacity_si)


def bank_cost(
    book: Book, supply: Supply, feeding: tuple[Store, ...], draw: str, keys: Keys
) -> tuple[str, tuple[Input, ...]]:
    """What a draw costs the batteries that share it: the equation, and its inputs but the draw.

    Args:
        book: the book.
        supply: theirs.
        feeding: the stores that feed.
        draw: the symbol of the draw.
        keys: of a segment in which they feed, which has the sum of their capacities.
    """
    place = f"supplies.{supply.name}.stores"
    amps, unamps = draw, ""
    extra: tuple[Input, ...] = ()
    if supply.dimension is Dimension.ENERGY or supply.rate_unit.factor != 1.0:
        volts = (supply.bus_voltage_v or 1.0) if supply.dimension is Dimension.ENERGY else 1.0
        key = f"supplies.{supply.name}.bus_voltage"
        per = supply.rate_unit.factor / volts
        name = f"amperes in one {supply.rate_unit.text} on {supply.name}"
        extra = (book.config("y", name, per, "A", CRAFT, key),)
        amps, unamps = f"{draw} * y", " / y"
    measured = measured_shares(book, supply, feeding)
    capacities, rated, exponents = [], [], []
    for store in sharing(book, supply, feeding):
        capacities.append(_weight(book, supply, store, is_measured=bool(measured)))
        has_rating = bool(store.rated_current_a) and store.peukert > 1.0
        rated.append(
            book.config(
                "a",
                f"current at which {store.name} was rated",
                store.rated_current_a or 1.0,
                "A",
                CRAFT,
                f"{place}.{store.name}.rated_current",
                "not stated, so that the rate is taken not to matter",
            )
        )
        exponents.append(
            book.config(
                "k",
                f"Peukert exponent of {store.name}",
                store.peukert if has_rating else 1.0,
                "1",
                CRAFT,
                f"{place}.{store.name}.peukert",
                "the rate does not matter",
            )
        )
    whole: tuple[Input, ...] = ()
    part = f"{amps} * c_i"
    if not measured:
        part, whole = f"{part} / w", (book.figure("w", *keys, "capacity"),)
    text = f"sum({part} * max(1, pow({part} / a_i, k_i - 1))){unamps}"
    inputs = (*extra, *whole, *series("c", capacities), *series("a", rated), *series("k", exponents))
    return text, inputs


def _weight(book: Book, supply: Supply, store: Store, *, is_measured: bool) -> Input:
    """By what one battery shares: its measured part, or its capacity."""
    if is_measured:
        return book.figure("c", *supply_keys(supply.name), "stores", store.name, "bus", "fraction")
    amounts = Amounts(supply=supply)
    name, key = f"capacity of {store.name}", f"supplies.{supply.name}.stores.{store.name}.capacity"
    return book.config("c", name, amounts.amount(store.capacity_si or 0.0), amounts.unit, CRAFT, key)


def draw_of_cost(book: Book, supply: Supply, cost: Input, draw: float) -> tuple[str, tuple[Input, ...]]:
    """The draw that costs the stores which feed now so much: the equation and its inputs.

    Args:
        book: the book.
        supply: the supply.
        cost: what the stores lose, as the input ``cost``.
        draw: the draw as it was found, as it is read.
    """
    grounds = book.grounds
    batteries = grounds.ahead.supplies[supply.name].giving
    if not sharing(book, supply, batteries) or math.isclose(draw, cost.value, rel_tol=1e-10):
        return "cost", (cost,)
    segment = str(grounds.ahead.use.now_index + 1)
    keys = (*supply_keys(supply.name), "segments", segment)
    text, inputs = bank_cost(book, supply, batteries, "draw", keys)
    found = Input(
        symbol="draw",
        name="the draw itself, as found",
        value=draw,
        unit=supply.rate_unit.text,
        source=SolvedSource(
            how="found by halving: the draw that costs the batteries just that much (Peukert); beside it "
            "stands cost times draw over what the draw costs, which is the draw again",
            arguments=(cost,),
        ),
    )
    return f"cost * draw / ({text})", (cost, found, *inputs)


def capacity_figure(stretch: Stretch) -> Explanation:
    """Of the batteries that feed together."""
    book, amounts = stretch.book, stretch.amounts
    place = f"supplies.{stretch.supply.name}.stores"
    batteries = [store for store in stretch.fed_by if store.capacity_si]
    capacities = series(
        "c",
        (
            book.config(
                "c",
                f"capacity of {store.name}",
                amounts.amount(store.capacity_si or 0.0),
                amounts.unit,
                CRAFT,
                f"{place}.{store.name}.capacity",
            )
            for store in batteries
        ),
    )
    value = amounts.amount(sum(store.capacity_si or 0.0 for store in batteries))
    title = f"capacity of what feeds in segment {stretch.number}"
    return book.explanation(
        (*stretch.keys, "capacity"), 0, title, value, amounts.unit, summed("c", capacities), capacities
    )
