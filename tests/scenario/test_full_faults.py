"""Each rule of the second good scenario broken once: one edit of one file, one fault, and nothing more.

Rows as in ``test_craft_faults``: what stands there, what is written instead, the place, what is found, what is
expected.
"""

# ruff: noqa: E501  # one row, one line: the tables are read as tables

from __future__ import annotations

from collections.abc import Callable

import pytest

from console.errors import Fault

POWER = "supplies.power.stores"
OXYGEN = "supplies.oxygen.stores"
CARTS = "supplies.absorbent.stores"
MODULES = "propulsion.modules"
CURVE = "[[0 degC, 80 %], [25 degC, 100 %]]"
TABLE = "[[0.5 kPa, 2.4 kg], [1 kPa, 3.1 kg]]"

CREW_ROWS = [
    ("units: us", "units: imperial", "units", "'imperial'", "'as-written'"),
    ("count: 3", "count: 0.5", "crew.count", "0.5", "a whole number above zero"),
    ("count: 3", "count: 0.5 people", "crew.count", "'0.5 people'", "a whole number above zero"),
    ("count: 3", "count: 0", "crew.count", "0", "above zero"),
    ("body_mass: 80 kg", "body_mass: 800 kg", "crew.body_mass", "'800 kg'", "from 35 to 160 kg"),
    ("body_mass: 80 kg", "body_mass: 240 kg", "crew.body_mass", "'240 kg'", "of one person"),
    ("body_mass: 80 kg", "body_mass: 80", "crew.body_mass", "without a unit", "21 kg"),
    ("height: 1.75 m", "height: 175 m", "crew.height", "'175 m'", "from 1.2 to 2.2 m"),
    ("  body_mass: 80 kg\n", "", "crew.height", "height without body_mass", "body_mass"),
    ("oxygen: 4.2 kg/day, carbon_dioxide: 5.0 kg/day", "oxygen: 4.2 kg/day, carbon_dioxide: 3.5 kg/day", "crew.rates.heavy", "oxygen '4.2 kg/day' beside carbon dioxide '3.5 kg/day', a respiratory quotient of 0.61", "from 0.65 to 1.25"),
    ("oxygen: 4.2 kg/day, carbon_dioxide: 5.0 kg/day", "oxygen: 4.2 kg/day, carbon_dioxide: 7.3 kg/day", "crew.rates.heavy", "a respiratory quotient of 1.26", "from 0.65 to 1.25"),
    ("oxygen: 4.2 kg/day, carbon_dioxide: 5.0 kg/day", "oxygen: 1.6 kg/day", "crew.rates.heavy", "the default of ", "from 0.65 to 1.25"),
]  # fmt: skip

