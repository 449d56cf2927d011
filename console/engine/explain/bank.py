"""What a current costs the batteries that share it, in equations."""

from __future__ import annotations

import math

from console.craft.model import Store, Supply
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
    draw = book.figure("draw", *stretch.keys, "draw")
    batteries = [store for store in stretch.fed_by if store.capacity_si]
    if draw.value <= 0.0 or not batteries:
        return "0", (), ("nothing is drawn",)
    text, inputs = bank_cost(book, stretch.supply, tuple(batteries), "draw", stretch.keys)
    remarks = (
        "Peukert's law in its rated form (common practice), with no credit below the rated current",
        "batteries share a bus by their capacity (common practice, no source)",
    )
    return f"{text} - draw", (draw, *inputs), remarks


def bank_cost(
    book: Book, supply: Supply, batteries: tuple[Store, ...], draw: str, keys: Keys
) -> tuple[str, tuple[Input, ...]]:
    """What a draw costs batteries that share it by capacity: the equation, and its inputs but the draw.

    Args:
        book: the book.
        supply: theirs.
        batteries: those that feed and have a capacity.
        draw: the symbol of the draw.
        keys: of a segment in which they feed, which has the sum of their capacities.
    """
    amounts = Amounts(supply=supply)
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
    whole = book.figure("w", *keys, "capacity")
    capacities, rated, exponents = [], [], []
    for store in batteries:
        capacities.append(
            book.config(
                "c",
                f"capacity of {store.name}",
                amounts.amount(store.capacity_si or 0.0),
                amounts.unit,
                CRAFT,
                f"{place}.{store.name}.capacity",
            )
        )
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
    part = f"{amps} * c_i / w"
    text = f"sum({part} * max(1, pow({part} / a_i, k_i - 1))){unamps}"
    inputs = (*extra, whole, *series("c", capacities), *series("a", rated), *series("k", exponents))
    return text, inputs


def draw_of_cost(book: Book, supply: Supply, cost: Input, draw: float) -> tuple[str, tuple[Input, ...]]:
    """The draw that costs the stores which feed now so much: the equation and its inputs.

    Args:
        book: the book.
        supply: the supply.
        cost: what the stores lose, as the input ``cost``.
        draw: the draw as it was found, as it is read.
    """
    grounds = book.grounds
    batteries = tuple(store for store in grounds.ahead.supplies[supply.name].giving if store.capacity_si)
    if not batteries or math.isclose(draw, cost.value, rel_tol=1e-10):
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
