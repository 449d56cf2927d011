"""The faults of simulation.yaml: every kind can be written, and all that is wrong is told at once."""

from __future__ import annotations

import math
import re
import shutil
from pathlib import Path

import pytest
from simulated_builders import SIMULATION, write_scenario

from console.craft.model import Activity, LoadState
from console.errors import ScenarioError
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault
from console.feed.simulation_file import read_simulation
from console.scenario.load import load_scenario

CONFIGS = Path(__file__).parents[2] / "configs"
H = 3600.0
PROCEDURES = """\
format: 1
procedures:
  dim-down: {title: Dim, steps: [{id: "1", do: Lamp to standby, load: lamp, to: standby}]}
"""

WRITTEN = {
    FaultKind.LEAK: (
        "store: tank, rate: 0.5 kg/h, course: growing, doubles_in: 2 h",
        {"doubles_in_s": 2 * H},
    ),
    FaultKind.LOAD_STATE: ("load: fan, is: off", {"load": "fan", "state": LoadState.OFF}),
    FaultKind.LOAD_DRAW: ("load: fan, times: 1.5", {"factor": 1.5}),
    FaultKind.PEOPLE: (
        "from: nominal, to: heavy, count: 2",
        {"moves_from": Activity.NOMINAL, "moves_to": Activity.HEAVY, "count": 2},
    ),
    FaultKind.USE_FACTOR: ("use: drinking, times: 0.5", {"use": "drinking", "factor": 0.5}),
    FaultKind.LATE_ENTRY: ("by: 40 min", {"by_s": 2400.0}),
    FaultKind.MISTIMED_ENTRY: (
        "earlier: 10 min, step: dim-down/1",
        {"by_s": -600.0, "step": ("dim-down", "1")},
    ),
    FaultKind.FORGOTTEN_ENTRY: ("step: dim-down/1", {"step": ("dim-down", "1")}),
    FaultKind.STRATIFIED: (
        "store: tank, amplitude: 2 kg, period: 30 min",
        {"channel": "tank.used", "size_si": 2.0, "period_s": 1800.0},
    ),
    FaultKind.BIAS: ("channel: o2-1.temperature, by: -2", {"size_si": -2.0}),
    FaultKind.DRIFT: ("channel: o2-1.pressure, per_hour: 0.1", {"per_hour_si": 1e5}),
    FaultKind.STUCK: ("channel: o2-1.temperature, value: 20", {"value_si": 293.15}),
    FaultKind.DROP_OUT: ("says: null", {"channel": None, "is_null": True}),
    FaultKind.SPIKES: ("channel: bus.current, size: 40 A, per_hour: 6", {"size_si": 40.0, "per_hour": 6.0}),
    FaultKind.NOISE: ("channel: bat-1.current, times: 5", {"factor": 5.0}),
    FaultKind.OSCILLATION: ("channel: bus.current, amplitude: 1 A, period: 60 s", {"period_s": 60.0}),
    FaultKind.UNIT_SLIP: ("channel: room.pressure, unit: psi", {"channel": "room.pressure"}),
    FaultKind.CLOCK_STEP: ("back: 40 s", {"by_s": -40.0}),
    FaultKind.REPEATED_TIMES: ("until: T+5h", {"until_s": 5 * H}),
}


def read(folder: Path, faults: str, more: str = "") -> tuple[SimulatedFault, ...]:
    """The faults of a simulation; lines of its list."""
    write_scenario(folder, simulation=SIMULATION + (f"faults:\n{faults}" if faults else "") + more)
    (folder / "procedures.yaml").write_text(PROCEDURES)
    return read_simulation(load_scenario(folder)).faults


def told(folder: Path, faults: str, more: str = "") -> list[str]:
    """What is wrong with them."""
    with pytest.raises(ScenarioError) as caught:
        read(folder, faults, more)
    return [str(fault) for fault in caught.value.faults]


def test_every_kind_is_written_here() -> None:
    assert set(WRITTEN) == set(FaultKind)