CABIN_ROWS = [
    ("  pressure: {channel: room.pressure}\n", "  pressure: 0 kPa\n", "cabin.pressure", "'0 kPa'", "above zero"),
    ("carbon_dioxide: 4 mmHg", "carbon_dioxide: 4 kg", "cabin.carbon_dioxide", "a mass", "a pressure, such as 0.35 MPa or a fraction"),
    ("carbon_dioxide: 4 mmHg", "carbon_dioxide: 104 %", "cabin.carbon_dioxide", "'104 %'", "at most 100 %"),
    ("  oxygen: {channel: room.oxygen}", "  oxygen: {channel: room.temperature}", "cabin.oxygen.channel", "a temperature", "a pressure or a fraction"),
    ("  temperature: {channel: room.temperature}", "  temperature: 20 K", "cabin.temperature", "'20 K'", "did you mean 20 degC (293.15 K)?"),
    ("  temperature: {channel: room.temperature}", "  temperature: -5 K", "cabin.temperature", "'-5 K'", "did you mean -5 degC (268.15 K)?"),
    ("  temperature: {channel: room.temperature}", "  temperature: 293 degC", "cabin.temperature", "'293 degC'", "did you mean 293 K (19.85 degC)?"),
    ("  temperature: {channel: room.temperature}", "  temperature: 500 K", "cabin.temperature", "'500 K'", "from 230 to 350 K"),
    ("humidity: 45 %", "humidity: 145 %", "cabin.humidity", "'145 %'", "at most 100 %"),
    ("humidity: 45 %", "humidity: 45", "cabin.humidity", "without a unit", "8 %"),
    ("humidity: 45 %", "humidity: {channel: room.pressure}", "cabin.humidity.channel", "a pressure", "a fraction"),
    ("humidity: 45 %", "humidty: 45 %", "cabin.humidty", "not known", "'humidity'"),
    ("flow: 0.5 m^3/min", "flow: 0.5 m^3", "cabin.removal.flow", "a volume", "not the same"),
    ("flow: 0.5 m^3/min", "flow: 0 m^3/min", "cabin.removal.flow", "'0 m^3/min'", "above zero"),
    ("efficiency: 90 %", "efficiency: 190 %", "cabin.removal.efficiency", "'190 %'", "at most 100 %"),
    ("efficiency: 90 %", "efficiency: 0 %", "cabin.removal.efficiency", "'0 %'", "above zero"),
    (", efficiency: 90 %", "", "cabin.removal.efficiency", "nothing", "8 %"),
    ("needs: [blower]", "needs: [blowr]", "cabin.removal.needs[0]", "'blowr'", "'blower'"),
    ("needs: [blower]", "needs: [blower, blower]", "cabin.removal.needs[1]", "'blower' twice", "once"),
    ("needs: [blower]", "needs: []", "cabin.removal.needs", "empty", "[air-blower]"),
    ("needs: [blower]", "needs: blower", "cabin.removal.needs", "'blower'", "[air-blower]"),
    ("needs: [blower]", "need: [blower]", "cabin.removal.need", "not known", "'needs'"),
    ("holds: pressure", "holds: presure", "cabin.oxygen_feed.holds", "'presure'", "'pressure'"),
    ("needs: [valves]", "needs: [pipes]", "cabin.oxygen_feed.needs[0]", "'pipes'", "'blower'"),
    ("humidity: 55 %", "humidity: 155 %", "cabin.drying.humidity", "'155 %'", "at most 100 %"),
    ("needs: [dryer]", "needs: [drier]", "cabin.drying.needs[0]", "'drier'", "'dryer'"),
    ("heat_capacity: 900 kJ/K", "heat_capacity: 900 kJ", "cabin.thermal.heat_capacity", "an energy", "a heat capacity, such as 900 kJ/K"),
    ("heat_capacity: 900 kJ/K", "heat_capacity: 900 W/K", "cabin.thermal.heat_capacity", "a conductance of heat", "a heat capacity"),
    ("conductance: 40 W/K", "conductance: 40 W", "cabin.thermal.conductance", "a power", "a conductance of heat, such as 40 W/K"),
    ("conductance: 40 W/K", "conductance: -4 W/K", "cabin.thermal.conductance", "'-4 W/K'", "not negative"),
    ("outside: 250 K", "outside: 4 K", "cabin.thermal.outside", "'4 K'", "did you mean 4 degC (277.15 K)?"),
    (", outside: 250 K", "", "cabin.thermal.outside", "nothing", "channel: NAME"),
    ("cooled_to: 21 degC", "cooled_to: 21 K", "cabin.thermal.cooled_to", "'21 K'", "did you mean 21 degC (294.15 K)?"),
    ("cooling_needs: [pump]", "cooling_needs: [pumps]", "cabin.thermal.cooling_needs[0]", "'pumps'", "'pump'"),
    ("cooling_supply: water", "cooling_supply: watr", "cabin.thermal.cooling_supply", "'watr'", "'water'"),
    ("cooling_supply: water", "cooling_supply: power", "cabin.thermal.cooling_supply", "measures charge", "evaporates"),
    (", cooled_to: 21 degC,\n            cooling_needs: [pump]", "", "cabin.thermal.cooling_supply", "cooling_supply without cooled_to", "as well"),
    (", cooled_to: 21 degC,\n            cooling_needs: [pump], cooling_supply: water", ",\n            cooling_needs: [pump]", "cabin.thermal.cooling_needs", "cooling_needs without cooled_to", "as well"),
]  # fmt: skip

