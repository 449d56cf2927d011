"""How long each supply lasts, and what comes first: the first two questions."""

from __future__ import annotations

import math
from typing import Any

from console.display import UNKNOWN, amount_text, rate_text
from console.engine.briefing import Briefing
from console.engine.first_end import EndKind, FirstEnd, first_end, unknown_ends
from console.engine.snapshot import CabinClock, ClockState, Snapshot, SupplyStatus, Supposition
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.words import (
    clock_words,
    lasting_words,
    listed,
    low_and_central,
    margin_words,
    margins_said,
    sentence,
)
from console.report.json_values import hours, interval, maybe, utc
from console.report.moments import moment_text


def lasting(briefing: Briefing) -> Answer:
    """How long each supply lasts."""
    snapshot = briefing.snapshot
    supplies = sorted(snapshot.supplies.values(), key=_low_s)
    return Answer(
        head="Lasts",
        question="How long does each supply last?",
        short=sentence(f"{_line(supplies, 6)} (low end, under the plan)"),
        shorter=sentence(f"{_line(supplies, 2)} (low end)"),
        sentences=tuple(each for supply in supplies for each in _sentences(supply))
        or ("There are no supplies.",),
        assumptions=(
            grounds.plan_is_followed(snapshot),
            *grounds.by_model_words(snapshot),
            *grounds.people_words(briefing),
            *grounds.pooled_words(snapshot),
            grounds.LEAK_STAYS,
        ),
        confidence=grounds.confidence(
            snapshot, grounds.qualities(snapshot), rests_on_model=bool(grounds.by_model(snapshot))
        ),
        figures={"supplies": {supply.name: _figures(snapshot, supply) for supply in supplies}},
    )


def first(briefing: Briefing) -> Answer:
    """What the limit is."""
    snapshot = briefing.snapshot
    found = first_end(snapshot)
    unknown = unknown_ends(snapshot)
    beside = f"Not known, and could come earlier: {listed(unknown)}." if unknown else ""
    if found is None:
        said = f"It is not known what comes first. {beside}".strip()
        sentences: tuple[str, ...] = (said,)
        short = shorter = said
    else:
        shorter = sentence(f"{_end_name(found)}{_at_low(found)}")
        shorter += f" Not known: {listed(unknown, 2)}." if unknown else ""
        after = ends_after(snapshot, found)[:1]
        short = " ".join((shorter, *(f"Next {name}, {margin_words(low)}." for low, name in after)))
        sentences = tuple(filter(None, (*_first_sentences(snapshot, found), *_next(snapshot, found), beside)))
    behind = () if found is None or found.clock is None else (found.clock.quality,)
    return Answer(
        head="First",
        question="What is the limit?",
        short=short,
        shorter=shorter,
        sentences=sentences,
        assumptions=(grounds.plan_is_followed(snapshot), *_limit_grounds(found)),
        confidence=grounds.confidence(
            snapshot,
            (*grounds.qualities(snapshot), *behind),
            rests_on_model=bool(grounds.by_model(snapshot)),
        ),
        figures=_first_figures(snapshot, found, unknown),
    )


def plan_clocks(snapshot: Snapshot) -> tuple[CabinClock, ...]:
    """The clocks of the cabin's limits under the plan."""
    return tuple(clock for clock in snapshot.clocks if clock.supposition is Supposition.PLAN)


def _low_s(supply: SupplyStatus) -> float:
    """What the supplies are ordered by: what is not known first, since it could be the least."""
    if supply.endurance_plan_s is None:
        return -1.0
    low = supply.endurance_plan_s.p05
    return math.inf if low is None else low


def _line(supplies: list[SupplyStatus], most: int) -> str:
    shown = [f"{supply.name} {_low_words(supply)}" for supply in supplies[:most]]
    rest = len(supplies) - most
    return ", ".join(shown) + (f", {rest} more longer" if rest > 0 else "")


def _low_words(supply: SupplyStatus) -> str:
    plan = supply.endurance_plan_s
    return UNKNOWN if plan is None else lasting_words(plan.p05)


def _sentences(supply: SupplyStatus) -> list[str]:
    if supply.endurance_plan_s is None:
        return [sentence(f"{supply.name}: {UNKNOWN} ({supply.why})")]
    usable = amount_text(supply.usable_si, supply.unit)
    said = [f"{supply.name}: {low_and_central(supply.endurance_plan_s)} under the plan, of {usable} usable"]
    if supply.rate_now_si_per_s:
        by = "" if supply.rate_now_source is None else f" by the {_by(supply)}"
        rate = rate_text(supply.rate_now_si_per_s, supply.rate_unit)
        said.append(f"at the present rate, {rate}{by}: {low_and_central(supply.endurance_now_s)}")
    if supply.fitted_lasts_s is not None:
        said.append(
            f"what is fitted lasts {low_and_central(supply.fitted_lasts_s)}, and a spare must go in before"
        )
    return [sentence("; ".join(said))]


