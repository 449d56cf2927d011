"""A second good scenario of our own: every key of cabin, stores, people and parts that the first has not."""

from __future__ import annotations

CRAFT = """\
format: 1
units: us
craft: {name: High Burrow, epoch: "2043-03-01T00:00:00Z"}
crew:
  count: 3
  body_mass: 80 kg
  height: 1.75 m
  rates: {heavy: {oxygen: 4.2 kg/day, carbon_dioxide: 5.0 kg/day}}
cabin:
  volume: 12 m^3
  pressure: {channel: room.pressure}
  oxygen: {channel: room.oxygen}
  carbon_dioxide: 4 mmHg
  temperature: {channel: room.temperature}
  humidity: 45 %
  removal: {flow: 0.5 m^3/min, efficiency: 90 %, needs: [blower]}
  oxygen_feed: {holds: pressure, needs: [valves]}
  drying: {humidity: 55 %, needs: [dryer]}
  thermal: {heat_capacity: 900 kJ/K, conductance: 40 W/K, outside: 250 K, cooled_to: 21 degC,
            cooling_needs: [pump], cooling_supply: water}
  limits:
    - {name: raised CO2, of: carbon_dioxide, above: 15 mmHg, source: "house rule 1", average: true}
    - {name: high CO2, of: carbon_dioxide, above: 3 %, source: "house rule 2"}
    - {name: thin air, of: pressure, below: 25 kPa, source: "house rule 3"}
    - {name: lean air, of: oxygen, below: 19.5 %, source: "house rule 4"}
    - {name: faint, of: inspired_oxygen, below: 13 kPa, source: "house rule 5"}
    - {name: damp, of: humidity, above: 80 %, source: "house rule 6"}
    - {name: cold, of: temperature, below: 50 degF, source: "house rule 7"}
    - {name: muggy, of: apparent_temperature, above: 35 degC, source: "house rule 8"}
propulsion:
  supply: fuel
  dry_mass: 9000 kg
  exhaust_velocity: 3000 m/s
  modules:
    shed: {mass: 2100 kg, stores: [bottle-3], loads: [heater]}
    porch: {mass: 400 kg}
supplies:
  power:
    unit: A*h
    bus_voltage: 28 V
    current_limit: 120 A
    sharing: measured
    stores:
      bank-a: {kind: battery, capacity: 300 A*h, quantity: {channel: bank-a.charge},
               temperature: {channel: bank.temperature}, current_limit: 60 A,
               capacity_at: [[0 degC, 80 %], [25 degC, 100 %]]}
      bank-b: {kind: battery, capacity: 200 A*h, quantity: 70 %, temperature: 285 K, capacity_at: lead_acid}
  oxygen:
    unit: kg
    reserve: {amount: 2 kg, for: "the walk home"}
    stores:
      bottle-1: {kind: gas, fluid: oxygen, volume: 0.06 m^3, pressure: {channel: bottle-1.pressure},
                 temperature: 290 K, residual_pressure: 0.5 MPa}
      bottle-2: {kind: gas, fluid: oxygen, volume: 0.05 m^3, pressure: 9 MPa, temperature: 17 degC}
      bottle-3: {kind: gas, fluid: oxygen, volume: 0.02 m^3, capacity: 4 kg, quantity: 3 kg}
  breath:
    unit: L
    volume_at: {fluid: oxygen, pressure: 101.325 kPa, temperature: 15 degC}
    stores:
      flask: {kind: gas, fluid: oxygen, volume: 10 L, pressure: {channel: flask.pressure}, temperature: 292 K}
  water:
    unit: kg
    stores:
      tank: {kind: liquid, capacity: 60 kg, quantity: 80 %}
  absorbent:
    unit: kg
    stores:
      cart-1: {kind: absorbent, person_hours: 60 h, person_rate: 1.08 kg/day, residual: 10 %,
               sorbent: soda_lime, sorbent_mass: 6 kg}
      cart-2: {kind: absorbent, capacity_by_outlet: [[0.5 kPa, 2.4 kg], [1 kPa, 3.1 kg]], outlet: 750 Pa,
               state: spare, sorbent: lithium_hydroxide, sorbent_mass: 3.5 kg}
      cart-3: {kind: absorbent, capacity: 2 kg, outlet: 0.7 kPa, state: spare}
      cart-4: {kind: absorbent, capacity: 2 kg, state: isolated}
  fuel:
    unit: kg
    stores:
      drum: {kind: liquid, capacity: 900 kg}
loads:
  blower: {on: 2 A}
  valves: {on: 1 A}
  dryer: {on: 60 W}
  pump: {on: 3 A}
  heater: {on: 90 W}
levels:
  all: {blower: on, valves: on, dryer: on, pump: on, heater: on}
uses:
  breathing: {supply: oxygen, metabolic: oxygen}
  masks: {supply: breath, metabolic: oxygen}
  crack: {supply: oxygen, hole: 0.8 mm^2, discharge: 60 %, outside: 1 kPa}
  weep: {supply: oxygen, leak: 0.01 kg/h, at_pressure: 9 MPa, of_store: bottle-2}
  pinhole: {supply: breath, hole: 0.01 mm^2, of_store: flask}
  seal: {supply: breath, leak: 2 L/h, at_pressure: 100 kPa}
bands:
  default: {advisory: 24 h, caution: 12 h, warning: 3 h}
  cabin: {caution: 6 h, warning: 1 h}
channels:
  bank-a.charge: {unit: "%"}
  bank.temperature: {unit: degC}
  bottle-1.pressure: {unit: MPa}
  flask.pressure: {unit: bar}
  room.pressure: {unit: kPa}
  room.oxygen: {unit: "%"}
  room.temperature: {unit: degC}
"""

PLAN = """\
format: 1
phases:
  - {name: wait, start: T+0h, level: all}
events:
  - {name: walk, at: T+4h, lasts: 6 h, uses: {power: 12 A*h},
     repressurise: {supply: oxygen, volume: 7 m^3, from: 1 kPa, to: 38 kPa, temperature: 290 K}}
  - {name: refill, at: T+12h, uses: {oxygen: 1 kg}, repressurise: {supply: oxygen, to: 33 kPa}}
  - {name: masks, at: T+13h, repressurise: {supply: breath, volume: 1 m^3, to: 40 kPa}}
  - {name: fresh cartridges, at: T+20h, change_out: {out: cart-1, in: [cart-2, cart-3]},
     set: {bottle-2: isolated}}
  - {name: kick, at: T+30h, burn: 230 m/s, drop: shed}
options:
  lift:
    arrival: T+50h
    events:
      - {name: last kick, at: T+40h, burn: 500 ft/s, drop: [porch]}
  wait it out: {arrival: T+90h}
committed: lift
"""

PROCEDURES = """\
format: 1
procedures:
  let-go:
    title: Leave the shed
    steps:
      - {id: "1", do: Change the cartridge, change_out: {out: [cart-1], in: cart-4}}
      - {id: "2", do: Drop the shed, drop: shed}
      - {id: "3", do: Check the helm, confirms: control}
      - {id: "4", do: Keep one by, store: cart-4, to: spare}
"""

FULL_FILES = {"craft.yaml": CRAFT, "plan.yaml": PLAN, "procedures.yaml": PROCEDURES}
