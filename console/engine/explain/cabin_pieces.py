"""The pieces of a cabin's course for what has a closed form: level, gain and decay in each.

dx/dt = g - k x inside a piece: people and loads give, the leak, the absorbent's stream or the hull takes.
"""

from __future__ import annotations

import numpy as np

from console.craft.cabin import CabinProperty
from console.craft.model import Metabolic
from console.engine.cabin.people import CREW_SPREAD_FRACTION
from console.engine.explain.book import Book, assumed, published
from console.engine.explain.cabin_way import Run, gauge_of
from console.engine.explain.crew import people, rates
from console.engine.explain.explanation import AssumptionSource, Explanation, Input, SolvedSource
from console.engine.explain.gas import gas_constant
from console.engine.explain.grounds import CRAFT
from console.engine.explain.kept import supply_keys
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys
from console.engine.planned_rate import use_factor
from console.engine.snapshot import Supposition
from console.physics.constants import CARBON_DIOXIDE_KG_PER_MOL

CABIN = "well mixed, each quantity by dx/dt = g - k x inside a piece (console/physics/first_order.py)"
H = 3600.0


def piece_figure(run: Run, keys: Keys, rest: Keys, readings: tuple[Input, ...]) -> Explanation | None:
    """``….course.N.FIGURE``; ``keys`` are all of them, ``rest`` those behind ``course``."""
    if len(rest) != 2 or not rest[0].isascii() or not rest[0].isdecimal():
        return None
    piece = int(rest[0]) - 1
    if not 0 <= piece < len(run.way.course.forcing.pieces.starts_s) or not _has_pieces(run):
        return None
    match rest[1]:
        case "level":
            return _level(run, keys, piece, readings)
        case "lasts":
            return _lasts(run, keys, piece)
        case "gain":
            return _gain(run, keys, piece, readings)
        case "decay":
            return _decay(run, keys, piece, readings)
    return None


def _has_pieces(run: Run) -> bool:
    limit = run.clock.limit
    return limit.of in (CabinProperty.CARBON_DIOXIDE, CabinProperty.TEMPERATURE) and not limit.is_share


def _is_warmth(run: Run) -> bool:
    return run.clock.limit.of is CabinProperty.TEMPERATURE


def _unit(run: Run) -> str:
    return "K" if _is_warmth(run) else "Pa"


def _word(run: Run) -> str:
    return run.clock.limit.of.value.replace("_", " ")


def level_input(run: Run, keys: Keys, symbol: str, piece: int) -> Input:
    """The quantity at the beginning of a piece."""
    return run.book.figure(symbol, *keys[:3], "course", str(piece + 1), "level", row=run.row)


def _lasts(run: Run, keys: Keys, piece: int) -> Explanation:
    begin_s, value = run.start_s(piece), run.span_s(piece) / H
    end = _moment(run, "end", begin_s + run.span_s(piece), piece + 1)
    inputs = (end, _moment(run, "begin", begin_s, piece))
    return run.book.explanation(
        keys, run.row, f"length of piece {piece + 1}", value, "h", "end - begin", inputs
    )


def _moment(run: Run, symbol: str, at_s: float, piece: int) -> Input:
    """A moment at which the cabin's course turns: one of the plan, or the end of a supply."""
    starts_s = run.way.course.forcing.pieces.starts_s
    exact_s = float(starts_s[piece, run.row]) if piece < len(starts_s) else at_s
    for name, ends_s in run.way.around.ends_s.items():
        if float(ends_s[run.row]) == exact_s:
            return run.book.figure(symbol, *supply_keys(name), "runs_out_at", row=run.row)
    if piece >= len(starts_s):
        return assumed(symbol, "horizon of the clock", at_s / H, "h", "until need, and 30 days at least")
    return moment(run.book, symbol, exact_s)


