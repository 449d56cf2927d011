"""The brief of a contingency under way says what readings over time taught, and denies none of it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest
from explain_checks import DRAWS
from live_scene import LEFT_ON, live

from console.engine.briefing import Briefing, briefing_of
from console.engine.options import WayHome
from console.engine.snapshot import Interval
from console.report.brief.answer import Answer
from console.report.brief.answers import brief_of
from console.report.brief.home import ways_home


@cache
def briefing(*, history: bool = True) -> Briefing:
    return briefing_of(live(history=history)[0], None, DRAWS)


def answer(head: str, *, history: bool = True) -> Answer:
    return next(one for one in brief_of(briefing(history=history)).answers if one.head == head)


def test_a_change_that_nobody_logged_is_said_with_its_size_moment_and_what_would_explain_it() -> None:
    said = next(each for each in answer("Not known").sentences if each.startswith("Power: UNLOGGED CHANGE"))
    found = re.search(r"CHANGE: ([0-9.]+) A more .*?\+- ([0-9.]+) A", said)
    assert found is not None
    # What the load draws by the craft's file, and a figure that is sure enough to be of use.
    assert float(found[1]) == pytest.approx(4.2, abs=3.0 * float(found[2]))
    assert float(found[2]) < 0.5
    assert "since about T+34h3" in said
    assert "99 % sure" in said
    assert f"{LEFT_ON} on instead of off" in said
    assert "What was changed of power" in answer("Not known").short


def test_measured_over_modelled_use_is_said_with_its_spread() -> None:
    said = " ".join(answer("Not known").sentences)
    assert "measured over modelled use is loads 1.02 +- 0.01; the figures under the plan count that" in said
    assert "as readings of late correct it, not measured" in said


def test_nothing_rests_on_the_journal_alone_where_something_was_changed_and_not_logged() -> None:
    for head in ("Lasts", "First", "Do we make it"):
        rests = " ".join(answer(head).assumptions)
        assert "only logged steps and the changes that nobody logged differ from the plan" in rests
    assert "something of power" in answer("Do we make it").confidence
    assert "and not logged" in answer("Do we make it").confidence


def test_without_a_history_nothing_of_that_is_said() -> None:
    said = " ".join(
        sentence
        for one in brief_of(briefing(history=False)).answers
        for sentence in (*one.sentences, *one.assumptions, one.short, one.confidence)
    )
    assert "UNLOGGED" not in said
    assert "readings of late" not in said
    assert "only logged steps differ from the plan" in said


def test_a_way_home_that_cannot_be_taken_any_more_is_no_way_out() -> None:
    found = briefing()
    assert all(way.is_over for way in found.ways if not way.is_committed)
    short = replace(found, ways=tuple(_short(way) if way.is_committed else way for way in found.ways))
    said = ways_home(short).shorter
    assert "no other way home can be taken any more" in said
    assert "else " not in said


def _short(way: WayHome) -> WayHome:
    """The same with its shortest supply an hour short."""
    assert way.shortest is not None
    supply = way.supplies[way.shortest]
    margin = Interval(p05=-3600.0, p50=-1800.0, p95=0.0)
    return replace(way, supplies={**way.supplies, way.shortest: replace(supply, margin_s=margin)})
