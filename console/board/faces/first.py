"""What comes first under the plan, in the words of the headline: a supply's end or a limit of the cabin."""

from __future__ import annotations

from dataclasses import dataclass

from console.board.cells import clipped
from console.board.faces.cabin_words import (
    NOT_REACHED,
    cabin_age_s,
    grace_sentence,
    limit_text,
    limits_by_urgency,
    now_figure,
)
from console.board.faces.gauge_columns import NO_END
from console.board.faces.moments import both_at, not_current_text
from console.board.view import View
from console.display import UNKNOWN, hours_text, margin_text, probability_text
from console.engine.first_end import EndKind, FirstEnd, first_end
from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot, SupplyStatus


@dataclass(frozen=True, kw_only=True, slots=True)
class First:
    """What comes first, said in parts."""

    name: str
    title: str
    """``WATER RUNS OUT FIRST``."""
    band: Band | None
    old: str
    """Why its figures are not those of now; empty where they are."""
    when: str
    """When it comes at the low end, the one to plan on: in how many hours, UTC, elapsed."""
    others: str
    """The other ends, and how things stand now."""
    margin_s: Interval | None
    margin: str
    last: str
    """What else counts."""
    misses: str
    """What it means that the margin is short: ``ends BEFORE need``."""
    makes: str


def first_of(view: View) -> First | None:
    """What comes first; None where nothing is known to come."""
    snapshot = view.snapshot
    end = None if snapshot is None else first_end(snapshot)
    if snapshot is None or end is None:
        return None
    if end.kind is EndKind.SUPPLY or end.clock is None:
        return _of_supply(view, snapshot, snapshot.supplies[end.name])
    return _of_clock(view, snapshot, end, end.clock)


def _of_supply(view: View, snapshot: Snapshot, supply: SupplyStatus) -> First:
    plan, now = supply.endurance_plan_s, supply.endurance_now_s
    others = f"central {UNKNOWN}"
    if plan is not None:
        others = f"central {_end(plan.p50)}, high {_end(plan.p95)}"
    present = UNKNOWN if now is None else _end(now.p50)
    name = clipped(supply.name, 16, view.look.glyphs.cut).upper()
    return First(
        name=supply.name,
        title=f"{name} RUNS OUT FIRST",
        band=supply.band,
        old=not_current_text(view, supply.quality, supply.age_s),
        when=_when(snapshot, plan, "when it runs out under the plan"),
        others=f"{others}; at present rate {present}",
        margin_s=supply.margin_s,
        margin=_margin(supply.margin_s),
        last=f"chance to last until need: {probability_text(supply.lasts_probability)}",
        misses="ends BEFORE need",
        makes="lasts past need",
    )


def _of_clock(view: View, snapshot: Snapshot, end: FirstEnd, clock: CabinClock) -> First:
    name = clipped(clock.limit.name, 24, view.look.glyphs.cut).upper()
    values = f"now {now_figure(clock, snapshot.shown_in)}, {limit_text(clock.limit, snapshot.shown_in)}"
    if clock.state is ClockState.REACHED:
        title, when, others = (
            f"{name} REACHED NOW",
            f"beyond the limit: {values}",
            f"source: {clock.limit.source}",
        )
    else:
        comes = end.comes_in_s
        title, when = (
            f"{name} REACHED FIRST",
            _when(snapshot, comes, "when the limit is reached under the plan"),
        )
        central = f"central {UNKNOWN}"
        if comes is not None:
            central = f"central {_end(comes.p50, NOT_REACHED)}, high {_end(comes.p95, NOT_REACHED)}"
        others = f"{central}; {values}"
    return First(
        name=clock.limit.name,
        title=title,
        band=Band.WARNING if clock.state is ClockState.REACHED else clock.band,
        old=not_current_text(view, clock.quality, cabin_age_s(snapshot, clock.limit)),
        when=when,
        others=others,
        margin_s=end.margin_s,
        margin=_margin(end.margin_s, NOT_REACHED),
        last="; ".join(filter(None, (_grace_of(snapshot, clock), _shortest(snapshot)))),
        misses="BEFORE need",
        makes="after need",
    )


def _grace_of(snapshot: Snapshot, clock: CabinClock) -> str:
    rows = (row for row in limits_by_urgency(snapshot) if row.limit.name == clock.limit.name)
    return next((grace_sentence(row) for row in rows), "")


def _shortest(snapshot: Snapshot) -> str:
    """The supply that comes after it, in a few words."""
    supply = snapshot.supplies.get(snapshot.shortest or "")
    if supply is None or supply.margin_s is None or supply.margin_s.p05 is None:
        return ""
    return f"then {clipped(supply.name, 16)} {margin_text(supply.margin_s.p05)}"


def _when(snapshot: Snapshot, ends: Interval | None, what: str) -> str:
    if ends is None:
        return f"{what} is {UNKNOWN}"
    if ends.p05 is None:
        is_known = ends.p50 is not None or ends.p95 is not None
        return f"low end {UNKNOWN}" if is_known else "no end in sight, not even at the low end"
    return f"low end in {hours_text(ends.p05)}  {both_at(snapshot, snapshot.at_s + ends.p05)}"


def _end(seconds: float | None, never: str = NO_END) -> str:
    return never if seconds is None else hours_text(seconds)


def _margin(margin: Interval | None, never: str = NO_END) -> str:
    if margin is None:
        return f"margin to need {UNKNOWN}"
    low, central = (never if end is None else margin_text(end) for end in (margin.p05, margin.p50))
    return f"to need: low end {low}, central {central}"
