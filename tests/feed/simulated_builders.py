"""A small station of our own, whose figures are round enough to be reckoned by hand, and its simulations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from console.craft.model import LoadState, StoreState
from console.engine.configuration import ConfigurationChange
from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.scenario.load import Scenario, load_scenario

CRAFT = """\
format: 1
craft: {name: Reef House, epoch: "2042-03-01T00:00:00Z"}
crew:
  count: 2
  rates: {nominal: {oxygen: 0.96 kg/day, carbon_dioxide: 1.2 kg/day, water_vapour: 1.5 kg/day, heat: 100 W}}
cabin: {volume: 20 m^3, pressure: {channel: room.pressure}, oxygen: {channel: room.ppo2},
        carbon_dioxide: {channel: room.ppco2}, temperature: {channel: room.temperature}}
supplies:
  power:
    unit: A*h
    bus_voltage: 25 V
    rate: {channel: bus.current}
    stores:
      bat-1: {kind: battery, capacity: 100 A*h, residual: 10 %, peukert: PEUKERT, rated_current: 2 A,
              current: {channel: bat-1.current}, used: {channel: bat-1.used}}
      bat-2: {kind: battery, capacity: 100 A*h, residual: 10 %, peukert: PEUKERT, rated_current: 2 A,
              current: {channel: bat-2.current}, quantity: {channel: bat-2.left}}
      bat-spare: {kind: battery, capacity: 40 A*h, protected: true}
  oxygen:
    unit: kg
    stores:
      o2-1: {kind: gas, fluid: oxygen, volume: 0.05 m^3, pressure: {channel: o2-1.pressure},
             temperature: {channel: o2-1.temperature}, residual_pressure: 0.5 MPa}
      o2-2: {kind: gas, capacity: 2 kg, quantity: {channel: o2-2.mass}, state: isolated}
  water:
    unit: kg
    stores: {tank: {kind: liquid, capacity: 100 kg, used: {channel: tank.used}},
             jug: {kind: liquid, capacity: 5 kg}}
  absorbent:
    unit: kg
    stores: {bed: {kind: absorbent, capacity: 3 kg, used: {channel: bed.used}}}
loads:
  lamp: {on: 2 A, standby: 0.5 A}
  fan: {on: 3 A, heat: 50 %}
  heater: {on: 8 A, duty: 25 %, heat: none}
levels:
  full: {lamp: on, fan: on, heater: on}
  dim: {like: full, lamp: standby}
uses:
  breathing: {supply: oxygen, metabolic: oxygen}
  leak: {supply: oxygen, leak: 0.02 kg/h, at_pressure: 100 kPa}
  cooling: {supply: water, evaporates_heat_of: [loads, crew], feed_temperature: 10 degC}
  drinking: {supply: water, per_person: 2.4 kg/day}
  scrubbing: {supply: absorbent, metabolic: carbon_dioxide}
bands:
  default: {advisory: 24 h, caution: 12 h, warning: 3 h}
channels:
  bus.current: {unit: A}
  bat-1.current: {unit: A, range: [0, 50], accuracy: 0.2, resolution: 0.1}
  bat-2.current: {unit: A}
  bat-1.used: {unit: A*h}
  bat-2.left: {unit: A*h}
  o2-1.pressure: {unit: MPa, range: [0, 20]}
  o2-1.temperature: {unit: degC, resolution: 0.5}
  o2-2.mass: {unit: kg}
  tank.used: {unit: kg}
  bed.used: {unit: kg}
  room.pressure: {unit: kPa}
  room.ppo2: {unit: kPa}
  room.ppco2: {unit: Pa}
  room.temperature: {unit: degC}
  porch.light: {unit: W}
"""

PLAN = """\
format: 1
phases:
  - {name: day, start: T+0h, level: full}
  - {name: night, start: T+20h, level: dim}
options:
  wait: {arrival: T+48h}
committed: wait
"""

SIMULATION = """\
format: 1
seed: 11
start: T+1h
wander: 0 %
initial: {o2-1: 10 MPa}
temperature: 290 K
cabin: {pressure: 100 kPa, oxygen: 21 kPa, carbon_dioxide: 300 Pa, temperature: 295 K}
"""

START_S = 3600.0


def write_scenario(
    folder: Path, *, events: str = "", simulation: str = SIMULATION, peukert: str = "1"
) -> Scenario:
    """The station's folder, read."""
    plan = PLAN + (f"events:\n{events}" if events else "")
    (folder / "craft.yaml").write_text(CRAFT.replace("PEUKERT", peukert))
    (folder / "plan.yaml").write_text(plan)
    (folder / "simulation.yaml").write_text(simulation)
    return load_scenario(folder)


def make_source(
    folder: Path,
    *,
    events: str = "",
    simulation: str = SIMULATION,
    peukert: str = "1",
    changes: Sequence[ConfigurationChange] = (),
) -> SimulatedSource:
    """The station, simulated."""
    scenario = write_scenario(folder, events=events, simulation=simulation, peukert=peukert)
    return SimulatedSource(scenario, read_simulation(scenario), lambda: changes)


def step(
    at_s: float,
    *,
    loads: Mapping[str, LoadState] | None = None,
    stores: Mapping[str, StoreState] | None = None,
    used_si: Mapping[str, float] | None = None,
) -> ConfigurationChange:
    """A logged step."""
    return ConfigurationChange(
        at_s=at_s, label="a step", loads=loads or {}, stores=stores or {}, used_si=used_si or {}
    )
