"""Each rule of plan.yaml and procedures.yaml broken once: one edit of the good scenario, one fault."""

# ruff: noqa: E501  # one row, one line: the tables are read as tables

from __future__ import annotations

from collections.abc import Callable

import pytest

from console.errors import Fault

STEPS = "procedures.dim-down.steps"

PLAN_ROWS = [
    ("format: 1", "format: 0", "format", "0", "format: 1"),
    # phases
    ("name: settle, ", "", "phases[0].name", "nothing", "write a name"),
    ("start: T+6h", "start: T+0h", "phases[1].start", "not later than that of phases[0]", "order of time"),
    ("start: T+6h", "start: 12:30:00", "phases[1].start", "'12:30:00'", "T+12h30m"),
    ("start: T+6h", "start: 2304504000", "phases[1].start", "2304504000", "T+12h30m"),
    ("start: T+6h", "start: 6 h", "phases[1].start", "'6 h'", "T+12h30m"),
    ("start: T+6h", "start: 2043-01-09T12:00:00", "phases[1].start", "'2043-01-09T12:00:00'", "Z"),
    ("start: T+6h", "start: 2043-01-09T12:00:00+02:00", "phases[1].start", "+02:00", "Z"),
    ("start: T+6h", f"start: T+{'9' * 30}d", "phases[1].start", "9d'", "within 100 years"),
    ("start: T+6h", f"start: T+{'9' * 400}d", "phases[1].start", "999…", "T+12h30m"),
    ("start: T+6h, ", "", "phases[1].start", "nothing", "T+12h30m"),
    ("name: wait", "name: settle", "phases[1].name", "'settle', as phases[0] is called already", "another name"),
    ("level: dim, crew", "level: dimm, crew", "phases[1].level", "'dimm'", "'dim'"),
    ("level: dim, ", "", "phases[1].level", "nothing", "a level"),
    ("asleep: 1, nominal: 2", "asleep: 1, nominal: 1", "phases[1].crew", "2 people", "for 3"),
    ("asleep: 1, nominal: 2", "asleep: 4, nominal: -1", "phases[1].crew.nominal", "-1", "whole number"),
    ("asleep: 1, nominal: 2", "asleep: 1, nominal: two", "phases[1].crew.nominal", "'two'", "whole number"),
    ("asleep: 1, nominal: 2", "asleep: 1, nominel: 2", "phases[1].crew.nominel", "not known", "'nominal'"),
    # events
    ("at: T+40h", "at: 40 h", "events[0].at", "'40 h'", "T+12h30m"),
    ("from: power", "from: powr", "events[0].transfer.from", "'powr'", "'power'"),
    ("from: power", "from: water", "events[0].transfer", "a transfer of mass from 'water' into 'bank-b'", "one kind"),
    ("to: bank-b", "to: bank-c", "events[0].transfer.to", "'bank-c'", "'bank-"),
    ("amount: 20 A*h", "amount: 81 A*h", "events[0].transfer.amount", "'81 A*h'", "capacity of 'bank-b'"),
    ("amount: 20 A*h", "amount: 20 A", "events[0].transfer.amount", "a current", "amps are a rate"),
    ("amount: 20 A*h", "amount: 0 A*h", "events[0].transfer.amount", "'0 A*h'", "above zero"),
    (", amount: 20 A*h", "", "events[0].transfer.amount", "nothing", "320 A*h"),
    ("efficiency: 80 %", "efficiency: 0 %", "events[0].transfer.efficiency", "'0 %'", "above zero"),
    ("efficiency: 80 %", "efficiency: 101 %", "events[0].transfer.efficiency", "'101 %'", "at most 100 %"),
    ("efficiency: 80 %", "efficiency: 0.8", "events[0].transfer.efficiency", "without a unit", "8 %"),
    ("uses: {oxygen: 1.2 kg}", "uses: {oxygen: 1.2 kg/h}", "events[1].uses.oxygen", "a mass per time", "not the same"),
    ("uses: {oxygen: 1.2 kg}", "uses: {oxigen: 1.2 kg}", "events[1].uses.oxigen", "'oxigen'", "'oxygen'"),
    ("uses: {oxygen: 1.2 kg}", "uses: {power: 1.2 A}", "events[1].uses.power", "a current", "amp-hours a quantity"),
    ("uses: {oxygen: 1.2 kg}, ", "", "events[1]", "does nothing", "uses, transfer, set"),
    ("spread: 10 %", "spread: 10", "events[1].spread", "10", "8 %"),
    ("set: {flask-2: feeding}", "set: {flask-2: open}", "events[2].set.flask-2", "'open'", "'feeding'"),
    ("set: {flask-2: feeding}", "set: {flask2: feeding}", "events[2].set.flask2", "'flask2'", "'flask-2'"),
    # options and watches
    ("arrival: T+70h, ", "", "options.bell.arrival", "nothing", "T+12h30m"),
    ("arrival: T+70h", "arrival: 70 h", "options.bell.arrival", "'70 h'", "T+12h30m"),
    ("arrival: T+70h", "arrival: 2043-01-08T00:00:00Z", "options.bell.arrival", "2043-01-08", "after the start of the first"),
    ("recovery: 4 h", "recovery: 4", "options.bell.recovery", "4, a number without a unit", "12 h"),
    ("recovery: 4 h", "recovery: -4 h", "options.bell.recovery", "'-4 h'", "not negative"),
    ("hold: 2 h", "hold: 1e9 day", "options.bell.hold", "'1e9 day'", "100 years"),
    ("decide_by: T+24h", "decide_by: tomorrow", "options.bell.decide_by", "'tomorrow'", "T+12h30m"),
    ("decide_by: T+24h", "decide_by: T+71h", "options.bell.decide_by", "'T+71h'", "before the arrival"),
    ("decide_by: T+24h", "decide: T+24h", "options.bell.decide", "not known", "'decide_by'"),
    ("delta_v: 3 m/s", "delta_v: 3 m", "options.lift.delta_v", "a length", "velocity"),
    ("name: ascent", "name: settle", "options.lift.phases", "'settle'", "another name"),
    ("uses: {power: 5 A*h}", "uses: {pwr: 5 A*h}", "options.lift.events[0].uses.pwr", "'pwr'", "'power'"),
    ("committed: bell", "committed: bel", "committed", "'bel'", "'bell'"),
    ("committed: bell\n", "", "committed", "nothing", "an option"),
    ("name: second, start: T+8h", "name: second, start: T+0h", "watches[1].start", "not later than that of watches[0]", "order"),
    ("second, start: T+8h", "second, start: 2300-12-31T00:00:00Z", "watches[1].start", "'2300-12", "within 100 years"),
    ("name: second, start: T+8h", "name: second", "watches[1].start", "nothing", "T+12h30m"),
]  # fmt: skip

