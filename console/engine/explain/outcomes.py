"""How long a supply lasts, by how much that makes it, what is left, and what may be drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from console.craft.model import Supply
from console.display import elapsed_text
from console.engine.explain.bank import bank_cost, draw_of_cost
from console.engine.explain.book import Book, assumed
from console.engine.explain.explanation import CountSource, Explanation, Input
from console.engine.explain.kept import supply_keys
from console.engine.explain.learnt import evidence_remarks
from console.engine.explain.luck import error_input
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys, text_of
from console.engine.explain.track import Track, level_si, rate_si_per_s, runs_out
from console.engine.jumps import Jump
from console.engine.snapshot import RateSource

_NOT_KNOWN = "what is usable is not known"


def outcome_figure(
    book: Book, supply: Supply, track: Track | None, keys: Keys, row: int
) -> Explanation | None:
    """One of those figures; None for any other."""
    if len(keys) != 1 or keys[0] not in _TITLES:
        return None
    place = (*supply_keys(supply.name), *keys)
    title, unit = _TITLES[keys[0]].format(supply.name), _unit(supply, keys[0])
    if track is None:
        return book.explanation(place, row, title, None, unit, "", (), (_NOT_KNOWN,))
    planned = _PLANNED.get(keys[0])
    if planned is not None:
        one = planned(track, place, row, title)
        return replace(one, remarks=(*one.remarks, *evidence_remarks(book, supply)))
    match keys[0]:
        case "endurance_now":
            return _endurance_now(track, place, row, title)
        case "lasts_probability":
            return _probability(track, place, title)
        case "allowance":
            return _allowance(track, place, title)
    return _cost(track, place, title)


_TITLES = {
    "runs_out_at": "moment at which {} runs out under the plan",
    "endurance_plan": "time until {} runs out under the plan",
    "margin": "time by which {} outlasts the need",
    "left_at_need": "usable {} left at need",
    "endurance_now": "time for which {} lasts at the present rate",
    "lasts_probability": "share of the samples in which {} lasts until need",
    "allowance": "steady draw on {} that brings it to zero at need",
    "allowed_cost": "what the stores of {} may lose per time until need",
}


def _unit(supply: Supply, figure: str) -> str:
    if figure == "left_at_need":
        return supply.unit.text
    if figure in ("allowance", "allowed_cost"):
        return supply.rate_unit.text
    return "1" if figure == "lasts_probability" else "h"


def _endless(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    return track.book.explanation(keys, row, title, None, "h", "", (), ("it does not run out",))


def _endurance_plan(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    out_s = float(track.course.runs_out_s()[row])
    if not math.isfinite(out_s):
        return _endless(track, keys, row, title)
    value = max(out_s - track.book.grounds.at_s, 0.0) / 3600.0
    inputs = (
        track.book.figure("runs_out", *track.keys, "runs_out_at", row=row),
        track.book.figure("now", "elapsed"),
    )
    text = "runs_out - now" if value > 0.0 else "max(0, runs_out - now)"
    return track.book.explanation(keys, row, title, value, "h", text, inputs)


def _margin(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    out_s = float(track.course.runs_out_s()[row])
    if not math.isfinite(out_s):
        return _endless(track, keys, row, title)
    value = (out_s - _need_s(track, row)) / 3600.0
    inputs = (
        track.book.figure("runs_out", *track.keys, "runs_out_at", row=row),
        track.book.figure("need", "need", "at", row=row),
    )
    return track.book.explanation(keys, row, title, value, "h", "runs_out - need", inputs)


def _need_s(track: Track, row: int) -> float:
    need_s = track.book.grounds.ahead.supplies[track.supply.name].outlook.need_s
    return track.book.grounds.ahead.option.need_s if need_s is None else float(need_s[row])


def _left(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    """The level at the beginning of the step in which the need lies, less what that step takes."""
    book, now_s = track.book, track.book.grounds.at_s
    at_s = max(_need_s(track, row), now_s)
    text, inputs, value = left_at(track, at_s, book.figure("need", "need", "at", row=row), row)
    said = ("the need has passed: left is what is usable now",) if at_s == now_s else ()
    return book.explanation(keys, row, title, value, track.amounts.unit, text, inputs, said)


def left_figure(track: Track, text: str, row: int) -> Explanation | None:
    """``SUPPLY.left_at.SECONDS``: what is left at a moment from now on, in seconds since the epoch."""
    try:
        at_s = float(text)
    except ValueError:
        return None
    book = track.book
    if not book.grounds.at_s <= at_s < math.inf:
        return None
    is_need = at_s == book.grounds.ahead.option.need_s
    one = book.figure("t", "need", "at") if is_need else moment(book, "t", at_s)
    text_of_it, inputs, value = left_at(track, at_s, one, row)
    title = f"usable {track.supply.name} left at {elapsed_text(at_s)}"
    place = (*track.keys, "left_at", text)
    return book.explanation(place, row, title, value, track.amounts.unit, text_of_it, inputs)


def left_at(track: Track, at_s: float, moment_of: Input, row: int) -> tuple[str, tuple[Input, ...], float]:
    """What is left at a moment from now on: the equation, its inputs and the amount.

    Args:
        track: the course.
        at_s: the moment.
        moment_of: the same as an input; left out where a step begins just then.
        row: the sample's.
    """
    step = track.step_at(at_s)
    begin_s = float(track.course.times_s[step])
    taken_si = rate_si_per_s(track.course, row, step) * (at_s - begin_s)
    value_si = level_si(track.course, row, step) - taken_si
    level = track.level("level", step, row)
    if at_s == begin_s:
        return "level", (level,), track.amounts.amount(value_si)
    inputs = (
        level,
        track.rate("rate", step, row),
        moment_of,
        track.begins("begin", step),
        *track.amounts.factor,
    )
    text = f"level - rate * ({moment_of.symbol} - begin){track.amounts.times}"
    return text, inputs, track.amounts.amount(value_si)


def _endurance_now(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    """Usable over what the present rate costs."""
    book, one = track.book, track.book.grounds.ahead.supplies[track.supply.name]
    lasts_s = math.inf if one.outlook.lasts_now_s is None else float(one.outlook.lasts_now_s[row])
    if not math.isfinite(lasts_s):
        said = ("not being used now, so no end at the present rate",)
        return book.explanation(keys, row, title, None, "h", "", (), said)
    usable = book.figure("usable", *track.keys, "usable", row=row)
    if usable.value <= 0.0:
        return book.explanation(
            keys, row, title, lasts_s / 3600.0, "h", "max(0, usable)", (usable,), ("nothing is usable",)
        )
    if one.now.source is RateSource.MODEL:
        cost = track.segment_rate("rate", track.now, row)
    else:
        cost = book.figure("rate", *track.keys, "cost_now", row=row)
    inputs = (usable, cost, *track.amounts.factor)
    text = f"usable / rate{track.amounts.over}"
    return book.explanation(keys, row, title, lasts_s / 3600.0, "h", text, inputs)


def _probability(track: Track, keys: Keys, title: str) -> Explanation:
    outlook, draws = track.book.grounds.ahead.supplies[track.supply.name].outlook, track.book.grounds.draws
    holds = track.course.runs_out_s() >= (0.0 if outlook.need_s is None else outlook.need_s)
    rows = holds[1:] if len(holds) > 1 else holds
    path = text_of((*track.book.home, *track.keys, "margin"))
    source = CountSource(path=path, which="0 or more, or without end", count=len(rows), seed=draws.seed)
    counted = Input(
        symbol="lasting",
        name="samples in which it lasts",
        value=float(np.count_nonzero(rows)),
        unit="1",
        source=source,
    )
    many = assumed("n", "samples taken", float(len(rows)), "1", "enough for steady ends (engine/assess.py)")
    value = outlook.lasts_probability
    return track.book.explanation(keys, 0, title, value, "1", "lasting / n", (counted, many))


def _cost(track: Track, keys: Keys, title: str) -> Explanation:
    """What brings usable to zero at need, or just reaches what comes on the way."""
    book, outlook = track.book, track.book.grounds.ahead.supplies[track.supply.name].outlook
    now_s = book.grounds.at_s
    unit = track.amounts.rate_unit
    if outlook.allowed_cost_si_per_s is None:
        said = ("the need has passed, and no allowance is reckoned",)
        return book.explanation(keys, 0, title, None, unit, "", (), said)
    ahead = [(number, jump) for number, jump in enumerate(outlook.jumps, start=1) if jump.at_s > now_s]
    end, counted = book.figure("need", "need", "at"), ahead
    remarks: tuple[str, ...] = ("steady until need, after the planned events",)
    if outlook.bound_by:
        last = _binding([jump for _, jump in ahead], outlook.usable_si or 0.0, now_s)
        bound = ahead[last][1]
        counted = ahead[: last + (bound.amount_si < 0.0)]
        end = moment(book, "need", bound.at_s)
        remarks = (f"held down by what must last until {outlook.bound_by}",)
    jumps = [
        book.figure(f"j_{place}", *track.keys, "jumps", str(number))
        for place, (number, _) in enumerate(counted, 1)
    ]
    inputs = (
        book.figure("usable", *track.keys, "usable"),
        *jumps,
        end,
        book.figure("now", "elapsed"),
        *track.amounts.factor,
    )
    top = "(usable + sum(j_i))" if jumps else "usable"
    text = f"{top} / (need - now){track.amounts.over}"
    value = track.amounts.rate(outlook.allowed_cost_si_per_s)
    return book.explanation(keys, 0, title, value, unit, text, inputs, remarks)


def _binding(ahead: list[Jump], usable_si: float, now_s: float) -> int:
    """Which of the jumps ahead can be reached with the least steady cost: the rule of the engine."""
    reaches, level_si = [], usable_si
    for jump in ahead:
        reaches.append((level_si + min(jump.amount_si, 0.0)) / (jump.at_s - now_s))
        level_si += jump.amount_si
    return reaches.index(min(reaches))


def _allowance(track: Track, keys: Keys, title: str) -> Explanation:
    """The draw that costs so much: less than the cost where batteries lose by the rate."""
    book, one = track.book, track.book.grounds.ahead.supplies[track.supply.name]
    unit, cost_si, draw_si = (
        track.amounts.rate_unit,
        one.outlook.allowed_cost_si_per_s,
        one.outlook.allowance_si_per_s,
    )
    if cost_si is None or draw_si is None:
        said = ("the need has passed, and no allowance is reckoned",)
        return book.explanation(keys, 0, title, None, unit, "", (), said)
    value = track.amounts.rate(draw_si)
    text, inputs = draw_of_cost(book, track.supply, book.figure("cost", *track.keys, "allowed_cost"), value)
    return book.explanation(keys, 0, title, value, unit, text, inputs)


def _runs_out(track: Track, keys: Keys, row: int, title: str) -> Explanation:
    return runs_out(track, row, keys, title)


_PLANNED: Mapping[str, Callable[[Track, Keys, int, str], Explanation]] = {
    "runs_out_at": _runs_out,
    "endurance_plan": _endurance_plan,
    "margin": _margin,
    "left_at_need": _left,
}
"""What goes by the whole course, and so by what readings over time say of the plan."""


def cost_now(track: Track, row: int) -> Explanation:
    """What the measured rate costs the stores, rate effect included."""
    book, one = track.book, track.book.grounds.ahead.supplies[track.supply.name]
    keys = (*track.keys, "cost_now")
    title = f"what the present rate costs the stores of {track.supply.name}"
    unit, amounts = track.amounts.rate_unit, track.amounts
    if row:
        central = book.figure("cost", *keys)
        error = error_input(book, f"rate of {track.supply.name}", row)
        sd = book.figure("sd", *track.keys, "rate_now_sd")
        value = amounts.rate(
            one.now.effective_si_per_s
            + float(book.grounds.draws.error(f"rate of {track.supply.name}", one.now.sd_si_per_s)[row])
        )
        return book.explanation(keys, row, title, value, unit, "cost + sd * z", (central, sd, error))
    value = amounts.rate(one.now.effective_si_per_s)
    rate = book.figure("rate", *track.keys, "rate_now")
    if one.now.effective_si_per_s == one.now.rate_si_per_s:
        return book.explanation(keys, 0, title, value, unit, "rate", (rate,))
    segment = str(book.grounds.ahead.use.now_index + 1)
    text, inputs = bank_cost(book, track.supply, one.giving, "rate", (*track.keys, "segments", segment))
    return book.explanation(keys, 0, title, value, unit, text, (rate, *inputs))