LIMIT_ROWS = [
    ("name: raised CO2", "name: high CO2", "cabin.limits[1].name", "'high CO2', as cabin.limits[0] is called already", "another name"),
    ("name: raised CO2, ", "", "cabin.limits[0].name", "nothing", "a name"),
    ("of: pressure", "of: presure", "cabin.limits[2].of", "'presure'", "'pressure'"),
    ("of: pressure, ", "", "cabin.limits[2].of", "nothing", "'inspired_oxygen'"),
    ("above: 15 mmHg", "below: 1 mmHg, above: 15 mmHg", "cabin.limits[0]", "above and below", "two limits"),
    ("above: 15 mmHg, ", "", "cabin.limits[0]", "without above or below", "one of the two"),
    ("above: 15 mmHg", "abov: 15 mmHg", "cabin.limits[0].abov", "not known", "'above'"),
    ("above: 15 mmHg", "above: 15", "cabin.limits[0].above", "without a unit", "0.35 MPa"),
    ("above: 15 mmHg", "above: 0 mmHg", "cabin.limits[0].above", "'0 mmHg'", "above zero"),
    ("above: 3 %", "above: 300 %", "cabin.limits[1].above", "'300 %'", "at most 100 %"),
    ("above: 3 %", "above: 3 K", "cabin.limits[1].above", "a temperature", "a pressure, such as 0.35 MPa or a fraction"),
    ("below: 25 kPa", "below: 25 %", "cabin.limits[2].below", "a fraction", "a pressure"),
    ("below: 13 kPa", "below: 13 %", "cabin.limits[4].below", "a fraction", "a pressure"),
    ("above: 80 %", "above: 80 kPa", "cabin.limits[5].above", "a pressure", "a fraction"),
    ("above: 80 %", "above: 180 %", "cabin.limits[5].above", "'180 %'", "at most 100 %"),
    ("below: 50 degF", "below: 10 K", "cabin.limits[6].below", "'10 K'", "did you mean 10 degC (283.15 K)?"),
    ("below: 50 degF", "below: 10 kPa", "cabin.limits[6].below", "a pressure", "a temperature"),
    ("above: 35 degC", "above: 35 K", "cabin.limits[7].above", "'35 K'", "did you mean 35 degC (308.15 K)?"),
    (', source: "house rule 3"', "", "cabin.limits[2].source", "nothing", "document"),
    ('source: "house rule 3"', 'source: ""', "cabin.limits[2].source", "empty", "document"),
    ("average: true", "average: 8 h", "cabin.limits[0].average", "'8 h'", "true or false"),
    ("  default: {adv", "  cabn: {caution: 6 h}\n  default: {adv", "bands.cabn", "'cabn'", "'cabin'"),
    ("{caution: 6 h, warning: 1 h}", "{caution: 6 h, warning: 7 h}", "bands.cabin", "warning at 7 h, above caution at 6 h", ">="),
    ("  breath:\n", "  cabin:\n    unit: kg\n    stores: {tub: {kind: liquid, capacity: 1 kg}}\n  breath:\n", "supplies.cabin", "'cabin'", "another name"),
]  # fmt: skip

PROPULSION_ROWS = [
    ("mass: 2100 kg", "mass: 8700 kg", MODULES, "parts of 9100 kg together in a craft of 9000 kg", "less than dry_mass"),
    ("mass: 2100 kg", "mass: 8600 kg", MODULES, "parts of 9000 kg together in a craft of 9000 kg", "less than dry_mass"),
    ("mass: 2100 kg, ", "", f"{MODULES}.shed.mass", "nothing", "21 kg"),
    ("mass: 2100 kg", "mass: 0 kg", f"{MODULES}.shed.mass", "'0 kg'", "above zero"),
    ("mass: 2100 kg", "mass: 2100 m", f"{MODULES}.shed.mass", "a length", "a mass"),
    ("stores: [bottle-3]", "stores: [bottle-4]", f"{MODULES}.shed.stores[0]", "'bottle-4'", "'bottle-"),
    ("stores: [bottle-3]", "stores: [bottle-3, bottle-3]", f"{MODULES}.shed.stores[1]", "'bottle-3' twice", "once"),
    ("stores: [bottle-3]", "stores: bottle-3", f"{MODULES}.shed.stores", "'bottle-3'", "stores: [o2-walk]"),
    ("porch: {mass: 400 kg}", "porch: {mass: 400 kg, stores: [bottle-3]}", f"{MODULES}.porch.stores[0]", "which 'shed' has already", "one part alone"),
    ("porch: {mass: 400 kg}", "porch: {mass: 400 kg, loads: [heater]}", f"{MODULES}.porch.loads[0]", "which 'shed' has already", "one part alone"),
    ("loads: [heater]", "loads: [heatr]", f"{MODULES}.shed.loads[0]", "'heatr'", "'heater'"),
    ("loads: [heater]", "load: [heater]", f"{MODULES}.shed.load", "not known", "'loads'"),
]  # fmt: skip

