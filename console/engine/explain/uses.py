"""What takes from a supply in one stretch of the plan: figures under ``SUPPLY.segments.N``.

Segments are those of the plan's uses: between two of them a load, a store or a person's activity changes.
"""

from __future__ import annotations

from console.craft.model import HeatSource, Metabolic, Supply, Use
from console.engine.draws import Floats
from console.engine.evidence.luck import UNLOGGED
from console.engine.explain.bank import capacity_figure, rate_effect
from console.engine.explain.book import Book, published, series, summed
from console.engine.explain.crew import people, rates
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.expression import evaluate
from console.engine.explain.grounds import CRAFT
from console.engine.explain.leaks import hole_equation, leak_equation
from console.engine.explain.learnt import changes_of
from console.engine.explain.learnt_lines import (
    learnt_in,
    load_correction,
    luck_of_loads,
    sampled_line,
    unlogged,
    unlogged_in,
    with_correction,
    with_course,
)
from console.engine.explain.loads import load_draw
from console.engine.explain.luck import factors
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys
from console.engine.explain.stretch import Equation, Stretch
from console.engine.planned_rate import RATE_EFFECT
from console.engine.planned_use import LineKey
from console.engine.snapshot import LineKind
from console.physics.cooling import latent_heat_j_per_kg
from console.units import Dimension


def segment_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.segments.N.…``; ``keys`` are those behind ``segments``."""
    if not keys[0].isascii() or not keys[0].isdecimal():
        return None
    number = int(keys[0])
    if not 1 <= number <= len(book.grounds.ahead.use.starts_s):
        return None
    stretch = Stretch(book=book, supply=supply, number=number)
    match keys[1:]:
        case ("starts",):
            one = moment(book, "t", stretch.start_s)
            return book.leaf((*stretch.keys, "starts"), 0, f"start of segment {number}", one)
        case ("rate",):
            return _total(stretch, row)
        case ("draw",):
            return _draw(stretch, keys[1])
        case ("draw_known",):
            return _draw(stretch, keys[1])
        case ("unlogged",):
            return unlogged_in(stretch, row)
        case ("luck_of_loads",):
            return luck_of_loads(stretch, row)
        case ("heat_of_loads",):
            return _heat(stretch)
        case ("capacity",):
            return capacity_figure(stretch)
        case ("uses", name) if name in stretch.lines:
            return _line(stretch, name, row)
    return None


def _total(stretch: Stretch, row: int) -> Explanation:
    book, amounts = stretch.book, stretch.amounts
    lines = series("l", _lines(stretch, row))
    value = _total_si_per_s(stretch, row)
    title = f"rate of {stretch.supply.name} in segment {stretch.number}, {stretch.phase.name}"
    text = summed("l", lines)
    if row and value == 0.0 and lines and learnt_in(stretch) is not None:
        text = f"max(0, {text})"
    keys = (*stretch.keys, "rate")
    return book.explanation(keys, row, title, amounts.rate(value), amounts.rate_unit, text, lines)


def _lines(stretch: Stretch, row: int) -> list[Input]:
    """Every line that takes anything; of a sample with what nobody logged, whatever the central case says."""
    learnt = learnt_in(stretch) if row else None
    names = [name for name in stretch.running if learnt is None or stretch.lines[name][1].name != UNLOGGED]
    found = [_line_input(stretch, name, row) for name in names]
    if learnt is not None and changes_of(learnt, row):
        found.append(stretch.book.figure("l", *stretch.keys, "unlogged", row=row))
    return found


def _total_si_per_s(stretch: Stretch, row: int) -> float:
    """The engine's own sum; of a sample, from its table."""
    use = stretch.grounds.ahead.use
    if row == 0:
        return use.supplies[stretch.supply.name].total_si_per_s(stretch.number - 1)
    kept: dict[str, Floats] = stretch.book.kept.setdefault("sampled rates", {})
    if stretch.supply.name not in kept:
        kept[stretch.supply.name] = use.sampled_si_per_s(stretch.supply.name, stretch.grounds.draws)
    return float(kept[stretch.supply.name][row, stretch.number - 1])


