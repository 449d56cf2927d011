"""A line of use where readings over time correct the model: by its measured factor, and the luck of a sample.

    central:  model * x            x: measured over modelled use
    sample:   rate * x' / x        x': the sample's own

Loads go together: theirs is the common factor plus each load's own by its part of what they take.
"""

from __future__ import annotations

from console.display import elapsed_text
from console.engine.evidence.evidence import LEAST_FACTOR
from console.engine.evidence.lines_over_time import changing_lines, lag_s
from console.engine.evidence.luck import LEAST_FACTOR as LEAST_SAMPLED
from console.engine.evidence.luck import UNLOGGED
from console.engine.evidence.modelled import load_factor
from console.engine.evidence.shapes import Candidate
from console.engine.explain.book import assumed, published, series
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.expression import evaluate
from console.engine.explain.grounds import H
from console.engine.explain.learnt import (
    Learnt,
    change_words,
    changes_of,
    factor,
    learnt_of,
    least_factor,
    probability,
    way_number,
)
from console.engine.explain.paths import Keys
from console.engine.explain.stretch import Equation, Stretch
from console.engine.planned_rate import LOADS_FACTOR, use_factor
from console.engine.planned_use import LineKey


def learnt_in(stretch: Stretch) -> Learnt | None:
    """What was learnt of a stretch's supply."""
    return learnt_of(stretch.book, stretch.supply)


def load_correction(learnt: Learnt, load: str) -> tuple[str, tuple[Input, ...]]:
    """By what the listed draw of one load is multiplied: the common factor and its own together."""
    inputs = (factor(learnt, "x", LOADS_FACTOR), factor(learnt, "y", load_factor(load)))
    text = "(x + y - 1)"
    if inputs[0].value + inputs[1].value - 1.0 < LEAST_FACTOR:
        return f"max(least, {text})", (*inputs, least_factor("least", LEAST_FACTOR))
    return text, inputs


def with_correction(learnt: Learnt, use: str, equation: Equation) -> Equation:
    """The equation of a use, times what was measured over it."""
    text, inputs, remarks = equation
    named = factor(learnt, "x_m", use_factor(use))
    if named.value < LEAST_FACTOR:
        least = least_factor("x_l", LEAST_FACTOR)
        return f"({text}) * max(x_l, x_m)", (*inputs, named, least), remarks
    return f"({text}) * x_m", (*inputs, named), remarks


def with_course(stretch: Stretch, line: LineKey, value: float, equation: Equation) -> Equation:
    """The equation of a use that changes by itself, times how it has gone on by then."""
    text, inputs, remarks = equation
    follows, leaks = changing_lines(stretch.grounds.craft, stretch.supply.name)
    plain = evaluate(text, {one.symbol: one.value for one in inputs})
    if line.name not in (*follows, *leaks) or not plain:
        return equation
    how = "by what the store still holds"
    arguments: tuple[Input, ...] = ()
    if line.name in follows:
        how = "the cabin's air follows the people with this lag, by the stream through the absorbent"
        lag_h = lag_s(stretch.grounds.craft) / H
        arguments = (published("lag", "lag of the cabin's air", lag_h, "h", _AIR, _AIR_AT),)
    said = f"{how} (console/engine/evidence/lines_over_time.py)"
    name = f"how {line.name} has gone on: mean over segment {stretch.number}"
    source = SolvedSource(how=said, arguments=arguments)
    goes_on = Input(symbol="g_t", name=name, value=value / plain, unit="1", source=source)
    return f"({text}) * g_t", (*inputs, goes_on), remarks


def sampled_line(stretch: Stretch, learnt: Learnt, line: LineKey, keys: Keys, row: int) -> Equation:
    """One line in one sample: the central rate times the luck of its factors."""
    text, inputs = "rate", [stretch.book.figure("rate", *keys)]
    for name in line.factors:
        if name == LOADS_FACTOR:
            inputs.append(stretch.book.figure("f", *stretch.keys, "luck_of_loads", row=row))
            text += " * f"
            continue
        own, middle = factor(learnt, "x", name, row), factor(learnt, "x_m", name)
        inputs += [own, middle]
        text += " * x / x_m"
        if own.value < LEAST_SAMPLED:
            inputs.append(least_factor("x_l", LEAST_SAMPLED))
            text = text.replace("* x /", "* max(x_l, x) /")
    return text, tuple(inputs), ()


def luck_of_loads(stretch: Stretch, row: int) -> Explanation | None:
    """``SUPPLY.segments.N.luck_of_loads``: one sample's factor of all loads, over the central one."""
    learnt = learnt_in(stretch)
    if learnt is None or not row:
        return None
    loads, shares = list(stretch.grounds.craft.loads), _shares(stretch)
    drawing = [(name, share) for name, share in zip(loads, shares, strict=True) if share]
    common = factor(learnt, "x", LOADS_FACTOR, row), factor(learnt, "x_m", LOADS_FACTOR)
    how = "by what each draws or leaves as heat, as listed, of what all do in this segment"
    parts = series("p", (_share(name, share, how) for name, share in drawing))
    own = series("y", (factor(learnt, "y", load_factor(name), row) for name, _ in drawing))
    middle = series("w", (factor(learnt, "w", load_factor(name)) for name, _ in drawing))
    least = least_factor("x_l", LEAST_SAMPLED)
    above = "x + sum(p_i * (y_i - 1))" if drawing else "x"
    below = "x_m + sum(p_i * (w_i - 1))" if drawing else "x_m"
    pairs = zip(drawing, own, middle, strict=True)
    tops = [(share * (y.value - 1.0), share * (w.value - 1.0)) for (_, share), y, w in pairs]
    value = max(common[0].value + sum(top for top, _ in tops), LEAST_SAMPLED)
    value /= max(common[1].value + sum(bottom for _, bottom in tops), LEAST_SAMPLED)
    title = f"loads of segment {stretch.number} in this sample, over the central case"
    text = f"max(x_l, {above}) / max(x_l, {below})"
    inputs = (*common, *parts, *own, *middle, least)
    return stretch.book.explanation((*stretch.keys, "luck_of_loads"), row, title, value, "1", text, inputs)


