"""What one store holds, why, and how sure that is: figures under ``SUPPLY.stores.STORE``."""

from __future__ import annotations

from dataclasses import dataclass, replace

from console.craft.channels import Channel, Measured
from console.craft.model import Store, Supply
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, assumed, series, step
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.gas import gas_state, mass_equation
from console.engine.explain.grounds import CRAFT, H
from console.engine.explain.paths import Keys
from console.engine.quantity import StoreQuantity, read_value
from console.physics.battery import capacity_fraction


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept:
    """One store with what its figures are made from."""

    book: Book
    keys: Keys
    """Down to the store."""
    amounts: Amounts
    quantity: StoreQuantity

    @property
    def store(self) -> Store:
        """The store."""
        return self.quantity.store

    @property
    def key(self) -> str:
        """Where it stands in craft.yaml."""
        return f"supplies.{self.amounts.supply.name}.stores.{self.store.name}"

    def config(self, symbol: str, name: str, value_si: float, key: str) -> Input:
        """An amount of the config."""
        return self.book.config(
            symbol,
            f"{name} of {self.store.name}",
            self.amounts.amount(value_si),
            self.amounts.unit,
            CRAFT,
            f"{self.key}.{key}",
            "none is set aside" if key == "residual" else "",
        )

    def read(self, symbol: str, name: str, measured: Measured, value: float, unit: str, key: str) -> Input:
        """A measured property."""
        said = f"{name} of {self.store.name}"
        return self.book.measured(symbol, said, measured, value, unit, CRAFT, f"{self.key}.{key}")

    def value(self, measured: Measured) -> float | None:
        """What a measured property is, in SI."""
        known = self.book.grounds.known
        return read_value(measured, known.feed.readings, known.craft.channels).value_si


def store_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.stores.STORE.FIGURE`` of a store; ``keys`` are the last two, ``row`` counts for its error."""
    name, figure = keys
    if all(store.name != name for store in supply.stores):
        return None
    kept = Kept(
        book=book,
        keys=(*supply_keys(supply.name), "stores", name),
        amounts=Amounts(supply=supply),
        quantity=book.grounds.known.quantities[name],
    )
    match figure:
        case "on_board":
            return _on_board(kept)
        case "residual":
            return _residual(kept)
        case "gives":
            return _gives(kept)
        case "age":
            return _age(kept)
        case "sd":
            return _sd(kept)
        case "error":
            return _error(kept, row)
    return None


RESERVED = frozenset(
    (
        *("cabin", "cabin_clocks", "elapsed", "feed", "first", "format", "loads"),
        *("loads_differing_from_level", "luck", "modules", "need", "next_event", "next_phase", "options"),
        *("peaks", "supplies"),
    )
)
"""First keys that are not the name of a supply; one of such a name stands below ``supplies``."""


def supply_keys(name: str) -> Keys:
    """The first keys of a supply's figures."""
    return ("supplies", name) if name in RESERVED else (name,)


def _on_board(kept: Kept) -> Explanation:
    """By the way of knowing that the engine took."""
    keys, unit = (*kept.keys, "on_board"), kept.amounts.unit
    title = f"what {kept.store.name} holds, as read"
    held = kept.quantity.held_si
    if held is None:
        return kept.book.explanation(keys, 0, title, None, unit, "", (), (kept.quantity.why or "not known",))
    text, inputs = _way(kept)
    taken = _logged(kept)
    text = f"{text} - sum(u_i)" if taken else text
    value, unclamped = kept.amounts.amount(held), (*inputs, *taken)
    text, inputs = _clamped(kept, text, unclamped, held)
    remarks = (f"known by {_WAYS[kept.quantity.basis]}", kept.quantity.why)
    return kept.book.explanation(keys, 0, title, value, unit, text, inputs, remarks)


_WAYS = {
    "quantity": "its direct reading",
    "pressure": "pressure, temperature and volume through a real-gas equation",
    "used": "its capacity less what was counted as used",
    "capacity": "its capacity alone: nothing gauges it",
    "counted and gauge": "counted charge and gauge together",
    "none": "nothing",
}


