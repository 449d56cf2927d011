"""The cabin on the card: each limit, the times to it, whose it is, and the rise of CO2 written out."""

from __future__ import annotations

import math
import textwrap

from console.craft.shown import limit_unit
from console.display import Rounding, age_text, cabin_unit
from console.engine.briefing import HandSums
from console.engine.dioxide_rise import DioxideLimit, DioxideRise
from console.engine.holding import THIS_MINUTE_S
from console.engine.snapshot import CabinClock, ClockState, Supposition
from console.report.brief.card_columns import Section
from console.report.brief.card_figures import (
    HOUR_S,
    WIDTH,
    cut,
    figure,
    hours,
    plain,
    short_elapsed,
    unit_word,
)
from console.report.brief.lasting import plan_clocks
from console.report.cabin import limit_texts
from console.units import Unit, UnitSystem, parse_unit

_STOPS = {
    Supposition.TREND: "trend",
    Supposition.NO_REMOVAL: "no removal",
    Supposition.NO_FEED: "no feed",
    Supposition.NO_COOLING: "no cooling",
}


def limits_section(sums: HandSums) -> Section:
    """Each limit: now, where it lies, hours to it by the low end."""
    clocks = plan_clocks(sums.snapshot)
    if not clocks:
        return Section(lines=("CABIN: no limits are stated",), least=1)
    lines = ["CABIN LIMITS: now, limit; hours to it, low end: by the plan, if it stopped now"]
    lines += [_limit_line(sums, clock) for clock in clocks]
    return Section(lines=tuple(lines), least=len(lines), more="endurance margins")


def dioxide_section(sums: HandSums) -> Section:
    """What CO2 does without removal, counted from its reading: hours to each limit, and the moment."""
    rise = sums.dioxide
    if rise is None or not rise.limits:
        return Section(lines=(), least=0)
    mass = parse_unit("lb/h" if sums.snapshot.shown_in is UnitSystem.US else "kg/h")
    unit = _unit(sums, [each.clock for each in rise.limits])
    per_hour = figure(unit.from_si(rise.rise_pa_per_s * HOUR_S), Rounding.UP)
    exhaled = figure(mass.from_si(rise.exhaled_kg_per_s), Rounding.UP)
    age_s = _dioxide_age_s(sums)
    read_at_s = sums.snapshot.at_s - age_s
    old = f" ({age_text(age_s)} AGO: READ IT NOW)" if age_s > THIS_MINUTE_S else ""
    head = (
        f"CO2 IF REMOVAL STOPS, from its reading at {short_elapsed(read_at_s + 30.0)}{old}: {exhaled} "
        f"{unit_word(mass)} = {per_hour} {unit_word(unit)}/h now (the plan's mean to a limit if more); an "
        "earlier low end above counts"
    )
    lines = textwrap.wrap(head, WIDTH, subsequent_indent="    ")
    lines += [_dioxide_line(sums, rise, each, unit, read_at_s) for each in rise.limits]
    return Section(lines=tuple(lines), least=len(lines), more="endurance margins")


def _dioxide_line(sums: HandSums, rise: DioxideRise, one: DioxideLimit, unit: Unit, read_at_s: float) -> str:
    """The sum for one limit, no later than the engine's central case, on the early side in every figure."""
    name = one.clock.limit.name
    if one.in_s <= 0.0:
        return cut(f" {name}: passed by the reading", WIDTH)
    rate = rise.rise_pa_per_s
    central_s = None if one.clock.reached_in_s is None else one.clock.reached_in_s.p50
    if central_s:
        # Who works later breathes out more than who sleeps now.
        rate = max(rate, (one.at_pa - rise.now_pa) / central_s)
    at, now = figure(unit.from_si(one.at_pa)), figure(unit.from_si(rise.now_pa), Rounding.UP)
    per_hour = figure(unit.from_si(rate * HOUR_S), Rounding.UP)
    span_s = (float(at) - float(now)) / float(per_hour) * HOUR_S
    until_s = read_at_s + span_s
    is_over = until_s <= sums.snapshot.at_s
    until = f"until {short_elapsed(until_s)}{', OVER' if is_over else ''}"
    tail = f"({at} - {now}) / {per_hour} = {hours(span_s)} h, {until}"
    return f" {cut(name, WIDTH - len(tail) - 3)}: {tail}"


def _dioxide_age_s(sums: HandSums) -> float:
    """Of the oldest of the readings that the cabin's CO2 is made from; nothing where it is stated."""
    ages = [reading.age_s or 0.0 for reading in sums.snapshot.cabin if reading.name == "carbon_dioxide"]
    return max(ages, default=0.0)


def _unit(sums: HandSums, clocks: list[CabinClock]) -> Unit:
    """That of the first limit on the gas itself; shares are turned into it."""
    system = sums.snapshot.shown_in
    own = [limit_unit(clock.limit, system) for clock in clocks if not clock.limit.is_share]
    return own[0] if own else cabin_unit("carbon_dioxide", system)


def _limit_line(sums: HandSums, clock: CabinClock) -> str:
    """One line; the name gives way where it does not fit."""
    now, limit = (plain(each) for each in limit_texts(clock, sums.snapshot.shown_in))
    unit = unit_word(limit_unit(clock.limit, sums.snapshot.shown_in))
    stops = _stops(sums, clock)
    figures = f"{now.removesuffix(unit).strip()}, {limit}: {', '.join([f'plan {_low(clock)}', *stops])}"
    name = cut(clock.limit.name, max(WIDTH - len(figures) - 3, 8))
    return f" {cut(f'{name}: {figures}', WIDTH - 1)}"


def _stops(sums: HandSums, clock: CabinClock) -> list[str]:
    """The trend where it is told of, and what is left if something stopped; no power where that is least."""
    others = {
        other.supposition: other
        for other in sums.snapshot.clocks
        if other.limit is clock.limit and other.state is ClockState.RUNNING
    }
    said = [f"{word} {_low(others[each])}" for each, word in _STOPS.items() if each in others]
    power = others.get(Supposition.NO_POWER)
    rest = [_low_s(others[each]) for each in _STOPS if each in others and each is not Supposition.TREND]
    if power is not None and _low_s(power) < min((*rest, _low_s(clock))) - 1.0:
        said.append(f"no power {_low(power)}")
    return said


def _low_s(clock: CabinClock) -> float:
    low = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return math.inf if low is None else low


def sources_section(sums: HandSums) -> Section:
    """Whose each limit is; a document's limits together."""
    by_source: dict[str, list[str]] = {}
    for clock in plan_clocks(sums.snapshot):
        average = " (an average there)" if clock.limit.is_average else ""
        by_source.setdefault(clock.limit.source, []).append(f"{clock.limit.name}{average}")
    if not by_source:
        return Section(lines=(), least=0)
    words = " ".join(f"{plain(', '.join(names))}: {plain(source)};" for source, names in by_source.items())
    lines = textwrap.wrap(f"LIMITS BY {words.removesuffix(';')}", WIDTH, subsequent_indent="    ")
    return Section(lines=tuple(lines), least=min(len(lines), 1), more="endurance margins", rank=1)


def _low(clock: CabinClock) -> str:
    if clock.state is ClockState.REACHED:
        return "PASSED"
    if clock.state is ClockState.HELD:
        return "none"
    low = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return "?" if low is None else hours(low)