def _line_input(stretch: Stretch, name: str, row: int) -> Input:
    return stretch.book.figure("l", *stretch.keys, "uses", name, row=row)


def _draw(stretch: Stretch, figure: str) -> Explanation:
    """What is drawn, without what batteries lose by it; ``draw_known`` also without what nobody logged."""
    without = (RATE_EFFECT,) if figure == "draw" else (RATE_EFFECT, UNLOGGED)
    names = [name for name in stretch.running if stretch.lines[name][1].name not in without]
    lines = series("l", (_line_input(stretch, name, 0) for name in names))
    use = stretch.grounds.ahead.use.supplies[stretch.supply.name]
    index = stretch.number - 1
    value = use.total_si_per_s(index) - sum(use.line_si_per_s(name, index) for name in without)
    title = f"draw on {stretch.supply.name} in segment {stretch.number}, {stretch.phase.name}"
    amounts = stretch.amounts
    return stretch.book.explanation(
        (*stretch.keys, figure),
        0,
        title,
        amounts.rate(value),
        amounts.rate_unit,
        summed("l", lines),
        lines,
        ("without what batteries lose by giving faster than rated",),
    )


def _line(stretch: Stretch, name: str, row: int) -> Explanation:
    book, amounts = stretch.book, stretch.amounts
    index, line = stretch.lines[name]
    keys = (*stretch.keys, "uses", name)
    value = amounts.rate(stretch.rate_si_per_s(index))
    title = f"{name}, {stretch.phase.name}"
    learnt = learnt_in(stretch)
    if row and learnt is not None:
        text, inputs, remarks = sampled_line(stretch, learnt, line, keys, row)
        value = evaluate(text, {one.symbol: one.value for one in inputs})
        return book.explanation(keys, row, title, value, amounts.rate_unit, text, inputs, remarks)
    if row:
        found = factors(book, line.factors, row)
        for one in found:
            value *= one.value
        text = " * ".join(("rate", *(one.symbol for one in found)))
        inputs = (book.figure("rate", *keys), *found)
        return book.explanation(keys, row, title, value, amounts.rate_unit, text, inputs)
    if line.kind is LineKind.LOAD:
        load = stretch.grounds.craft.loads[line.name]
        correction = None if learnt is None else load_correction(learnt, load.name)
        return load_draw(book, keys, load, stretch.start_s, correction)
    text, inputs, remarks = _equation(stretch, line, value)
    return book.explanation(keys, row, title, value, amounts.rate_unit, text, inputs, remarks)


def _equation(stretch: Stretch, line: LineKey, value: float) -> Equation:
    if line.name == RATE_EFFECT:
        return rate_effect(stretch)
    learnt = learnt_in(stretch)
    if line.name == UNLOGGED and learnt is not None:
        return unlogged(stretch, learnt, 0)
    for use in stretch.grounds.craft.uses:
        if use.supply != stretch.supply.name:
            continue
        found: Equation | None = None
        if use.name == line.name:
            found = _use(stretch, use) if value else ("0", (), ("takes nothing in this segment",))
        for source in use.evaporates_heat_of:
            if line.name == f"{use.name}, heat of {source.value}":
                found = _cooling(stretch, use, source)
        if found is not None:
            if learnt is None or not value:
                return found
            return with_course(stretch, line, value, with_correction(learnt, use.name, found))
    raise ValueError(f"no use {line.name} of {stretch.supply.name}")


def _use(stretch: Stretch, use: Use) -> Equation:
    """A use that has one rate."""
    book, amounts, place = stretch.book, stretch.amounts, f"uses.{use.name}"
    if use.rate_si_per_s is not None:
        rate = amounts.rate(use.rate_si_per_s)
        return "r", (book.config("r", use.name, rate, amounts.rate_unit, CRAFT, f"{place}.rate"),), ()
    if use.per_person_si_per_s is not None:
        rate = amounts.rate(use.per_person_si_per_s)
        name = f"{use.name} of one person"
        each = book.config("r", name, rate, amounts.rate_unit, CRAFT, f"{place}.per_person")
        return "r * sum(n_i)", (each, *people(book, stretch.phase)), ()
    if use.metabolic is not None:
        return _metabolic(stretch, use.metabolic)
    if use.hole_m2 is not None:
        return hole_equation(stretch, use, use.hole_m2)
    return leak_equation(stretch, use)


