"""What a session answers beside its ticks: ways home, losses, allowances; each from one poll."""

from __future__ import annotations

from typing import Any

import pytest

from console.engine.allowance_profile import allowance_profiles
from console.engine.reading import FeedState
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.scenario.load import load_scenario, packaged_scenario
from console.session import Session


class CountingSource:
    """Passes on what another source says, and counts how often it was asked."""

    def __init__(self, source: StateFileSource) -> None:
        self._source = source
        self.polls = 0

    def poll(self, now_s: float) -> FeedState:
        self.polls += 1
        return self._source.poll(now_s)


@pytest.fixture
def opened() -> tuple[Session, CountingSource]:
    scenario = load_scenario(packaged_scenario("tern"))
    path = scenario.folder / "state.json"
    moment = at_epoch_plus(scenario.craft.epoch, state_file_time_s(path, scenario.craft.epoch))
    source = CountingSource(StateFileSource(path, scenario.craft.channels, scenario.craft.epoch))
    session = Session(
        scenario=scenario, source=source, journal=None, clock=lambda: moment, operator="", position=""
    )
    return session, source


def test_a_situation_is_one_poll(opened: tuple[Session, CountingSource]) -> None:
    session, source = opened
    assert session.situation().at_s == session.now_s()
    assert source.polls == 1


@pytest.mark.parametrize("question", ["options", "losses", "allowances"])
def test_each_question_polls_once_and_changes_nothing(
    opened: tuple[Session, CountingSource], question: str
) -> None:
    session, source = opened
    before = session.tick()
    answer: Any = getattr(session, question)()
    assert source.polls == 2
    after = session.tick()
    assert after.supplies == before.supplies
    if question != "allowances":
        assert answer.snapshot.supplies == before.supplies


def test_the_allowances_are_the_engines(opened: tuple[Session, CountingSource]) -> None:
    session, _ = opened
    assert session.allowances() == allowance_profiles(session.situation())
