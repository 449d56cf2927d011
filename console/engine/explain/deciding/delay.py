"""What waiting costs a way home: figures ``options.NAME.delay_cost.…``.

    (min(a_i) - min(b_i)) / over

a_i, b_i: the margins of every supply for a switch now and for one that much later.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from console.engine.explain.book import NoFigureError, another, assumed, series
from console.engine.explain.explanation import AssumptionSource, Explanation, Input
from console.engine.explain.grounds import H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, text_of
from console.engine.options import DELAY_S, LEAST_DELAY_S

if TYPE_CHECKING:
    from console.engine.explain.deciding.ways import Ways
    from console.engine.explain.figures import Figures

DELAY_FIGURES = ("low", "central", "over")
_ENDS = {"low": "p05", "central": "p50"}


def delay_figure(ways: Ways, name: str, keys: Keys) -> Explanation:
    """One of them, or a figure of the later switch behind ``later``."""
    match keys:
        case ("low" | "central",):
            return _cost(ways, name, keys[0])
        case ("over",):
            return _over(ways, name)
        case ("later", *rest) if rest and ways.found(name).delay is not None:
            return _later(ways, name).at(tuple(rest))
    raise NoFigureError(text_of((*ways.home(name), "delay_cost", *keys)))


def _none(ways: Ways, name: str, figure: str, title: str, unit: str, why: str = "") -> Explanation:
    if not why:
        committed = name == ways.plan.committed
        least = f"{LEAST_DELAY_S:g} s"
        why = (
            "waiting changes nothing: carrying on is this way home"
            if committed
            else f"no switch is possible {least} from now, or no margin is known"
        )
    path = text_of((*ways.home(name), "delay_cost", figure))
    return Explanation(path=path, title=title, value=None, unit=unit, equation="", inputs=(), remarks=(why,))


def _over(ways: Ways, name: str) -> Explanation:
    """An hour, or what is left until the way home cannot be taken any more."""
    title, delay = f"delay of {name} that is tried", ways.found(name).delay
    if delay is None:
        return _none(ways, name, "over", title, "h")
    hour = assumed("hour", "delay that is tried", DELAY_S / H, "h", "an hour (console/engine/options.py)")
    text = "hour"
    inputs: tuple[Input, ...] = (hour,)
    if delay.over_s < DELAY_S:
        end_s = ways.figures.grounds.at_s + delay.over_s
        why = "after this it cannot be taken at all: see options.NAME.open_until"
        limit = assumed("limit", "latest moment of the switch", end_s / H, "h", why)
        text, inputs = "limit - now", (limit, another("now", ways.figures.at(("elapsed",))))
    path = text_of((*ways.home(name), "delay_cost", "over"))
    return Explanation(path=path, title=title, value=delay.over_s / H, unit="h", equation=text, inputs=inputs)


def _later(ways: Ways, name: str) -> Figures:
    """The figures of the later switch."""
    delay = ways.found(name).delay
    if delay is None:
        raise NoFigureError(text_of((*ways.home(name), "delay_cost", "later")))
    at_s = ways.figures.grounds.at_s + delay.over_s
    why = f"the delay that is tried: see {text_of((*ways.home(name), 'delay_cost', 'over'))}"
    source = AssumptionSource(text=why)
    turn = Input(symbol="t", name="moment of the later switch", value=at_s / H, unit="h", source=source)
    return ways.switched(name, at_s, ("delay_cost", "later"), turn)


def _cost(ways: Ways, name: str, end: str) -> Explanation:
    delay = ways.found(name).delay
    title = f"hours of the least margin that each hour of waiting takes, {end}"
    if delay is None:
        return _none(ways, name, end, title, "h/h")
    value = delay.low if end == "low" else delay.central
    if value is None:
        return _none(ways, name, end, title, "h/h", "with or without the delay, no supply runs out")
    sides = [
        series(symbol, _margins(ways, figures, symbol, _ENDS[end]))
        for symbol, figures in (("a", ways.flown(name)), ("b", _later(ways, name)))
    ]
    inputs = (*sides[0], *sides[1], another("over", delay_figure(ways, name, ("over",))))
    path = text_of((*ways.home(name), "delay_cost", end))
    return Explanation(
        path=path,
        title=title,
        value=value,
        unit="h/h",
        equation="(min(a_i) - min(b_i)) / over",
        inputs=inputs,
        remarks=("a_i: a switch now; b_i: one that much later, whichever supply is least then",),
    )


def _margins(ways: Ways, figures: Figures, symbol: str, end: str) -> list[Input]:
    """Every margin that comes; what does not run out is not the least."""
    found = [
        figures.at((*supply_keys(supply), "margin", end)) for supply in ways.figures.grounds.craft.supplies
    ]
    return [another(symbol, one) for one in found if one.value is not None]
