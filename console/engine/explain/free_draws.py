"""What may be drawn in the free phases, and what that costs the stores.

    A = (left + sum(r_i * d_i)) / sum(d_i)

left: what the plan leaves at need, or just before the moment that holds the allowance down. r_i, d_i: the
plan's rate and the time of every free segment until then. Where a battery loses by its rate, A is what the
draw may cost.
"""

from __future__ import annotations

import math

import numpy as np

from console.engine.draws import Floats
from console.engine.explain.bank import draw_of_cost
from console.engine.explain.book import assumed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.free_times import FreePhases, not_had, rates_and_times, until
from console.engine.explain.luck import end_of
from console.engine.explain.outcomes import left_at
from console.engine.explain.paths import Keys
from console.engine.forecast import Course
from console.engine.snapshot import RateSource


def draw_figure(one: FreePhases, keys: Keys) -> Explanation | None:
    """Draws, and what they cost the stores."""
    profile = one.profile
    match keys:
        case ("present",):
            rate = one.book.figure("rate", *one.home, "rate_now")
            place = (*one.keys, "present")
            return one.book.explanation(place, 0, "drawn now", rate.value, rate.unit, "rate", (rate,))
        case ("allowance",):
            title = "steady draw that may be made in the free phases"
            return _draw(one, "allowance", title, profile.allowance_si_per_s, "cost")
        case ("allowance_low",):
            title = "steady draw that may be made in the free phases, by the low end of what is left"
            return _draw(one, "allowance_low", title, profile.allowance_low_si_per_s, "cost_low")
        case ("planned",):
            title = "mean draw of the plan in the free phases"
            return _draw(one, "planned", title, profile.planned_si_per_s, "planned_cost")
        case ("later",):
            falls, allowance = profile.falls_si_per_s, profile.allowance_si_per_s
            value = None if falls is None or allowance is None else allowance - falls
            return _draw(one, "later", "the same after an hour of the present draw", value, "later_cost")
        case ("falls_by_each_hour",):
            return _falls(one)
        case ("cost",):
            return _cost(one, "cost", is_low=False)
        case ("cost_low",):
            return _cost(one, "cost_low", is_low=True)
        case ("planned_cost",):
            return _planned_cost(one)
        case ("later_cost",):
            return _later_cost(one)
    return None


def _left_samples(one: FreePhases, course: Course) -> Floats:
    return course.left_si(np.full(one.book.grounds.draws.count + 1, math.nextafter(one.until_s, -math.inf)))


def left_before(one: FreePhases, row: int) -> Explanation | None:
    """What the plan leaves just before the moment that holds the allowance down."""
    if one.profile.held_down_at_s is None or one.track is None:
        return None
    at_s = math.nextafter(one.profile.held_down_at_s, -math.inf)
    text, inputs, value = left_at(one.track, at_s, until(one, "t"), row)
    title = "what the plan leaves just before then"
    return one.book.explanation((*one.keys, "left"), row, title, value, one.amounts.unit, text, inputs)


def _left(one: FreePhases, *, is_low: bool) -> tuple[Input, str]:
    """What the plan leaves by then, and which sample that is."""
    grounds = one.book.grounds
    outlook, now_s = grounds.ahead.supplies[one.supply.name].outlook, grounds.at_s
    if outlook.course is None or outlook.need_s is None:
        raise ValueError(f"what {one.supply.name} holds is not known")
    if one.profile.held_down_at_s is not None:
        keys: Keys = (*one.keys, "left")
        samples = _left_samples(one, outlook.course)
    else:
        keys = (*one.home, "left_at_need")
        samples = outlook.course.left_si(np.maximum(outlook.need_s, now_s))
    found = end_of(samples, "p05" if is_low else "p50")
    return one.book.figure("left", *keys, row=found.row), found.said


