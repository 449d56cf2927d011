"""A small sealed house of our own, whose air and warmth are round enough to be reckoned by hand."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from console.engine.configuration import ConfigurationChange
from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.scenario.load import load_scenario

CRAFT = """\
format: 1
craft: {name: Mill Pond, epoch: "2042-03-01T00:00:00Z"}
crew:
  count: 2
  rates: {nominal: {oxygen: 0.96 kg/day, carbon_dioxide: 1.2 kg/day, water_vapour: 2.4 kg/day, heat: 100 W}}
cabin:
  volume: 20 m^3
  pressure: {channel: air.pressure}
  oxygen: {channel: air.oxygen}
  carbon_dioxide: {channel: air.co2}
  temperature: {channel: air.temperature}
  humidity: {channel: air.humidity}
  removal: {flow: 0.6 m^3/min, efficiency: 50 %, needs: [blower]}
  oxygen_feed: {holds: oxygen, needs: [valves]}
  drying: {humidity: 60 %, needs: [dryer]}
  thermal: {heat_capacity: 1000 kJ/K, conductance: 50 W/K, outside: {channel: sea.temperature}COOLING}
supplies:
  power:
    unit: kW*h
    bus_voltage: 50 V
    stores:
      bank: {kind: battery, capacity: 40 kW*h, residual: 10 %, quantity: {channel: bank.charge},
             current: {channel: bank.current}}
      cold-bank: {kind: battery, capacity: 10 kW*h, used: {channel: cold-bank.used}, state: isolated,
                  temperature: {channel: sea.temperature}, capacity_at: [[0 degC, 80 %], [20 degC, 100 %]]}
  oxygen:
    unit: L
    volume_at: {fluid: oxygen, pressure: 101.325 kPa, temperature: 15 degC}
    stores:
      flask: {kind: gas, fluid: oxygen, volume: 50 L, pressure: {channel: flask.pressure}, temperature: 290 K,
              residual_pressure: 0.5 MPa}
      torn: {kind: gas, fluid: oxygen, volume: 50 L, pressure: {channel: torn.pressure}, temperature: 290 K,
             state: isolated}
  water:
    unit: kg
    stores: {tank: {kind: liquid, capacity: 100 kg, used: {channel: tank.used}}}
  absorbent:
    unit: kg
    stores:
      lime-1: {kind: absorbent, capacity: 2 kg, used: {channel: lime-1.used}, sorbent: soda_lime,
               sorbent_mass: 9 kg}
      lime-2: {kind: absorbent, capacity: 2 kg, state: spare}
      lime-3: {kind: absorbent, capacity: 2 kg, state: spare}
  ballast:
    unit: kg
    reserve: 20 kg
    stores:
      keel: {kind: liquid, capacity: 500 kg, quantity: {channel: keel.mass}}
      shed-tank: {kind: liquid, capacity: 50 kg, quantity: {channel: shed-tank.mass}, state: isolated}
propulsion:
  supply: ballast
  dry_mass: 2000 kg
  exhaust_velocity: 100 m/s
  modules: {shed: {mass: 500 kg, stores: [shed-tank], loads: [shed-lamp]}}
loads:
  blower: {on: 100 W}
  valves: {on: 20 W}
  dryer: {on: 80 W}
  shed-lamp: {on: 50 W, heat: none}
levels:
  full: {blower: on, valves: on, dryer: on, shed-lamp: on}
uses:
  breathing: {supply: oxygen, metabolic: oxygen}
  tear: {supply: oxygen, hole: 0.01 mm^2, of_store: torn}
  scrubbing: {supply: absorbent, metabolic: carbon_dioxide}
bands:
  default: {advisory: 24 h, caution: 12 h, warning: 3 h}
channels:
  air.pressure: {unit: kPa}
  air.oxygen: {unit: "%"}
  air.co2: {unit: ppm}
  air.temperature: {unit: degC}
  air.humidity: {unit: "%"}
  sea.temperature: {unit: degC}
  bank.charge: {unit: "%"}
  bank.current: {unit: A}
  cold-bank.used: {unit: kW*h}
  flask.pressure: {unit: MPa}
  torn.pressure: {unit: MPa}
  tank.used: {unit: kg}
  lime-1.used: {unit: kg}
  keel.mass: {unit: kg}
  shed-tank.mass: {unit: kg}
"""

PLAN = """\
format: 1
phases:
  - {name: day, start: T+0h, level: full}
options:
  wait: {arrival: T+48h}
committed: wait
"""

SIMULATION = """\
format: 1
seed: 11
start: T+1h
wander: 0 %
initial: {flask: 10 MPa, torn: 8 MPa, cold-bank: 6 kW*h, keel: 400 kg}
outside: 280 K
cabin: {pressure: 100 kPa, oxygen: 21 kPa, carbon_dioxide: 300 Pa, temperature: 295 K, humidity: 50 %}
"""

START_S = 3600.0


def make_house(
    folder: Path,
    *,
    edits: Sequence[tuple[str, str]] = (),
    events: str = "",
    changes: Sequence[ConfigurationChange] = (),
    simulation: str = SIMULATION,
) -> SimulatedSource:
    """The house, simulated; edits are made in craft.yaml, ``COOLING`` stands for more of its thermal data."""
    craft = CRAFT
    for old, new in (*edits, ("COOLING", "")):
        assert old in craft or old == "COOLING", old
        craft = craft.replace(old, new)
    (folder / "craft.yaml").write_text(craft)
    (folder / "plan.yaml").write_text(PLAN + (f"events:\n{events}" if events else ""))
    (folder / "simulation.yaml").write_text(simulation)
    scenario = load_scenario(folder)
    return SimulatedSource(scenario, read_simulation(scenario), lambda: changes)