SUPPLY_ROWS = [
    ("    current_limit: 120 A\n", "    current_limit: 0 A\n", "supplies.power.current_limit", "'0 A'", "above zero"),
    ("    current_limit: 120 A\n", "    current_limit: 120 A*h\n", "supplies.power.current_limit", "a charge", "amps are a rate, amp-hours a quantity"),
    ("    current_limit: 120 A\n", "    current_limit: 120 W\n", "supplies.power.current_limit", "a power", "a current"),
    ("sharing: measured", "sharing: equal", "supplies.power.sharing", "'equal'", "'capacity', 'measured'"),
    ("  water:\n    unit: kg\n", "  water:\n    unit: kg\n    sharing: capacity\n", "supplies.water.sharing", "measures mass", "leave it out"),
    ("  water:\n    unit: kg\n", "  water:\n    unit: kg\n    current_limit: 9 A\n", "supplies.water.current_limit", "measures mass", "leave it out"),
    ("  water:\n    unit: kg\n", "  water:\n    unit: kg\n    volume_at: {fluid: oxygen, pressure: 1 bar, temperature: 290 K}\n", "supplies.water.volume_at", "measures mass", "leave it out"),
    ("amount: 2 kg, ", "", "supplies.oxygen.reserve.amount", "nothing", "21 kg"),
    ("amount: 2 kg", "amount: 2 L", "supplies.oxygen.reserve.amount", "a volume", "a mass"),
    ('for: "the walk home"', "fro: home", "supplies.oxygen.reserve.fro", "not known", "'for'"),
    ("fluid: oxygen, pressure: 101.325 kPa", "fluid: air, pressure: 101.325 kPa", "supplies.breath.volume_at.fluid", "'air'", "'oxygen'"),
    ("pressure: 101.325 kPa", "pressure: 101325 kPa", "supplies.breath.volume_at.pressure", "'101325 kPa'", "at most 30 MPa"),
    ("temperature: 15 degC", "temperature: 15 K", "supplies.breath.volume_at.temperature", "'15 K'", "did you mean 15 degC (288.15 K)?"),
    (", temperature: 15 degC", "", "supplies.breath.volume_at.temperature", "nothing", "a temperature"),
]  # fmt: skip