def _cost(one: FreePhases, figure: str, *, is_low: bool) -> Explanation:
    """(left + sum(r_i * d_i)) / sum(d_i)."""
    amounts = one.amounts
    title = "what the stores may lose per time in the free phases"
    if one.profile.allowance_si_per_s is None:
        return not_had(one, figure, title, amounts.rate_unit)
    left, said = _left(one, is_low=is_low)
    numbers = one.segments(one.until_s, is_free=True)
    inputs = (left, *rates_and_times(one, numbers, "r", "d", "free_phases"), *amounts.factor)
    taken = math.fsum(each.value * other.value for each, other in _pairs(inputs, len(numbers)))
    hours = math.fsum(other.value for _, other in _pairs(inputs, len(numbers)))
    value = (left.value + taken / amounts.hours_of) / hours * amounts.hours_of
    draw_si = one.profile.allowance_low_si_per_s if is_low else one.profile.allowance_si_per_s
    draw = amounts.rate(draw_si or 0.0)
    # Where no battery loses by its rate the draw is the cost, to the last figure.
    value = draw if math.isclose(value, draw, rel_tol=1e-10, abs_tol=1e-12) else value
    text = f"(left + sum(r_i * d_i){amounts.times}) / sum(d_i){amounts.over}"
    place = (*one.keys, figure)
    return one.book.explanation(place, 0, title, value, amounts.rate_unit, text, inputs, (said,))


def _pairs(inputs: tuple[Input, ...], count: int) -> list[tuple[Input, Input]]:
    """Rates and times of the same segments, behind the first input."""
    return list(zip(inputs[1 : 1 + count], inputs[1 + count : 1 + 2 * count], strict=True))


def _planned_cost(one: FreePhases) -> Explanation:
    """sum(r_i * d_i) / sum(d_i)."""
    amounts, title = one.amounts, "what the plan takes per time in the free phases"
    if one.profile.planned_si_per_s is None:
        return not_had(one, "planned_cost", title, amounts.rate_unit)
    numbers = one.segments(one.need_s, is_free=True)
    inputs = rates_and_times(one, numbers, "r", "d", "ledger")
    rates, times = inputs[: len(numbers)], inputs[len(numbers) :]
    taken = math.fsum(rate.value * time.value for rate, time in zip(rates, times, strict=True))
    value = taken / math.fsum(time.value for time in times)
    text = "sum(r_i * d_i) / sum(d_i)"
    return one.book.explanation((*one.keys, "planned_cost"), 0, title, value, amounts.rate_unit, text, inputs)


def _later_cost(one: FreePhases) -> Explanation:
    """Cost - (rate - cost) * 1 h / free: what an hour at the present rate leaves of it."""
    amounts, title = one.amounts, "the same after an hour of free time at the present draw"
    if one.profile.allowance_si_per_s is None:
        return not_had(one, "later_cost", title, amounts.rate_unit)
    now = one.book.grounds.ahead.supplies[one.supply.name].now
    cost = one.book.figure("cost", *one.keys, "cost")
    if now.source is RateSource.MODEL and one.track is not None:
        rate = one.track.segment_rate("rate", one.track.now, 0)
    else:
        rate = one.book.figure("rate", *one.home, "cost_now")
    free = one.book.figure("free", *one.keys, "free")
    hour = assumed("hour", "how long the present draw goes on", 1.0, "h", "the fall is shown for each hour")
    value = cost.value - (rate.value - cost.value) / free.value
    text = "cost - (rate - cost) * hour / free"
    inputs = (cost, rate, hour, free)
    return one.book.explanation((*one.keys, "later_cost"), 0, title, value, amounts.rate_unit, text, inputs)


def _falls(one: FreePhases) -> Explanation:
    amounts = one.amounts
    title = "by how much the allowance falls with each hour of free time at the present draw"
    if one.profile.falls_si_per_s is None:
        return not_had(one, "falls_by_each_hour", title, amounts.rate_unit)
    inputs = (
        one.book.figure("allowance", *one.keys, "allowance"),
        one.book.figure("later", *one.keys, "later"),
    )
    value = amounts.rate(one.profile.falls_si_per_s)
    text, place = "allowance - later", (*one.keys, "falls_by_each_hour")
    return one.book.explanation(place, 0, title, value, amounts.rate_unit, text, inputs)


def _draw(one: FreePhases, figure: str, title: str, draw_si: float | None, cost_figure: str) -> Explanation:
    """The draw that costs so much: less than the cost where batteries lose by the rate."""
    amounts = one.amounts
    if draw_si is None:
        return not_had(one, figure, title, amounts.rate_unit)
    cost, value = one.book.figure("cost", *one.keys, cost_figure), amounts.rate(draw_si)
    text, inputs = draw_of_cost(one.book, one.supply, cost, value)
    place = (*one.keys, figure)
    return one.book.explanation(place, 0, title, value, amounts.rate_unit, text, inputs)