def _by(supply: SupplyStatus) -> str:
    return "meters" if supply.rate_now_source and supply.rate_now_source.value == "measured" else "model"


def _figures(snapshot: Snapshot, supply: SupplyStatus) -> dict[str, Any]:
    rate = maybe(supply.rate_unit.from_si)
    return {
        "usable": maybe(supply.unit.from_si)(supply.usable_si),
        "unit": supply.unit.text,
        "rate_now": rate(supply.rate_now_si_per_s),
        "rate_now_source": None if supply.rate_now_source is None else supply.rate_now_source.value,
        "rate_plan": rate(supply.rate_plan_si_per_s),
        "rate_unit": supply.rate_unit.text,
        "endurance_now_h": interval(supply.endurance_now_s, hours),
        "endurance_plan_h": interval(supply.endurance_plan_s, hours),
        "fitted_lasts_h": interval(supply.fitted_lasts_s, hours),
        "runs_out_at": utc(snapshot, supply.runs_out_at_s),
        "quality": supply.quality.value,
    }


def _end_name(found: FirstEnd) -> str:
    band = "" if found.band is None else f" [{found.band.value}]"
    return f"{_plain_name(found)}{band}"


def _plain_name(found: FirstEnd) -> str:
    return found.name if found.kind is EndKind.SUPPLY else f"cabin limit {found.name}"


def _at_low(found: FirstEnd) -> str:
    low = None if found.comes_in_s is None else found.comes_in_s.p05
    if low is None:
        return ""
    if found.clock is not None and found.clock.state is ClockState.REACHED:
        return ", passed now"
    return f", in {lasting_words(low)} at the low end"


def _first_sentences(snapshot: Snapshot, found: FirstEnd) -> list[str]:
    low = None if found.comes_in_s is None else found.comes_in_s.p05
    is_passed = found.clock is not None and found.clock.state is ClockState.REACHED
    if is_passed:
        said = [f"the cabin is beyond {found.name} now"]
    elif low is None:
        said = [f"{found.name} is the least, and does not end under the plan"]
    else:
        word = "runs out" if found.kind is EndKind.SUPPLY else "is reached"
        at = moment_text(snapshot, snapshot.at_s + low)
        said = [f"{_end_name(found)} comes first: at the low end it {word} in {lasting_words(low)}, at {at}"]
    said.append(f"against need that is {margins_said(found.margin_s)}")
    if found.kind is EndKind.SUPPLY:
        said += _largest_use(snapshot.supplies[found.name])
    return [sentence(each) for each in said]


def _largest_use(supply: SupplyStatus) -> list[str]:
    """What takes most of it now: what hurts most."""
    if not supply.rates:
        return []
    top = supply.rates[0]
    total = sum(each.rate_si_per_s for each in supply.rates)
    return [
        f"most of it goes to {top.name}: {rate_text(top.rate_si_per_s, supply.rate_unit)} of "
        f"{rate_text(total, supply.rate_unit)} by the model"
    ]


def ends_after(snapshot: Snapshot, found: FirstEnd) -> list[tuple[float, str]]:
    """The ends that come after the first, by the low end of their margin."""
    ends: list[tuple[float, str]] = []
    for supply in snapshot.supplies.values():
        if supply.margin_s is not None and supply.margin_s.p05 is not None:
            ends.append((supply.margin_s.p05, supply.name))
    for clock in plan_clocks(snapshot):
        if clock.margin_s is not None and clock.margin_s.p05 is not None:
            ends.append((clock.margin_s.p05, f"cabin limit {clock.limit.name}"))
    return [each for each in sorted(ends) if each[1] != _plain_name(found)]


def _next(snapshot: Snapshot, found: FirstEnd) -> list[str]:
    after = ends_after(snapshot, found)[:3]
    if not after:
        return []
    words = listed([f"{name} ({margin_words(low)})" for low, name in after])
    return [f"Next, by the low end of the margin: {words}."]


def _limit_grounds(found: FirstEnd | None) -> tuple[str, ...]:
    if found is None or found.clock is None:
        return ()
    clock = found.clock
    average = ", there as an average over hours, here for the moment" if clock.limit.is_average else ""
    said = (f"the limit is that of {clock.limit.source}{average}", grounds.NOT_IN_CLOCKS)
    return (*said, clock.why) if clock.why else said


def _first_figures(snapshot: Snapshot, found: FirstEnd | None, unknown: tuple[str, ...]) -> dict[str, Any]:
    if found is None:
        return {"kind": None, "name": None, "unknown": list(unknown)}
    low = None if found.comes_in_s is None else found.comes_in_s.p05
    return {
        "kind": found.kind.value,
        "name": found.name,
        "band": None if found.band is None else found.band.value,
        "margin_h": interval(found.margin_s, hours),
        "comes_in_h": interval(found.comes_in_s, hours),
        "comes_at_low": None if low is None else utc(snapshot, snapshot.at_s + low),
        "unknown": list(unknown),
        "limits": {clock.limit.name: clock_words(clock) for clock in plan_clocks(snapshot)},
    }
