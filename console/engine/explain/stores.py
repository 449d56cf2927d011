"""What one store holds, why, and how sure that is: figures under ``SUPPLY.stores.STORE``."""

from __future__ import annotations

from dataclasses import replace

from console.craft.channels import Measured
from console.craft.model import Supply
from console.engine.explain.book import Book, assumed, series, step
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.expression import evaluate
from console.engine.explain.gas import gas_state, mass_equation
from console.engine.explain.grounds import CRAFT, H
from console.engine.explain.kept import Kept, kept_of
from console.engine.explain.paths import Keys
from console.engine.explain.smoothing import Smoothing, off_input, smoothing_of
from console.physics.battery import capacity_fraction


def store_figure(book: Book, supply: Supply, keys: Keys) -> Explanation | None:
    """``SUPPLY.stores.STORE.FIGURE``; ``keys`` are the last two."""
    name, figure = keys
    kept = kept_of(book, supply, name)
    if kept is None:
        return None
    match figure:
        case "on_board":
            return _on_board(kept)
        case "as_read":
            return _as_read(kept)
        case "level_read":
            return level_read(kept)
        case "residual":
            return _residual(kept)
        case "gives":
            return _gives(kept)
        case "age":
            return _age(kept)
    return None


def _on_board(kept: Kept) -> Explanation:
    """By the way of knowing that the engine took."""
    keys, unit = (*kept.keys, "on_board"), kept.amounts.unit
    title = f"what {kept.store.name} holds, as read"
    held = kept.quantity.held_si
    if held is None:
        return kept.book.explanation(keys, 0, title, None, unit, "", (), (kept.quantity.why or "not known",))
    smoothing = smoothing_of(kept)
    if smoothing is None:
        text, inputs = _known(kept)
    else:
        text, inputs = _smoothed(kept, smoothing)
        title = f"what {kept.store.name} holds, by its readings of late together"
    text, inputs = _clamped(kept, text, inputs, held)
    remarks = (f"known by {_WAYS[kept.quantity.basis]}", kept.quantity.why)
    return kept.book.explanation(keys, 0, title, kept.amounts.amount(held), unit, text, inputs, remarks)


def _known(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    """By the newest readings, less what was logged since."""
    text, inputs = _way(kept)
    taken = _logged(kept)
    return (f"{text} - sum(u_i)" if taken else text), (*inputs, *taken)


def _as_read(kept: Kept) -> Explanation | None:
    """What the newest readings alone say of a store whose readings are taken together."""
    if smoothing_of(kept) is None:
        return None
    text, inputs = _known(kept)
    value = evaluate(text, {one.symbol: one.value for one in inputs})
    title = f"what {kept.store.name} holds by its newest readings alone"
    return kept.book.explanation((*kept.keys, "as_read"), 0, title, value, kept.amounts.unit, text, inputs)


def level_read(kept: Kept) -> Explanation | None:
    """The same as the level of the supply is read: counted use counts down from nothing, nothing logged."""
    if smoothing_of(kept) is None:
        return None
    keys, title = (
        (*kept.keys, "level_read"),
        f"what the newest readings of {kept.store.name} say, for the level",
    )
    used = kept.store.used
    if kept.quantity.basis == "used" and used is not None:
        value = kept.amounts.amount(kept.value(used) or 0.0)
        taken = kept.read("used", "counted as used", used, value, kept.amounts.unit, "used")
        return kept.book.explanation(keys, 0, title, -value, kept.amounts.unit, "-used", (taken,))
    text, inputs = _way(kept) if kept.quantity.basis == "quantity" else _known(kept)
    value = evaluate(text, {one.symbol: one.value for one in inputs})
    return kept.book.explanation(keys, 0, title, value, kept.amounts.unit, text, inputs)


def _smoothed(kept: Kept, smoothing: Smoothing) -> tuple[str, tuple[Input, ...]]:
    """The newest reading, and this store's part of what all readings of late say against the newest."""
    share = smoothing.share(kept)
    name = f"part of {kept.store.name} in it: by the squares of the errors that no reading shows"
    inputs = (
        kept.book.figure("read", *kept.keys, "as_read"),
        Input(symbol="p", name=name, value=share, unit="1", source=SolvedSource(how=smoothing.shared_words)),
        off_input(kept, smoothing),
    )
    return "read + p * off", inputs


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
            return by_pressure(kept)
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


def by_pressure(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    """The equation of what its pressure and temperature say."""
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
        return "s * C", (share, kept.capacity())
    value = kept.amounts.amount(said)
    return "q", (kept.read("q", "quantity", quantity, value, kept.amounts.unit, "quantity"),)


def _full(kept: Kept) -> tuple[str, tuple[Input, ...]]:
    """What it holds when full, as warm as it is."""
    store = kept.store
    capacity = kept.capacity()
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
    # A store without a gauge has no reading; what it is reckoned from is when it was opened.
    is_read = kept.quantity.as_of_s is not None and kept.quantity.basis != "capacity"
    since_s = kept.quantity.as_of_s if is_read and kept.quantity.as_of_s is not None else float("-inf")
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
        extra = () if "C" in named else (kept.capacity(),)
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
