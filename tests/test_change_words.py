"""Suppositions in words: every form read to the change it means, and every slip told with what to write."""

from __future__ import annotations

import re
from typing import Any

import pytest

from console.change_words import FORMS, Ground, read_change, read_changes
from console.craft.model import Activity, LoadState, StoreState
from console.engine.whatif import (
    AddEvent,
    DropEvent,
    LoseStore,
    MoveArrival,
    MoveEvent,
    MovePeople,
    MoveStore,
    SetRate,
    SwitchLoad,
    SwitchOff,
    TakeLevel,
    TakeOption,
)
from console.errors import UsageError
from console.scenario.load import load_scenario, packaged_scenario

H = 3600.0
NOW_S = 25.8 * H


@pytest.fixture(scope="module")
def ground() -> Ground:
    scenario = load_scenario(packaged_scenario())
    return Ground(craft=scenario.craft, plan=scenario.plan, now_s=NOW_S)


READ: list[tuple[str, Any]] = [
    ("load dis-main off", SwitchLoad(load="dis-main", to=LoadState.OFF, from_s=NOW_S)),
    (
        "load lit-cabin on from T+30h until T+32h30m",
        SwitchLoad(load="lit-cabin", to=LoadState.ON, from_s=30 * H, until_s=32.5 * H),
    ),
    (
        "load lit-cabin standby until 2041-06-03T13:10:00Z",
        SwitchLoad(load="lit-cabin", to=LoadState.STANDBY, from_s=NOW_S, until_s=34 * H),
    ),
    ("off gal-heater, dis-main from T+40h", SwitchOff(loads=("gal-heater", "dis-main"), from_s=40 * H)),
    ("level minimal", TakeLevel(level="minimal", from_s=NOW_S)),
    ("level minimal from T+40h", TakeLevel(level="minimal", from_s=40 * H)),
    (
        "people asleep 2, nominal 2 from T+40h",
        MovePeople(crew={Activity.ASLEEP: 2, Activity.NOMINAL: 2}, from_s=40 * H),
    ),
    ("use cabin-leak 0.09 kg/h", SetRate(use="cabin-leak", rate_si_per_s=0.09 / H)),
    ("option tender", TakeOption(option="tender")),
    ("move homeward trim to T+80h", MoveEvent(name="homeward trim", at_s=80 * H)),
    ("drop homeward trim", DropEvent(name="homeward trim")),
    ("store o2-walk feeding at T+30h", MoveStore(store="o2-walk", to=StoreState.FEEDING, at_s=30 * H)),
    ("store bat-2 lost", LoseStore(store="bat-2")),
    ("arrive 3 h later", MoveArrival(by_s=3 * H)),
    ("arrive 30 min earlier", MoveArrival(by_s=-1800.0)),
    ("  option   tender ", TakeOption(option="tender")),
]


@pytest.mark.parametrize(("text", "change"), READ)
def test_a_form_is_read_to_what_it_means(ground: Ground, text: str, change: Any) -> None:
    read = read_change(text, ground)
    if isinstance(change, SetRate):
        assert isinstance(read, SetRate)
        assert (read.use, read.rate_si_per_s) == (change.use, pytest.approx(change.rate_si_per_s))
    else:
        assert read == change


def test_a_use_that_the_plan_lacks_is_added(ground: Ground) -> None:
    read = read_change("add oxygen 6.6 lb at T+50h", ground)
    assert isinstance(read, AddEvent)
    assert read.event.at_s == 50 * H
    assert dict(read.event.uses_si) == {"oxygen": pytest.approx(6.6 * 0.45359237)}


