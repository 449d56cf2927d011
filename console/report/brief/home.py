"""The ways home: margins, until when each is open, what closes it, what is committed: the sixth question."""

from __future__ import annotations

import math
from typing import Any

from console.display import UNKNOWN, Rounding, elapsed_text, figure_text, velocity_unit
from console.engine.briefing import Briefing
from console.engine.open_until import Closing
from console.engine.options import Options, WayHome
from console.engine.snapshot import Snapshot
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.words import cases_words, lasting_words, listed, margin_words, sentence
from console.report.moments import when_text
from console.report.open_words import open_sentence, open_short, stop_words
from console.report.options_export import options_document
from console.report.tables import committed_text


def ways_home(briefing: Briefing) -> Answer:
    """What the ways home are."""
    snapshot, ways = briefing.snapshot, briefing.ways
    committed = next(way for way in ways if way.is_committed)
    others = [way for way in ways if not way.is_committed]
    head = f"{committed.option.name}, {_standing(snapshot)}{_deadline(snapshot, committed)}"
    rest = listed([f"{way.option.name} {_low_words(way)}" for way in others], 3)
    return Answer(
        head="Ways home",
        question="What are the ways home?",
        short=" ".join(filter(None, (sentence(head), sentence(rest) if others else ""))),
        shorter=sentence(
            f"{committed.option.name}{_logged(snapshot)}{_deadline(snapshot, committed)}"
            f"{_instead(committed, others)}"
        ),
        sentences=tuple(sentence(each) for way in ways for each in _sentences(snapshot, way)),
        assumptions=(
            "each way home is reckoned as taken at this moment, and what the present course has done stands",
            "a way is called open by its low end: every supply then lasts until its need",
            "a note of plan.yaml is somebody's word and is not reckoned",
        ),
        confidence=grounds.confidence(
            snapshot, grounds.qualities(snapshot), rests_on_model=bool(grounds.by_model(snapshot))
        ),
        figures={
            "committed": _committed(snapshot),
            "options": options_document(Options(snapshot=snapshot, ways=ways))["options"],
        },
    )


def _instead(committed: WayHome, others: list[WayHome]) -> str:
    """Where the committed way is short, what the best of the others has: it must not be left out."""
    if not others or _low_s(committed) >= 0.0:
        return ""
    left = [way for way in others if not way.is_over]
    if not left:
        return "; no other way home can be taken any more"
    best = max(left, key=_low_s)
    return f"; else {best.option.name} {_low_words(best)}"


def _low_s(way: WayHome) -> float:
    """The least margin, low end; minus infinity where one is not known."""
    margin = None if way.shortest is None else way.supplies[way.shortest].margin_s
    if margin is None or way.unknown:
        return -math.inf
    return math.inf if margin.p05 is None else margin.p05


def _standing(snapshot: Snapshot) -> str:
    """Whether anybody has logged the decision for the committed way."""
    said = committed_text(snapshot.need)
    return said or "the plan's, not logged by anybody"


def _logged(snapshot: Snapshot) -> str:
    return " (committed)" if snapshot.need.decided_at_s is not None else " (not logged by anybody)"


def _deadline(snapshot: Snapshot, way: WayHome) -> str:
    decide_by_s = way.option.decide_by_s
    if decide_by_s is None or snapshot.need.decided_at_s is not None:
        return ""
    if decide_by_s <= snapshot.at_s:
        ago = lasting_words(snapshot.at_s - decide_by_s)
        return f"; its decide-by {elapsed_text(decide_by_s)} passed {ago} ago"
    return f"; decide by {elapsed_text(decide_by_s)}, in {lasting_words(decide_by_s - snapshot.at_s)}"


def _margin_words(way: WayHome) -> str:
    beside = f" (not known of {listed(way.unknown)})" if way.unknown else ""
    if way.shortest is None:
        return f"its margins are {UNKNOWN}{beside}"
    one = way.supplies[way.shortest]
    if one.margin_s is None or one.margin_s.p05 is None:
        return f"no supply runs out{beside}"
    return (
        f"{way.shortest} is shortest, {margin_words(one.margin_s.p05)} at the low end, "
        f"{margin_words(one.margin_s.p50)} central, and lasts {cases_words(one.lasts_probability)}{beside}"
    )


def _low_words(way: WayHome) -> str:
    """In few words: the low end, and whether it is closed."""
    margin = None if way.shortest is None else way.supplies[way.shortest].margin_s
    low = UNKNOWN if margin is None else f"{margin_words(margin.p05)} ({way.shortest})"
    if way.open_until is None or way.open_until.zero_low.spans_s:
        return low
    stop = way.open_until.zero_low.closed_by
    if stop.by is Closing.SUPPLY:
        return f"{low}, closed by the low end"
    return f"{low}, closed: {stop_words(stop)}"


def _sentences(snapshot: Snapshot, way: WayHome) -> list[str]:
    option = way.option
    name = option.name
    standing = f", {_standing(snapshot)}" if way.is_committed else ""
    said = [
        f"{name}{standing}: {_margin_words(way)}",
        f"{name} arrives {when_text(snapshot, option.arrival_s)}, need until {elapsed_text(option.need_s)}",
    ]
    if option.decide_by_s is not None:
        word = "its decide-by was" if option.decide_by_s <= snapshot.at_s else "decide by"
        said.append(f"{name}: {word} {when_text(snapshot, option.decide_by_s)}")
    if way.open_until is not None:
        demand = "a margin of zero"
        low = open_sentence(way.open_until.zero_low, demand, snapshot.at_s)
        central = open_sentence(way.open_until.zero_central, demand, snapshot.at_s)
        said.append(f"{name}, by the low end: {_open(low)}")
        if central != low:
            said.append(f"{name}, by the central case: {_open(central)}")
    else:
        said.append(f"{name}: {open_short(way, snapshot.at_s)}")
    said += _delta_v(snapshot, way)
    return [*said, f"plan.yaml notes: {option.note}"] if option.note else said


def _open(words: str) -> str:
    """What was found, with its verb."""
    return f"open {words}" if words.startswith("until") else words


def _delta_v(snapshot: Snapshot, way: WayHome) -> list[str]:
    unit, asked = velocity_unit(snapshot.shown_in), way.option.delta_v_m_per_s
    if asked is None:
        return []
    needed = figure_text(unit.from_si(asked), 0, Rounding.UP)
    left = way.delta_v_left_m_per_s
    if left is None:
        return [f"it asks {needed} {unit.text}; what is left of that is {UNKNOWN}"]
    word = "too little" if left < asked else "enough on these figures"
    return [f"it asks {needed} {unit.text} of {figure_text(unit.from_si(left), 0)} left: {word}"]


def _committed(snapshot: Snapshot) -> dict[str, Any]:
    """Which way home is in force, and by whose word."""
    need = snapshot.need
    return {"option": need.option, "decided_by": need.decided_by, "is_logged": need.decided_at_s is not None}
