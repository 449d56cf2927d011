"""Each rule of craft.yaml broken once: the place, what was found, what to write instead, and nothing more.

Every row is one edit of the good scenario and must give exactly one fault, so that a fault which only follows
from another would fail here.
"""

# ruff: noqa: E501  # one row, one line: the tables are read as tables

from __future__ import annotations

from collections.abc import Callable

import pytest

from console.errors import Fault

STORES = "supplies.oxygen.stores"
BANK = "supplies.power.stores.bank-a"
TRAY = "supplies.absorbent.stores.tray-1"
DEFAULT_SUPPLY = "  default:\n    unit: kg\n    stores: {tub: {kind: liquid, capacity: 1 kg}}\n"
DEFAULT_BAND = "  default: {advisory: 24 h, caution: 12 h, warning: 3 h, deadband: 1 h, on_delay: 60 s, off_delay: 120 s}\n"

ROWS = [
    # identity and people
    ("format: 1", "format: 2", "format", "2", "format: 1"),
    ("format: 1", 'format: "1"', "format", "'1'", "format: 1"),
    ("format: 1", "format: 1.0", "format", "1.0", "format: 1"),
    ("format: 1", "format: true", "format", "true", "format: 1"),
    ("format: 1\n", "", "format", "nothing", "format: 1"),
    ("name: Low Burrow, ", "", "craft.name", "nothing", "write a name"),
    ("name: Low Burrow", "name: 7", "craft.name", "7, which is not text", "quotes"),
    ("name: Low Burrow", 'name: "\\e[2J"', "craft.name", "name", "control characters"),
    ("name: Low Burrow", 'name: " "', "craft.name", "blank", "write a name"),
    ("name: Low Burrow", "name: …", "craft.name", "'…'", "letter"),
    ('epoch: "2043-01-09T06:00:00Z"', "epoch: 2043-01-09", "craft.epoch", "'2043-01-09'", "UTC"),
    ('epoch: "2043-01-09T06:00:00Z"', "epoch: 2043-01-09T06:00:00+01:00", "craft.epoch", "+01:00", "UTC"),
    ('epoch: "2043-01-09T06:00:00Z"', "epoch: 2043-02-30T06:00:00Z", "craft.epoch", "02-30", "moment that exists"),
    ('epoch: "2043-01-09T06:00:00Z"', "epoch: 2304482400", "craft.epoch", "2304482400", "UTC"),
    ('epoch: "2043-01-09T06:00:00Z"', "epoch: T+0h", "craft.epoch", "'T+0h'", "UTC"),
    ("count: 3", "count: 0", "crew.count", "0", "above zero"),
    ("count: 3", "count: -3", "crew.count", "-3", "above zero"),
    ("count: 3", "count: 3.0", "crew.count", "3.0", "whole number"),
    ("count: 3", "count: three", "crew.count", "'three'", "whole number"),
    ("count: 3", "count: true", "crew.count", "true", "whole number"),
    ("oxygen: 0.84 kg/day", "oxygen: 0.84 kg", "crew.rates.nominal.oxygen", "a mass", "not the same"),
    ("oxygen: 0.84 kg/day", "oxygen: 0.84", "crew.rates.nominal.oxygen", "without a unit", "mass per time"),
    ("rates: {nominal:", "rates: {nominel:", "crew.rates.nominel", "not known", "'nominal'"),
    ("{oxygen: 0.84 kg/day", "{oxigen: 0.84 kg/day", "crew.rates.nominal.oxigen", "not known", "'oxygen'"),
    # cabin and propulsion
    ("{volume: 30 m^3, ", "{", "cabin.volume", "nothing", "0.08 m^3"),
    ("volume: 30 m^3", "volume: 0 m^3", "cabin.volume", "'0 m^3'", "above zero"),
    ("volume: 30 m^3", "volume: 30 m^2", "cabin.volume", "an area", "a volume"),
    ("room.ppco2}, temperature", "room.temperature}, temperature", "cabin.carbon_dioxide.channel", "a temperature", "pressure"),
    ("supply: ballast, dry", "supply: power, dry", "propulsion.supply", "'power'", "supply of mass"),
    ("supply: ballast, dry", "supply: balast, dry", "propulsion.supply", "'balast'", "'ballast'"),
    ("dry_mass: 9000 kg", "dry_mass: -9000 kg", "propulsion.dry_mass", "'-9000 kg'", "not negative"),
    ("40 m/s}", "40 m}", "propulsion.exhaust_velocity", "a length", "velocity"),
    # supplies
    ("    unit: A*h\n", "    unit: A\n", "supplies.power.unit", "a current", "amp-hours a quantity"),
    ("    unit: A*h\n", "    unit: Ah\n", "supplies.power.unit", "'Ah'", ""),
    ("    unit: lb\n", "    unit: kPa\n", "supplies.ballast.unit", "a pressure", "mass"),
    ("    unit: lb\n", "", "supplies.ballast.unit", "nothing", "unit such as kg"),
    ("    bus_voltage: 24 V\n", "", "supplies.power", "no bus_voltage", "28 V"),
    ("    bus_voltage: 24 V\n", "    bus_voltage: 24\n", "supplies.power.bus_voltage", "24", "28 V"),
    ("    bus_voltage: 24 V\n", "    bus_voltage: 0 V\n", "supplies.power.bus_voltage", "'0 V'", "above zero"),
    ("    reserve: 2 kg\n", "    reserve: 2 kg\n    bus_voltage: 9 V\n", "supplies.water.bus_voltage", "mass", "leave it out"),
    ("    reserve: 2 kg\n", "    reserve: 2 kg/h\n", "supplies.water.reserve", "a mass per time", "not the same"),
    ("    reserve: 2 kg\n", "    reserve: -2 kg\n", "supplies.water.reserve", "'-2 kg'", "not negative"),
    ("    reserve: 2 kg\n", "    reserve:\n", "supplies.water.reserve", "nothing", "leave the key out"),
    ("    reserve: 2 kg\n", "    reserv: 2 kg\n", "supplies.water.reserv", "not known", "'reserve'"),
    ("rate: {channel: bus.current}", "rate: {channel: bank-a.used}", "supplies.power.rate.channel", "a charge", "a current"),
    ("  ballast:\n", f"{DEFAULT_SUPPLY}  ballast:\n", "supplies.default", "'default'", "another name"),
    # stores
    ("{kind: liquid, capacity: 20 kg", "{kind: fluid, capacity: 20 kg", "supplies.water.stores.can.kind", "'fluid'", "'liquid'"),
    ("{kind: liquid, capacity: 20 kg", "{capacity: 20 kg", "supplies.water.stores.can.kind", "nothing", "'battery'"),
    ("{kind: liquid, capacity: 20 kg", "{kind: battery, capacity: 20 kg", "supplies.water.stores.can.kind", "battery", "charge or energy"),
    ("capacity: 300 A*h", "capacity: 300 A", f"{BANK}.capacity", "a current", "amps are a rate, amp-hours a quantity"),
    ("capacity: 300 A*h", "capacity: 300", f"{BANK}.capacity", "300, a number without a unit", "320 A*h"),
    ("capacity: 300 A*h", 'capacity: "300"', f"{BANK}.capacity", "without a unit", "320 A*h"),
    ("capacity: 300 A*h", "capacity: .inf A*h", f"{BANK}.capacity", "'.inf A*h'", "320 A*h"),
    ("capacity: 300 A*h", "capacity: nan A*h", f"{BANK}.capacity", "'nan A*h'", "320 A*h"),
    ("capacity: 300 A*h", "capacity: 1e308 A*h", f"{BANK}.capacity", "1e308", "beyond all measure"),
    ("capacity: 300 A*h", "capacity: 300 A*hour*m", f"{BANK}.capacity", "A*hour*m", "unit"),
    ("capacity: 300 A*h", "capacity: 300 A*hh", f"{BANK}.capacity", "'hh'", "did you mean"),
    ("capacity: 300 A*h", "capasity: 300 A*h", f"{BANK}.capasity", "not known", "'capacity'"),
    ("residual: 10 %", "residual: 110 %", f"{BANK}.residual", "more than the capacity", "at most"),
    ("residual: 10 %", "residual: 301 A*h", f"{BANK}.residual", "more than the capacity", "at most"),
    ("residual: 10 %", "residual: 10", f"{BANK}.residual", "without a unit", "8 %"),
    ("residual: 10 %", 'residual: "0.1"', f"{BANK}.residual", "without a unit", "8 %"),
    ("residual: 10 %", "residual: -1 %", f"{BANK}.residual", "'-1 %'", "not negative"),
    ("peukert: 1.2", "peukert: 0.9", f"{BANK}.peukert", "0.9", "from 1 to 2"),
    ("peukert: 1.2", "peukert: 120 %", f"{BANK}.peukert", "'120 %'", "from 1 to 2"),
    (", rated_current: 15 A", "", f"{BANK}.peukert", "without rated_current", "rated_current"),
    ("rated_current: 15 A", "rated_current: 15 A*h", f"{BANK}.rated_current", "a charge", "amp-hours a quantity"),
    ("current: {channel: bank-a.current}", "current: {channel: bank-a.curent}", f"{BANK}.current.channel", "'bank-a.curent'", "'bank-a.current'"),
    ("current: {channel: bank-a.current}", "current: {channel: butt.quantity}", f"{BANK}.current.channel", "a mass", "a current"),
    ("used: {channel: bank-a.used}", "used: {chanel: bank-a.used}", f"{BANK}.used.chanel", "not known", "'channel'"),
    ("used: {channel: bank-a.used}", "used: {}", f"{BANK}.used.channel", "nothing", "a channel"),
    ("used: {channel: bank-a.used}", "used: 301 A*h", f"{BANK}.used", "more than the capacity", "at most"),
    ("used: {channel: bank-a.used}", "used: [1, 2]", f"{BANK}.used", "a list", "channel: NAME"),
    ("used: {channel: bank-a.used}", "volume: 3 L", f"{BANK}.volume", "not known", "one of"),
    ("protected: true", "protected: yes", "supplies.power.stores.bank-b.protected", "'yes'", "true or false"),
    ("protected: true", "protected: true, state: feeding", "supplies.power.stores.bank-b.protected", "beside state: feeding", "one of the two"),
    ("protected: true", "state: locked", "supplies.power.stores.bank-b.state", "'locked'", "'isolated'"),
    ("capacity: 80 A*h, ", "", "supplies.power.stores.bank-b", "without capacity or quantity", "write its capacity"),
    ("volume: 0.05 m^3, pressure: {channel: flask-1.pressure}", "pressure: {channel: flask-1.pressure}", f"{STORES}.flask-1.volume", "nothing", "volume"),
    ("{kind: gas, fluid: oxygen, volume: 0.05 m^3, pressure: 12", "{kind: gas, volume: 0.05 m^3, pressure: 12", f"{STORES}.flask-2.fluid", "nothing", "'oxygen'"),
    ("pressure: 12 MPa, temperature: 290 K", "pressure: 12 MPa", f"{STORES}.flask-2.temperature", "nothing", "291 K"),
    ("pressure: 12 MPa, temperature: 290 K", "temperature: 290 K", f"{STORES}.flask-2", "without capacity or quantity or pressure", "pressure"),
    ("pressure: 12 MPa", "pressure: 12 kg", f"{STORES}.flask-2.pressure", "a mass", "pressure"),
    ("pressure: 12 MPa", "pressure: 0 MPa", f"{STORES}.flask-2.pressure", "'0 MPa'", "above zero"),
    ("temperature: 290 K", "temperature: -300 degC", f"{STORES}.flask-2.temperature", "'-300 degC'", "from -43.15 to 76.85 degC"),
    ("residual_pressure: 0.5 MPa", "residual_pressure: 0.5 MPa, residual: 1 kg", f"{STORES}.flask-1.residual", "beside residual_pressure", "one of the two"),
    ("residual_pressure: 0.5 MPa", "residual: 5 %", f"{STORES}.flask-1.residual", "'5 %'", "capacity"),
    ("fluid: oxygen, volume: 0.05 m^3, pressure: 12", "fluid: helium, volume: 0.05 m^3, pressure: 12", f"{STORES}.flask-2.fluid", "'helium'", "'nitrogen'"),
    ("state: isolated", "state: isolatd", f"{STORES}.flask-2.state", "'isolatd'", "'isolated'"),
    ("quantity: 50 lb", "quantity: 101 lb", "supplies.ballast.stores.trim.quantity", "more than the capacity '100 lb'", "at most"),
    ("quantity: 50 lb", "quantity: 50 lb/h", "supplies.ballast.stores.trim.quantity", "a mass per time", "not the same"),
    ("capacity: 2.4 kg", "capacity: 3.6 kg", f"{TRAY}.capacity", "'3.6 kg' for '6 kg' of soda_lime", "at most 3.564 kg"),
    ("sorbent: soda_lime", "sorbent: soda_lyme", f"{TRAY}.sorbent", "'soda_lyme'", "'soda_lime'"),
    ("sorbent_mass: 6 kg", "sorbent_mass: 6 L", f"{TRAY}.sorbent_mass", "a volume", "a mass"),
    ("can: {kind: liquid, capacity: 20 kg, used: 4 kg}", "can: 20 kg", "supplies.water.stores.can", "'20 kg'", "kind: liquid"),
    # one name, one store; one gauge, one store
    ("      trim: {", "      can: {", "supplies.ballast.stores.can", "which water has already", "another name"),
    ("used: 4 kg}", "quantity: {channel: butt.quantity}}", "supplies.water.stores.can", "gauges 'butt' already", "of this store"),
    # loads
    ("on: 2.0 A", "on: 2.0 A*h", "loads.fan.on", "a charge", "amps are a rate"),
    ("on: 2.0 A", "on: 2.0", "loads.fan.on", "2.0, a number without a unit", "2.4 A"),
    ("{on: 2.0 A, priority: 1}", "{priority: 1}", "loads.fan.on", "nothing", "2.4 A"),
    ("priority: 1}", "priority: 0}", "loads.fan.priority", "0", "1 (last to go) to 9"),
    ("priority: 1}", "priority: 10}", "loads.fan.priority", "10", "1 (last to go) to 9"),
    ("priority: 1}", "priority: 1.5}", "loads.fan.priority", "1.5", "whole number"),
    ("priority: 1}", "priority: 1, stays: yes}", "loads.fan.stays", "'yes'", "true or false"),
    ("priority: 1}", "priority: 1, stay: true}", "loads.fan.stay", "not known", "'stays'"),
    ("priority: 1}", "priority: 1, needs: lamp}", "loads.fan.needs", "'lamp'", "[air-blower]"),
    ("priority: 1}", "priority: 1, needs: [lmap]}", "loads.fan.needs[0]", "'lmap'", "'lamp'"),
    ("priority: 1}", "priority: 1, needs: [fan]}", "loads.fan.needs", "the load itself", "other loads"),
    ("priority: 1}", "priority: 1, needs: [lamp, lamp]}", "loads.fan.needs[1]", "twice", "once"),
    ("priority: 1}", "priority: 1, needs: []}", "loads.fan.needs", "empty list", "leave the key out"),
    ("duty: 50 %", "duty: 0 %", "loads.lamp.duty", "'0 %'", "above zero"),
    ("duty: 50 %", "duty: 101 %", "loads.lamp.duty", "'101 %'", "at most 100 %"),
    ("duty: 50 %", "duty: 0.5", "loads.lamp.duty", "0.5, a number without a unit", "8 %"),
    ("heat: 60 %", "heat: 160 %", "loads.lamp.heat", "'160 %'", "at most 100 %"),
    ("heat: none", "heat: nome", "loads.beacon.heat", "'nome'", "number and its unit"),
    ("heat: none, supply: power", "heat: none, supply: water", "loads.beacon.supply", "measures mass", "charge or energy"),
    ("heat: none, supply: power", "heat: none, supply: powr", "loads.beacon.supply", "'powr'", "'power'"),
    ("load_spread: 4 %", "load_spread: 4", "load_spread", "without a unit", "8 %"),
    ("load_spread: 4 %", "load_spred: 4 %", "load_spred", "not known", "'load_spread'"),
    # levels
    ("lamp: standby}", "lamp: standbye}", "levels.dim.lamp", "'standbye'", "'standby'"),
    ("lamp: standby}", "lamp: true}", "levels.dim.lamp", "true", "'standby'"),
    ("lamp: standby}", "lampe: standby}", "levels.dim.lampe", "'lampe'", "'lamp'"),
    ("{like: full, lamp: standby}", "{like: ful, lamp: standby}", "levels.dim.like", "'ful'", "'full'"),
    ("{lamp: on, fan: on, beacon: on}", "{like: dark}", "levels.full.like", "'full' -> 'dark' -> 'dim' -> 'full'", "without 'like'"),
    ("{like: dim, lamp: off}", "{like: dark}", "levels.dark.like", "'dark' -> 'dark'", "without 'like'"),
    # uses
    ("metabolic: oxygen", "metabolic: oxigen", "uses.breathing.metabolic", "'oxigen'", "'oxygen'"),
    ("metabolic: oxygen", "metabolik: oxygen", "uses.breathing.metabolik", "not known", "'metabolic'"),
    ("{supply: oxygen, metabolic: oxygen, spread: 5 %}", "{supply: oxygen, spread: 5 %}", "uses.breathing", "no amount", "per_person"),
    ("{supply: oxygen, metabolic: oxygen, spread: 5 %}", "{metabolic: oxygen}", "uses.breathing.supply", "nothing", "a supply"),
    ("{supply: oxygen, metabolic: oxygen, spread: 5 %}", "{supply: power, metabolic: oxygen}", "uses.breathing.metabolic", "measures charge", "supply of mass"),
    ("rate: 0.2 lb/h", "rate: 0.2 lb/h, per_person: 1 lb/day", "uses.weeping", "rate and per_person", "one of them"),
    ("rate: 0.2 lb/h", "rate: 0.2 lb", "uses.weeping.rate", "a mass", "a rate and a quantity"),
    ("rate: 0.2 lb/h", "rate: 0.2 L/h", "uses.weeping.rate", "a volume per time", "a mass per time"),
    ("rate: 0.2 lb/h", "rate: -0.2 lb/h", "uses.weeping.rate", "'-0.2 lb/h'", "not negative"),
    ("rate: 0.2 lb/h", "rate: 0.2 lb/h, at_pressure: 3 kPa", "uses.weeping.at_pressure", "without leak", "beside leak"),
    ("supply: ballast, rate", "supply: balast, rate", "uses.weeping.supply", "'balast'", "'ballast'"),
    ("at_pressure: 101 kPa", "at_pressure: 101 kg", "uses.seep.at_pressure", "a mass", "pressure"),
    ("pressure: {channel: room.pressure}, ", "", "uses.seep.at_pressure", "cabin's pressure", "cabin.pressure"),
    ("[loads, crew]", "[loads, crow]", "uses.evaporator.evaporates_heat_of[1]", "'crow'", "'crew'"),
    ("[loads, crew]", "[loads, loads]", "uses.evaporator.evaporates_heat_of[1]", "'loads' twice", "once"),
    ("[loads, crew]", "[]", "uses.evaporator.evaporates_heat_of", "empty", "[loads, crew]"),
    ("[loads, crew]", "loads", "uses.evaporator.evaporates_heat_of", "'loads'", "[loads, crew]"),
    ("feed_temperature: 10 degC", "feed_temperature: 10 K", "uses.evaporator.feed_temperature", "'10 K'", "did you mean 10 degC (283.15 K)?"),
    ("metabolic: oxygen, spread: 5 %", "metabolic: oxygen, spread: 5", "uses.breathing.spread", "without a unit", "8 %"),
    # bands
    ("caution: 12 h, warning", "caution: 30 h, warning", "bands.default", "caution at 30 h, above advisory at 24 h", ">="),
    ("{caution: 18 h}", "{caution: 1 h}", "bands.oxygen", "warning at 3 h, above caution at 1 h", ">="),
    ("{caution: 18 h}", "{caution: 18}", "bands.oxygen.caution", "18, a number without a unit", "12 h"),
    ("  oxygen: {caution", "  oxigen: {caution", "bands.oxigen", "'oxigen'", "'oxygen'"),
    (DEFAULT_BAND, "", "bands.default", "nothing", "advisory: 24 h"),
    ("advisory: 24 h, ", "", "bands.default.advisory", "nothing", "12 h"),
    ("warning: 3 h", "warning: 0 h", "bands.default.warning", "'0 h'", "above zero"),
    ("warning: 3 h", "warning: 3 A", "bands.default.warning", "a current", "time"),
    ("on_delay: 60 s", "on_delay: 60", "bands.default.on_delay", "60", "12 h"),
    ("  default: {advisory", "  defaults: {advisory", "bands.defaults", "'defaults'", "'default'"),
    # channels
    ("butt.quantity: {unit: kg}", "butt.quantity: {}", "channels.butt.quantity.unit", "nothing", "unit"),
    ("butt.quantity: {unit: kg}", "butt.quantity: {unit: kgg}", "channels.butt.quantity.unit", "'kgg'", "'kg'"),
    ("butt.quantity: {unit: kg}", "butt.quantity: {unit: 5}", "channels.butt.quantity.unit", "5", "quotes"),
    ("range: [-20, 60]", "range: [60, -20]", "channels.flask.temperature.range", "not below", "[0, 80]"),
    ("range: [-20, 60]", "range: [60]", "channels.flask.temperature.range", "a list of 1", "[0, 80]"),
    ("range: [-20, 60]", "range: [-20, 60 kPa]", "channels.flask.temperature.range[1]", "a pressure", "temperature"),
    ("range: [-20, 60]", "range: [-20, .nan]", "channels.flask.temperature.range[1]", "'.nan'", "number"),
    ("flask.temperature: {unit: degC", "flask.temperature: {unit: K", "channels.flask.temperature.range[0]", "-20", "Did you mean unit: degC?"),
    ("accuracy: 0.2", "accuracy: -0.2", "channels.bus.current.accuracy", "-0.2", "not negative"),
    ("accuracy: 50 kPa", "accuracy: 50 K", "channels.flask-1.pressure.accuracy", "a temperature", "pressure"),
    ("stale_after: 30 s", "stale_after: 0 s", "channels.bus.current.stale_after", "'0 s'", "above zero"),
    ("stale_after: 30 s", "stale_after: 30", "channels.bus.current.stale_after", "30", "12 h"),
    ("stale_after: 30 s", "stale: 30 s", "channels.bus.current.stale", "not known", "'stale_after'"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "place", "found", "expected"), ROWS)