def _shares(stretch: Stretch) -> list[float]:
    shares = stretch.grounds.ahead.use.load_shares[stretch.supply.name]
    found: list[float] = shares[:, stretch.number - 1].tolist()
    return found


def _share(name: str, share: float, how: str) -> Input:
    source = SolvedSource(how=how)
    return Input(
        symbol="p", name=f"part of {name} in what the loads take", value=share, unit="1", source=source
    )


def unlogged_in(stretch: Stretch, row: int) -> Explanation | None:
    """``SUPPLY.segments.N.unlogged``: what nobody logged takes in one sample."""
    learnt = learnt_in(stretch)
    if learnt is None or not row:
        return None
    amounts, title = stretch.amounts, f"what nobody logged takes in segment {stretch.number}, in this sample"
    text, inputs, remarks = unlogged(stretch, learnt, row)
    value = evaluate(text, {one.symbol: one.value for one in inputs})
    keys = (*stretch.keys, "unlogged")
    return stretch.book.explanation(keys, row, title, value, amounts.rate_unit, text, inputs, remarks)


def unlogged(stretch: Stretch, learnt: Learnt, row: int) -> Equation:
    """What nobody logged: each change's rate at the newest readings times how it has gone on by then.

    In the central case it stills all known use at the most; in a sample the bound stands over the whole rate.
    """
    changes = changes_of(learnt, row)
    if not changes:
        return "0", (), ("in this sample nothing was changed that nobody logged",)
    book = stretch.book
    rates = series(
        "r",
        (book.figure("r", *learnt.keys, "changes", str(place + 1), row=row) for place in range(len(changes))),
    )
    goes_on = _goes_on(stretch, learnt, row)
    shapes = series(
        "g", (_shape(stretch, learnt, change, value) for change, value in zip(changes, goes_on, strict=True))
    )
    text, inputs = "sum(r_i * g_i)", (*rates, *shapes)
    if row:
        return text, inputs, ()
    return _bounded(stretch, text, inputs)


def _bounded(stretch: Stretch, text: str, inputs: tuple[Input, ...]) -> Equation:
    """Where it would more than still all known use."""
    known = [name for name in stretch.running if stretch.lines[name][1].name != UNLOGGED]
    rates = (stretch.book.figure("k", *stretch.keys, "uses", name) for name in known)
    lines = series("k", rates)
    value = evaluate(text, {one.symbol: one.value for one in inputs})
    if value + sum(one.value for one in lines) >= 0.0:
        return text, inputs, (_probability_words(stretch),)
    said = "it stills all known use at the most: a supply is never taken to fill itself"
    return f"max(-sum(k_i), {text})", (*inputs, *lines), (said, _probability_words(stretch))


def _probability_words(stretch: Stretch) -> str:
    learnt = learnt_in(stretch)
    return "" if learnt is None or learnt.own is None else probability(learnt.own)


def _goes_on(stretch: Stretch, learnt: Learnt, row: int) -> list[float]:
    """Each change's mean rate in this segment over its rate at the newest readings."""
    own, way = learnt.own, learnt.way_of(row)
    if own is None or way is None:
        return []
    book, use = stretch.book, stretch.grounds.ahead.use
    kept = book.kept.setdefault("shapes of changes", {})
    place = (stretch.supply.name, row)
    if place not in kept:
        number, draws = way_number(book, own, row), stretch.grounds.draws
        kept[place] = learnt.luck.goes_on(place[0], use.supplies[place[0]], use.starts_s, number, draws, row)
    found: list[float] = kept[place][:, stretch.number - 1].tolist()
    return found


def _shape(stretch: Stretch, learnt: Learnt, change: Candidate, value: float) -> Input:
    own = learnt.own
    anchor_s = stretch.grounds.at_s if own is None else own.anchor_s
    how = "1 while a steady change lasts"
    if change.of_loads:
        how = (
            "loads that stand otherwise than was logged: 1 until the plan moves the first of "
            "them, 0 after the last (console/engine/evidence/switched.py)"
        )
    arguments: tuple[Input, ...] = ()
    if change.in_proportion:
        how = "by the level and all other use: dL/dt = -r - k L (console/engine/evidence/shapes.py)"
    elif change.growth_per_s:
        how = "mean over the segment of exp(g * t) (console/engine/evidence/shapes.py)"
        grows = published("g", "growth of the change", change.growth_per_s * H, "1/h", _SHAPES, _SHAPES_AT)
        arguments = (grows,)
    begun = assumed("t_c", "when it began", change.at_s / H, "h", "the likeliest moment in this way")
    newest = assumed("t_n", "moment of the newest readings", anchor_s / H, "h", elapsed_text(anchor_s))
    name = f"how much of it there is in segment {stretch.number}: {change_words(change)}"
    source = SolvedSource(how=how, arguments=(*arguments, begun, newest))
    return Input(symbol="g", name=name, value=value, unit="1", source=source)


_SHAPES = "our own model of a fault that grows (no source)"
_SHAPES_AT = "console/engine/evidence/shapes.py"
_AIR = "balance of the cabin's air: volume over stream and efficiency"
_AIR_AT = "console/physics/cabin_air.py"