@pytest.mark.parametrize("kind", FaultKind)
def test_a_fault_of_each_kind_can_be_written(tmp_path: Path, kind: FaultKind) -> None:
    text, expected = WRITTEN[kind]
    (fault,) = read(tmp_path, f"  - {{at: T+3h, kind: {kind.value}, {text}}}\n")
    assert (fault.kind, fault.at_s) == (kind, 3 * H)
    for name, value in expected.items():
        assert getattr(fault, name) == (pytest.approx(value) if isinstance(value, float) else value), name
    if kind is FaultKind.LEAK:
        assert (fault.store, fault.course) == ("tank", LeakCourse.GROWING)
        assert fault.rate_si_per_s == pytest.approx(0.5 / H)
    if kind is not FaultKind.REPEATED_TIMES:
        assert fault.until_s == math.inf


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        ("kind: leek", "faults[0].kind (line 9): found 'leek'; did you mean 'leak'?"),
        ("store: tank", "faults[0].kind (line 9): found nothing; write the fault's kind"),
        ("kind: leak, rate: 1 kg/h", "faults[0] (line 9): found no store and no use; write one"),
        ("kind: leak, store: tang, rate: 1 kg/h", "faults[0].store (line 9): found 'tang'"),
        ("kind: leak, store: tank, rate: 1 A", "a current; write a mass per time"),
        ("kind: leak, store: tank", "faults[0].rate (line 9): found nothing"),
        ("kind: leak, store: tank, rate: 1 kg/h, course: growing", "faults[0].doubles_in (line 9)"),
        (
            "kind: leak, store: tank, rate: 1 kg/h, doubles_in: 2 h",
            "leave it out: only a growing leak doubles",
        ),
        ("kind: load-state, load: fann, is: on", "did you mean 'fan'?"),
        ("kind: load-state, load: fan, is: onn", "did you mean 'on'?"),
        ("kind: people, from: nominal, to: heavy, count: 3", "from 1 to 2"),
        ("kind: bias, channel: bus.current, by: 2 kg", "a mass; write a current"),
        ("kind: bias, channel: bus.curent, by: 2 A", "did you mean 'bus.current'?"),
        (
            "kind: bias, channel: bus.current, bye: 2 A",
            "faults[0].bye (line 9): found a key that is not known",
        ),
        ("kind: clock-step", "found neither ahead and back; write one of them, as ahead: 20 s"),
        ("kind: clock-step, ahead: 5 s, back: 5 s", "found both ahead and back"),
        ("kind: unit-slip, channel: room.pressure, unit: lb", "a mass; write a pressure"),
        ("kind: stratified, store: jug, amplitude: 1 kg, period: 1 h", "whose quantity, use or pressure"),
        ("kind: late-entry, by: 5 min, step: dim-down/2", "did you mean 'dim-down/1'?"),
        ("kind: repeated-times, until: T+2h", "write a moment after the one at which it begins"),
        ("kind: drop-out, says: nil", "faults[0].says (line 9): found 'nil'"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, fault: str, expected: str) -> None:
    messages = told(tmp_path, f"  - {{at: T+3h, {fault}}}\n")
    assert len(messages) == 1, messages
    assert expected in messages[0]


def test_all_faults_of_all_faults_are_told_at_once(tmp_path: Path) -> None:
    faults = (
        "  - {at: 3h, kind: repeated-times}\n  - {at: T+1h, kind: noise, channel: x, times: -1}\n  - leak\n"
    )
    assert [message.split(" ")[1] for message in told(tmp_path, faults)] == [
        "faults[0].at",
        "faults[1].channel",
        "faults[1].times",
        "faults[2]",
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("random_faults: {per_day: -1}\n", "random_faults.per_day"),
        ("random_faults: {per_day: 2, kinds: [leek]}\n", "did you mean 'leak'?"),
        ("random_faults: {per_day: 2, kinds: []}\n", "found an empty list; name at least one kind"),
        ("random_faults: {kinds: [leak]}\n", "random_faults.per_day (line 8): found nothing"),
        ("faults: {at: T+1h}\n", "found a mapping; write a list of faults"),
        ("biases: nones\n", "or 'none'"),
    ],
)
def test_what_is_wrong_around_them_is_told(tmp_path: Path, text: str, expected: str) -> None:
    messages = told(tmp_path, "", more=text)
    assert len(messages) == 1, messages
    assert expected in messages[0]


@pytest.mark.parametrize("name", ["tern", "vole", "whelk"])
def test_the_examples_in_the_packaged_scenarios_can_be_taken_up(tmp_path: Path, name: str) -> None:
    folder = Path(shutil.copytree(CONFIGS / name, tmp_path / name))
    assert read_simulation(load_scenario(folder)).faults == (), "marked as comments"
    text = (folder / "simulation.yaml").read_text()
    begin = text.index("# faults:")
    (folder / "simulation.yaml").write_text(text[:begin] + re.sub("(?m)^# ", "", text[begin:]))
    simulation = read_simulation(load_scenario(folder))
    assert len(simulation.faults) >= 5
    assert simulation.random_faults is not None
    assert all(fault.at_s > simulation.start_s for fault in simulation.faults)