def test_a_broken_rule_is_one_fault_with_place_found_and_expected(
    faults_after: Callable[..., tuple[Fault, ...]], old: str, new: str, place: str, found: str, expected: str
) -> None:
    faults = faults_after("craft.yaml", old, new)
    assert [str(fault) for fault in faults] == [str(fault) for fault in faults[:1]], "one edit, one fault"
    (fault,) = faults
    assert (fault.file, fault.place) == ("craft.yaml", place)
    assert found in fault.found
    assert expected in fault.expected
    assert fault.line is not None


def test_a_fault_names_the_line_of_its_key(faults_after: Callable[..., tuple[Fault, ...]]) -> None:
    (fault,) = faults_after("craft.yaml", "    reserve: 2 kg\n", "    reserve: 2 kPa\n")
    assert str(fault).startswith("craft.yaml: supplies.water.reserve (line 27): found '2 kPa', a pressure; ")


@pytest.mark.parametrize("written", ["20.2 kg/day", "0.84 kg/h", "0.035 kg/day", "3.4 kg/day", "0.84 lb/h"])
def test_a_rate_no_single_person_can_have_is_refused(
    faults_after: Callable[..., tuple[Fault, ...]], written: str
) -> None:
    (fault,) = faults_after("craft.yaml", "oxygen: 0.84 kg/day", f"oxygen: {written}")
    assert fault.place == "crew.rates.nominal.oxygen"
    assert "per person, not per crew" in fault.expected


