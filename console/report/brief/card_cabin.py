"""The cabin on the card: each limit, the times to it, whose it is, and the rise of CO2 written out."""

from __future__ import annotations

import textwrap

from console.craft.shown import limit_unit
from console.display import Rounding, cabin_unit, figure_text
from console.engine.briefing import HandSums
from console.engine.snapshot import CabinClock, ClockState, Supposition
from console.report.brief.card_columns import Section
from console.report.brief.card_figures import WIDTH, cut, figure, hours, plain, unit_word
from console.report.brief.lasting import plan_clocks
from console.report.cabin import limit_texts
from console.units import Unit, UnitSystem, parse_unit

_STOPS = {
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
    """What CO2 does without removal: kilograms and pascals an hour, minutes to each limit."""
    rise = sums.dioxide
    if rise is None or not rise.limits:
        return Section(lines=(), least=0)
    mass = parse_unit("lb/h" if sums.snapshot.shown_in is UnitSystem.US else "kg/h")
    unit = _unit(sums, [each.clock for each in rise.limits])
    word = unit_word(unit)
    per_hour = figure(unit.from_si(rise.rise_pa_per_s * 3600.0), Rounding.UP)
    now = figure(unit.from_si(rise.now_pa), Rounding.UP)
    exhaled = figure(mass.from_si(rise.exhaled_kg_per_s), Rounding.UP)
    lines = [
        f"CO2 IF REMOVAL STOPS: {exhaled} {unit_word(mass)} = {per_hour} {word}/h; the earlier time counts"
    ]
    for each in rise.limits:
        if each.in_s <= 0.0:
            lines.append(cut(f" {each.clock.limit.name}: passed now", WIDTH))
            continue
        at = figure(unit.from_si(each.at_pa))
        minutes = figure_text(each.in_s / 60.0, 0)
        reckoned = _minutes(each.clock)
        tail = f"({at} - {now}) / {per_hour} = {minutes} min; low end {reckoned}"
        lines.append(f" {cut(each.clock.limit.name, WIDTH - len(tail) - 3)}: {tail}")
    return Section(lines=tuple(lines), least=len(lines), more="endurance margins")


def _unit(sums: HandSums, clocks: list[CabinClock]) -> Unit:
    """That of the first limit on the gas itself; shares are turned into it."""
    system = sums.snapshot.shown_in
    own = [limit_unit(clock.limit, system) for clock in clocks if not clock.limit.is_share]
    return own[0] if own else cabin_unit("carbon_dioxide", system)


def _minutes(clock: CabinClock) -> str:
    low = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return "not known" if low is None else f"{figure_text(low / 60.0, 0)} min"


def _limit_line(sums: HandSums, clock: CabinClock) -> str:
    """One line; the name gives way where it does not fit."""
    now, limit = (plain(each) for each in limit_texts(clock, sums.snapshot.shown_in))
    unit = unit_word(limit_unit(clock.limit, sums.snapshot.shown_in))
    stops = [
        f"{word} {_low(other)}"
        for other in sums.snapshot.clocks
        if other.limit is clock.limit
        and (word := _STOPS.get(other.supposition)) is not None
        and other.state is ClockState.RUNNING
    ]
    figures = f"{now.removesuffix(unit).strip()}, {limit}: {', '.join([f'plan {_low(clock)}', *stops])}"
    name = cut(clock.limit.name, max(WIDTH - len(figures) - 3, 8))
    return f" {cut(f'{name}: {figures}', WIDTH - 1)}"


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
    return Section(lines=tuple(lines), least=min(len(lines), 1), more="endurance margins")


def _low(clock: CabinClock) -> str:
    if clock.state is ClockState.REACHED:
        return "PASSED"
    if clock.state is ClockState.HELD:
        return "none"
    low = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return "?" if low is None else hours(low)
