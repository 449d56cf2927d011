"""The session: one feed, one journal, one clock; what it hands out, also to several threads."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from console.cli.journals import open_journal
from console.craft.model import LoadState
from console.engine.snapshot import Band
from console.engine.whatif import SetRate, SwitchLoad
from console.errors import FeedError, JournalError, UsageError
from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.scenario.load import Scenario, load_scenario, packaged_scenario
from console.session import Session

Make = Callable[..., Session]


@pytest.fixture(scope="module")
def tern() -> Scenario:
    return load_scenario(packaged_scenario())


@pytest.fixture
def make(tern: Scenario, tmp_path: Path) -> Make:
    path = tern.folder / "state.json"
    at_s = state_file_time_s(path, tern.craft.epoch)
    moment = at_epoch_plus(tern.craft.epoch, at_s)

    def made(**given: object) -> Session:
        clock = given.pop("clock", lambda: moment)
        fields: dict[str, object] = {
            "source": StateFileSource(path, tern.craft.channels, tern.craft.epoch),
            "journal": open_journal(tern, tmp_path / "watch.journal", clock, writes=True),
            "operator": "mira",
            "position": "aft",
            **given,
        }
        return Session(scenario=tern, clock=clock, **fields)  # type: ignore[arg-type]  # literal fields of a test

    return made


def test_a_logged_step_moves_the_next_snapshot_as_its_preview_said(make: Make) -> None:
    session = make()
    before, preview = session.tick(), session.preview("deep-quiet", "3")
    entry = session.log_step("deep-quiet", "3")
    after = session.tick()
    assert (entry.operator, entry.position, entry.body["loads"]) == ("mira", "aft", {"com-amplifier": "off"})
    for name, supply in after.supplies.items():
        assert supply.margin_s == preview.supplies[name].margin_s, name
    assert after.supplies["power"].rate_plan_si_per_s < before.supplies["power"].rate_plan_si_per_s
    assert after.supplies["water"].rate_plan_si_per_s < before.supplies["water"].rate_plan_si_per_s
    assert next(load for load in after.loads if load.name == "com-amplifier").state is LoadState.OFF


def test_a_preview_logs_nothing(make: Make) -> None:
    session = make()
    session.preview("deep-quiet", "3")
    assert session.entries() == ()


def test_what_another_process_logs_is_seen_at_the_next_tick(make: Make) -> None:
    here, there = make(), make()
    before = here.tick()
    there.log_step("deep-quiet", "3")
    assert here.tick().supplies["power"].rate_plan_si_per_s < before.supplies["power"].rate_plan_si_per_s
    assert [entry.sequence for entry in here.entries()] == [1]
    assert ("deep-quiet", "3") in here.done_steps()


def test_a_step_out_of_order_needs_a_reason_and_keeps_it(make: Make) -> None:
    session = make()
    assert session.missing_requirements("deep-quiet", "4") == ("3",)
    with pytest.raises(UsageError, match="requires 3"):
        session.log_step("deep-quiet", "4")
    assert session.log_step("deep-quiet", "4", reason="link lost").body["reason"] == "link lost"


def test_a_step_that_lies_ahead_is_refused_and_one_in_the_past_counts_from_then(make: Make) -> None:
    session = make()
    now_s = session.now_s()
    with pytest.raises(UsageError, match="later than now"):
        session.log_step("deep-quiet", "3", happened_s=now_s + 3600.0)
    entry = session.log_step("deep-quiet", "3", happened_s=now_s - 3600.0)
    assert entry.elapsed_s == pytest.approx(now_s - 3600.0)


def test_a_step_that_a_new_scenario_no_longer_knows_is_named_and_passed_over(make: Make) -> None:
    session = make()
    body = {"text": "x", "loads": {"gone-load": "off"}, "stores": {}, "used_si": {}}
    session._append(session.log_note("first").kind.__class__("step"), body, None)
    assert session.tick().notices == (
        "the journal names gone-load, which this craft does not have: passed over",
    )


@pytest.mark.parametrize("place", ["deep-quiet", "deep-quiet/99", "dep-quiet/1"])
def test_a_step_that_there_is_not_is_refused_with_the_nearest(make: Make, place: str) -> None:
    with pytest.raises(UsageError, match=r"did you mean|there are"):
        make().find_step(place)


def test_without_source_or_journal_it_says_so(make: Make) -> None:
    with pytest.raises(FeedError, match="no source"):
        make(source=None).tick()
    with pytest.raises(JournalError, match="no journal"):
        make(journal=None).log_note("x")


def test_ticks_previews_and_entries_from_several_threads_agree(make: Make) -> None:
    session, wrong = make(), []
    expected = session.tick().supplies

    def work(number: int) -> None:
        for _ in range(5):
            if session.tick().supplies != expected:
                wrong.append("tick")
            session.preview("deep-quiet", "3")
            session.log_note(f"note of {number}")

    threads = [threading.Thread(target=work, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert [entry.sequence for entry in session.entries()] == list(range(1, 21))
    assert [entry.sequence for entry in session.entries(3)] == [18, 19, 20]


def test_a_step_logged_in_a_rehearsal_lowers_what_the_simulated_instruments_show(
    tern: Scenario, make: Make
) -> None:
    simulation = read_simulation(tern)
    minutes = [0.0]

    def clock() -> datetime:
        return at_epoch_plus(tern.craft.epoch, simulation.start_s) + timedelta(minutes=minutes[0])

    source = SimulatedSource(tern, simulation)
    session = make(source=source, clock=clock)
    source.changes = session.changes

    def mean_current() -> float:
        currents = []
        for _ in range(30):
            minutes[0] += 0.5
            currents.append(session.tick().supplies["power"].rate_now_si_per_s or 0.0)
        return sum(currents) / len(currents)

    before = mean_current()
    saved = 0.0
    for step in ("2", "3", "4", "5"):
        for load, state in session.scenario.procedures["deep-quiet"].step(step).action.loads.items():
            one = tern.craft.loads[load]
            now = next(status for status in session.tick().loads if status.name == load)
            saved += one.draw_si_per_s(now.state) - one.draw_si_per_s(state)
        session.log_step("deep-quiet", step)
    after = mean_current()
    # Heaters' cycles and wandering loads leave some 1.5 A of doubt about a quarter of an hour's mean.
    assert before - after == pytest.approx(saved, abs=1.5)
    assert saved > 2.5


def test_a_supposition_starts_from_the_last_tick_and_moves_nothing(make: Make) -> None:
    session = make()
    ticked = session.tick()
    off = SwitchLoad(load="com-radio", to=LoadState.OFF, from_s=session.now_s())
    before, after = session.whatif((off,))
    assert before == ticked  # at a first tick no band was remembered
    assert after.supplies["power"].margin_s != before.supplies["power"].margin_s
    assert session.tick() == ticked
    assert session.entries() == ()


def test_a_supposition_without_a_tick_gives_the_same(make: Make) -> None:
    session = make()
    off = SwitchLoad(load="com-radio", to=LoadState.OFF, from_s=session.now_s())
    fresh = session.whatif((off,))
    session.tick()
    assert session.whatif((off,)) == fresh


def test_a_supposition_after_a_logged_step_starts_from_that_step(make: Make) -> None:
    session = make()
    session.tick()
    session.log_step("deep-quiet", "3")
    before, after = session.whatif(())
    assert before == after
    assert before.supplies["power"].margin_s == session.tick().supplies["power"].margin_s


def test_bands_of_a_supposition_have_no_memory_on_either_side(make: Make) -> None:
    session = make()
    caution = session.tick().supplies["water"].band
    off = SwitchLoad(load="com-radio", to=LoadState.OFF, from_s=session.now_s())
    drinking = SetRate(use="drinking", rate_si_per_s=0.0)
    before, after = session.whatif((off, drinking))
    assert (before.supplies["water"].band, after.supplies["water"].band) == (caution, Band.NOMINAL)


def test_a_commitment_is_in_force_until_it_is_withdrawn(make: Make) -> None:
    session = make()
    assert session.in_force().decision is None
    entry = session.log_commitment("quick-turn")
    assert entry is not None
    assert session.log_commitment("quick-turn") is None
    need = session.tick().need
    assert (need.option, need.decided_at_s, need.decided_by) == ("quick-turn", entry.elapsed_s, "mira")
    session.log_correction(entry.sequence, "not agreed", withdraws=True)
    need = session.tick().need
    assert (need.option, need.decided_at_s) == ("homeward", None)
    assert session.log_commitment("quick-turn") is not None


def test_a_released_reserve_counts_as_usable_until_it_is_withdrawn(make: Make) -> None:
    session = make()
    before = session.tick().supplies["water"]
    entry = session.log_release("water", 3.0, "3 kg", "crew dry")
    after = session.tick().supplies["water"]
    assert before.usable_si is not None
    assert after.usable_si == pytest.approx(before.usable_si + 3.0)
    assert (after.reserve_si, after.released_si) == (before.reserve_si - 3.0, 3.0)
    with pytest.raises(UsageError, match="at most"):
        session.log_release("water", before.reserve_si - 2.0, "6 kg", "more")
    session.log_correction(entry.sequence, "not spent", withdraws=True)
    assert session.tick().supplies["water"] == before


def test_a_commitment_to_a_way_home_that_the_plan_lost_is_told(make: Make, tern: Scenario) -> None:
    session = make()
    session.log_commitment("tender")
    left = {name: option for name, option in tern.plan.options.items() if name != "tender"}
    session.scenario = replace(tern, plan=replace(tern.plan, options=left))
    snapshot = session.tick()
    assert snapshot.need.option == "homeward"
    assert any("commits to tender" in notice for notice in snapshot.notices)