def _level(run: Run, keys: Keys, piece: int, readings: tuple[Input, ...]) -> Explanation:
    """As read at the beginning, then what the piece before leaves."""
    value, unit = run.level(piece), _unit(run)
    title = f"{_word(run)} at the beginning of piece {piece + 1}"
    name = "temperature_k" if _is_warmth(run) else "carbon_dioxide_pa"
    if piece == 0 or run.start_s(piece) <= run.way.readings.since_s[name] + 1e-6:
        return _as_read(run, keys, value, title, readings)
    before = piece - 1
    place = (*keys[:3], "course", str(piece))
    inputs: tuple[Input, ...] = (
        level_input(run, keys, "x", before),
        run.book.figure("g", *place, "gain", row=run.row),
        run.book.figure("d", *place, "lasts", row=run.row),
    )
    decay = run.book.figure("k", *place, "decay", row=run.row)
    text = "x + g * d"
    if decay.value != 0.0:
        text, inputs = "x * exp(-k * d) + g * (1 - exp(-k * d)) / k", (*inputs, decay)
    cools_to = float(run.way.course.cools_to_k[(before, *run.place)])
    if _is_warmth(run) and np.isfinite(cools_to) and value == cools_to:
        text, inputs = f"min({text}, held)", (*inputs, _held_at(run, keys, before, cools_to))
    return run.book.explanation(keys, run.row, title, value, unit, text, inputs)


def _held_at(run: Run, keys: Keys, piece: int, cools_to: float) -> Input:
    """What cooling holds the temperature at: its setting, or what it found where that was warmer."""
    thermal = None if run.book.grounds.craft.cabin is None else run.book.grounds.craft.cabin.thermal
    setting = None if thermal is None else thermal.cooled_to_k
    if setting == cools_to:
        return run.book.config("held", "cooling holds it at", cools_to, "K", CRAFT, "cabin.thermal.cooled_to")
    level = level_input(run, keys, "found", piece)
    how = "cooling holds what it finds warmer than its setting where it is"
    source = SolvedSource(how=how, arguments=(level,))
    return Input(symbol="held", name="cooling holds it at", value=cools_to, unit="K", source=source)


def _as_read(run: Run, keys: Keys, value: float, title: str, readings: tuple[Input, ...]) -> Explanation:
    """The reading; in a sample, with its error."""
    book, gauge = run.book, gauge_of(run.way, run.clock.limit.of)
    unit = _unit(run)
    read = _reading(run, readings)
    if gauge is None or gauge.value_si is None or not run.row:
        return book.leaf(keys, run.row, title, read)
    sd = assumed(
        "sd",
        f"one standard deviation of {gauge.name}",
        gauge.sd_si,
        unit,
        "half of its channel's accuracy and its step over the root of 12, as craft.yaml states them",
    )
    z = book.draw("z", f"cabin {gauge.name}", run.row)
    text = f"max({'200' if _is_warmth(run) else '0'}, read + sd * z)"
    return book.explanation(keys, run.row, title, value, unit, text, (read, sd, z))


def _reading(run: Run, readings: tuple[Input, ...]) -> Input:
    """The central reading of the quantity."""
    book, limit = run.book, run.clock.limit
    cabin, gauge = book.grounds.craft.cabin, gauge_of(run.way, limit.of)
    name, unit = f"{_word(run)} as read", _unit(run)
    if cabin is None or gauge is None or gauge.value_si is None:
        why = "it is not read"
        return assumed("read", name, run.level(0), unit, why)
    if limit.of is CabinProperty.CARBON_DIOXIDE and cabin.carbon_dioxide_is_share:
        source = SolvedSource(how="its share of the pressure, both as read", arguments=readings)
        return Input(symbol="read", name=name, value=gauge.value_si, unit=unit, source=source)
    measured = cabin.temperature if _is_warmth(run) else cabin.carbon_dioxide
    if measured is None:
        return assumed("read", name, gauge.value_si, unit, "it is not read")
    return book.measured("read", name, measured, gauge.value_si, unit, CRAFT, f"cabin.{limit.of.value}")


def _gain(run: Run, keys: Keys, piece: int, readings: tuple[Input, ...]) -> Explanation:
    value = run.of_quantity(run.way.course.forcing.gains, piece) * H
    unit = f"{_unit(run)}/h"
    title = f"what is given to the {_word(run)} in piece {piece + 1}, {run.phase(piece).name}"
    if value == 0.0:
        said = ("it is held as it is: nothing is said of the stream that removes it",)
        return run.book.explanation(keys, run.row, title, 0.0, unit, "0", (), said)
    text, inputs = _heat(run, piece) if _is_warmth(run) else _exhaled(run, piece, readings)
    return run.book.explanation(keys, run.row, title, value, unit, text, inputs)