@pytest.mark.parametrize("written", ["0.84 kg/day", "0.035 kg/h", "1.85 lb/day", "0.62 kg/day"])
def test_a_rate_that_a_person_can_have_is_taken(
    faults_after: Callable[..., tuple[Fault, ...]], written: str
) -> None:
    assert faults_after("craft.yaml", "oxygen: 0.84 kg/day", f"oxygen: {written}") == ()


@pytest.mark.parametrize("capacity", ["3.5 kg", "3.56 kg"])
def test_a_capacity_up_to_stoichiometry_is_taken(
    faults_after: Callable[..., tuple[Fault, ...]], capacity: str
) -> None:
    # Ca(OH)2 takes 0.594 kg of CO2 per kg (stoichiometry), so 6 kg take 3.564 kg at the very most.
    assert faults_after("craft.yaml", "capacity: 2.4 kg", f"capacity: {capacity}") == ()


def test_a_quantity_that_is_its_capacity_in_another_unit_is_taken(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    # 9 g and 0.009 kg differ in the last binary digit once both are in kilograms.
    assert (
        faults_after("craft.yaml", "capacity: 100 lb, quantity: 50 lb", "capacity: 0.009 kg, quantity: 9 g")
        == ()
    )


def test_with_two_electrical_supplies_a_load_must_name_its_own(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    second = "  spare:\n    unit: W*h\n    bus_voltage: 12 V\n    stores: {pack: {kind: battery, capacity: 90 W*h}}\n"
    faults = faults_after("craft.yaml", "  oxygen:\n    unit", f"{second}  oxygen:\n    unit")
    assert [fault.place for fault in faults] == ["loads.lamp", "loads.fan"]
    assert all("'power', 'spare'" in fault.expected for fault in faults)


def test_without_an_electrical_supply_no_load_can_be(faults_after: Callable[..., tuple[Fault, ...]]) -> None:
    faults = faults_after(
        "craft.yaml",
        *(
            "  power:\n    unit: A*h\n    bus_voltage: 24 V\n    rate: {channel: bus.current}\n",
            "  power:\n    unit: kg\n",
        ),
        *("{kind: battery, capacity: 80 A*h", "{kind: liquid, capacity: 80 kg"),
        *("heat: none, supply: power", "heat: none"),
    )
    told = [fault for fault in faults if fault.place.startswith("loads")]
    assert [fault.found for fault in told] == ["no electrical supply"] * 3


def test_a_current_says_nothing_of_energy_without_a_bus_voltage(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    second = (
        "  spare:\n    unit: W*h\n    stores:\n"
        "      pack: {kind: battery, capacity: 90 W*h, current: {channel: bus.current}}\n"
    )
    faults = faults_after(
        "craft.yaml",
        *("  oxygen:\n    unit", f"{second}  oxygen:\n    unit"),
        *("on: 48 W", "supply: power, on: 48 W"),
        *("on: 2.0 A", "supply: power, on: 2.0 A"),
    )
    assert [(fault.place, fault.found) for fault in faults] == [
        ("supplies.spare", "no bus_voltage, though 'pack' is gauged by its current")
    ]


def test_text_cut_by_a_comma_is_told_as_such(faults_after: Callable[..., tuple[Fault, ...]]) -> None:
    (fault,) = faults_after("craft.yaml", "note: for the lift", "note: for the lift, not before")
    assert fault.place == "supplies.power.stores.bank-b.not before"
    assert "comma stands in quotes" in fault.expected


def test_two_equal_keys_are_refused_and_the_rest_is_read_on(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    twice, other = faults_after(
        "craft.yaml",
        "    reserve: 2 kg\n",
        "    reserve: 2 kg\n    reserve: 9 kg\n",
        "on: 2.0 A",
        "on: 2.0 V",
    )
    assert twice.found == "the key 'reserve' twice, in line 27 and line 28"
    assert other.place == "loads.fan.on"


def test_nothing_from_a_file_acts_on_the_terminal_of_who_reads_the_fault(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    faults = faults_after(
        "craft.yaml",
        *("on: 2.0 A", r'on: "\e[2J\u202e 2 A"'),
        *("lamp: standby}", r'"\e[31mlamp": on}'),
        *("priority: 7", r'"\e]0;x\a": 7'),
        *("channel: bus.current", r'channel: "\u009b31m"'),
    )
    assert len(faults) >= 4
    for fault in faults:
        assert str(fault).isprintable(), repr(str(fault))


def test_a_circle_is_told_once_and_not_for_the_levels_that_lead_into_it(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    (fault,) = faults_after(
        "craft.yaml",
        "full: {lamp: on, fan: on, beacon: on}",
        "full: {like: a}\n  b: {like: a}\n  a: {like: b}",
    )
    assert fault.place == "levels.b.like"
    assert fault.found == "a circle of levels, 'b' -> 'a' -> 'b'"


def test_more_names_than_any_craft_has_are_refused_in_one_fault(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    many = "".join(f"  load-{number}: {{on: 1 V}}\n" for number in range(1000))
    (fault,) = faults_after("craft.yaml", "  fan: {on", f"{many}  fan: {{on")
    assert (fault.place, fault.found) == ("loads", "1003 in one place")


def test_a_file_that_is_wrong_throughout_has_its_names_told_without_a_search_for_each(
    faults_after: Callable[..., tuple[Fault, ...]],
) -> None:
    wrong = ", ".join(f"lampp{number}: on" for number in range(150))
    faults = faults_after("craft.yaml", "{like: dim, lamp: off}", f"{{like: dim, {wrong}}}")
    assert len(faults) == 150
    assert faults[0].expected == "did you mean 'lamp'?"
    assert faults[-1].expected == "write one of 'lamp', 'fan', 'beacon'"