STORE_ROWS = [
    # batteries
    (f"capacity_at: {CURVE}", "capacity_at: [[25 degC, 80 %], [0 degC, 100 %]]", f"{POWER}.bank-a.capacity_at[1][0]", "'0 degC', not above the one before", "rises"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 degC, 80 %], [25 degC, 101 %]]", f"{POWER}.bank-a.capacity_at[1][1]", "'101 %'", "at most 100 %"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 degC, 0 %], [25 degC, 100 %]]", f"{POWER}.bank-a.capacity_at[0][1]", "'0 %'", "above zero"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 K, 80 %], [298 K, 100 %]]", f"{POWER}.bank-a.capacity_at[0][0]", "'0 K'", "did you mean 0 degC (273.15 K)?"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 degC, 80 %]]", f"{POWER}.bank-a.capacity_at", "a list of 1", "at least two pairs"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 degC, 80 %], [25 degC]]", f"{POWER}.bank-a.capacity_at[1]", "a list of 1", "[25 degC, 100 %]"),
    (f"capacity_at: {CURVE}", "capacity_at: [[0 degC, 80], [25 degC, 100 %]]", f"{POWER}.bank-a.capacity_at[0][1]", "without a unit", "8 %"),
    ("capacity_at: lead_acid", "capacity_at: leadacid", f"{POWER}.bank-b.capacity_at", "'leadacid'", "'lead_acid'"),
    ("capacity_at: lead_acid", "capacity_at: 7", f"{POWER}.bank-b.capacity_at", "7", "lead_acid"),
    (", temperature: 285 K", "", f"{POWER}.bank-b.capacity_at", "without temperature", "temperature"),
    ("temperature: 285 K", "temperature: 12 K", f"{POWER}.bank-b.temperature", "'12 K'", "did you mean 12 degC (285.15 K)?"),
    ("current_limit: 60 A", "current_limit: 0 A", f"{POWER}.bank-a.current_limit", "'0 A'", "above zero"),
    ("current_limit: 60 A", "current_limit: 60 A*h", f"{POWER}.bank-a.current_limit", "a charge", "amps are a rate, amp-hours a quantity"),
    ("capacity: 200 A*h", "capacity: 200 A", f"{POWER}.bank-b.capacity", "a current", "amps are a rate, amp-hours a quantity"),
    ("capacity: 200 A*h, ", "", f"{POWER}.bank-b.quantity", "'70 %'", "capacity of which this is a share"),
    ("capacity: 300 A*h, ", "", f"{POWER}.bank-a.quantity", "a share", "capacity of which this is a share"),
    ("quantity: 70 %", "quantity: 170 %", f"{POWER}.bank-b.quantity", "'170 %'", "at most 100 %"),
    ("quantity: 70 %", "quantity: 70", f"{POWER}.bank-b.quantity", "without a unit", "8 %"),
    ("quantity: 70 %", "quantity: 70 %, state: spare", f"{POWER}.bank-b.state", "spare, of a store of kind battery", "only an absorbent is spare"),
    # gas
    ("volume: 0.05 m^3, pressure: 9 MPa", "volume: 0.05 m^3, pressure: 31 MPa", f"{OXYGEN}.bottle-2.pressure", "'31 MPa'", "at most 30 MPa"),
    ("residual_pressure: 0.5 MPa", "residual_pressure: 50 MPa", f"{OXYGEN}.bottle-1.residual_pressure", "'50 MPa'", "at most 30 MPa"),
    ("temperature: 17 degC", "temperature: 17 K", f"{OXYGEN}.bottle-2.temperature", "'17 K'", "did you mean 17 degC (290.15 K)?"),
    ("temperature: 17 degC", "temperature: 290 degC", f"{OXYGEN}.bottle-2.temperature", "'290 degC'", "did you mean 290 K (16.85 degC)?"),
    ("temperature: 17 degC", "temperature: 200 K", f"{OXYGEN}.bottle-2.temperature", "'200 K'", "from 230 to 350 K"),
    ("capacity: 4 kg, quantity: 3 kg", "quantity: 9 kg", f"{OXYGEN}.bottle-3.quantity", "'9 kg'", "0.02 m^3 hold no more oxygen at 30 MPa"),
    ("capacity: 4 kg, quantity: 3 kg", "capacity: 9 kg", f"{OXYGEN}.bottle-3.capacity", "'9 kg'", "0.02 m^3 hold no more oxygen at 30 MPa"),
    ("kind: gas, fluid: oxygen, volume: 10 L", "kind: gas, fluid: nitrogen, volume: 10 L", "supplies.breath.stores.flask.fluid", "'nitrogen'", "write oxygen"),
    ("temperature: 292 K", "temperature: 19 K", "supplies.breath.stores.flask.temperature", "'19 K'", "did you mean 19 degC"),
    ("temperature: 292 K}", "temperature: 292 K, capacity: 5000 L}", "supplies.breath.stores.flask.capacity", "'5000 L'", "hold no more oxygen"),
    ("capacity: 60 kg, quantity: 80 %", "capacity: 60 kg, state: spare", "supplies.water.stores.tank.state", "kind liquid", "only an absorbent"),
    # absorbents
    ("person_hours: 60 h, person_rate: 1.08 kg/day, residual: 10 %", "quantity: 3.6 kg", f"{CARTS}.cart-1.quantity", "'3.6 kg' for '6 kg' of soda_lime", "at most 3.564 kg"),
    ("person_hours: 60 h, ", "person_hours: 60 h, capacity: 2 kg, ", f"{CARTS}.cart-1.person_hours", "person_hours beside capacity", "one of the two"),
    ("outlet: 750 Pa", "outlet: 750 Pa, capacity: 2 kg", f"{CARTS}.cart-2.capacity_by_outlet", "capacity_by_outlet beside capacity", "one of the two"),
    ("person_rate: 1.08 kg/day, ", "", f"{CARTS}.cart-1.person_rate", "nothing", "0.036 kg/h"),
    ("person_hours: 60 h, ", "capacity: 2 kg, ", f"{CARTS}.cart-1.person_rate", "without person_hours", "alone"),
    ("person_hours: 60 h", "person_hours: 60", f"{CARTS}.cart-1.person_hours", "without a unit", "12 h"),
    ("person_hours: 60 h", "person_hours: 0 h", f"{CARTS}.cart-1.person_hours", "'0 h'", "above zero"),
    ("person_rate: 1.08 kg/day", "person_rate: 1.08 kg/h", f"{CARTS}.cart-1.person_rate", "'1.08 kg/h'", "per day or per hour"),
    ("person_hours: 60 h", "person_hours: 80 h", f"{CARTS}.cart-1.person_hours", "'80 h', 3.6 kg, for '6 kg' of soda_lime", "at most 3.564 kg"),
    ("residual: 10 %", "residual: 3 kg", f"{CARTS}.cart-1.residual", "'3 kg', more than the capacity of 2.7 kg", "at most"),
    ("residual: 10 %", "residual: 10 %, used: 2.8 kg", f"{CARTS}.cart-1.used", "more than the capacity of 2.7 kg", "at most"),
    (f"capacity_by_outlet: {TABLE}", "capacity_by_outlet: [[0.5 kPa, 2.4 kg], [1 kPa, 3.3 kg]]", f"{CARTS}.cart-2.capacity_by_outlet[1][1]", "'3.3 kg' for '3.5 kg' of lithium_hydroxide", "at most"),
    (f"capacity_by_outlet: {TABLE}", "capacity_by_outlet: [[1 kPa, 2.4 kg], [0.5 kPa, 3.1 kg]]", f"{CARTS}.cart-2.capacity_by_outlet[1][0]", "not above the one before", "rises"),
    (f"capacity_by_outlet: {TABLE}", "capacity_by_outlet: [[0.5 kPa, 3.1 kg], [1 kPa, 2.4 kg]]", f"{CARTS}.cart-2.capacity_by_outlet[1][1]", "'2.4 kg', less than", "do not fall"),
    (f"capacity_by_outlet: {TABLE}", "capacity_by_outlet: [[0.5 kPa, 2.4 L], [1 kPa, 3.1 kg]]", f"{CARTS}.cart-2.capacity_by_outlet[0][1]", "a volume", "a mass"),
    (f"capacity_by_outlet: {TABLE}", "capacity_by_outlet: 2.4 kg", f"{CARTS}.cart-2.capacity_by_outlet", "'2.4 kg'", "[[0.5 kPa, 2.4 kg]"),
    ("outlet: 750 Pa", "outlet: 1.2 kPa", f"{CARTS}.cart-2.outlet", "'1.2 kPa'", "from '0.5 kPa' to '1 kPa'"),
    ("outlet: 750 Pa", "outlet: 0.4 kPa", f"{CARTS}.cart-2.outlet", "'0.4 kPa'", "from '0.5 kPa' to '1 kPa'"),
    (", outlet: 750 Pa", "", f"{CARTS}.cart-2.outlet", "nothing", "a pressure"),
    ("outlet: 0.7 kPa", "outlet: 0.7 kg", f"{CARTS}.cart-3.outlet", "a mass", "a pressure"),
    ("capacity: 2 kg, state: isolated", "state: isolated", f"{CARTS}.cart-4", "without capacity or person_hours or capacity_by_outlet or quantity", "write its"),
    ("capacity: 2 kg, state: isolated", "capacity: 2 kg, state: fitted", f"{CARTS}.cart-4.state", "'fitted'", "'feeding'"),
]  # fmt: skip

