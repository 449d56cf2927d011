"""Do we make it, and with how much: the third question. Its yes is never more than the figures say."""

from __future__ import annotations

from typing import Any

from console.display import UNKNOWN, Rounding, amount_text, figure_text, hours_text, velocity_unit
from console.engine.briefing import Briefing
from console.engine.first_end import EndKind, FirstEnd, first_end, unknown_ends
from console.engine.snapshot import Need, Snapshot, SupplyStatus
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.lasting import ends_after
from console.report.brief.words import cases_words, listed, margin_words, sentence
from console.report.json_values import hours, interval, maybe, utc
from console.report.moments import when_text


def making_it(briefing: Briefing) -> Answer:
    """Do we make it, with how much."""
    snapshot = briefing.snapshot
    need = snapshot.need
    supply = None if snapshot.shortest is None else snapshot.supplies[snapshot.shortest]
    verdict = _verdict(snapshot)
    return Answer(
        head="Do we make it",
        question="Do we make it, and with how much?",
        short=" ".join(filter(None, (sentence(verdict), _short_chance(briefing)))),
        shorter=sentence(verdict),
        sentences=tuple(
            sentence(each)
            for each in (
                f"need: {need.option}, until {when_text(snapshot, need.at_s)}",
                verdict,
                *_shortest(snapshot),
                *_chance(supply),
                *_together(briefing),
                *_left(supply),
                *_delta_v(snapshot),
            )
        ),
        assumptions=(
            f"arrival at {need.option}'s planned time, recovery {hours_text(need.recovery_s, Rounding.UP)}, "
            f"hold {hours_text(need.hold_s, Rounding.UP)}",
            grounds.plan_is_followed(snapshot),
            "cases reckoned vary gauges, rates, events and arrival within what the files state, and nothing "
            "that breaks",
            grounds.how_judged(snapshot),
        ),
        confidence=grounds.confidence(
            snapshot, grounds.qualities(snapshot), rests_on_model=bool(grounds.by_model(snapshot))
        ),
        figures=_figures(briefing, supply),
    )


def _verdict(snapshot: Snapshot) -> str:
    """Yes, no, or not by the low end; only as far as everything is known."""
    found, unknown = first_end(snapshot), unknown_ends(snapshot)
    if snapshot.need.in_s <= 0.0:
        return f"the need of {snapshot.need.option} has passed; there is no margin left to reckon"
    if found is None:
        return f"that cannot be said: {listed(unknown, 3)} not known" if unknown else "that cannot be said"
    reserve = f"; not known of {listed(unknown, 3)}" if unknown else ""
    ground = grounds.on_these_figures(snapshot)
    said = _of_end(found, ground, is_all_known=not unknown)
    return f"{said}{_also_short(snapshot, found)}{_delta_v_short(snapshot)}{reserve}"


def _also_short(snapshot: Snapshot, found: FirstEnd) -> str:
    """What is short besides the first: mending that alone is not enough."""
    short = [f"{name} {margin_words(low)}" for low, name in ends_after(snapshot, found) if low < 0.0]
    return f"; at the low end {listed(short, 3)} too" if short else ""


def _of_end(found: FirstEnd, ground: str, *, is_all_known: bool) -> str:
    low, central = found.margin_s.p05, found.margin_s.p50
    name = found.name if found.kind is EndKind.SUPPLY else f"cabin limit {found.name}"
    if low is None:
        return f"as far as is reckoned, yes: {name} does not end under the plan"
    if low >= 0.0:
        yes = f"{ground}, yes" if is_all_known else f"{ground} and of what is known, yes"
        return f"{yes}: {name} has {margin_words(low)} at the low end, {_again(central)} central"
    if central is None or central >= 0.0:
        beside = "" if ground == grounds.GOOD_GROUND else f", {ground}"
        said = f"{name} is {margin_words(low)} there; central {margin_words(central)}"
        return f"not by the low end{beside}: {said}"
    return f"no, {ground}: {name} is {margin_words(low)} at the low end, {margin_words(central)} central"


def _again(seconds: float | None) -> str:
    """A margin of the same sign as the one said before it."""
    return margin_words(seconds).removesuffix(" to spare").removesuffix(" short")


