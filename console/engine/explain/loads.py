"""What one load draws, and who put it into its state."""

from __future__ import annotations

from console.craft.model import Load, LoadState
from console.craft.plan import Phase, phase_at
from console.engine.configuration import ConfigurationChange
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, step
from console.engine.explain.explanation import AssumptionSource, Explanation, Input
from console.engine.explain.expression import evaluate
from console.engine.explain.grounds import CRAFT, Grounds
from console.engine.explain.paths import Keys

Correction = tuple[str, tuple[Input, ...]]
"""By what a draw is multiplied as measured: the equation, and its inputs."""


def load_draw(
    book: Book, keys: Keys, load: Load, at_s: float, correction: Correction | None = None
) -> Explanation:
    """What a load draws at one moment: on times duty, standby, or nothing; as listed, or as measured."""
    listed = _listed(book, keys, load, at_s)
    if correction is None:
        return listed
    text, inputs = correction
    amounts = Amounts(supply=book.grounds.craft.supplies[load.supply])
    value = (listed.value or 0.0) * evaluate(text, {one.symbol: one.value for one in inputs})
    equation, both = f"{listed.equation} * {text}", (*listed.inputs, *inputs)
    title = f"{listed.title}, as measured"
    return book.explanation(keys, 0, title, value, amounts.rate_unit, equation, both)


def _listed(book: Book, keys: Keys, load: Load, at_s: float) -> Explanation:
    grounds = book.grounds
    amounts = Amounts(supply=grounds.craft.supplies[load.supply])
    state = grounds.ahead.configuration.loads_at(at_s)[load.name].state
    value = amounts.rate(load.draw_si_per_s(state))
    title = f"draw of {load.name}, {state.value}"
    place = f"loads.{load.name}"
    in_force = load_state(book, load, at_s)
    if state is LoadState.STANDBY:
        standby = book.config(
            "standby",
            f"draw of {load.name} in standby",
            amounts.rate(load.standby_si_per_s),
            amounts.rate_unit,
            CRAFT,
            f"{place}.standby",
            "nothing is drawn in standby",
        )
        return book.explanation(
            keys, 0, title, value, amounts.rate_unit, "standby * in_standby", (standby, in_force)
        )
    on = book.config(
        "on",
        f"draw of {load.name} while on",
        amounts.rate(load.on_si_per_s),
        amounts.rate_unit,
        CRAFT,
        f"{place}.on",
    )
    duty = book.config(
        "duty",
        f"share of the time {load.name} draws",
        load.duty_fraction,
        "1",
        CRAFT,
        f"{place}.duty",
        "it runs steadily",
    )
    return book.explanation(
        keys, 0, title, value, amounts.rate_unit, "on * duty * is_on", (on, duty, in_force)
    )


def load_state(book: Book, load: Load, at_s: float) -> Input:
    """Whether it is on (or in standby): 1 or 0, with what says so."""
    grounds = book.grounds
    state = grounds.ahead.configuration.loads_at(at_s)[load.name].state
    symbol = "in_standby" if state is LoadState.STANDBY else "is_on"
    value = 0.0 if state is LoadState.OFF else 1.0
    commanded = grounds.ahead.configuration.loads_at(at_s)[load.name]
    if commanded.by_step:
        change = last_step(grounds, load.name, at_s)
        if change is not None:
            return step(symbol, f"{load.name} is {state.value}", value, "1", change)
    if grounds.ahead.configuration.is_gone(load.name, at_s):
        why = f"{load.name} was left behind with its module"
        source = AssumptionSource(text=why)
        return Input(symbol=symbol, name=f"{load.name} is off", value=value, unit="1", source=source)
    phase = phase_at(grounds.ahead.phases, at_s)
    name = f"{load.name} is {state.value} at level {phase.level} of phase {phase.name}"
    key = level_key(grounds, phase, load.name)
    return book.config(symbol, name, value, "1", CRAFT, key)


def last_step(grounds: Grounds, load: str, at_s: float) -> ConfigurationChange | None:
    """The newest step that moved a load by a moment."""
    moved = [one for one in grounds.known.changes if load in one.loads and one.at_s <= at_s]
    return max(enumerate(moved), key=lambda one: (one[1].at_s, one[0]), default=(0, None))[1]


def level_key(grounds: Grounds, phase: Phase, load: str) -> str:
    """What in craft.yaml says the state of a load at a phase's level: its own line, or that of ``like``."""
    lines = grounds.lines.get(CRAFT, {})
    own = f"levels.{phase.level}.{load}"
    if own in lines or not lines:
        return own
    like = f"levels.{phase.level}.like"
    return like if like in lines else f"levels.{phase.level}"