def _crew_luck(run: Run, metabolic: Metabolic) -> tuple[str, tuple[Input, ...]]:
    """What the crew's rates are multiplied by in a sample."""
    if not run.row:
        return "", ()
    book = run.book
    use = next((one for one in book.grounds.craft.uses if one.metabolic is metabolic), None)
    if use is not None and use.spread_fraction:
        spread = book.config(
            "s", f"spread of {use.name}", use.spread_fraction, "1", CRAFT, f"uses.{use.name}.spread"
        )
    else:
        spread = assumed("s", "spread of a crew's rates", CREW_SPREAD_FRACTION, "1", "5 % (from memory)")
    of = f"crew {metabolic.value}" if use is None else use_factor(use.name)
    return " * exp(s * z)", (spread, book.draw("z", of, run.row))


def _exhaled(run: Run, piece: int, readings: tuple[Input, ...]) -> tuple[str, tuple[Input, ...]]:
    """What people exhale, as a change of the partial pressure: m R T / (M V)."""
    book, cabin = run.book, run.book.grounds.craft.cabin
    volume = 0.0 if cabin is None else cabin.volume_m3
    luck, drawn = _crew_luck(run, Metabolic.CARBON_DIOXIDE)
    kelvin = float(run.way.readings.temperature_k[run.row])
    inputs = (
        *people(book, run.phase(piece)),
        *rates(book, run.phase(piece), "carbon_dioxide", 1.0 / H, "kg/h"),
        *drawn,
        gas_constant(),
        _warmth(book, kelvin, run.row, readings),
        published(
            "M",
            "molar mass of carbon dioxide",
            CARBON_DIOXIDE_KG_PER_MOL,
            "kg/mol",
            "conventional atomic weights, CIAAW 2021 (from memory)",
            "console/physics/constants.py",
        ),
        book.config("V", "volume of the cabin", volume, "m^3", CRAFT, "cabin.volume"),
    )
    return f"sum(n_i * r_i){luck} * R * T / (M * V)", inputs


def _warmth(book: Book, kelvin: float, row: int, readings: tuple[Input, ...]) -> Input:
    cabin = book.grounds.craft.cabin
    if not row and cabin is not None and cabin.temperature is not None:
        return book.measured(
            "T", "temperature of the cabin", cabin.temperature, kelvin, "K", CRAFT, "cabin.temperature"
        )
    how = "the cabin's temperature as read with its error in that sample, or 20 °C where it is not read"
    source = SolvedSource(how=how, arguments=readings)
    return Input(symbol="T", name="temperature of the cabin", value=kelvin, unit="K", source=source)


def _heat(run: Run, piece: int) -> tuple[str, tuple[Input, ...]]:
    """People and loads give, the hull loses: (Q + G T_out) / C."""
    book, cabin = run.book, run.book.grounds.craft.cabin
    if cabin is None or cabin.thermal is None:
        raise ValueError("a cabin without thermal data has no gain of temperature")
    thermal = cabin.thermal
    gain_w = run.of_quantity(run.way.course.forcing.gains, piece) * thermal.heat_capacity_j_per_k
    who = people(book, run.phase(piece))
    heats = rates(book, run.phase(piece), "heat", 1.0, "W")
    luck, drawn = _crew_luck(run, Metabolic.OXYGEN)
    crew_w = sum(one.value * each.value for one, each in zip(who, heats, strict=True))
    if drawn:
        crew_w *= float(np.exp(drawn[0].value * drawn[1].value))
    outside_k = _outside_k(run)
    loads_w = gain_w - crew_w - thermal.conductance_w_per_k * outside_k
    place = "cabin.thermal"
    inputs = (
        *who,
        *heats,
        *drawn,
        _loads(run, piece, loads_w),
        book.config(
            "G", "loss of the hull", thermal.conductance_w_per_k, "W/K", CRAFT, f"{place}.conductance"
        ),
        _outside(run, outside_k),
        book.config(
            "C", "heat capacity", thermal.heat_capacity_j_per_k, "J/K", CRAFT, f"{place}.heat_capacity"
        ),
    )
    return f"(sum(n_i * r_i){luck} + loads + G * outside) / C * 3600", inputs


def _outside_k(run: Run) -> float:
    gauge = run.way.gauges.outside
    if gauge is None or gauge.value_si is None:
        return 293.15
    error = run.book.grounds.draws.error(f"cabin {gauge.name}", gauge.sd_si)[run.row]
    return float(gauge.value_si + error)