USE_ROWS = [
    ("{supply: breath, metabolic: oxygen}", "{supply: breath, metabolic: carbon_dioxide}", "uses.masks.metabolic", "carbon_dioxide from volumes of oxygen", "oxygen from oxygen"),
    ("hole: 0.8 mm^2", "hole: 0.8 mm", "uses.crack.hole", "a length", "an area, such as 0.8 mm^2"),
    ("hole: 0.8 mm^2", "hole: 0 mm^2", "uses.crack.hole", "'0 mm^2'", "above zero"),
    ("hole: 0.8 mm^2", "hole: 0.8 mm^2, leak: 1 kg/h", "uses.crack", "leak and hole together", "one of them"),
    ("discharge: 60 %", "discharge: 160 %", "uses.crack.discharge", "'160 %'", "at most 100 %"),
    ("discharge: 60 %", "discharge: 0 %", "uses.crack.discharge", "'0 %'", "above zero"),
    ("discharge: 60 %", "discharge: 0.6", "uses.crack.discharge", "without a unit", "8 %"),
    ("outside: 1 kPa", "outside: 1 K", "uses.crack.outside", "a temperature", "a pressure"),
    ("{supply: oxygen, hole: 0.8 mm^2, discharge: 60 %, outside: 1 kPa}", "{supply: fuel, rate: 1 kg/h, discharge: 60 %}", "uses.crack.discharge", "discharge without hole", "beside hole alone"),
    ("{supply: oxygen, hole: 0.8 mm^2, discharge: 60 %, outside: 1 kPa}", "{supply: fuel, rate: 1 kg/h, outside: 1 kPa}", "uses.crack.outside", "outside without hole", "beside hole alone"),
    ("{supply: oxygen, hole: 0.8 mm^2, discharge: 60 %, outside: 1 kPa}", "{supply: oxygen, rate: 1 kg/h, of_store: bottle-2}", "uses.crack.of_store", "of_store without leak or hole", "alone"),
    ("{supply: oxygen, hole: 0.8 mm^2, discharge: 60 %, outside: 1 kPa}", "{supply: power, hole: 1 mm^2}", "uses.crack.hole", "measures charge", "supply of mass"),
    ("at_pressure: 9 MPa, of_store", "of_store", "uses.weep", "a leak of a store without at_pressure", "pressure at which"),
    ("of_store: bottle-2", "of_store: bottle-9", "uses.weep.of_store", "'bottle-9', which is not the name of a store of 'oxygen'", "'bottle-"),
    ("of_store: bottle-2", "of_store: flask", "uses.weep.of_store", "a store of 'oxygen'", "'bottle-1'"),
    ("of_store: bottle-2", "of_store: bottle-3", "uses.weep.of_store", "'bottle-3', a store without pressure and temperature", "both"),
    ("{supply: oxygen, metabolic: oxygen}", "{supply: water, hole: 1 mm^2, of_store: tank}", "uses.breathing.of_store", "'tank', a store of kind liquid", "a store of gas"),
]  # fmt: skip