def _way(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    """The equation of one way of knowing, before what is logged and before its bounds."""
    match kept.quantity.basis:
        case "pressure":
            return _by_pressure(kept)
        case "quantity":
            return _by_quantity(kept)
        case "used":
            text, inputs = _full(kept)
            used = kept.store.used
            counted = 0.0 if used is None else kept.value(used) or 0.0
            taken = kept.read(
                "used",
                "counted as used",
                used or Measured(),
                kept.amounts.amount(counted),
                kept.amounts.unit,
                "used",
            )
            return f"{text} - used", (*inputs, taken)
        case "capacity":
            return _full(kept)
        case _:
            return "level", (_filtered(kept),)


def _by_pressure(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    state = gas_state(kept.book, kept.store, kept.key)
    if state is None:
        raise ValueError(f"store {kept.store.name} is known by a pressure that is not read")
    text, inputs = mass_equation(kept.book, kept.store, kept.key, *state.inputs)
    behind, factor = kept.amounts.of_mass()
    return f"{text}{behind}", (*inputs, *factor)


def _by_quantity(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    quantity = kept.store.quantity
    if quantity is None:
        raise ValueError(f"store {kept.store.name} is known by a reading that it has not")
    said = kept.value(quantity) or 0.0
    if kept.store.quantity_is_share:
        share = kept.read("s", "share left", quantity, said, "1", "quantity")
        return "s * C", (share, kept.config("C", "capacity", kept.store.capacity_si or 0.0, "capacity"))
    value = kept.amounts.amount(said)
    return "q", (kept.read("q", "quantity", quantity, value, kept.amounts.unit, "quantity"),)


def _full(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    """What it holds when full, as warm as it is."""
    store = kept.store
    capacity = kept.config("C", "capacity", store.capacity_si or 0.0, "capacity")
    curve = store.capacity_at_temperature
    if not curve or store.temperature is None:
        return "C", (capacity,)
    kelvin = kept.value(store.temperature)
    key = f"{kept.key}.capacity_at"
    if kelvin is None or not kelvin > 0.0:
        least = min(fraction for _, fraction in curve)
        name = f"least of the curve of {store.name}, its temperature not being known"
        return "C * x", (capacity, kept.book.config("x", name, least, "1", CRAFT, key))
    warmth = kept.read("T", "temperature", store.temperature, kelvin, "K", "temperature")
    name = f"share of its capacity that {store.name} gives at its temperature"
    fraction = kept.book.config("x", name, capacity_fraction(curve, kelvin), "1", CRAFT, key)
    source = SolvedSource(how="read off the curve of capacity by temperature", arguments=(fraction, warmth))
    return "C * x", (capacity, replace(fraction, source=source))


def _filtered(kept: Kept) -> Input:
    """A level that a filter keeps: no sum of what stands here and now."""
    store, amounts = kept.store, kept.amounts
    arguments = []
    for name, measured, key in (
        ("quantity", store.quantity, "quantity"),
        ("used", store.used, "used"),
        ("current", store.current, "current"),
    ):
        said = None if measured is None else kept.value(measured)
        if measured is not None and said is not None:
            is_amount = name != "current" and not (name == "quantity" and store.quantity_is_share)
            unit = amounts.unit if is_amount else ("A" if name == "current" else "1")
            shown = amounts.amount(said) if is_amount else said
            arguments.append(kept.read(name, name, measured, shown, unit, key))
    how = (
        "a filter of counted charge and gauge over all looks until now (Kalman, J. Basic Eng. 82, 1960, from "
        "memory; console/physics/charge_filter.py); the present readings alone do not give it"
    )
    return Input(
        symbol="level",
        name=f"charge of {store.name} by count and gauge",
        value=amounts.amount(_unclamped_si(kept)),
        unit=amounts.unit,
        source=SolvedSource(how=how, arguments=tuple(arguments)),
    )


def _unclamped_si(kept: Kept) -> float:
    """What the filter says: the held amount with what was logged put back."""
    return (kept.quantity.held_si or 0.0) + sum(one.value for one in _logged(kept)) * (
        kept.amounts.supply.unit.factor
    )


def _logged(kept: Kept) -> tuple[Input, ...]:
    """What was logged as used since the reading."""
    since_s = float("-inf") if kept.quantity.as_of_s is None else kept.quantity.as_of_s
    taken = [
        step(
            "u",
            f"logged as used from {kept.store.name}",
            kept.amounts.amount(change.used_si[kept.store.name]),
            kept.amounts.unit,
            change,
        )
        for change in kept.book.grounds.known.changes
        if change.at_s > since_s and change.used_si.get(kept.store.name)
    ]
    return series("u", taken)


def _clamped(
    kept: Kept, text: str, inputs: tuple[Input, ...], held_si: float
) -> tuple[str, tuple[Input, ...]]:
    """The bounds, where one of them holds: nothing holds more than when full, nor less than nothing."""
    capacity = kept.store.capacity_si
    if held_si == 0.0:
        return f"max(0, {text})", inputs
    if capacity is not None and held_si == capacity and text != "C":
        named = {one.symbol for one in inputs}
        extra = () if "C" in named else (kept.config("C", "capacity", capacity, "capacity"),)
        return f"min({text}, C)", (*inputs, *extra)
    return text, inputs


def _residual(kept: Kept) -> Explanation:
    keys, unit = (*kept.keys, "residual"), kept.amounts.unit
    title = f"what {kept.store.name} holds and cannot give"
    held, residual = kept.quantity.held_si, kept.quantity.residual_si or 0.0
    if held is None:
        return kept.book.explanation(keys, 0, title, None, unit, "", (), ("what it holds is not known",))
    store = kept.store
    stated = kept.config("w", "residual", store.residual_si, "residual")
    text: str = stated.symbol
    inputs: tuple[Input, ...] = (stated,)
    if kept.quantity.basis == "pressure":
        text, inputs = _residual_by_pressure(kept, stated)
    if residual > held:
        inputs = (*inputs, kept.book.figure("held", *kept.keys, "on_board"))
        text = f"min({text}, held)"
    value = kept.amounts.amount(min(residual, held))
    return kept.book.explanation(keys, 0, title, value, unit, text, inputs)


def _residual_by_pressure(kept: Kept, stated: Input) -> tuple[str, tuple[Input, ...]]:
    state = gas_state(kept.book, kept.store, kept.key)
    if state is None:
        return stated.symbol, (stated,)
    pressure = kept.book.config(
        "p",
        f"residual pressure of {kept.store.name}",
        kept.store.residual_pressure_pa,
        "Pa",
        CRAFT,
        f"{kept.key}.residual_pressure",
        "none is set",
    )
    text, inputs = mass_equation(kept.book, kept.store, kept.key, pressure, state.inputs[1])
    behind, factor = kept.amounts.of_mass()
    inputs = (*inputs, *factor)
    if kept.store.residual_si > 0.0:
        return f"max({text}{behind}, w)", (*inputs, stated)
    return f"{text}{behind}", inputs


def _gives(kept: Kept) -> Explanation:
    keys, unit = (*kept.keys, "gives"), kept.amounts.unit
    title = f"what {kept.store.name} can give, as read"
    held, residual = kept.quantity.held_si, kept.quantity.residual_si or 0.0
    if held is None:
        return kept.book.explanation(keys, 0, title, None, unit, "", (), ("what it holds is not known",))
    inputs = (
        kept.book.figure("held", *kept.keys, "on_board"),
        kept.book.figure("residual", *kept.keys, "residual"),
    )
    value = kept.amounts.amount(held - min(residual, held))
    return kept.book.explanation(keys, 0, title, value, unit, "held - residual", inputs)


def _age(kept: Kept) -> Explanation:
    keys, title = (*kept.keys, "age"), f"age of the oldest reading behind {kept.store.name}"
    as_of_s, grounds = kept.quantity.as_of_s, kept.book.grounds
    if as_of_s is None:
        return kept.book.explanation(keys, 0, title, None, "s", "", (), ("no reading is behind it",))
    store = kept.store
    named = [
        measured.channel
        for measured in (store.quantity, store.pressure, store.temperature, store.used, store.current)
        if measured is not None and measured.channel is not None
    ]
    readings = grounds.known.feed.readings
    channel = next((name for name in named if name in readings and readings[name].at_s == as_of_s), None)
    inputs = (
        kept.book.figure("now", "elapsed"),
        kept.book.reading("read", f"moment of the reading of {channel}", channel, as_of_s / H, "h")
        if channel is not None
        else assumed("read", "moment of its reading", as_of_s / H, "h", "the moment of its filter"),
    )
    return kept.book.explanation(keys, 0, title, grounds.at_s - as_of_s, "s", "(now - read) * 3600", inputs)


def _sd(kept: Kept) -> Explanation:
    """One standard deviation: accuracy counts as two, a step of the display adds step²/12 to the variance."""
    keys, unit = (*kept.keys, "sd"), kept.amounts.unit
    title = f"one standard deviation of what {kept.store.name} holds"
    value = kept.amounts.amount(kept.quantity.sd_si)
    text, inputs = _sd_equation(kept)
    remarks = ("an accuracy counts as two standard deviations (common practice, no source)",)
    return kept.book.explanation(keys, 0, title, value, unit, text, inputs, remarks)


def _sd_equation(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    store, factor = kept.store, kept.amounts.supply.unit.factor
    match kept.quantity.basis:
        case "quantity" if store.quantity is not None:
            scale = factor / (store.capacity_si or 1.0) if store.quantity_is_share else factor
            return _root(_variance(kept, store.quantity, scale, ""))
        case "used" if store.used is not None:
            text, inputs = _variance(kept, store.used, factor, "")
            slope = kept.quantity.sd_si**2 - _variance_si(kept, store.used)
            if store.capacity_at_temperature and slope > 0.0:
                extra = assumed(
                    "b",
                    "standard deviation of its full capacity, by its temperature's",
                    kept.amounts.amount(slope**0.5),
                    kept.amounts.unit,
                    "by the slope of the curve of capacity over the temperature's error",
                )
                return _root((f"{text} + pow(b, 2)", (*inputs, extra)))
            return _root((text, inputs))
        case "pressure" if store.pressure is not None and store.temperature is not None:
            return _sd_by_pressure(kept, store.pressure, store.temperature)
    why = (
        "no gauge, so no gauge's error" if not kept.quantity.sd_si else "by the filter, or by a curve's slope"
    )
    return "b", (assumed("b", "its error", kept.amounts.amount(kept.quantity.sd_si), kept.amounts.unit, why),)


def _sd_by_pressure(kept: Kept, pressure: Measured, warmth: Measured) -> tuple[str, tuple[Input, ...]]:
    """Relative errors of pressure and temperature, root of their squares' sum."""
    state = gas_state(kept.book, kept.store, kept.key)
    if state is None:
        raise ValueError(f"store {kept.store.name} is known by a pressure that is not read")
    of_pressure = _variance(kept, pressure, 1.0, "_p")
    of_warmth = _variance(kept, warmth, 1.0, "_t")
    under = "p" if state.pressure_pa >= 1.0 else "max(p, 1)"
    text = f"held * pow(({of_pressure[0]}) / pow({under}, 2) + ({of_warmth[0]}) / pow(T, 2), 0.5)"
    held, inputs = _by_pressure(kept)
    mass = tuple(one for one in inputs if one.symbol not in ("p", "T"))
    text = text.replace("held", f"({held})", 1)
    return text, (*state.inputs, *mass, *of_pressure[1], *of_warmth[1])


def _root(of: tuple[str, tuple[Input, ...]]) -> tuple[str, tuple[Input, ...]]:
    return f"pow({of[0]}, 0.5)", of[1]


def _variance(kept: Kept, measured: Measured, factor: float, mark: str) -> tuple[str, tuple[Input, ...]]:
    """The variance of one reading, in a unit of so many SI units."""
    channel = _channel(kept, measured)
    if channel is None:
        return f"a{mark}", (assumed(f"a{mark}", "error of a constant", 0.0, "1", "a constant has no error"),)
    unit = kept.amounts.unit if factor != 1.0 else channel.unit.dimension.si_unit
    inputs = tuple(
        kept.book.config(
            f"{symbol}{mark}",
            f"{word} of {channel.name}",
            value / factor,
            unit,
            CRAFT,
            f"channels.{channel.name}.{word}",
            "none is stated",
        )
        for symbol, word, value in (
            ("a", "accuracy", channel.accuracy_si),
            ("r", "resolution", channel.resolution_si),
        )
    )
    return f"pow(a{mark} / 2, 2) + pow(r{mark}, 2) / 12", inputs


def _variance_si(kept: Kept, measured: Measured) -> float:
    channel = _channel(kept, measured)
    return 0.0 if channel is None else (channel.accuracy_si / 2.0) ** 2 + channel.resolution_si**2 / 12.0


def _channel(kept: Kept, measured: Measured) -> Channel | None:
    return None if measured.channel is None else kept.book.grounds.craft.channels[measured.channel]


def _error(kept: Kept, row: int) -> Explanation | None:
    """How far off one sample takes its gauge to be."""
    if row == 0:
        return None
    name = f"store {kept.store.name}"
    grounds = kept.book.grounds
    value = kept.amounts.amount(float(grounds.draws.error(name, kept.quantity.sd_si)[row]))
    inputs = (kept.book.figure("sd", *kept.keys, "sd"), kept.book.draw("z", name, row))
    title = f"error of what {kept.store.name} holds"
    return kept.book.explanation(
        (*kept.keys, "error"), row, title, value, kept.amounts.unit, "sd * z", inputs
    )
