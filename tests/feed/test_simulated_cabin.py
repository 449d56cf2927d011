"""The simulated craft's air and warmth against sums reckoned by hand: p = m R T / (M V), and exponentials."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from sealed_builders import SIMULATION, START_S, make_house
from simulated_builders import step

from console.craft.model import LoadState, StoreState
from console.feed.simulated import SimulatedSource

H = 3600.0
R = 8.314462618
V, T = 20.0, 295.0
EXHALED_KG_PER_S = 2 * 1.2 / 86400
BREATHED_KG_PER_S = 2 * 0.96 / 86400
STREAM_PER_S = 0.5 * 0.6 / 60 / V
OXYGEN_KG_PER_M3 = 1.354364
"""At 15 degC and one atmosphere. Source: Schmidt and Wagner (1985), computed with CoolProp 8.0.0."""
SATURATION_AT_295_K_PA = 2621.2
"""Source: IAPWS-95, computed with CoolProp 8.0.0."""
STEPS = 2e-3
"""Steps of 10 s against time constants of half an hour and more."""


def pascal(kg: float, kg_per_mol: float) -> float:
    return kg / kg_per_mol * R * T / V


def lived(source: SimulatedSource, hours: float) -> SimulatedSource:
    """From the start on for some hours."""
    source.poll(START_S)
    source.poll(START_S + hours * H)
    return source


def off(*loads: str) -> tuple:  # type: ignore[type-arg]  # one change
    return (step(0.0, loads=dict.fromkeys(loads, LoadState.OFF)),)


@pytest.mark.parametrize("hours", [0.5, 2.0, 8.0])
def test_carbon_dioxide_nears_the_level_that_the_stream_holds(tmp_path: Path, hours: float) -> None:
    cabin = lived(make_house(tmp_path), hours)._craft.cabin
    final_pa = pascal(EXHALED_KG_PER_S, 0.04401) / STREAM_PER_S
    expected_pa = final_pa + (300.0 - final_pa) * math.exp(-STREAM_PER_S * hours * H)
    assert cabin.carbon_dioxide_pa == pytest.approx(expected_pa, rel=5e-3)


def test_what_is_exhaled_is_in_the_absorbent_or_in_the_air(tmp_path: Path) -> None:
    source = lived(make_house(tmp_path), 6.0)
    bound_kg = 2.0 - source.truth().held_si["lime-1"]
    risen_pa = source._craft.cabin.carbon_dioxide_pa - 300.0
    assert bound_kg + risen_pa / pascal(1.0, 0.04401) == pytest.approx(EXHALED_KG_PER_S * 6 * H, rel=1e-4)
    used = source.poll(START_S + 6 * H).readings["lime-1.used"].value_si
    assert used == pytest.approx(bound_kg)


def test_without_its_blower_the_absorbent_takes_up_nothing_and_the_air_fouls(tmp_path: Path) -> None:
    source = lived(make_house(tmp_path, changes=off("blower")), 3.0)
    risen_pa = pascal(EXHALED_KG_PER_S * 3 * H, 0.04401)
    assert source._craft.cabin.carbon_dioxide_pa - 300.0 == pytest.approx(risen_pa, rel=1e-4)
    assert source.truth().held_si["lime-1"] == 2.0
    assert source.truth().ran_out_s == {}, "nothing was asked"


def test_a_spare_takes_up_nothing_before_it_is_fitted(tmp_path: Path) -> None:
    events = "  - {name: change, at: T+11h, change_out: {out: lime-1, in: [lime-2, lime-3]}}\n"
    source = make_house(tmp_path, events=events)
    lived(source, 10.0)
    before = source.truth().held_si
    assert (before["lime-2"], before["lime-3"]) == (2.0, 2.0)
    source.poll(START_S + 16 * H)
    after = source.truth().held_si
    assert after["lime-1"] == pytest.approx(before["lime-1"], abs=1e-9)
    assert 2.0 - after["lime-2"] == pytest.approx(2.0 - after["lime-3"]), "side by side in one stream"
    taken_kg = 4.0 - after["lime-2"] - after["lime-3"]
    assert taken_kg == pytest.approx(EXHALED_KG_PER_S * 6 * H, rel=STEPS)


def test_when_what_is_fitted_is_spent_the_air_fouls_though_spares_are_at_hand(tmp_path: Path) -> None:
    source = lived(make_house(tmp_path), 30.0)
    assert source.truth().held_si["lime-1"] == pytest.approx(0.0, abs=1e-12)
    assert source.truth().held_si["lime-2"] == 2.0
    assert "absorbent" in source.truth().ran_out_s
    assert source._craft.cabin.carbon_dioxide_pa > 3000.0


def test_the_feed_holds_the_oxygen_and_its_supply_pays_in_litres(tmp_path: Path) -> None:
    source = make_house(tmp_path)
    source.poll(START_S)
    before = source.truth().held_si["flask"]
    source.poll(START_S + 5 * H)
    used_m3 = before - source.truth().held_si["flask"]
    assert source._craft.cabin.oxygen_pa == pytest.approx(21e3, abs=1.0)
    # The density is the engine's equation of state: within 0.7 % of the reference, as reference-values say.
    assert used_m3 == pytest.approx(BREATHED_KG_PER_S * 5 * H / OXYGEN_KG_PER_M3, rel=7e-3)


def test_without_its_feed_the_oxygen_falls_by_what_is_breathed_and_comes_back_with_it(tmp_path: Path) -> None:
    shut = step(0.0, loads={"valves": LoadState.OFF})
    opened = step(START_S + 4 * H, loads={"valves": LoadState.ON})
    source = make_house(tmp_path, changes=(shut, opened))
    source.poll(START_S)
    before = source.truth().held_si["flask"]
    source.poll(START_S + 4 * H)
    fallen_pa = pascal(BREATHED_KG_PER_S * 4 * H, 0.031998)
    assert 21e3 - source._craft.cabin.oxygen_pa == pytest.approx(fallen_pa, rel=1e-4)
    assert source.truth().held_si["flask"] == before
    source.poll(START_S + 6 * H)
    assert source._craft.cabin.oxygen_pa == pytest.approx(21e3, abs=1.0)
    paid_m3 = before - source.truth().held_si["flask"]
    assert paid_m3 == pytest.approx(BREATHED_KG_PER_S * 6 * H / OXYGEN_KG_PER_M3, rel=7e-3)


def test_a_regulator_of_the_pressure_lets_in_less_where_carbon_dioxide_takes_room(tmp_path: Path) -> None:
    edits = [("holds: oxygen", "holds: pressure"), ("drying: {humidity: 60 %", "drying: {humidity: 50 %")]
    # The hull loses just the 300 W that are put in, so that warmth and vapour stay.
    edits += [("conductance: 50 W/K", "conductance: 20 W/K")]
    cabin = lived(make_house(tmp_path, edits=edits, changes=off("blower")), 3.0)._craft.cabin
    # The dryer takes within a step what people give off, after the regulator has looked.
    assert cabin.pressure_pa == pytest.approx(100e3, abs=10.0)
    assert cabin.oxygen_pa == pytest.approx(21e3 - pascal(EXHALED_KG_PER_S * 3 * H, 0.04401), abs=10.0)


@pytest.mark.parametrize(
    ("changes", "heat_w"), [((), 2 * 100 + 100 + 20 + 80), (off("blower", "dryer"), 2 * 100 + 20)]
)
# The type is not asked of it: any numbers.
def test_the_warmth_goes_by_the_heat_and_the_hull(tmp_path: Path, changes: tuple, heat_w: float) -> None:  # type: ignore[type-arg]
    cabin = lived(make_house(tmp_path, changes=changes), 6.0)._craft.cabin
    final_k = 280.0 + heat_w / 50.0
    expected_k = final_k + (295.0 - final_k) * math.exp(-50.0 / 1e6 * 6 * H)
    assert cabin.temperature_k == pytest.approx(expected_k, abs=0.005)


def test_cooling_holds_the_warmth_until_its_water_is_gone(tmp_path: Path) -> None:
    edits = [
        ("COOLING", ", cooled_to: 296 K, cooling_needs: [valves], cooling_supply: water"),
        ("conductance: 50 W/K", "conductance: 0.1 W/K"),
        ("  scrubbing:", "  cooling: {supply: water, evaporates_heat_of: [loads, crew]}\n  scrubbing:"),
    ]
    simulation = SIMULATION.replace("keel: 400 kg", "keel: 400 kg, tank: 1 kg")
    source = lived(make_house(tmp_path, edits=edits, simulation=simulation), 1.0)
    assert source._craft.cabin.temperature_k == pytest.approx(296.0, abs=1e-6)
    source.poll(START_S + 3 * H)
    # 400 W evaporate a kilogram in 1.7 h (2453.52 kJ/kg at 20 degC, IAPWS-95); then the node warms.
    dry_s = 1.0 * 2453.52e3 / 400.0
    warmer_k = 400.0 / 1e6 * (3 * H - dry_s)
    assert source.truth().ran_out_s["water"] - START_S == pytest.approx(dry_s, abs=20.0)
    assert source._craft.cabin.temperature_k - 296.0 == pytest.approx(warmer_k, rel=0.02)


def test_the_dryer_holds_the_humidity_and_without_it_the_air_saturates(tmp_path: Path) -> None:
    # The hull loses just what is put in, so that the warmth stays: 400 W, and 220 W without dryer and blower.
    dried_edits = [("conductance: 50 W/K", f"conductance: {400 / 15:.9f} W/K")]
    wet_edits = [("conductance: 50 W/K", f"conductance: {220 / 15:.9f} W/K")]
    dried = lived(make_house(tmp_path, edits=dried_edits), 5.0)._craft.cabin
    assert dried.humidity_fraction == pytest.approx(0.60, abs=1e-9)
    wet = lived(make_house(tmp_path, edits=wet_edits, changes=off("dryer", "blower")), 0.5)._craft.cabin
    risen_pa = pascal(2 * 2.4 / 86400 * 0.5 * H, 0.018015)
    assert wet.humidity_fraction == pytest.approx(0.5 + risen_pa / SATURATION_AT_295_K_PA, rel=1e-3)
    later = lived(make_house(tmp_path, edits=wet_edits, changes=off("dryer", "blower")), 9.0)._craft.cabin
    assert later.humidity_fraction == pytest.approx(1.0)


def test_without_power_every_service_stops(tmp_path: Path) -> None:
    simulation = SIMULATION.replace("keel: 400 kg", "keel: 400 kg, bank: 4.2 kW*h")
    source = lived(make_house(tmp_path, simulation=simulation), 4.0)
    # 0.2 kW*h above the residual at 250 W.
    assert source.truth().ran_out_s["power"] - START_S == pytest.approx(0.2 / 0.25 * H, abs=20.0)
    cabin = source._craft.cabin
    fallen_pa = pascal(BREATHED_KG_PER_S * 3.2 * H, 0.031998)
    assert 21e3 - cabin.oxygen_pa == pytest.approx(fallen_pa, rel=0.01)
    assert source.truth().rates_si_per_s["absorbent"] == 0.0


def test_a_torn_bottle_loses_by_choked_flow_though_it_is_shut(tmp_path: Path) -> None:
    source = make_house(tmp_path)
    first = source.poll(START_S).readings["torn.pressure"].value_si
    before_kg = source.truth().held_si["torn"] * OXYGEN_KG_PER_M3
    source.poll(START_S + H)
    lost_kg = before_kg - source.truth().held_si["torn"] * OXYGEN_KG_PER_M3
    assert first == pytest.approx(8e6, rel=0.015), "a bottle drifts by a kelvin or so"
    # 0.042479 A p / sqrt(T) for oxygen (reference-values, computed); the pressure falls with what is left.
    share_per_s = 0.042479 * 0.01e-6 * 8e6 / math.sqrt(290.0) / before_kg
    assert lost_kg == pytest.approx(before_kg * (1.0 - math.exp(-share_per_s * H)), rel=0.02)
    assert source.truth().rates_si_per_s["oxygen"] * OXYGEN_KG_PER_M3 == pytest.approx(
        BREATHED_KG_PER_S, rel=7e-3
    ), "no use of the supply"


def test_a_hole_in_the_cabin_lets_out_every_gas_alike(tmp_path: Path) -> None:
    edits = [
        ("  scrubbing:", "  hole: {supply: oxygen, hole: 2 mm^2}\n  scrubbing:"),
        ("  oxygen_feed: {holds: oxygen, needs: [valves]}\n", ""),
        ("  breathing: {supply: oxygen, metabolic: oxygen}\n", ""),
    ]
    source = make_house(tmp_path, edits=edits, changes=off("blower", "dryer"))
    source.poll(START_S)
    inert_pa = source._craft.cabin._rest_pa
    source.poll(START_S + 5 * H)
    cabin = source._craft.cabin
    # Choked flow of air into nothing, 0.04042 A p / sqrt(T), and 28.9 g/mol: a share of the air a second.
    share_per_s = 0.04042 * 2e-6 * R * math.sqrt(T) / (0.0289 * V)
    assert cabin._rest_pa == pytest.approx(inert_pa * math.exp(-share_per_s * 5 * H), rel=5e-3)
    kept = math.exp(-share_per_s * 5 * H)
    breathed_pa = pascal(BREATHED_KG_PER_S, 0.031998) * (1.0 - kept) / share_per_s
    assert cabin.oxygen_pa == pytest.approx(21e3 * kept - breathed_pa, rel=5e-3)


def test_shares_and_energy_are_shown_in_their_own_units(tmp_path: Path) -> None:
    source = make_house(tmp_path)
    source.poll(START_S)
    readings = source.poll(START_S + 10 * H).readings
    # 250 W for ten hours of 40 kW*h.
    assert readings["bank.charge"].value_si == pytest.approx(1.0 - 2.5 / 40.0, rel=1e-6)
    assert readings["bank.current"].value_si == pytest.approx(5.0)
    assert readings["air.oxygen"].value_si == pytest.approx(0.21, rel=0.02)
    cabin = source._craft.cabin
    assert readings["air.co2"].value_si == pytest.approx(cabin.carbon_dioxide_pa / cabin.pressure_pa)
    assert readings["air.humidity"].value_si == pytest.approx(cabin.humidity_fraction)
    assert readings["sea.temperature"].value_si == 280.0


def test_a_cold_battery_was_full_at_less(tmp_path: Path) -> None:
    source = make_house(tmp_path)
    used_si = source.poll(START_S).readings["cold-bank.used"].value_si
    # 80 % at 0 degC and 100 % at 20 degC: 15 degC, where the simulation's stores start, has 95 %.
    assert used_si == pytest.approx((10 * 0.95 - 6.0) * 3.6e6)


def test_a_burn_costs_by_the_mass_of_the_moment(tmp_path: Path) -> None:
    events = (
        "  - {name: rise, at: T+2h, burn: 5 m/s}\n  - {name: let go, at: T+3h, drop: shed}\n"
        "  - {name: rise again, at: T+4h, burn: 5 m/s}\n"
    )
    source = lived(make_house(tmp_path, events=events), 1.5)
    # The rocket equation by hand: 2000 kg dry and 380 kg of ballast above the reserve.
    first_kg = 2380.0 * (1.0 - math.exp(-0.05))
    assert 400.0 - source.truth().held_si["keel"] == pytest.approx(first_kg, rel=1e-9)
    source.poll(START_S + 3.5 * H)
    second_kg = (1500.0 + 380.0 - first_kg) * (1.0 - math.exp(-0.05))
    assert 400.0 - source.truth().held_si["keel"] == pytest.approx(first_kg + second_kg, rel=1e-9)


def test_what_went_with_a_module_is_read_no_more(tmp_path: Path) -> None:
    source = make_house(tmp_path, events="  - {name: let go, at: T+3h, drop: shed}\n")
    source.poll(START_S)
    before = source.poll(START_S + H).readings
    after = source.poll(START_S + 2.1 * H).readings
    assert (before["shed-tank.mass"].value_si, before["bank.current"].value_si) == (50.0, pytest.approx(5.0))
    assert (after["shed-tank.mass"].value_si, after["shed-tank.mass"].why) == (
        None,
        "left behind with its module",
    )
    assert after["bank.current"].value_si == pytest.approx(4.0), "its lamp too"


def test_a_shut_canister_that_is_opened_by_a_step_takes_its_part(tmp_path: Path) -> None:
    fitted = step(START_S + 2 * H, stores={"lime-2": StoreState.FEEDING})
    source = lived(make_house(tmp_path, changes=(fitted,)), 2.0)
    assert source.truth().held_si["lime-2"] == 2.0
    source.poll(START_S + 6 * H)
    assert source.truth().held_si["lime-2"] < 1.9