def _shortest(snapshot: Snapshot) -> list[str]:
    """The shortest supply, where a limit of the cabin comes before it."""
    found = first_end(snapshot)
    if found is None or found.kind is EndKind.SUPPLY or snapshot.shortest is None:
        return []
    margin = snapshot.supplies[snapshot.shortest].margin_s
    if margin is None or margin.p05 is None:
        return [f"the shortest supply, {snapshot.shortest}, does not run out under the plan"]
    return [
        f"the shortest supply is {snapshot.shortest}: {margin_words(margin.p05)} at the low end, "
        f"{margin_words(margin.p50)} central",
        "no chance is reckoned for limits of the cabin, only the ends of their interval",
    ]


def _chance(supply: SupplyStatus | None) -> list[str]:
    if supply is None:
        return []
    return [f"taken alone, {supply.name} lasts until need {cases_words(supply.lasts_probability)}"]


def _short_chance(briefing: Briefing) -> str:
    """Only where a supply comes first: it says nothing of the cabin, and must not comfort there."""
    found = first_end(briefing.snapshot)
    if found is None or found.kind is not EndKind.SUPPLY or briefing.all_last_probability is None:
        return ""
    beside = ", cabin limits apart" if briefing.snapshot.clocks else ""
    return sentence(f"all supplies last {cases_words(briefing.all_last_probability)}{beside}")


def _together(briefing: Briefing) -> list[str]:
    chance = briefing.all_last_probability
    if chance is None:
        return [f"of all supplies together: {UNKNOWN}, because one of them is not known"]
    beside = "; limits of the cabin are not in that count" if briefing.snapshot.clocks else ""
    return [f"all supplies together last until need {cases_words(chance)}{beside}"]


def _left(supply: SupplyStatus | None) -> list[str]:
    if supply is None or supply.left_at_need_si is None:
        return []
    low, central = (
        _left_words(end, supply) for end in (supply.left_at_need_si.p05, supply.left_at_need_si.p50)
    )
    return [f"of {supply.name}, at need, {low} at the low end, {central} central"]


def _left_words(amount_si: float | None, supply: SupplyStatus) -> str:
    """An amount below nothing is said as what is missing, rounded up."""
    if amount_si is None or amount_si >= 0.0:
        return f"{amount_text(amount_si, supply.unit)} is left"
    return f"{amount_text(-amount_si, supply.unit, Rounding.UP)} is missing"


def _lacks(need: Need, at_s: float) -> bool:
    is_ahead = need.decide_by_s is None or need.decide_by_s > at_s
    asked, left = need.delta_v_m_per_s, need.delta_v_left_m_per_s
    return is_ahead and asked is not None and left is not None and left < asked


def _delta_v_short(snapshot: Snapshot) -> str:
    return "; and there is too little delta-v" if _lacks(snapshot.need, snapshot.at_s) else ""


def _delta_v(snapshot: Snapshot) -> list[str]:
    need, unit = snapshot.need, velocity_unit(snapshot.shown_in)
    asked, left = need.delta_v_m_per_s, need.delta_v_left_m_per_s
    if asked is None:
        return []
    needed = figure_text(unit.from_si(asked), 0, Rounding.UP)
    if left is None:
        return [f"delta-v: {needed} {unit.text} asked, what is left is {UNKNOWN}"]
    there = figure_text(unit.from_si(left), 0)
    if need.decide_by_s is not None and need.decide_by_s <= snapshot.at_s:
        return [f"delta-v left: {there} {unit.text}; part of what {need.option} asks may be spent already"]
    word = "too little" if left < asked else "enough on these figures"
    return [f"delta-v: {needed} {unit.text} asked, {there} left: {word}"]


def _figures(briefing: Briefing, supply: SupplyStatus | None) -> dict[str, Any]:
    snapshot = briefing.snapshot
    need = snapshot.need
    unit = velocity_unit(snapshot.shown_in)
    return {
        "option": need.option,
        "need_at": utc(snapshot, need.at_s),
        "need_in_h": hours(need.in_s),
        "shortest": snapshot.shortest,
        "margins_h": {each.name: interval(each.margin_s, hours) for each in snapshot.supplies.values()},
        "left_at_need": None if supply is None else interval(supply.left_at_need_si, supply.unit.from_si),
        "unit": None if supply is None else supply.unit.text,
        "lasts_probability": {each.name: each.lasts_probability for each in snapshot.supplies.values()},
        "all_last_probability": briefing.all_last_probability,
        "delta_v": maybe(unit.from_si)(need.delta_v_m_per_s),
        "delta_v_left": maybe(unit.from_si)(need.delta_v_left_m_per_s),
        "delta_v_unit": unit.text,
    }