PLAN_ROWS = [
    ("lasts: 6 h", "lasts: 6", "events[0].lasts", "6, a number without a unit", "12 h"),
    ("lasts: 6 h", "lasts: 0 h", "events[0].lasts", "'0 h'", "above zero"),
    ("lasts: 6 h", "last: 6 h", "events[0].last", "not known", "'lasts'"),
    ("power: 12 A*h", "power: 12 A", "events[0].uses.power", "a current", "amps are a rate, amp-hours a quantity"),
    ("volume: 7 m^3", "volume: 0 m^3", "events[0].repressurise.volume", "'0 m^3'", "above zero"),
    ("to: 38 kPa", "to: 1 kPa", "events[0].repressurise.to", "'1 kPa'", "above the one from which"),
    ("to: 38 kPa", "to: 38 MPa", "events[0].repressurise.to", "'38 MPa'", "at most 30 MPa"),
    ("from: 1 kPa", "from: 40 kPa", "events[0].repressurise.to", "'38 kPa'", "above the one from which"),
    (", to: 38 kPa, temperature", ", temperature", "events[0].repressurise.to", "nothing", "a pressure"),
    ("temperature: 290 K", "temperature: 17 K", "events[0].repressurise.temperature", "'17 K'", "did you mean 17 degC (290.15 K)?"),
    ("temperature: 290 K", "temprature: 290 K", "events[0].repressurise.temprature", "not known", "'temperature'"),
    ("{supply: oxygen, to: 33 kPa}", "{supply: oxigen, to: 33 kPa}", "events[1].repressurise.supply", "'oxigen'", "'oxygen'"),
    ("{supply: oxygen, to: 33 kPa}", "{supply: water, to: 33 kPa}", "events[1].repressurise.supply", "'water'", "a supply of gas"),
    ("{supply: oxygen, to: 33 kPa}", "{supply: oxygen, to: 0 kPa}", "events[1].repressurise.to", "'0 kPa'", "above zero"),
    ("out: cart-1", "out: bank-a", "events[3].change_out.out", "'bank-a', a store that holds no absorbent", "cartridge"),
    ("out: cart-1", "out: [cart-1, tank]", "events[3].change_out.out[1]", "'tank'", "cartridge"),
    ("out: cart-1", "out: cart-9", "events[3].change_out.out", "'cart-9'", "'cart-"),
    ("out: cart-1", "out: cart-2", "events[3].change_out.in[0]", "'cart-2', which is taken out already", "another one"),
    ("out: cart-1, ", "", "events[3].change_out.out", "nothing", "a store"),
    ("in: [cart-2, cart-3]", "in: []", "events[3].change_out.in", "an empty list", "out: cart-2"),
    ("in: [cart-2, cart-3]", "in: [cart-2, cart-2]", "events[3].change_out.in[1]", "'cart-2' twice", "once"),
    ("in: [cart-2, cart-3]", "into: [cart-2, cart-3]", "events[3].change_out.into", "not known", "'in'"),
    ("set: {bottle-2: isolated}", "set: {cart-3: isolated}", "events[3].change_out", "'cart-3', which is put into a state beside it", "once"),
    ("set: {bottle-2: isolated}", "set: {bottle-2: spare}", "events[3].set.bottle-2", "spare, for 'bottle-2'", "only an absorbent"),
    ("burn: 230 m/s", "burn: 230 m", "events[4].burn", "a length", "a velocity"),
    ("burn: 230 m/s", "burn: 0 m/s", "events[4].burn", "'0 m/s'", "above zero"),
    ("drop: shed", "drop: shet", "events[4].drop", "'shet'", "'shed'"),
    ("drop: shed", "drop: [shed, shed]", "events[4].drop[1]", "'shed' twice", "once"),
    ("drop: shed", "drop: []", "events[4].drop", "an empty list", "a module's name"),
    ("drop: [porch]", "drop: [shed]", "options.lift.events[0].drop[0]", "'shed', which 'kick' leaves behind already", "once"),
    ("{name: masks, at: T+13h, repressurise: {supply: breath, volume: 1 m^3, to: 40 kPa}}", "{name: loss, at: T+13h, drop: shed}", "events[4].drop", "'shed', which 'loss' leaves behind already", "once"),
    ("{name: kick, at: T+30h, burn: 230 m/s, drop: shed}", "{name: kick, at: T+30h}", "events[4]", "does nothing", "uses, transfer, set, repressurise, change_out, burn, drop"),
]  # fmt: skip

