"""What leaks in equations: in proportion to pressure, or through a hole of known area."""

from __future__ import annotations

from console.craft.model import Fluid, Supply, Use
from console.engine.explain.book import Book, assumed, published
from console.engine.explain.explanation import Input
from console.engine.explain.gas import gas_constant
from console.engine.explain.grounds import CRAFT
from console.engine.explain.stretch import Equation, Stretch
from console.engine.leaks import COLDEST_K
from console.physics.leak import AIR, LEAKING_GASES, LeakingGas, choked_factor, critical_ratio


def leak_equation(stretch: Stretch, use: Use) -> Equation:
    """As rated, or in proportion to the pressure upstream."""
    book, amounts, place = stretch.book, stretch.amounts, f"uses.{use.name}"
    rated = book.config(
        "rated",
        f"{use.name} as rated",
        amounts.rate(use.leak_si_per_s or 0.0),
        amounts.rate_unit,
        CRAFT,
        f"{place}.leak",
    )
    if use.at_pressure_pa is None:
        return "rated", (rated,), ()
    reference = book.config(
        "p_ref",
        f"pressure at which {use.name} was rated",
        use.at_pressure_pa,
        "Pa",
        CRAFT,
        f"{place}.at_pressure",
    )
    pressure, text = _upstream_pressure(book, use, reference)
    remarks = ("in proportion to pressure: choked flow (common practice, no source)",)
    return f"rated * {text} / p_ref", (rated, *pressure, reference), remarks


def _upstream_pressure(book: Book, use: Use, reference: Input) -> tuple[tuple[Input, ...], str]:
    """The pressure before a leak; what is not trusted counts at least as a reference."""
    before = book.grounds.known.pressure.before(use)
    if before.pressure_pa is None:
        return (), reference.symbol
    pressure = _upstream_input(book, use, "p", "pressure", before.pressure_pa, "Pa")
    if not before.is_good:
        return (pressure,), f"max(p, {reference.symbol})"
    return (pressure,), "p" if before.pressure_pa >= 0.0 else "max(0, p)"


def _upstream_input(book: Book, use: Use, symbol: str, word: str, value: float, unit: str) -> Input:
    craft = book.grounds.craft
    if use.of_store is not None:
        supply, store = craft.store(use.of_store)
        key, measured = f"supplies.{supply.name}.stores.{store.name}.{word}", getattr(store, word)
    else:
        key, measured = f"cabin.{word}", getattr(craft.cabin, word, None)
    name = f"{word} of {use.of_store or 'the cabin'}"
    if measured is None:
        return book.config(symbol, name, value, unit, CRAFT, key)
    return book.measured(symbol, name, measured, value, unit, CRAFT, key)


_FLOW = "isentropic flow of an ideal gas, any textbook of gas dynamics (from memory)"
_LEAK_MODULE = "console/physics/leak.py"


def hole_equation(stretch: Stretch, use: Use, area_m2: float) -> Equation:
    """Through a hole of known area: choked, or not."""
    book, place = stretch.book, f"uses.{use.name}"
    before = stretch.grounds.known.pressure.before(use)
    bound = assumed(
        "bound",
        "pressure counted at least",
        before.bound_pa,
        "Pa",
        before.why or "no good reading: the last one, or the most that is possible",
    )
    pressure, text = _upstream_pressure(book, use, bound)
    inputs = pressure if "bound" not in text else (*pressure, bound)
    gas = _gas_of(use, stretch.supply)
    warmth = max(COLDEST_K if before.temperature_k is None else before.temperature_k, 1.0)
    temperature = _upstream_input(book, use, "T", "temperature", warmth, "K")
    coefficient = book.config(
        "cd",
        f"discharge coefficient of {use.name}",
        use.discharge_coefficient,
        "1",
        CRAFT,
        f"{place}.discharge",
        "1 is the most that can pass",
    )
    area = book.config("a", f"area of {use.name}", area_m2, "m^2", CRAFT, f"{place}.hole")
    behind, factor = stretch.amounts.of_mass(rate=True)
    inputs = (*inputs, area, coefficient, temperature, *factor)
    upstream = max(before.at_least_pa(before.bound_pa), 0.0)
    if max(use.outside_pa, 0.0) / upstream <= critical_ratio(gas.heat_capacity_ratio):
        narrow = published("x", "factor of choked flow", choked_factor(gas), "s/m", _FLOW, _LEAK_MODULE)
        return f"cd * a * x * {text} / pow(T, 0.5){behind}", (*inputs, narrow), ("the flow is choked",)
    extra = _unchoked_inputs(book, use, gas)
    drop = f"pow(out / {text}, 2 / g) - pow(out / {text}, (g + 1) / g)"
    flux = f"pow(2 * g / ((g - 1) * R / M * T) * ({drop}), 0.5)"
    return f"cd * a * {text} * {flux}{behind}", (*inputs, *extra), ("the flow is not choked",)


def _unchoked_inputs(book: Book, use: Use, gas: LeakingGas) -> tuple[Input, ...]:
    outside = book.config(
        "out", f"pressure outside {use.name}", use.outside_pa, "Pa", CRAFT, f"uses.{use.name}.outside"
    )
    ratio = published(
        "g", "ratio of heat capacities", gas.heat_capacity_ratio, "1", "7/5, kinetic theory", _LEAK_MODULE
    )
    molar = published(
        "M",
        "molar mass",
        gas.kg_per_mol,
        "kg/mol",
        "conventional atomic weights, CIAAW 2021; dry air, ISO 2533 (from memory)",
        "console/physics/constants.py",
    )
    return outside, ratio, molar, gas_constant()


def _gas_of(use: Use, supply: Supply) -> LeakingGas:
    fluids = [store.fluid for store in supply.stores if store.name == use.of_store]
    fluid: Fluid | None = fluids[0] if fluids else None
    return AIR if use.of_store is None or fluid is None else LEAKING_GASES[fluid]