def _outside(run: Run, kelvin: float) -> Input:
    cabin = run.book.grounds.craft.cabin
    if cabin is None or cabin.thermal is None:
        raise ValueError("a cabin without thermal data has no outside")
    one = run.book.measured(
        "outside",
        "temperature outside",
        cabin.thermal.outside,
        kelvin,
        "K",
        CRAFT,
        "cabin.thermal.outside",
    )
    if not run.row or cabin.thermal.outside.channel is None:
        return one
    source = SolvedSource(how="as read, with its error in that sample", arguments=(one,))
    return Input(symbol="outside", name="temperature outside", value=kelvin, unit="K", source=source)


def _loads(run: Run, piece: int, watts: float) -> Input:
    """What the loads leave as heat, as long as what they draw from lasts."""
    book, use = run.book, run.book.grounds.ahead.use
    name = f"heat of the loads in piece {piece + 1}"
    if run.clock.supposition is Supposition.NO_POWER or not watts:
        why = "none runs, or none leaves heat" if not watts else "what runs on what has not stopped"
        return Input(symbol="loads", name=name, value=watts, unit="W", source=AssumptionSource(text=why))
    number = int(np.searchsorted(use.starts_s, run.start_s(piece), side="right"))
    powered = next((load.supply for load in book.grounds.craft.loads.values()), None)
    arguments: tuple[Input, ...] = ()
    if number >= 1 and powered is not None:
        arguments = (book.figure("all", *supply_keys(powered), "segments", str(number), "heat_of_loads"),)
        if not run.row and abs(arguments[0].value - watts) <= 1e-9 * watts:
            return book.figure("loads", *supply_keys(powered), "segments", str(number), "heat_of_loads")
    how = "the heat of all loads, less those whose supply has run out, with the sample's factor of the loads"
    return Input(
        symbol="loads", name=name, value=watts, unit="W", source=SolvedSource(how=how, arguments=arguments)
    )


def _decay(run: Run, keys: Keys, piece: int, readings: tuple[Input, ...]) -> Explanation:
    value = run.of_quantity(run.way.course.forcing.decays, piece) * H
    title = f"share of the {_word(run)} that goes in an hour, piece {piece + 1}"
    cabin = run.book.grounds.craft.cabin
    if value == 0.0 or cabin is None:
        return run.book.explanation(keys, run.row, title, 0.0, "1/h", "0", (), ("nothing takes it away",))
    if _is_warmth(run):
        return _hull(run, keys, value, title)
    removal, leaks = cabin.removal, value
    inputs: tuple[Input, ...] = ()
    text = "leak"
    is_removed = not bool(
        np.broadcast_to(run.way.course.forcing.dioxide_leaks, run.way.course.cools_to_k.shape)[
            (piece, *run.place)
        ]
    )
    if removal is not None and is_removed:
        stream = removal.flow_m3_per_s * removal.efficiency_fraction / cabin.volume_m3 * H
        leaks, text = value - stream, "leak + F * e / V"
        place = "cabin.removal"
        inputs = (
            run.book.config(
                "F", "flow through the absorbent", removal.flow_m3_per_s * H, "m^3/h", CRAFT, f"{place}.flow"
            ),
            run.book.config(
                "e", "share that stays in it", removal.efficiency_fraction, "1", CRAFT, f"{place}.efficiency"
            ),
            run.book.config("V", "volume of the cabin", cabin.volume_m3, "m^3", CRAFT, "cabin.volume"),
        )
    how = "what leaks over the mass of the cabin's air, both as read (console/physics/cabin_air.py)"
    leak = Input(
        symbol="leak",
        name="share of the air that leaks in an hour",
        value=leaks,
        unit="1/h",
        source=SolvedSource(how=how, arguments=readings),
    )
    return run.book.explanation(keys, run.row, title, value, "1/h", text, (leak, *inputs))


def _hull(run: Run, keys: Keys, value: float, title: str) -> Explanation:
    """G / C."""
    cabin = run.book.grounds.craft.cabin
    if cabin is None or cabin.thermal is None:
        raise ValueError("a cabin without thermal data loses no warmth")
    thermal, place = cabin.thermal, "cabin.thermal"
    inputs = (
        run.book.config(
            "G", "loss of the hull", thermal.conductance_w_per_k, "W/K", CRAFT, f"{place}.conductance"
        ),
        run.book.config(
            "C", "heat capacity", thermal.heat_capacity_j_per_k, "J/K", CRAFT, f"{place}.heat_capacity"
        ),
    )
    return run.book.explanation(keys, run.row, title, value, "1/h", "G / C * 3600", inputs)