STEPS = "procedures.let-go.steps"
PROCEDURE_ROWS = [
    ("out: [cart-1]", "out: [drum]", f"{STEPS}[0].change_out.out[0]", "'drum', a store that holds no absorbent", "cartridge"),
    ("in: cart-4", "in: cart-1", f"{STEPS}[0].change_out.in", "'cart-1', which is taken out already", "another one"),
    ("drop: shed", "drop: shad", f"{STEPS}[1].drop", "'shad'", "'shed'"),
    ("confirms: control", "confirms: the helm", f"{STEPS}[2].confirms", "'the helm'", "'control'"),
    ("confirms: control", "confirm: control", f"{STEPS}[2].confirm", "not known", "'confirms'"),
    ("store: cart-4, to: spare", "store: drum, to: spare", f"{STEPS}[3].to", "spare, for 'drum'", "only an absorbent"),
    ("store: cart-4, to: spare", "store: cart-4, to: spare, change_out: {out: cart-4, in: cart-3}", f"{STEPS}[3].change_out", "'cart-4', which is put into a state beside it", "once"),
]  # fmt: skip

ROWS = [
    *(("craft.yaml", *row) for rows in (CREW_ROWS, CABIN_ROWS, LIMIT_ROWS, PROPULSION_ROWS, SUPPLY_ROWS, STORE_ROWS, USE_ROWS) for row in rows),
    *(("plan.yaml", *row) for row in PLAN_ROWS),
    *(("procedures.yaml", *row) for row in PROCEDURE_ROWS),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "place", "found", "expected"), ROWS)
def test_a_broken_rule_is_one_fault(
    full_faults_after: Callable[..., tuple[Fault, ...]],
    file: str,
    old: str,
    new: str,
    place: str,
    found: str,
    expected: str,
) -> None:
    faults = full_faults_after(file, old, new)
    assert [str(fault) for fault in faults] == [str(fault) for fault in faults[:1]], "one edit, one fault"
    (fault,) = faults
    assert (fault.file, fault.place) == (file, place)
    assert found in fault.found
    assert expected in fault.expected
    assert fault.line is not None
