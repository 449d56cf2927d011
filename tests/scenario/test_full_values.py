"""The second good scenario, value by value: every key of it stands in the models in SI."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import pytest
from full_scenario import FULL_FILES
from scenario_builders import edited, write_files

from console.craft.cabin import CabinProperty, LimitSide, Regulated
from console.craft.channels import Measured
from console.craft.model import Activity, BusSharing, Fluid, StoreKind, StoreState, Use
from console.physics.battery import CAPACITY_CURVES
from console.physics.gas import density_kg_per_m3, repressurisation_kg
from console.physics.metabolism import person_rates_for
from console.scenario.load import Scenario, load_scenario
from console.units import UnitSystem

H = 3600.0
DAY = 86400.0
MMHG_PA = 133.322387415
"""NIST SP 811, appendix B."""


def use(scenario: Scenario, name: str) -> Use:
    return next(each for each in scenario.craft.uses if each.name == name)


def test_the_units_in_which_people_read_are_kept_and_supplies_stay_as_written(full: Scenario) -> None:
    assert full.craft.shown_in is UnitSystem.US
    assert full.craft.supplies["oxygen"].unit.text == "kg"


def test_figures_are_read_as_written_where_nothing_is_said(good: Scenario) -> None:
    assert good.craft.shown_in is UnitSystem.AS_WRITTEN


def test_people_of_a_stated_size_have_the_rates_of_that_size_and_written_ones_replace_them(
    full: Scenario,
) -> None:
    by_size = person_rates_for(80.0, 1.75)
    rates = full.craft.person_rates
    assert rates[Activity.NOMINAL] == by_size[Activity.NOMINAL]
    assert rates[Activity.HEAVY].oxygen_kg_per_s == pytest.approx(4.2 / DAY)
    assert rates[Activity.HEAVY].carbon_dioxide_kg_per_s == pytest.approx(5.0 / DAY)
    assert rates[Activity.HEAVY].heat_w == by_size[Activity.HEAVY].heat_w


def test_without_a_height_the_body_mass_alone_says_the_rates(tmp_path: Path) -> None:
    craft = edited(FULL_FILES["craft.yaml"], "  height: 1.75 m\n", "")
    scenario = load_scenario(write_files(tmp_path, {**FULL_FILES, "craft.yaml": craft}))
    assert scenario.craft.person_rates[Activity.REST] == person_rates_for(80.0)[Activity.REST]


def test_the_cabin_is_read_with_all_that_holds_it(full: Scenario) -> None:
    cabin = full.craft.cabin
    assert cabin is not None
    assert cabin.volume_m3 == 12.0
    assert (cabin.oxygen, cabin.oxygen_is_share) == (Measured(channel="room.oxygen"), True)
    assert cabin.carbon_dioxide is not None
    assert cabin.carbon_dioxide.constant_si == pytest.approx(4 * MMHG_PA)
    assert cabin.carbon_dioxide_is_share is False
    assert cabin.humidity == Measured(constant_si=0.45)
    assert cabin.removal is not None
    assert cabin.removal.flow_m3_per_s == pytest.approx(0.5 / 60)
    assert (cabin.removal.efficiency_fraction, cabin.removal.needs) == (0.9, ("blower",))
    assert cabin.oxygen_feed is not None
    assert (cabin.oxygen_feed.holds, cabin.oxygen_feed.needs) == (Regulated.PRESSURE, ("valves",))
    assert cabin.drying is not None
    assert (cabin.drying.humidity_fraction, cabin.drying.needs) == (pytest.approx(0.55), ("dryer",))


def test_the_hull_and_the_cooling_are_read(full: Scenario) -> None:
    cabin = full.craft.cabin
    assert cabin is not None
    assert cabin.thermal is not None
    thermal = cabin.thermal
    assert (thermal.heat_capacity_j_per_k, thermal.conductance_w_per_k) == (900e3, 40.0)
    assert thermal.outside == Measured(constant_si=250.0)
    assert thermal.cooled_to_k == pytest.approx(294.15)
    assert (thermal.cooling_needs, thermal.cooling_supply) == (("pump",), "water")


def test_the_limits_are_read_in_the_order_of_the_file(full: Scenario) -> None:
    cabin = full.craft.cabin
    assert cabin is not None
    above, below = LimitSide.ABOVE, LimitSide.BELOW
    assert [(each.name, each.of, each.side, each.is_share) for each in cabin.limits] == [
        ("raised CO2", CabinProperty.CARBON_DIOXIDE, above, False),
        ("high CO2", CabinProperty.CARBON_DIOXIDE, above, True),
        ("thin air", CabinProperty.PRESSURE, below, False),
        ("lean air", CabinProperty.OXYGEN, below, True),
        ("faint", CabinProperty.INSPIRED_OXYGEN, below, False),
        ("damp", CabinProperty.HUMIDITY, above, False),
        ("cold", CabinProperty.TEMPERATURE, below, False),
        ("muggy", CabinProperty.APPARENT_TEMPERATURE, above, False),
    ]
    assert [each.at_si for each in cabin.limits] == pytest.approx(
        [15 * MMHG_PA, 0.03, 25e3, 0.195, 13e3, 0.8, 283.15, 308.15]
    )
    assert [each.unit.text for each in cabin.limits if each.unit is not None] == [
        *("mmHg", "%", "kPa", "%", "kPa", "%", "degF", "degC")
    ]
    assert [each.is_average for each in cabin.limits] == [True, *[False] * 7]
    assert cabin.limits[0].source == "house rule 1"


def test_the_cabin_has_bands_of_its_own_where_it_has_limits(full: Scenario, good: Scenario) -> None:
    assert full.craft.cabin is not None
    bands = full.craft.cabin.bands
    assert bands is not None
    assert (bands.advisory_s, bands.caution_s, bands.warning_s) == (24 * H, 6 * H, 1 * H)
    assert good.craft.cabin is not None
    assert (good.craft.cabin.bands, good.craft.cabin.limits) == (None, ())


def test_parts_that_can_be_dropped_are_read_with_what_is_in_them(full: Scenario) -> None:
    assert full.craft.propulsion is not None
    shed, porch = full.craft.propulsion.modules
    assert (shed.name, shed.mass_kg, shed.stores, shed.loads) == ("shed", 2100.0, ("bottle-3",), ("heater",))
    assert (porch.name, porch.mass_kg, porch.stores, porch.loads) == ("porch", 400.0, (), ())


def test_a_bus_has_its_limit_and_its_way_of_sharing(full: Scenario, good: Scenario) -> None:
    power = full.craft.supplies["power"]
    assert (power.current_limit_a, power.sharing) == (120.0, BusSharing.MEASURED)
    assert (good.craft.supplies["power"].current_limit_a, good.craft.supplies["power"].sharing) == (
        None,
        BusSharing.CAPACITY,
    )


def test_a_reserve_says_what_it_is_kept_for(full: Scenario, good: Scenario) -> None:
    oxygen, water = full.craft.supplies["oxygen"], good.craft.supplies["water"]
    assert (oxygen.reserve_si, oxygen.reserve_note) == (2.0, "the walk home")
    assert (water.reserve_si, water.reserve_note) == (2.0, "")


def test_a_battery_has_its_temperature_curve_and_limit(full: Scenario) -> None:
    _, first = full.craft.store("bank-a")
    assert first.capacity_at_temperature == ((pytest.approx(273.15), 0.8), (pytest.approx(298.15), 1.0))
    assert (first.temperature, first.current_limit_a) == (Measured(channel="bank.temperature"), 60.0)
    _, second = full.craft.store("bank-b")
    assert second.capacity_at_temperature == CAPACITY_CURVES["lead_acid"]
    assert (second.temperature, second.current_limit_a) == (Measured(constant_si=285.0), None)


def test_a_quantity_may_be_a_share_of_the_capacity(full: Scenario, good: Scenario) -> None:
    stores = {name: full.craft.store(name)[1] for name in ("bank-a", "bank-b", "tank", "bottle-3")}
    assert {name: store.quantity_is_share for name, store in stores.items()} == {
        **{"bank-a": True, "bank-b": True, "tank": True},
        "bottle-3": False,
    }
    assert stores["bank-b"].quantity == Measured(constant_si=pytest.approx(0.7))
    assert stores["bank-a"].quantity == Measured(channel="bank-a.charge")
    assert good.craft.store("butt")[1].quantity_is_share is False


def test_volumes_of_gas_have_the_density_of_their_stated_state(full: Scenario) -> None:
    breath = full.craft.supplies["breath"]
    # At one atmosphere and 15 degC: Schmidt and Wagner's equation through CoolProp 8.0.0.
    assert breath.gas_density_kg_per_m3 == pytest.approx(1.354, rel=1e-3)
    assert full.craft.supplies["oxygen"].gas_density_kg_per_m3 is None
    _, flask = full.craft.store("flask")
    assert (flask.fluid, flask.volume_m3) == (Fluid.OXYGEN, pytest.approx(0.01))


def test_an_absorbent_rated_by_person_hours_has_them_as_a_mass(full: Scenario) -> None:
    _, cartridge = full.craft.store("cart-1")
    assert cartridge.capacity_si == pytest.approx(60.0 / 24.0 * 1.08)
    assert cartridge.residual_si == pytest.approx(0.27)
    assert (cartridge.state, cartridge.outlet_pa) == (StoreState.FEEDING, None)


def test_an_absorbent_rated_by_outlet_has_the_capacity_of_its_own(full: Scenario) -> None:
    _, cartridge = full.craft.store("cart-2")
    assert cartridge.capacity_si == pytest.approx(2.75)  # halfway from 2.4 kg at 0.5 kPa to 3.1 kg at 1 kPa
    assert (cartridge.state, cartridge.outlet_pa) == (StoreState.SPARE, 750.0)
    _, plain = full.craft.store("cart-3")
    assert (plain.capacity_si, plain.outlet_pa) == (2.0, pytest.approx(700.0))


def test_leaks_through_holes_and_of_stores_are_read(full: Scenario) -> None:
    crack, weep = use(full, "crack"), use(full, "weep")
    assert crack.hole_m2 == pytest.approx(0.8e-6)
    assert (crack.discharge_coefficient, crack.outside_pa, crack.of_store) == (0.6, 1000.0, None)
    assert weep.leak_si_per_s == pytest.approx(0.01 / H)
    assert (weep.at_pressure_pa, weep.of_store) == (9e6, "bottle-2")
    pinhole = use(full, "pinhole")
    assert (pinhole.of_store, pinhole.discharge_coefficient, pinhole.outside_pa) == ("flask", 1.0, 0.0)
    assert use(full, "seal").leak_si_per_s == pytest.approx(2e-3 / H)


def test_filling_a_space_takes_what_its_pressure_needs(full: Scenario) -> None:
    walk, refill, masks = full.plan.events[:3]
    filled_kg = repressurisation_kg(Fluid.OXYGEN, 7.0, 1e3, 38e3, 290.0)
    # Ideal gas, by hand: 37 kPa * 7 m3 * 0.032 kg/mol / (8.314 J/(mol K) * 290 K) = 3.44 kg.
    assert filled_kg == pytest.approx(3.44, rel=2e-3)
    assert walk.uses_si["oxygen"] == filled_kg
    assert (walk.uses_si["power"], walk.lasts_s) == (12.0 * H, 6.0 * H)
    at_room_k = repressurisation_kg(Fluid.OXYGEN, 12.0, 0.0, 33e3, 293.15)
    assert dict(refill.uses_si) == {"oxygen": 1.0 + at_room_k}
    stated = density_kg_per_m3(Fluid.OXYGEN, 101325.0, 288.15)
    in_volume = repressurisation_kg(Fluid.OXYGEN, 1.0, 0.0, 40e3, 293.15) / stated
    assert dict(masks.uses_si) == {"breath": pytest.approx(in_volume)}
    # 40 kPa of a cubic metre at 20 degC are some 0.388 m3 at one atmosphere and 15 degC (ideal gas, by hand).
    assert in_volume == pytest.approx(0.388, rel=2e-3)


def test_a_filling_is_of_the_gas_that_its_supply_holds(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = files["craft.yaml"].replace("fluid: oxygen", "fluid: nitrogen")
    plan = edited(files["plan.yaml"], "uses: {oxygen: 1.2 kg}", "repressurise: {supply: oxygen, to: 50 kPa}")
    scenario = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft, "plan.yaml": plan}))
    expected = repressurisation_kg(Fluid.NITROGEN, 30.0, 0.0, 50e3, 293.15)
    assert scenario.plan.events[0].uses_si["oxygen"] == expected


def test_a_change_of_cartridges_shuts_and_fits_them(full: Scenario) -> None:
    fresh = next(event for event in full.plan.events if event.name == "fresh cartridges")
    assert dict(fresh.sets) == {
        "cart-1": StoreState.ISOLATED,
        **dict.fromkeys(("cart-2", "cart-3"), StoreState.FEEDING),
        "bottle-2": StoreState.ISOLATED,
    }
    assert all(full.craft.store(f"cart-{n}")[1].kind is StoreKind.ABSORBENT for n in (1, 2, 3, 4))


def test_burns_and_drops_are_read(full: Scenario) -> None:
    kick = full.plan.events[-1]
    assert (kick.burn_m_per_s, kick.drops) == (230.0, ("shed",))
    last = full.plan.options["lift"].events[0]
    assert last.burn_m_per_s == pytest.approx(500 * 0.3048)
    assert last.drops == ("porch",)
    walk = full.plan.events[0]
    assert (walk.burn_m_per_s, walk.drops) == (None, ())
    assert full.plan.events[1].lasts_s == 0.0


def test_steps_change_cartridges_drop_parts_and_confirm_control(full: Scenario) -> None:
    change, drop, confirm, keep = (step.action for step in full.procedures["let-go"].steps)
    assert dict(change.stores) == {"cart-1": StoreState.ISOLATED, "cart-4": StoreState.FEEDING}
    assert isinstance(change.stores, MappingProxyType)
    assert (drop.drops, drop.confirms_control) == (("shed",), False)
    assert (confirm.drops, confirm.confirms_control) == ((), True)
    assert dict(keep.stores) == {"cart-4": StoreState.SPARE}
