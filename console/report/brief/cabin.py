"""The cabin: its limits, the time to each, the grace if removal, feed or cooling stopped: the seventh."""

from __future__ import annotations

import math

from console.craft.shown import limit_unit
from console.display import age_text, cabin_text
from console.engine.briefing import Briefing
from console.engine.reading import CabinReading, Quality
from console.engine.snapshot import CabinClock, ClockState, Snapshot, Supposition
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.lasting import plan_clocks
from console.report.brief.words import clock_words, lasting_words, listed, sentence
from console.report.cabin import limit_texts, reading_unit
from console.report.export_cabin import clock_document, reading_document
from console.units import Unit

_STOPS = (Supposition.NO_REMOVAL, Supposition.NO_FEED, Supposition.NO_COOLING, Supposition.NO_POWER)


def cabin(briefing: Briefing) -> Answer:
    """What the cabin's limits are, and how long until each."""
    snapshot = briefing.snapshot
    clocks = plan_clocks(snapshot)
    stops = [found for each in _STOPS if (found := _soonest(snapshot, each)) is not None]
    short = [_first_words(clocks)] if clocks else ["no limit of the cabin is stated"]
    short += [_grace(clock) for clock in stops[:1]]
    return Answer(
        head="Cabin",
        question="How is the cabin, and how long until its limits?",
        short=sentence("; ".join(short)),
        shorter=sentence("; ".join(short[-1:])),
        sentences=tuple(
            sentence(each)
            for each in (
                *_readings(snapshot),
                *(_limit_words(snapshot, clock) for clock in clocks),
                *_trend_words(snapshot),
                *(words for each in _STOPS for words in _stop_words(snapshot, each)),
            )
        )
        or ("The files say nothing of the cabin.",),
        assumptions=_assumptions(clocks),
        confidence=grounds.confidence(snapshot, [clock.quality for clock in clocks] or [Quality.GOOD]),
        figures={
            "readings": {
                reading.name: reading_document(reading, snapshot.shown_in) for reading in snapshot.cabin
            },
            "clocks": [clock_document(clock, snapshot.shown_in) for clock in snapshot.clocks],
        },
    )


def _reached_s(clock: CabinClock) -> float:
    if clock.state is ClockState.REACHED:
        return 0.0
    low = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return math.inf if low is None else low


def _soonest(snapshot: Snapshot, supposition: Supposition) -> CabinClock | None:
    """The limit that is reached first on a supposition; None where it reaches none."""
    return next(iter(_running(snapshot, supposition)), None)


def _running(snapshot: Snapshot, supposition: Supposition) -> list[CabinClock]:
    """The limits that lie ahead on a supposition, the soonest first."""
    ahead = [
        clock
        for clock in snapshot.clocks
        if clock.supposition is supposition and clock.state is ClockState.RUNNING
    ]
    return sorted(ahead, key=_reached_s)


def _first_words(clocks: tuple[CabinClock, ...]) -> str:
    first = min(clocks, key=_reached_s)
    if math.isinf(_reached_s(first)):
        return "no limit is reached under the plan, as far as known"
    if first.state is ClockState.REACHED:
        return f"{first.limit.name} is passed now"
    return f"{first.limit.name} first, in {lasting_words(_reached_s(first))} at the low end"


def _grace(clock: CabinClock) -> str:
    """In few words: ``if CO2 removal stopped now, the limit CO2 nominal comes in 54 min``."""
    return (
        f"{clock.supposition.value}, the limit {clock.limit.name} comes in {lasting_words(_reached_s(clock))}"
    )


def _stop_words(snapshot: Snapshot, supposition: Supposition) -> list[str]:
    """Every limit that is reached on a supposition, the soonest first."""
    found = _running(snapshot, supposition)
    if not found:
        return []
    words = listed([f"{clock.limit.name} in {lasting_words(_reached_s(clock))}" for clock in found])
    return [f"{supposition.value}, at the low end: {words}"]


def _trend_words(snapshot: Snapshot) -> list[str]:
    """What the measured trend says where it is told of: it is worse than the plan."""
    found = _running(snapshot, Supposition.TREND)
    return [
        f"{clock.supposition.value}, which is worse than the plan, {clock.limit.name} {clock_words(clock)}"
        for clock in found
    ]


def _readings(snapshot: Snapshot) -> list[str]:
    parts = []
    for reading in snapshot.cabin:
        text = cabin_text(reading.name, reading.value_si, _unit(snapshot, reading))
        if reading.quality is not Quality.GOOD:
            age = "" if reading.age_s is None else f", {age_text(reading.age_s)} old"
            text += f" ({reading.quality.value}{age})"
        parts.append(f"{reading.name.replace('_', ' ')} {text}")
    return [f"read now: {', '.join(parts)}"] if parts else []


def _unit(snapshot: Snapshot, reading: CabinReading) -> Unit:
    """That of the limits on it, so that both are said in one unit; else its own."""
    for clock in snapshot.clocks:
        if clock.limit.of.value == reading.name and clock.limit.is_share is reading.is_share:
            return limit_unit(clock.limit, snapshot.shown_in)
    return reading_unit(reading, snapshot.shown_in)


def _limit_words(snapshot: Snapshot, clock: CabinClock) -> str:
    now, limit = limit_texts(clock, snapshot.shown_in)
    band = "" if clock.band is None else f" [{clock.band.value}]"
    return f"{clock.limit.name}{band}: {now} now, limit {limit}, {clock_words(clock)} under the plan"


def _assumptions(clocks: tuple[CabinClock, ...]) -> tuple[str, ...]:
    if not clocks:
        return ()
    sources = dict.fromkeys(f"{clock.limit.name}: {clock.limit.source}" for clock in clocks)
    average = [clock.limit.name for clock in clocks if clock.limit.is_average]
    said = [
        "the air is well mixed, and people do as the plan's roster says",
        grounds.LEAK_STAYS,
        grounds.NOT_IN_CLOCKS,
        *(f"limit of {source}" for source in sources),
    ]
    if average:
        said.append(
            f"{', '.join(average)}: meant as an average over hours, taken here at the moment, which is early"
        )
    return tuple(said)
