"""From logged steps to changes of the configuration, steps done and steps required."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from console.craft.band_limits import BandLimits
from console.craft.model import Craft, Level, Load, LoadState, Store, StoreKind, StoreState, Supply
from console.craft.plan import Option, Plan
from console.craft.procedures import Action, Procedure, Step
from console.errors import JournalError
from console.record.entry import Draft, Entry, EntryKind
from console.record.journal import Journal
from console.record.steps import (
    body_of_commitment,
    body_of_release,
    body_of_step,
    changes_from,
    check_step_body,
    done_steps,
    missing_requirements,
    unknown_names,
    unknown_options,
    withdrawn_sequences,
)
from console.units import Dimension, Unit

MakeEntry = Callable[..., Entry]
ON, STANDBY, OFF = LoadState.ON, LoadState.STANDBY, LoadState.OFF


def _load(name: str) -> Load:
    return Load(
        name=name,
        supply="power",
        on_si_per_s=2.0,
        standby_si_per_s=0.5,
        duty_fraction=1.0,
        heat_fraction=1.0,
        priority=1,
    )


@pytest.fixture
def craft() -> Craft:
    """Three loads on one battery, with a quiet level."""
    loads = ("radio", "heater", "lamp")
    battery = Store(name="bat-1", kind=StoreKind.BATTERY, state=StoreState.FEEDING, capacity_si=3600.0)
    return Craft(
        name="Tern",
        epoch=datetime(2041, 6, 2, 3, 10, tzinfo=UTC),
        crew_count=2,
        person_rates={},
        supplies={
            "power": Supply(
                name="power",
                unit=Unit(text="A*h", dimension=Dimension.CHARGE, factor=3600.0),
                rate_unit=Unit(text="A", dimension=Dimension.CURRENT, factor=1.0),
                stores=(battery,),
                bands=BandLimits(advisory_s=3.0, caution_s=2.0, warning_s=1.0),
            )
        },
        loads={name: _load(name) for name in loads},
        load_spread_fraction=0.0,
        levels={"quiet": Level(name="quiet", states={"radio": STANDBY, "heater": OFF, "lamp": ON})},
        uses=(),
        channels={},
    )


def _step(step_id: str, *, requires: tuple[str, ...] = (), level: str | None = None, **loads: Any) -> Step:
    return Step(
        id=step_id,
        do=f"Do {step_id}",
        action=Action(
            loads=loads, stores={"bat-1": StoreState.ISOLATED}, used_si={"bat-1": 7.5}, level=level
        ),
        verify_within_s=None,
        note="",
        requires=requires,
        caution="",
    )


@pytest.fixture
def procedure() -> Procedure:
    steps = (
        _step("1", level="quiet", lamp=OFF),
        _step("2", requires=("1",)),
        _step("3", requires=("1", "2")),
    )
    return Procedure(name="quiet-down", title="Power down", steps=steps)


def test_a_step_is_logged_with_its_level_spelt_out_and_its_own_loads_on_top(
    procedure: Procedure, craft: Craft
) -> None:
    assert body_of_step(procedure, procedure.step("1"), craft) == {
        "text": "Do 1",
        "procedure": "quiet-down",
        "step": "1",
        "loads": {"radio": "standby", "heater": "off", "lamp": "off"},
        "stores": {"bat-1": "isolated"},
        "used_si": {"bat-1": 7.5},
    }
    assert body_of_step(procedure, procedure.step("2"), craft, "out of turn")["reason"] == "out of turn"


def test_a_logged_step_comes_back_from_the_journal_as_the_same_change(
    journal: Journal, draft: Callable[..., Draft], procedure: Procedure, craft: Craft
) -> None:
    body = body_of_step(procedure, procedure.step("1"), craft)
    journal.append(draft(kind=EntryKind.STEP, body=body))
    (change,) = changes_from(journal.entries())
    assert (change.at_s, change.label) == (30 * 3600.0, "quiet-down/1")
    assert change.loads == {"radio": STANDBY, "heater": OFF, "lamp": OFF}
    assert change.stores == {"bat-1": StoreState.ISOLATED}
    assert change.used_si == {"bat-1": 7.5}


def test_a_step_of_no_procedure_is_known_by_what_was_written(entry: MakeEntry) -> None:
    logged = entry(1, EntryKind.STEP, {"text": "lamp out, bulb broken", "loads": {"lamp": "off"}}, 60.0)
    (change,) = changes_from([logged])
    assert (change.at_s, change.label, change.loads) == (60.0, "lamp out, bulb broken", {"lamp": OFF})
    assert done_steps([logged]) == {}


def test_only_steps_are_changes(entry: MakeEntry) -> None:
    body = {"text": "x", "procedure": "p", "step": "1", "loads": {"lamp": "off"}}
    others = [kind for kind in EntryKind if kind not in {EntryKind.STEP, EntryKind.CORRECTION}]
    entries = [entry(number, kind, body) for number, kind in enumerate(others, start=1)]
    assert changes_from(entries) == ()
    assert done_steps(entries) == {}


def _logged(entry: MakeEntry, sequence: int, step: str, elapsed_s: float = 0.0) -> Entry:
    body = {"text": "x", "procedure": "quiet-down", "step": step, "loads": {"lamp": "off"}}
    return entry(sequence, EntryKind.STEP, body, elapsed_s)


def _correction(entry: MakeEntry, sequence: int, corrects: int, **more: Any) -> Entry:
    return entry(sequence, EntryKind.CORRECTION, {"corrects": corrects, "text": "mistaken", **more})


def test_the_newest_entry_of_a_step_stands_by_sequence_and_not_by_time(entry: MakeEntry) -> None:
    early, late = _logged(entry, 1, "1", 900.0), _logged(entry, 2, "1", 100.0)
    assert done_steps([late, early]) == {("quiet-down", "1"): late}
    assert [change.at_s for change in changes_from([late, early])] == [900.0, 100.0]


def test_a_withdrawn_step_is_neither_a_change_nor_done(entry: MakeEntry) -> None:
    entries = [_logged(entry, 1, "1"), _logged(entry, 2, "2"), _correction(entry, 3, 1, withdrawn=True)]
    assert [change.label for change in changes_from(entries)] == ["quiet-down/2"]
    assert set(done_steps(entries)) == {("quiet-down", "2")}


def test_withdrawing_the_newest_brings_back_the_one_before(entry: MakeEntry) -> None:
    entries = [_logged(entry, 1, "1"), _logged(entry, 2, "1"), _correction(entry, 3, 2, withdrawn=True)]
    assert done_steps(entries) == {("quiet-down", "1"): entries[0]}


@pytest.mark.parametrize("more", [{}, {"withdrawn": False}, {"withdrawn": "true"}, {"withdrawn": 1}])
def test_a_correction_that_does_not_withdraw_leaves_the_step_standing(
    entry: MakeEntry, more: dict[str, Any]
) -> None:
    entries = [_logged(entry, 1, "1"), _correction(entry, 2, 1, **more)]
    assert len(changes_from(entries)) == 1


def test_a_withdrawal_that_was_withdrawn_itself_counts_no_more(entry: MakeEntry) -> None:
    entries = [
        _logged(entry, 1, "1"),
        _correction(entry, 2, 1, withdrawn=True),
        _correction(entry, 3, 2, withdrawn=True),
    ]
    assert withdrawn_sequences(entries) == {2}
    assert len(changes_from(entries)) == 1
    assert withdrawn_sequences([*entries, _correction(entry, 4, 3, withdrawn=True)]) == {1, 3}


def test_what_a_step_requires_and_is_not_done_is_named_in_order(
    entry: MakeEntry, procedure: Procedure
) -> None:
    third = procedure.step("3")
    assert missing_requirements(procedure, third, {}) == ("1", "2")
    assert missing_requirements(procedure, third, done_steps([_logged(entry, 1, "1")])) == ("2",)
    both = done_steps([_logged(entry, 1, "1"), _logged(entry, 2, "2")])
    assert missing_requirements(procedure, third, both) == ()
    assert missing_requirements(procedure, procedure.step("1"), {}) == ()


def test_the_same_step_of_another_procedure_fulfils_nothing(entry: MakeEntry, procedure: Procedure) -> None:
    body = {"text": "x", "procedure": "wake-up", "step": "1"}
    done = done_steps([entry(1, EntryKind.STEP, body)])
    assert missing_requirements(procedure, procedure.step("2"), done) == ("1",)


def test_names_that_the_craft_does_not_have_are_reported_once(entry: MakeEntry, craft: Craft) -> None:
    body = {
        "text": "x",
        "loads": {"lamp": "off", "winch": "off"},
        "stores": {"bat-9": "feeding", "bat-1": "feeding"},
        "used_si": {"bat-9": 1.0, "tank-7": 2.0},
    }
    changes = changes_from([entry(1, EntryKind.STEP, body), entry(2, EntryKind.STEP, body)])
    assert unknown_names(changes, craft) == ("winch", "bat-9", "tank-7")
    assert unknown_names(changes_from([_logged(entry, 1, "1")]), craft) == ()


def test_a_step_that_cannot_be_read_is_named(entry: MakeEntry) -> None:
    bad = entry(17, EntryKind.STEP, {"text": "x", "loads": {"lamp": "glowing"}})
    with pytest.raises(JournalError, match=r"journal entry 17\.loads\.lamp: found 'glowing'; write on or"):
        changes_from([bad])


def test_modules_left_behind_and_control_confirmed_come_back_from_the_journal(
    journal: Journal, draft: Callable[..., Draft], procedure: Procedure, craft: Craft
) -> None:
    action = Action(loads={}, stores={}, used_si={}, drops=("left_behind", "other"), confirms_control=True)
    body = body_of_step(procedure, replace(procedure.step("2"), action=action), craft)
    assert (body["drops"], body["confirms_control"]) == (["left_behind", "other"], True)
    journal.append(draft(kind=EntryKind.STEP, body=body))
    (change,) = changes_from(journal.entries())
    assert change.drops == ("left_behind", "other")
    assert change.confirms_control
    assert unknown_names((change,), craft) == ("left_behind", "other")


@pytest.mark.parametrize(
    ("key", "found", "said"),
    [
        ("drops", "work-section", "a list of names of modules"),
        ("drops", [1], "a list of names of modules"),
        ("drops", [""], "a list of names of modules"),
        ("confirms_control", "true", "true or false"),
        ("confirms_control", 1, "true or false"),
    ],
)
def test_a_body_that_does_not_say_what_was_dropped_or_confirmed_is_refused(
    key: str, found: object, said: str
) -> None:
    with pytest.raises(JournalError, match=said):
        check_step_body({"text": "x", key: found})


def test_a_commitment_and_a_released_reserve_come_back_from_the_journal(
    journal: Journal, draft: Callable[..., Draft], craft: Craft
) -> None:
    for number, body in enumerate(
        (
            body_of_commitment("homeward", "ship gone"),
            body_of_release("power", 7200.0, "2 A*h", "heater"),
        )
    ):
        journal.append(draft(f"entry-{number}", kind=EntryKind.STEP, body=body))
    entries = journal.entries()
    committed, released = changes_from(entries)
    assert (committed.option, committed.released_si) == ("homeward", {})
    assert (released.option, released.released_si) == (None, {"power": 7200.0})
    assert committed.by == entries[0].operator
    assert [entry.sentence for entry in entries] == [
        "committed to homeward (reason: ship gone)",
        "released 2 A*h of the reserve of power (reason: heater)",
    ]
    assert unknown_names((released,), craft) == ()


def test_a_step_without_a_decision_has_no_key_for_one(procedure: Procedure, craft: Craft) -> None:
    body = body_of_step(procedure, procedure.step("1"), craft)
    assert not {"option", "reserves_si"} & set(body)
    assert "reason" not in body_of_commitment("homeward")


@pytest.mark.parametrize(
    ("key", "found", "said"),
    [
        ("option", 7, "the name of a way home"),
        ("option", "", "the name of a way home"),
        ("reserves_si", {"water": -1.0}, r"body\.reserves_si\.water: found -1\.0"),
        ("reserves_si", {"water": "3 kg"}, "zero or more, in SI"),
        ("reserves_si", ["water"], "write names with their values"),
    ],
)
def test_a_decision_that_could_not_be_read_back_is_refused(key: str, found: object, said: str) -> None:
    with pytest.raises(JournalError, match=said):
        check_step_body({"text": "x", key: found})


def test_options_and_supplies_of_decisions_that_are_not_there_are_told(
    entry: MakeEntry, craft: Craft
) -> None:
    option = Option(
        name="homeward",
        arrival_s=1.0,
        arrival_spread_s=0.0,
        recovery_s=0.0,
        hold_s=0.0,
        decide_by_s=None,
        delta_v_m_per_s=None,
        phases=(),
        events=(),
        note="",
    )
    plan = Plan(phases=(), events=(), options={"homeward": option}, committed="homeward", watches=())
    bodies = (body_of_commitment("gone"), body_of_commitment("homeward"), body_of_commitment("gone"))
    changes = changes_from([entry(n, EntryKind.STEP, body) for n, body in enumerate(bodies, start=1)])
    assert unknown_options(changes, plan) == ("gone",)
    released = changes_from([entry(1, EntryKind.STEP, body_of_release("helium", 1.0, "1 kg", "x"))])
    assert unknown_names(released, craft) == ("helium",)