def _metabolic(stretch: Stretch, what: Metabolic) -> Equation:
    """People by activity times what one takes or gives."""
    unit = stretch.supply.rate_unit
    factor, text = unit.factor, unit.text
    behind: str = ""
    extra: tuple[Input, ...] = ()
    if stretch.supply.dimension is Dimension.VOLUME:
        behind, extra = stretch.amounts.of_mass(rate=True)
        factor, text = 1.0, "kg/s"
    who = people(stretch.book, stretch.phase)
    each = rates(stretch.book, stretch.phase, what.value, factor, text)
    return f"sum(n_i * r_i){behind}", (*who, *each, *extra), ()


def _cooling(stretch: Stretch, use: Use, source: HeatSource) -> Equation:
    """Heat over the latent heat of the water."""
    book, unit = stretch.book, stretch.supply.rate_unit
    temperature = book.config(
        "T",
        f"temperature of the water fed to {use.name}",
        use.feed_temperature_k,
        "K",
        CRAFT,
        f"uses.{use.name}.feed_temperature",
        "20 °C",
    )
    latent = published(
        "L",
        f"latent heat of water at {use.feed_temperature_k:.2f} K",
        latent_heat_j_per_kg(use.feed_temperature_k) * unit.factor,
        f"W per {unit.text}",
        "IAPWS-95 (Wagner and Pruss, J. Phys. Chem. Ref. Data 31, 2002)",
        "console/physics/cooling.py",
        (temperature,),
    )
    if source is HeatSource.CREW:
        who = people(book, stretch.phase)
        heat = rates(book, stretch.phase, "heat", 1.0, "W")
        return "sum(n_i * r_i) / L", (*who, *heat, latent), ()
    return "heat / L", (book.figure("heat", *stretch.keys, "heat_of_loads"), latent), ()


def _heat(stretch: Stretch) -> Explanation:
    """What the loads leave as heat."""
    book, craft = stretch.book, stretch.grounds.craft
    states = stretch.grounds.ahead.configuration.loads_at(stretch.start_s)
    drawing = [
        load
        for load in craft.loads.values()
        if load.draw_si_per_s(states[load.name].state) and load.heat_fraction
    ]
    draws, volts, shares = [], [], []
    watts = 0.0
    for load in drawing:
        supply = craft.supplies[load.supply]
        per_unit = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.CHARGE else 1.0
        there = Stretch(book=book, supply=supply, number=stretch.number)
        index, _ = there.lines[_line_of(there, load.name)]
        watts += there.rate_si_per_s(index) * per_unit * load.heat_fraction
        draws.append(_line_input(there, _line_of(there, load.name), 0))
        volts.append(_volts(book, supply, per_unit))
        shares.append(_heat_share(book, load.name, load.heat_fraction))
    inputs = (*series("d", draws), *series("v", volts), *series("x", shares))
    text = "sum(d_i * v_i * x_i)" if drawing else "0"
    title = f"heat of the loads in segment {stretch.number}, {stretch.phase.name}"
    return book.explanation((*stretch.keys, "heat_of_loads"), 0, title, watts, "W", text, inputs)


def _line_of(stretch: Stretch, load: str) -> str:
    return next(
        name for name, (_, key) in stretch.lines.items() if key.kind is LineKind.LOAD and key.name == load
    )


def _volts(book: Book, supply: Supply, per_unit: float) -> Input:
    factor = supply.rate_unit.factor
    if supply.dimension is Dimension.CHARGE:
        key = f"supplies.{supply.name}.bus_voltage"
        return book.config("v", f"bus voltage of {supply.name}", per_unit * factor, "V", CRAFT, key)
    unit = supply.rate_unit.text
    return published("v", f"watts in one {unit}", factor, "W", "SI Brochure", "console/units.txt")


def _heat_share(book: Book, load: str, fraction: float) -> Input:
    name = f"share of {load} that cooling must carry away"
    return book.config("x", name, fraction, "1", CRAFT, f"loads.{load}.heat", "all of it")