WRONG = [
    ("lod dis-main off", "did you mean 'load'?"),
    ("load dis-man off", "load 'dis-man'; did you mean 'dis-main'?"),
    ("load dis-main of", "'of'; did you mean 'off'?"),
    ("load dis-main", "load NAME on|standby|off"),
    ("load dis-main off from T+2h", "'T+2h', which is over; write a moment from now on"),
    ("load dis-main off from 30h", "write UTC as 2041-06-02T03:10:00Z, or time since the epoch"),
    ("load dis-main off from T+40h until T+40h", "an end that is not after the beginning"),
    ("load dis-main off from T+40h from T+41h", "'from' twice"),
    ("off gal-heater, dis-man", "load 'dis-man'"),
    ("level minimum", "level 'minimum'; did you mean 'minimal'?"),
    ("people asleep 2", "2 people; write what all 4 aboard do"),
    ("people asleep 2, asleep 2", "asleep twice"),
    ("people asleep two", "people asleep 2, nominal 2"),
    ("people sleeping 4", "did you mean 'asleep'?"),
    ("people at-work 4", "there are asleep, rest, nominal, heavy"),
    ("use cabin-leak", "use NAME RATE"),
    ("use cabin-leak 0.09 kg", "mass per time"),
    ("use cabin-leek 0.09 kg/h", "did you mean 'cabin-leak'?"),
    ("use cabin-leak -0.09 kg/h", "write zero or more"),
    ("option home", "option 'home'; did you mean 'homeward'?"),
    ("option", "option NAME"),
    ("add oxygen 3 kg", "add SUPPLY AMOUNT at TIME"),
    ("add power 3 A at T+50h", "amps are a rate, amp-hours a quantity"),
    ("move homeward trim", "move EVENT to TIME"),
    ("drop homewards trim", "did you mean 'homeward trim'?"),
    ("store o2-walk open", "there are feeding"),
    ("store bat-2 lost at T+50h", "leave it out"),
    ("store bat-99 lost", "store 'bat-99'"),
    ("arrive 3 h", "arrive DURATION later|earlier"),
    ("arrive 300 h earlier", "an arrival that lies in the past"),
    ("arrive 3 kg later", "'3 kg', a mass"),
    ("", "as a change"),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_a_slip_is_told_with_what_to_write(ground: Ground, text: str, said: str) -> None:
    with pytest.raises(UsageError, match=re.escape(said)):
        read_change(text, ground)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("load dis-main off", "load dis-main on"),
        ("load dis-main off until T+40h", "load dis-main on from T+39h"),
        ("load dis-main on", "off dis-main, gal-heater"),
        ("level minimal", "level quiet"),
        ("option tender", "option homeward"),
        ("arrive 1 h later", "arrive 1 h earlier"),
        ("drop homeward trim", "move homeward trim to T+80h"),
        ("store bat-2 lost", "store bat-2 isolated at T+50h"),
        ("use cabin-leak 0 kg/h", "use cabin-leak 1 kg/h"),
        ("people asleep 4", "people nominal 4"),
    ],
)
def test_two_that_contradict_are_refused_and_both_named(ground: Ground, one: str, other: str) -> None:
    with pytest.raises(UsageError) as refused:
        read_changes([one, "add oxygen 1 kg at T+50h", other], ground)
    assert repr(one) in str(refused.value)
    assert repr(other) in str(refused.value)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("load dis-main off until T+40h", "load dis-main on from T+40h"),
        ("load dis-main off", "load gal-heater off"),
        ("level minimal", "level quiet from T+40h"),
        ("option tender", "arrive 1 h later"),
        ("store bat-2 isolated", "store bat-2 feeding at T+50h"),
    ],
)
def test_two_that_can_hold_together_are_taken(ground: Ground, one: str, other: str) -> None:
    assert len(read_changes([one, other], ground)) == 2


def test_every_form_that_is_listed_can_be_read() -> None:
    read = {text.split()[0] for text, _ in READ} | {"add"}
    assert read | {"leave"} == set(FORMS)


def test_changes_beside_an_option_are_read_for_its_plan(ground: Ground) -> None:
    with pytest.raises(UsageError, match="quick trim"):
        read_changes(["drop quick trim"], ground)
    changes = read_changes(["drop quick trim", "option quick-turn"], ground)
    assert changes == (DropEvent(name="quick trim"), TakeOption(option="quick-turn"))
    # Homeward arrives at T+101h, quick-turn at T+92h36m: 70 h earlier would be over for that one alone.
    assert len(read_changes(["arrive 70 h earlier"], ground)) == 1
    with pytest.raises(UsageError, match="lies in the past"):
        read_changes(["option quick-turn", "arrive 70 h earlier"], ground)
