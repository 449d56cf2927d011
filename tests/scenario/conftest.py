"""Two good scenarios of our own, which the tests read and spoil; the second stands in ``full_scenario``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from full_scenario import FULL_FILES
from scenario_builders import edited, faults_in, write_files

from console.errors import Fault
from console.scenario.load import Scenario, load_scenario

CRAFT = """\
format: 1
craft: {name: Low Burrow, epoch: "2043-01-09T06:00:00Z"}
crew:
  count: 3
  rates: {nominal: {oxygen: 0.84 kg/day, heat: 137 W}}
cabin: {volume: 30 m^3, pressure: {channel: room.pressure}, oxygen: {channel: room.ppo2},
        carbon_dioxide: {channel: room.ppco2}, temperature: {channel: room.temperature}}
propulsion: {supply: ballast, dry_mass: 9000 kg, exhaust_velocity: 40 m/s}
supplies:
  power:
    unit: A*h
    bus_voltage: 24 V
    rate: {channel: bus.current}
    stores:
      bank-a: {kind: battery, capacity: 300 A*h, residual: 10 %, peukert: 1.2, rated_current: 15 A,
               current: {channel: bank-a.current}, used: {channel: bank-a.used}}
      bank-b: {kind: battery, capacity: 80 A*h, protected: true, note: for the lift}
  oxygen:
    unit: kg
    stores:
      flask-1: {kind: gas, fluid: oxygen, volume: 0.05 m^3, pressure: {channel: flask-1.pressure},
                temperature: {channel: flask.temperature}, residual_pressure: 0.5 MPa}
      flask-2: {kind: gas, fluid: oxygen, volume: 0.05 m^3, pressure: 12 MPa, temperature: 290 K,
                state: isolated}
  water:
    unit: kg
    reserve: 2 kg
    stores:
      butt: {kind: liquid, capacity: 60 kg, residual: 1 kg, quantity: {channel: butt.quantity}}
      can: {kind: liquid, capacity: 20 kg, used: 4 kg}
  absorbent:
    unit: kg
    stores:
      tray-1: {kind: absorbent, capacity: 2.4 kg, sorbent: soda_lime, sorbent_mass: 6 kg}
  ballast:
    unit: lb
    stores:
      trim: {kind: liquid, capacity: 100 lb, quantity: 50 lb}
load_spread: 4 %
loads:
  lamp: {on: 48 W, standby: 0.5 A, duty: 50 %, heat: 60 %, priority: 7, title: the lamp}
  fan: {on: 2.0 A, priority: 1}
  beacon: {on: 0.4 A, heat: none, supply: power}
levels:
  full: {lamp: on, fan: on, beacon: on}
  dim: {like: full, lamp: standby}
  dark: {like: dim, lamp: off}
uses:
  breathing: {supply: oxygen, metabolic: oxygen, spread: 5 %}
  seep: {supply: oxygen, leak: 0.01 kg/h, at_pressure: 101 kPa}
  evaporator: {supply: water, evaporates_heat_of: [loads, crew], feed_temperature: 10 degC}
  drinking: {supply: water, per_person: 2.4 kg/day}
  scrubbing: {supply: absorbent, metabolic: carbon_dioxide}
  weeping: {supply: ballast, rate: 0.2 lb/h}
bands:
  default: {advisory: 24 h, caution: 12 h, warning: 3 h, deadband: 1 h, on_delay: 60 s, off_delay: 120 s}
  oxygen: {caution: 18 h}
channels:
  bus.current: {unit: A, range: [0, 60], accuracy: 0.2, resolution: 0.1, stale_after: 30 s}
  bank-a.current: {unit: A, range: [-10, 60]}
  bank-a.used: {unit: A*h, range: [0, 300 A*h]}
  flask-1.pressure: {unit: MPa, range: [0, 20], accuracy: 50 kPa}
  flask.temperature: {unit: degC, range: [-20, 60], accuracy: 0.5, resolution: 0.1 degC}
  butt.quantity: {unit: kg}
  room.pressure: {unit: kPa}
  room.ppo2: {unit: kPa}
  room.ppco2: {unit: mmHg}
  room.temperature: {unit: degF}
"""

PLAN = """\
format: 1
phases:
  - {name: settle, start: T+0h, level: full}
  - {name: wait, start: T+6h, level: dim, crew: {asleep: 1, nominal: 2}}
events:
  - name: charge the lift bank
    at: T+40h
    transfer: {from: power, to: bank-b, amount: 20 A*h, efficiency: 80 %}
  - {name: flush the lock, at: T+20h, uses: {oxygen: 1.2 kg}, spread: 10 %}
  - {name: open flask two, at: "2043-01-10T12:00:00Z", set: {flask-2: feeding}}
options:
  bell: {arrival: T+70h, recovery: 4 h, hold: 2 h, arrival_spread: 90 min, decide_by: T+24h,
         note: by the bell}
  lift:
    arrival: T+50h
    delta_v: 3 m/s
    phases: [{name: ascent, start: T+48h, level: dark}]
    events: [{name: drop the lock, at: T+49h, uses: {power: 5 A*h}}]
committed: bell
watches:
  - {name: first, start: T+0h}
  - {name: second, start: T+8h}
"""

PROCEDURES = """\
format: 1
procedures:
  dim-down:
    title: Dim the house
    steps:
      - {id: "1", do: Lamp to standby, load: lamp, to: standby, verify_within: 3 min,
         note: the lamp by the lock}
      - {id: "2", do: Shut flask two, store: flask-2, to: isolated, requires: ["1"],
         caution: Check flask one first.}
      - {id: "3", do: Draw water by hand, used: {can: 2 kg}}
      - {id: "4", do: All to dim, level: dim, requires: ["1", "2"]}
      - {id: "5", do: Look around}
"""

FILES = {"craft.yaml": CRAFT, "plan.yaml": PLAN, "procedures.yaml": PROCEDURES}


@pytest.fixture(scope="session")
def files() -> Mapping[str, str]:
    """The good scenario's files."""
    return FILES


@pytest.fixture
def good(tmp_path: Path) -> Scenario:
    """The good scenario, read."""
    return load_scenario(write_files(tmp_path / "good", FILES))


@pytest.fixture
def faults_after(tmp_path: Path) -> Callable[..., tuple[Fault, ...]]:
    """Reads the good scenario after edits: ``faults_after("craft.yaml", old, new, ...)``."""

    return _spoiler(FILES, tmp_path)


@pytest.fixture
def full(tmp_path: Path) -> Scenario:
    """The second good scenario, read."""
    return load_scenario(write_files(tmp_path / "full", FULL_FILES))


@pytest.fixture
def full_faults_after(tmp_path: Path) -> Callable[..., tuple[Fault, ...]]:
    """As ``faults_after``, of the second good scenario."""
    return _spoiler(FULL_FILES, tmp_path)


def _spoiler(files: Mapping[str, str], folder: Path) -> Callable[..., tuple[Fault, ...]]:
    def read(file: str, *edits: str) -> tuple[Fault, ...]:
        text = files[file]
        for old, new in zip(edits[::2], edits[1::2], strict=True):
            text = edited(text, old, new)
        return faults_in(write_files(folder / "spoilt", {**files, file: text}))

    return read