PROCEDURE_ROWS = [
    ("format: 1", "format: 3", "format", "3", "format: 1"),
    ("    title: Dim the house\n", "", "procedures.dim-down.title", "nothing", "a text"),
    ("  dim-down:", "  dim/down:", "procedures.dim/down", "a name with a slash", "PROCEDURE/STEP"),
    ('id: "5"', "id: 5", f"{STEPS}[4].id", "5, a number", '"5"'),
    ('id: "5"', 'id: "4"', f"{STEPS}[4].id", "the id of an earlier step", "another id"),
    ('id: "5", ', "", f"{STEPS}[4].id", "nothing", "'1'"),
    (", do: Look around", "", f"{STEPS}[4].do", "nothing", "the operator does"),
    ("load: lamp, to", "load: lampe, to", f"{STEPS}[0].load", "'lampe'", "'lamp'"),
    ("load: lamp, to: standby", "load: lamp", f"{STEPS}[0].to", "nothing", "'standby'"),
    ("load: lamp, to: standby", "load: lamp, to: isolated", f"{STEPS}[0].to", "'isolated'", "'standby'"),
    ("load: lamp, to: standby", "to: standby", f"{STEPS}[0].to", "without a load or a store", "which load or store"),
    ("load: lamp, to", "load: lamp, store: can, to", f"{STEPS}[0].store", "a load and a store", "two steps"),
    ("verify_within: 3 min", "verify_within: 3", f"{STEPS}[0].verify_within", "3", "12 h"),
    ("verify_within: 3 min", "verify_within: 0 min", f"{STEPS}[0].verify_within", "'0 min'", "above zero"),
    ("store: flask-2", "store: flask-3", f"{STEPS}[1].store", "'flask-3'", "'flask-"),
    ("to: isolated", "to: standby", f"{STEPS}[1].to", "'standby'", "'isolated'"),
    ('to: isolated, requires: ["1"]', 'to: isolated, requires: ["3"]', f"{STEPS}[1].requires[0]", "not the id of an earlier step", "'1'"),
    ('to: isolated, requires: ["1"]', 'to: isolated, requires: ["2"]', f"{STEPS}[1].requires[0]", "not the id of an earlier step", "'1'"),
    ('to: isolated, requires: ["1"]', "to: isolated, requires: [1]", f"{STEPS}[1].requires[0]", "not text", "quotes"),
    ('to: isolated, requires: ["1"]', 'to: isolated, requires: "1"', f"{STEPS}[1].requires", "'1'", "the ids of earlier steps"),
    ("used: {can: 2 kg}", "used: {can: 2 A*h}", f"{STEPS}[2].used.can", "a charge", "a mass"),
    ("used: {can: 2 kg}", "used: {can: 21 kg}", f"{STEPS}[2].used.can", "'21 kg'", "capacity of 'can'"),
    ("used: {can: 2 kg}", "used: {cam: 2 kg}", f"{STEPS}[2].used.cam", "'cam'", "'can'"),
    ("level: dim, requires", "level: dimm, requires", f"{STEPS}[3].level", "'dimm'", "'dim'"),
    ("do: Look around", "do: Look around, cautoin: none", f"{STEPS}[4].cautoin", "not known", "'caution'"),
]  # fmt: skip


