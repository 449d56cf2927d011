"""The cabin of a Snapshot as lines of plain text: what is read, and the clocks to its limits."""

from __future__ import annotations

from collections.abc import Sequence

from console.craft.cabin import LimitSide
from console.craft.shown import limit_unit
from console.display import (
    UNKNOWN,
    Rounding,
    age_text,
    amount_text,
    cabin_text,
    cabin_unit,
    hours_figure,
    hours_text,
    margin_text,
)
from console.engine.cabin.matters import AVERAGE_REMARK
from console.engine.reading import CabinReading, Quality
from console.engine.snapshot import CabinClock, ClockState, Snapshot, Supposition
from console.report.columns import folded, wrapped, wrapped_parts
from console.units import Unit, UnitSystem

NOT_REACHED = "not reached"


def cabin_lines(snapshot: Snapshot) -> list[str]:
    """What the cabin is, each limit under the plan, what is left if something stopped, the sources."""
    lines = _reading_lines(snapshot)
    if not snapshot.clocks:
        return lines
    return [
        *lines,
        "",
        "Cabin limits under the plan, in hours from now; the margin is the low end's.",
        *folded(_limit_rows(snapshot)),
        "",
        *_supposed_lines(snapshot),
        *_source_lines(snapshot),
    ]


def reading_unit(reading: CabinReading, system: UnitSystem) -> Unit:
    """The unit in which a reading of the cabin is shown."""
    return cabin_unit(reading.name, system, written=reading.unit, is_share=reading.is_share)


def limit_texts(clock: CabinClock, system: UnitSystem) -> tuple[str, str]:
    """The property now, rounded towards its limit, and the limit with its side."""
    limit, unit = clock.limit, limit_unit(clock.limit, system)
    worse = Rounding.UP if limit.side is LimitSide.ABOVE else Rounding.DOWN
    now = cabin_text(limit.of.value, clock.now_si, unit, worse)
    return now, f"{limit.side.value} {amount_text(limit.at_si, unit, Rounding.NEAREST)}"


def cabin_remarks(snapshot: Snapshot) -> list[str]:
    """What must be told beside the limits under the plan, each sentence once, with the limits it is about.

    What a clock that runs on a supposition rests on is in that supposition; the JSON has it all.
    """
    about: dict[str, dict[str, None]] = {}
    for clock in snapshot.clocks:
        if clock.supposition in (Supposition.PLAN, Supposition.TREND):
            for sentence in filter(None, clock.why.split("; ")):
                if not sentence.endswith(AVERAGE_REMARK):  # the line of its source says so
                    about.setdefault(sentence, {})[clock.limit.name] = None
    return [f"{', '.join(names)}: {sentence}" for sentence, names in about.items()]


def _reading_lines(snapshot: Snapshot) -> list[str]:
    parts = []
    for reading in snapshot.cabin:
        text = cabin_text(reading.name, reading.value_si, reading_unit(reading, snapshot.shown_in))
        if reading.quality is not Quality.GOOD:
            age = "" if reading.age_s is None else f", {age_text(reading.age_s)} old"
            text += f" ({reading.quality.value}{age})"
        parts.append(f"{reading.name.replace('_', ' ')} {text}")
    return wrapped_parts("Cabin: ", parts) if parts else []


def _limit_rows(snapshot: Snapshot) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = [("cabin limit", "now", "limit", "low h", "central h", "margin h", "band")]
    for clock in snapshot.clocks:
        if clock.supposition is Supposition.PLAN:
            name = clock.limit.name
            if clock.quality is not Quality.GOOD:
                name += f" ({clock.quality.value})"
            rows.append((name, *limit_texts(clock, snapshot.shown_in), *_plan_cells(clock)))
    return rows


def _plan_cells(clock: CabinClock) -> tuple[str, str, str, str]:
    """Low end, central, margin of the low end, band."""
    band = "" if clock.band is None else clock.band.value
    margin = "" if clock.margin_s is None else _end(clock.margin_s.p05, signed=True)
    if clock.state is ClockState.REACHED:
        return "passed", "passed", margin, band
    if clock.state is ClockState.HELD:
        return NOT_REACHED, NOT_REACHED, margin, band
    if clock.reached_in_s is None or clock.state is ClockState.UNKNOWN:
        return UNKNOWN, UNKNOWN, margin, band or UNKNOWN
    return _end(clock.reached_in_s.p05), _end(clock.reached_in_s.p50), margin, band


def _end(seconds: float | None, *, signed: bool = False) -> str:
    return NOT_REACHED if seconds is None else hours_figure(seconds, signed=signed)


def _supposed_lines(snapshot: Snapshot) -> list[str]:
    """For each limit, its clocks other than the plan's, in one sentence."""
    said: dict[str, list[str]] = {}
    for clock in snapshot.clocks:
        if clock.supposition is not Supposition.PLAN:
            words = said.setdefault(clock.limit.name, [])
            if (sentence := supposed_text(clock)) not in words:
                words.append(sentence)
    return [line for name, words in said.items() for line in wrapped_parts(f"{name}: ", words)]


def supposed_text(clock: CabinClock) -> str:
    """When the limit is reached on the clock's supposition: ``4.1 h if CO2 removal stopped now``."""
    supposed, reached = clock.supposition.value, clock.reached_in_s
    if clock.state is ClockState.REACHED:
        return "passed now"
    if clock.state is ClockState.HELD:
        return f"{NOT_REACHED} {supposed}"
    if reached is None or clock.state is ClockState.UNKNOWN:
        return f"{UNKNOWN} {supposed}"
    central = NOT_REACHED if reached.p50 is None else hours_text(reached.p50)
    if reached.p05 is None:
        return f"{NOT_REACHED} {supposed}"
    sentence = f"{hours_text(reached.p05)} {supposed} (central {central})"
    if clock.margin_s is not None and clock.margin_s.p05 is not None:
        band = "" if clock.band is None else f" [{clock.band.value}]"
        sentence += f", {margin_text(clock.margin_s.p05)}{band}"
    return sentence


def _source_lines(snapshot: Snapshot) -> list[str]:
    """Who says each limit; a document's limits together."""
    lines = []
    for limit in {clock.limit.name: clock.limit for clock in snapshot.clocks}.values():
        average = " (there an average over hours; here the moment counts)" if limit.is_average else ""
        lines.extend(wrapped(f"source of {limit.name}: {limit.source}{average}"))
    return lines
