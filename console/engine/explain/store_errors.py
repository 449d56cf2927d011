"""How sure it is what a store holds, and how far off one sample takes its gauge to be."""

from __future__ import annotations

from console.craft.channels import Channel, Measured
from console.craft.model import Supply
from console.engine.explain.book import Book, assumed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.gas import gas_state
from console.engine.explain.grounds import CRAFT
from console.engine.explain.kept import Kept, kept_of
from console.engine.explain.paths import Keys
from console.engine.explain.smoothing import smoothing_of
from console.engine.explain.stores import by_pressure


def store_error_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.stores.STORE.sd``, and ``….error`` of a sample; ``keys`` are the last two."""
    kept = kept_of(book, supply, keys[0])
    if kept is None:
        return None
    match keys[1]:
        case "sd":
            return _sd(kept)
        case "error":
            return _error(kept, row)
    return None


def _sd(kept: Kept) -> Explanation:
    """One standard deviation: accuracy counts as two, a step of the display adds step²/12 to the variance."""
    keys, unit = (*kept.keys, "sd"), kept.amounts.unit
    title = f"one standard deviation of what {kept.store.name} holds"
    value = kept.amounts.amount(kept.quantity.sd_si)
    if smoothing_of(kept) is not None:
        how = (
            "the steady error of its gauge, which no number of its readings shows; how sure the level is "
            "otherwise stands under learnt.level of each sample"
        )
        source = SolvedSource(how=how)
        one = Input(symbol="b", name="steady error of its gauge", value=value, unit=unit, source=source)
        return kept.book.leaf(keys, 0, title, one)
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
    held, inputs = by_pressure(kept)
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