def assert_one_fault(faults: tuple[Fault, ...], file: str, place: str, found: str, expected: str) -> None:
    assert [str(fault) for fault in faults] == [str(fault) for fault in faults[:1]], "one edit, one fault"
    (fault,) = faults
    assert (fault.file, fault.place) == (file, place)
    assert found in fault.found
    assert expected in fault.expected
    assert fault.line is not None


@pytest.mark.parametrize(("old", "new", "place", "found", "expected"), PLAN_ROWS)
def test_a_broken_rule_of_a_plan_is_one_fault(
    faults_after: Callable[..., tuple[Fault, ...]], old: str, new: str, place: str, found: str, expected: str
) -> None:
    assert_one_fault(faults_after("plan.yaml", old, new), "plan.yaml", place, found, expected)


@pytest.mark.parametrize(("old", "new", "place", "found", "expected"), PROCEDURE_ROWS)
def test_a_broken_rule_of_procedures_is_one_fault(
    faults_after: Callable[..., tuple[Fault, ...]], old: str, new: str, place: str, found: str, expected: str
) -> None:
    assert_one_fault(faults_after("procedures.yaml", old, new), "procedures.yaml", place, found, expected)


@pytest.mark.parametrize(
    ("start", "place", "found"), [("phases:", "phases", "no phase"), ("options:", "options", "no option")]
)
def test_a_plan_needs_a_phase_and_an_option(
    faults_after: Callable[..., tuple[Fault, ...]], start: str, place: str, found: str
) -> None:
    empty = {"phases:": "phases: []\nevents:\n", "options:": "options: {}\ncommitted:"}[start]
    text_of_part = {
        "phases:": (
            "phases:\n  - {name: settle, start: T+0h, level: full}\n"
            "  - {name: wait, start: T+6h, level: dim, crew: {asleep: 1, nominal: 2}}\nevents:\n"
        ),
        "options:": (
            "options:\n  bell: {arrival: T+70h, recovery: 4 h, hold: 2 h, arrival_spread: 90 min, "
            "decide_by: T+24h,\n         note: by the bell}\n  lift:\n    arrival: T+50h\n    delta_v: 3 m/s\n"
            "    phases: [{name: ascent, start: T+48h, level: dark}]\n"
            "    events: [{name: drop the lock, at: T+49h, uses: {power: 5 A*h}}]\ncommitted:"
        ),
    }[start]
    (fault,) = faults_after("plan.yaml", text_of_part, empty)
    assert (fault.place, fault.found) == (place, found)


def test_a_procedure_needs_a_step(faults_after: Callable[..., tuple[Fault, ...]]) -> None:
    (fault,) = faults_after("procedures.yaml", "  dim-down:", "  idle: {title: Idle, steps: []}\n  dim-down:")
    assert (fault.place, fault.found) == ("procedures.idle.steps", "no step")


def test_an_option_may_fly_a_phase_of_the_plan_again(faults_after: Callable[..., tuple[Fault, ...]]) -> None:
    edits = ("name: ascent, start: T+48h", "name: wait, start: T+5h")
    assert faults_after("plan.yaml", *edits) == ()


def test_what_is_stored_between_moments_may_be_before_the_epoch(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    assert faults_after("plan.yaml", "name: settle, start: T+0h", "name: settle, start: T-2h") == ()
