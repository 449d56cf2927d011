"""A small craft that has one of each kind of figure which the packaged scenarios lack."""

from __future__ import annotations

from pathlib import Path

CRAFT = """
format: 1
craft: {name: Wren, epoch: "2042-01-01T00:00:00Z"}
crew: {count: 3, body_mass: 75 kg}
cabin:
  volume: 12 m^3
  pressure: {channel: cabin.pressure}
  oxygen: {channel: cabin.oxygen}
  carbon_dioxide: {channel: cabin.co2}
  temperature: {channel: cabin.temperature}
  oxygen_feed: {holds: oxygen}
  thermal: {heat_capacity: 900 kJ/K, conductance: 40 W/K, outside: 270 K, cooled_to: 22 degC,
            cooling_needs: [pump]}
  limits:
    - {name: too warm, of: temperature, above: 30 degC, source: "our own"}
    - {name: too cold, of: temperature, below: 5 degC, source: "our own"}
    - {name: CO2, of: carbon_dioxide, above: 2 kPa, source: "our own"}
propulsion:
  supply: fuel
  dry_mass: 4000 kg
  exhaust_velocity: 3000 m/s
  modules: {nose: {mass: 600 kg, stores: [fuel-2, fuel-3], loads: [lamp]}}
supplies:
  power:
    unit: MJ
    bus_voltage: 28 V
    current_limit: 40 A
    stores:
      bat-a: {kind: battery, capacity: 40 MJ, residual: 5 %, peukert: 1.1, rated_current: 2 A,
              current: {channel: bat-a.current}, used: {channel: bat-a.used}, current_limit: 20 A}
      bat-b: {kind: battery, capacity: 30 MJ, peukert: 1.2, rated_current: 1.5 A,
              temperature: {channel: bat-b.temperature},
              capacity_at: [[0 degC, 80 %], [25 degC, 100 %]], current: {channel: bat-b.current},
              used: {channel: bat-b.used}}
      bat-c: {kind: battery, capacity: 30 MJ, quantity: {channel: bat-c.share}, state: isolated}
  oxygen:
    unit: lb
    reserve: {amount: 2 lb, for: one repressurisation}
    stores:
      o2-1: {kind: gas, fluid: oxygen, volume: 0.06 m^3, pressure: {channel: o2-1.pressure},
             temperature: {channel: o2-1.temperature}, residual_pressure: 0.5 MPa}
      o2-2: {kind: gas, fluid: oxygen, volume: 0.03 m^3, pressure: 12 MPa, temperature: 290 K}
  fuel:
    unit: kg
    stores:
      fuel-1: {kind: liquid, capacity: 900 kg, residual: 2 %, quantity: {channel: fuel-1.quantity}}
      fuel-2: {kind: liquid, capacity: 200 kg, quantity: 150 kg}
      fuel-3: {kind: liquid, capacity: 80 kg, quantity: 60 kg}
  water:
    unit: L
    stores:
      tank-1: {kind: liquid, capacity: 60 L, quantity: 20 L}
      tank-2: {kind: liquid, capacity: 60 L, quantity: 55 L}
load_spread: 5 %
loads:
  pump: {on: 120 W, priority: 1}
  lamp: {on: 40 W, standby: 5 W, duty: 50 %, heat: 50 %, priority: 4}
levels:
  all: {pump: on, lamp: on}
  low: {pump: on, lamp: standby}
uses:
  breath: {supply: oxygen, metabolic: oxygen, spread: 5 %}
  hull-hole: {supply: oxygen, hole: 0.02 mm^2, discharge: 60 %, spread: 10 %}
  airlock: {supply: oxygen, hole: 0.05 mm^2, outside: 80 kPa}
  bottle-leak: {supply: oxygen, hole: 0.001 mm^2, of_store: o2-2}
  cup: {supply: water, per_person: 2.5 L/day}
bands:
  default: {advisory: 24 h, caution: 12 h, warning: 3 h}
channels:
  bat-a.current: {unit: A, accuracy: 0.2}
  bat-b.current: {unit: A, accuracy: 0.2}
  bat-a.used: {unit: MJ, accuracy: 0.4}
  bat-b.used: {unit: MJ, accuracy: 0.4}
  bat-b.temperature: {unit: degC, accuracy: 1}
  bat-c.share: {unit: "%", accuracy: 2}
  o2-1.pressure: {unit: psi, accuracy: 20}
  o2-1.temperature: {unit: degC, accuracy: 1}
  fuel-1.quantity: {unit: lb, accuracy: 10}
  cabin.pressure: {unit: kPa, accuracy: 0.3}
  cabin.oxygen: {unit: kPa, accuracy: 0.3}
  cabin.co2: {unit: Pa, accuracy: 20}
  cabin.temperature: {unit: degC, accuracy: 0.5}
"""

PLAN = """
format: 1
phases:
  - {name: drift, start: T+0h, level: all}
  - {name: rest, start: T+30h, level: low, crew: {asleep: 2, nominal: 1}}
events:
  - {name: trim, at: T+20h, burn: 40 m/s, spread: 2 %}
  - {name: top up, at: T+22h, lasts: 2 h, spread: 5 %,
     transfer: {from: power, to: bat-b, amount: 2 MJ, efficiency: 70 %}}
  - {name: share out, at: T+24h, transfer: {from: water, to: tank-1, amount: 30 L, efficiency: 90 %}}
  - {name: lock filled, at: T+26h, repressurise: {supply: oxygen, volume: 3 m^3, to: 50 kPa}, spread: 8 %}
  - {name: nose left, at: T+28h, drop: nose}
  - {name: swap, at: T+32h, set: {bat-a: isolated, bat-c: feeding}}
  - {name: trim, at: T+40h, burn: 15 m/s, spread: 20 %}
options:
  home: {arrival: T+60h, arrival_spread: 20 min, recovery: 2 h, delta_v: 60 m/s}
committed: home
"""

STATE = """
{"format": 1, "at": "2042-01-01T10:00:00Z", "readings": {
  "bat-a.current": 4.1, "bat-b.current": 2.9, "bat-a.used": 5.5, "bat-b.used": 3.25,
  "bat-b.temperature": 11.0,
  "bat-c.share": 92, "o2-1.pressure": 1500,
  "o2-1.temperature": 14.0, "fuel-1.quantity": 1500,
  "cabin.pressure": 101.0, "cabin.oxygen": 21.3, "cabin.co2": 400, "cabin.temperature": 21.0}}
"""


MEASURED = (
    ("    current_limit: 40 A\n", "    current_limit: 40 A\n    sharing: measured\n"),
    ("used: {channel: bat-a.used}", "quantity: {channel: bat-a.used}"),
)
"""Batteries that share as their meters say, one of them with a gauge beside its meter."""


def write(folder: Path, changes: tuple[tuple[str, str], ...] = ()) -> Path:
    """The scenario in a folder, with pieces of craft.yaml changed."""
    craft = CRAFT
    for old, new in changes:
        assert craft.count(old) == 1, old
        craft = craft.replace(old, new)
    for name, text in (("craft.yaml", craft), ("plan.yaml", PLAN), ("state.json", STATE)):
        (folder / name).write_text(text.lstrip(), encoding="utf-8")
    return folder
