"""What the simulated crew logs: the steps that the plan calls for, no more, and its mistakes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from contingency_builders import PROCEDURES, H, lived
from simulated_builders import START_S, write_scenario

from console.craft.model import LoadState, StoreState
from console.engine.configuration import Configuration
from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulated_operators import Act, Logbook, logbook_of
from console.scenario.load import Scenario, load_scenario

CONFIGS = Path(__file__).parents[2] / "configs"
OPEN = "  - {name: flask opened, at: T+10h, set: {o2-2: feeding}}\n"
NIGHT_S = 20 * H


def station(folder: Path, *, procedures: str = PROCEDURES, events: str = OPEN) -> Scenario:
    write_scenario(folder, events=events)
    (folder / "procedures.yaml").write_text(procedures)
    return load_scenario(folder)


def book(scenario: Scenario, *faults: SimulatedFault, seed: int = 1) -> Logbook:
    return logbook_of(scenario, Streams(seed), faults, START_S, 60 * H)


def keys(acts: tuple[Act, ...]) -> list[str]:
    return [f"{act.procedure.name}/{act.step.id}" if act.procedure and act.step else act.text for act in acts]


def test_a_change_of_level_is_logged_by_the_procedure_that_leads_there(tmp_path: Path) -> None:
    acts = book(station(tmp_path)).acts
    assert keys(acts)[3:] == ["dim-down/1", "dim-down/2", "dim-down/3"]
    look, lamp, read = acts[3:]
    assert lamp.happened_s == NIGHT_S, "the plan moves it then"
    assert look.happened_s < NIGHT_S < read.happened_s
    for act in acts:
        assert act.written_s is not None
        assert act.written_s > act.happened_s
        assert act.done_s == act.happened_s


def test_an_event_is_logged_by_the_procedure_of_which_a_step_does_the_same(tmp_path: Path) -> None:
    fan_off, opened, fan_on = book(station(tmp_path)).acts[:3]
    assert opened.happened_s == 10 * H
    assert fan_off.happened_s < opened.happened_s < fan_on.happened_s


def test_what_the_crew_does_beside_the_plan_is_truly_done(tmp_path: Path) -> None:
    recorded = lived(tmp_path, 10.0, events=OPEN, every_s=15.0)
    currents = recorded.values_si["bus.current"]
    fan_off, _, fan_on = recorded.acts[:3]
    without_fan = (recorded.times_s > fan_off.done_s + 15) & (recorded.times_s <= fan_on.done_s)
    assert currents[without_fan].max() <= 10.0 + 1e-9, "the lamp, and the heater or not"
    assert currents[recorded.times_s <= fan_off.done_s].min() == pytest.approx(5.0)
    assert currents[recorded.times_s <= fan_off.done_s].max() == pytest.approx(13.0)
    assert recorded.store_held_si["o2-2"][-1] < 2.0


def test_where_no_procedure_leads_a_note_says_so(tmp_path: Path) -> None:
    scenario = station(tmp_path, procedures="format: 1\nprocedures: {}\n", events="")
    (act,) = book(scenario).acts
    assert (act.step, act.text) == (None, "level full to dim as planned; no procedure leads there")


def test_a_procedure_that_leads_elsewhere_is_not_taken(tmp_path: Path) -> None:
    elsewhere = PROCEDURES.replace("lamp, to: standby", 'lamp, to: "off"')
    assert "dim-down/2" not in keys(book(station(tmp_path, procedures=elsewhere)).acts)


def test_a_change_that_moves_no_load_is_named_and_not_logged(tmp_path: Path) -> None:
    scenario = station(tmp_path, events="")
    craft = (tmp_path / "craft.yaml").read_text().replace("{like: full, lamp: standby}", "{like: full}")
    (tmp_path / "craft.yaml").write_text(craft)
    nothing = book(load_scenario(scenario.folder))
    assert nothing.acts == ()
    assert nothing.nothing_to_log == ("level full to dim (night): no load moves",)


def test_tern_logs_its_burns_its_letting_go_and_its_commitment() -> None:
    scenario = load_scenario(CONFIGS / "tern")
    acts = logbook_of(scenario, Streams(1), (), 25.8 * H, 104 * H).acts
    logged = keys(acts)
    assert logged[0] == "committed to homeward"
    assert acts[0].happened_s < 28.25 * H, "decided before it is due"
    assert [name for name in logged if name.startswith("let-go")] == ["let-go/1", "let-go/2", "let-go/3"]
    burn = [act for act in acts if act.procedure is not None and act.procedure.name == "burn-up"]
    assert {act.happened_s for act in burn if act.step and act.step.action.loads} == {
        28.5 * H,
        74 * H,
        98.5 * H,
    }
    assert "burn-up/10" not in logged, "the transmitter is on already"
    assert (
        "level burn to quiet: moved without a step: eng-gimbal, eng-valves, nav-tracker, th-pump-2" in logged
    )
    quiet = next(act for act in acts if act.procedure is not None and act.procedure.name == "quiet-down")
    assert quiet.step is not None
    assert quiet.step.id == "4", "what is off already is not switched off again"


@pytest.mark.parametrize("name", ["tern", "vole", "whelk"])
def test_without_mistakes_the_journal_says_what_is_so(name: str) -> None:
    scenario = load_scenario(CONFIGS / name)
    craft, option = scenario.craft, scenario.plan.options[scenario.plan.committed]
    phases, events = scenario.plan.phases_under(option), scenario.plan.events_under(option)
    acts = logbook_of(scenario, Streams(2), (), 0.0, option.need_s).acts
    from console.feed.simulated_operators import change_of

    def configuration(moment: str) -> Configuration:
        changes = [change_of(act, craft, getattr(act, moment)) for act in acts]
        return Configuration(craft, phases, events, [change for change in changes if change is not None])

    logged, done = configuration("happened_s"), configuration("done_s")
    assert len(acts) > 5
    for at_s in np.arange(0.0, option.need_s, 977.0).tolist():
        assert logged.stores_at(at_s) == done.stores_at(at_s)
        assert logged.loads_at(at_s) == done.loads_at(at_s)


def test_delays_are_human(tmp_path: Path) -> None:
    scenario = station(tmp_path, events="")
    delays = []
    for seed in range(300):
        act = book(scenario, seed=seed).acts[0]
        assert act.written_s is not None
        delays.append(act.written_s - act.happened_s)
    # Log-normal of median 40 s and spread 0.6: of 300, the standard error of the mean logarithm is 0.035.
    assert np.log(delays).mean() == pytest.approx(np.log(40.0), abs=4 * 0.6 / np.sqrt(300))
    assert np.log(delays).std() == pytest.approx(0.6, rel=4 / np.sqrt(600))


def test_an_entry_may_be_late_or_forgotten(tmp_path: Path) -> None:
    scenario = station(tmp_path)
    late = SimulatedFault(kind=FaultKind.LATE_ENTRY, at_s=0.0, by_s=1800.0, step=("dim-down", "2"))
    forgotten = SimulatedFault(kind=FaultKind.FORGOTTEN_ENTRY, at_s=0.0)
    sound, mistaken = book(scenario).acts, book(scenario, forgotten, late).acts
    assert mistaken[0].written_s is None, "the first step from then on"
    assert sound[4].written_s is not None
    assert mistaken[4].written_s == sound[4].written_s + 1800.0
    assert [act for place, act in enumerate(mistaken) if place not in (0, 4)] == [
        act for place, act in enumerate(sound) if place not in (0, 4)
    ]


def test_two_mistakes_of_one_kind_befall_two_steps(tmp_path: Path) -> None:
    faults = [SimulatedFault(kind=FaultKind.FORGOTTEN_ENTRY, at_s=0.0) for _ in range(2)]
    assert [act.written_s is None for act in book(station(tmp_path), *faults).acts[:3]] == [True, True, False]


@pytest.mark.parametrize("by_s", [1500.0, -1500.0])
def test_a_step_is_done_at_another_time_than_logged(tmp_path: Path, by_s: float) -> None:
    fault = SimulatedFault(kind=FaultKind.MISTIMED_ENTRY, at_s=0.0, by_s=by_s, step=("dim-down", "2"))
    mistaken, sound = (lived(tmp_path, 20.5, *faults, every_s=60.0) for faults in ((fault,), ()))
    difference = mistaken.values_si["bus.current"] - sound.values_si["bus.current"]
    low, high = sorted((NIGHT_S, NIGHT_S + by_s))
    between = (sound.times_s > low) & (sound.times_s <= high)
    assert difference[between] == pytest.approx(1.5 if by_s > 0 else -1.5), (
        "lamp on for longer, or dim before"
    )
    assert difference[~between] == pytest.approx(0.0, abs=1e-9)
    logged = {each.change.label: each.change for each in mistaken.logged}
    assert logged["dim-down/2"].at_s == NIGHT_S, "the entry says otherwise"


def test_what_is_known_grows_as_it_is_written(tmp_path: Path) -> None:
    recorded = lived(tmp_path, 20.5, events=OPEN)
    opened = next(each for each in recorded.logged if each.change.label == "open-flask/2")
    assert opened.change.stores == {"o2-2": StoreState.FEEDING}
    assert opened.change not in recorded.known_changes(opened.written_s - 1.0)
    assert opened.change in recorded.known_changes(opened.written_s)
    lamp = next(each.change for each in recorded.logged if each.change.label == "dim-down/2")
    assert lamp.loads == {"lamp": LoadState.STANDBY}
    assert lived(tmp_path, 20.5, events=OPEN, has_operators=False).logged == ()
