"""What an assessment must say of loads, events, stores and old readings."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.model import HeatSource, LoadState, Propulsion, StoreKind, StoreState, Use
from console.craft.plan import Transfer
from console.engine.forecast import Draws
from console.engine.reading import Quality, Reading
from console.engine.snapshot import Band, LineKind, RateSource
from console.physics.cooling import latent_heat_j_per_kg

H = 3600.0
AH = 3600.0
FEED_K = 293.15


def wet_craft(build: Any, **fields: Any) -> Any:
    """A craft whose loads' heat is carried away by evaporating water."""
    return build.craft(
        build.supply(
            "power",
            "A*h",
            build.store("bat", kind=StoreKind.BATTERY, capacity_si=1000 * AH),
            bus_voltage_v=28.0,
        ),
        build.supply("water", "kg", build.store("tank", capacity_si=60.0), reserve_si=6.0),
        loads=(build.load("radio", 4.0, 0.5), build.load("fan", 6.0)),
        uses=(
            Use(
                name="cooling",
                supply="water",
                evaporates_heat_of=(HeatSource.LOADS, HeatSource.CREW),
                feed_temperature_k=FEED_K,
                spread_fraction=0.1,
            ),
        ),
        **fields,
    )


def plan_to(build: Any, need_h: float, *events: Any) -> Any:
    return build.plan(build.option(need_h * H), (build.phase("coast", 0.0),), tuple(events))


def test_switching_a_load_off_lowers_the_current_and_the_cooling_water(build: Any) -> None:
    craft, plan = wet_craft(build), plan_to(build, 50)
    before = build.assess(craft, plan).snapshot.supplies
    after = build.assess(craft, plan, changes=(build.step(0.0, radio=LoadState.OFF),)).snapshot.supplies
    saved_a = before["power"].rate_plan_si_per_s - after["power"].rate_plan_si_per_s
    saved_kg_per_s = before["water"].rate_plan_si_per_s - after["water"].rate_plan_si_per_s
    assert saved_a == pytest.approx(4.0, rel=1e-12)
    assert saved_kg_per_s == pytest.approx(4.0 * 28.0 / latent_heat_j_per_kg(FEED_K), rel=1e-9)
    assert after["water"].margin_s.p50 > before["water"].margin_s.p50


def test_heat_that_leaves_another_way_costs_no_water(build: Any) -> None:
    craft = wet_craft(build)
    cold = build.craft(
        *craft.supplies.values(),
        loads=(build.load("radio", 4.0, heat_fraction=0.0), build.load("fan", 6.0)),
        uses=craft.uses,
    )
    difference = (
        build.assess(craft, plan_to(build, 50)).snapshot.supplies["water"].rate_plan_si_per_s
        - build.assess(cold, plan_to(build, 50)).snapshot.supplies["water"].rate_plan_si_per_s
    )
    assert difference == pytest.approx(4.0 * 28.0 / latent_heat_j_per_kg(FEED_K), rel=1e-9)


def test_a_shortfall_is_a_negative_margin_and_quantity_in_a_warning(build: Any) -> None:
    power = build.assess(wet_craft(build), plan_to(build, 120)).snapshot.supplies["power"]
    assert power.margin_s.p50 == pytest.approx(-20 * H)
    assert power.left_at_need_si.p50 == pytest.approx(-200 * AH)
    assert power.band is Band.WARNING
    assert power.lasts_probability == 0.0


def test_a_store_already_below_its_residual_has_run_out_and_its_shortfall_is_counted(build: Any) -> None:
    tank = build.store("tank", capacity_si=10.0, residual_si=2.0)
    craft = build.craft(
        build.supply("water", "kg", tank, reserve_si=9.0),
        uses=(Use(name="drink", supply="water", rate_si_per_s=1 / H),),
    )
    water = build.assess(craft, plan_to(build, 5)).snapshot.supplies["water"]
    assert water.usable_si == pytest.approx(-1.0)
    assert water.endurance_plan_s.p50 == 0.0
    assert water.margin_s.p50 == pytest.approx(-5 * H)
    assert water.left_at_need_si.p50 == pytest.approx(-6.0)


def test_the_same_arguments_give_the_same_snapshot(build: Any) -> None:
    craft = wet_craft(build, load_spread_fraction=0.05)
    first, second = (
        build.assess(craft, plan_to(build, 90), draws=Draws(seed=7, count=500)).snapshot for _ in range(2)
    )
    assert first == second
    other = build.assess(craft, plan_to(build, 90), draws=Draws(seed=8, count=500)).snapshot
    assert other.supplies["water"].margin_s.p05 != first.supplies["water"].margin_s.p05


def test_spread_opens_the_interval_about_the_same_centre(build: Any) -> None:
    plan = plan_to(build, 90)
    exact = build.assess(wet_craft(build), plan).snapshot.supplies["power"].endurance_plan_s
    spread = (
        build.assess(wet_craft(build, load_spread_fraction=0.05), plan, draws=Draws(seed=7, count=1000))
        .snapshot.supplies["power"]
        .endurance_plan_s
    )
    assert exact.p05 == exact.p50 == exact.p95 == spread.p50
    # 5 % of spread, 1.645 standard deviations, on 100 h: about 92.1 to 108.6 h.
    assert spread.p05 / H == pytest.approx(92.1, abs=0.3)
    assert spread.p95 / H == pytest.approx(108.6, abs=0.3)


def test_loads_and_their_cooling_water_share_their_luck(build: Any) -> None:
    """When the loads draw more than planned, the water they boil off is more too: both ends move together."""
    craft = wet_craft(build, load_spread_fraction=0.1)
    supplies = build.assess(craft, plan_to(build, 60), draws=Draws(seed=7, count=1000)).snapshot.supplies
    assert supplies["water"].endurance_plan_s.p05 < supplies["water"].endurance_plan_s.p50


def oxygen_craft(build: Any) -> Any:
    stores = (
        build.store("tank", capacity_si=10.0),
        build.store("bottle", capacity_si=4.0, residual_si=0.5, state=StoreState.ISOLATED),
        build.store("entry", capacity_si=2.0, state=StoreState.PROTECTED),
    )
    return build.craft(
        build.supply("oxygen", "kg", *stores),
        uses=(Use(name="crew", supply="oxygen", rate_si_per_s=0.1 / H),),
    )


def test_isolated_and_protected_stores_are_aboard_and_not_usable(build: Any) -> None:
    oxygen = build.assess(oxygen_craft(build), plan_to(build, 80)).snapshot.supplies["oxygen"]
    assert (oxygen.on_board_si, oxygen.isolated_si, oxygen.protected_si, oxygen.usable_si) == (
        16.0,
        4.0,
        2.0,
        10.0,
    )


def test_a_store_that_the_plan_opens_counts_from_then_on_less_its_residual(build: Any) -> None:
    opening = build.event("open bottle", 50 * H, sets={"bottle": StoreState.FEEDING})
    oxygen = build.assess(oxygen_craft(build), plan_to(build, 80, opening)).snapshot.supplies["oxygen"]
    assert oxygen.usable_si == 10.0
    assert oxygen.endurance_plan_s.p50 == pytest.approx(135 * H)
    opened = [line for line in oxygen.ledger if line.kind is LineKind.OPENED]
    assert [line.amount_si for line in opened] == [3.5]


def test_a_store_that_is_opened_after_the_end_does_not_save_the_supply(build: Any) -> None:
    opening = build.event("open bottle", 110 * H, sets={"bottle": StoreState.FEEDING})
    oxygen = build.assess(oxygen_craft(build), plan_to(build, 120, opening)).snapshot.supplies["oxygen"]
    assert oxygen.endurance_plan_s.p50 == pytest.approx(100 * H)
    assert oxygen.margin_s.p50 == pytest.approx(-20 * H)


def test_events_that_are_over_and_events_after_need_do_not_count(build: Any) -> None:
    craft = oxygen_craft(build)
    events = [build.event(f"vent {hour}", hour * H, {"oxygen": 1.0}) for hour in (1, 2, 30, 90)]
    oxygen = build.assess(craft, plan_to(build, 80, *events), at_s=2 * H).snapshot.supplies["oxygen"]
    assert [line.name for line in oxygen.ledger if line.kind is LineKind.EVENT] == ["vent 30"]


def test_a_transfer_costs_its_source_the_losses_and_a_protected_target_gains_nothing_usable(
    build: Any,
) -> None:
    stores = (
        build.store("bat", kind=StoreKind.BATTERY, capacity_si=300 * AH),
        build.store("bat-entry", kind=StoreKind.BATTERY, capacity_si=90 * AH, state=StoreState.PROTECTED),
    )
    craft = build.craft(
        build.supply("power", "A*h", *stores, bus_voltage_v=28.0), loads=(build.load("all", 2.0),)
    )
    transfer = Transfer(source="power", target_store="bat-entry", amount_si=18 * AH, efficiency_fraction=0.7)
    plan = plan_to(build, 100, build.event("top up", 20 * H, transfer=transfer))
    power = build.assess(craft, plan).snapshot.supplies["power"]
    assert power.left_at_need_si.p50 / AH == pytest.approx(300 - 200 - 18 / 0.7)


def test_every_ledger_closes_to_a_billionth(build: Any) -> None:
    events = (
        build.event("vent", 10 * H, {"oxygen": 0.7}),
        build.event("open bottle", 50 * H, sets={"bottle": StoreState.FEEDING}),
    )
    for craft, plan in (
        (oxygen_craft(build), plan_to(build, 80, *events)),
        (wet_craft(build), plan_to(build, 73.3)),
    ):
        for supply in build.assess(craft, plan).snapshot.supplies.values():
            total = sum(line.amount_si for line in supply.ledger[:-1])
            assert total == pytest.approx(supply.left_at_need_si.p50, rel=1e-9)
            assert supply.ledger[-1].amount_si == pytest.approx(supply.left_at_need_si.p50, rel=1e-9)


def metered_craft(build: Any) -> Any:
    store = build.store(
        "bat",
        kind=StoreKind.BATTERY,
        capacity_si=400 * AH,
        current=Measured(channel="bat.current"),
        used=Measured(channel="bat.used"),
    )
    channels = (
        build.channel("bat.current", "A", accuracy_si=0.2, stale_after_s=60.0),
        build.channel("bat.used", "A*h", accuracy_si=2 * AH, stale_after_s=60.0),
    )
    return build.craft(
        build.supply("power", "A*h", store, bus_voltage_v=28.0),
        loads=(build.load("all", 5.0),),
        channels=channels,
    )


def test_a_good_current_meter_gives_the_rate_now_and_the_model_the_planned_one(build: Any) -> None:
    feed = build.feed(bat__current=8.0, bat__used=80 * AH)
    power = build.assess(metered_craft(build), plan_to(build, 40), feed).snapshot.supplies["power"]
    assert (power.rate_now_si_per_s, power.rate_now_source) == (8.0, RateSource.MEASURED)
    assert power.endurance_now_s.p50 == pytest.approx(40 * H)
    assert power.rate_plan_si_per_s == 5.0
    assert power.endurance_plan_s.p50 == pytest.approx(64 * H)
    assert "measured use is 3.00 A above" in power.why


def test_a_meter_that_is_not_good_gives_way_to_the_model_and_says_so(build: Any) -> None:
    old = Reading(
        channel="bat.current", quality=Quality.STALE, why="last read 2 h ago", value_si=8.0, at_s=-7200.0
    )
    feed = build.feed(bat__current=old, bat__used=80 * AH)
    power = build.assess(metered_craft(build), plan_to(build, 40), feed).snapshot.supplies["power"]
    assert (power.rate_now_si_per_s, power.rate_now_source) == (5.0, RateSource.MODEL)
    assert "last read 2 h ago" in power.why


def test_an_old_quantity_is_carried_forward_by_the_plan(build: Any) -> None:
    stale = Reading(
        channel="bat.used", quality=Quality.STALE, why="last read 10 h ago", value_si=80 * AH, at_s=0.0
    )
    feed = build.feed(10 * H, bat__current=5.0, bat__used=stale)
    power = build.assess(metered_craft(build), plan_to(build, 40), feed, at_s=10 * H).snapshot.supplies[
        "power"
    ]
    assert power.usable_si == pytest.approx((400 - 80 - 50) * AH)
    assert (power.quality, power.age_s) == (Quality.STALE, 10 * H)
    assert power.runs_out_at_s == pytest.approx(64 * H)  # as it was when the reading was fresh


def test_a_quantity_that_was_never_read_leaves_every_figure_null_with_its_reason(build: Any) -> None:
    missing = Reading(channel="bat.used", quality=Quality.MISSING, why="the source says null")
    feed = build.feed(bat__current=5.0, bat__used=missing)
    snapshot = build.assess(metered_craft(build), plan_to(build, 40), feed).snapshot
    power = snapshot.supplies["power"]
    figures = (
        power.on_board_si,
        power.usable_si,
        power.endurance_plan_s,
        power.margin_s,
        power.allowance_si_per_s,
    )
    assert figures == (None, None, None, None, None)
    assert power.band is None
    assert "the source says null" in power.why
    assert (snapshot.shortest, snapshot.unknown) == (None, ("power",))


def test_the_shortest_supply_is_the_one_with_the_least_margin_at_its_low_end(build: Any) -> None:
    craft = build.craft(
        build.supply("air", "kg", build.store("a", capacity_si=10.0)),
        build.supply("water", "kg", build.store("w", capacity_si=10.0)),
        uses=(
            Use(name="breathing", supply="air", rate_si_per_s=0.100 / H, spread_fraction=0.001),
            Use(name="drinking", supply="water", rate_si_per_s=0.098 / H, spread_fraction=0.1),
        ),
    )
    snapshot = build.assess(craft, plan_to(build, 60), draws=Draws(seed=1, count=500)).snapshot
    assert snapshot.supplies["water"].margin_s.p50 > snapshot.supplies["air"].margin_s.p50
    assert snapshot.shortest == "water"


def test_a_leak_follows_the_cabin_pressure(build: Any) -> None:
    craft = build.craft(
        build.supply("oxygen", "kg", build.store("tank", capacity_si=10.0)),
        uses=(Use(name="leak", supply="oxygen", leak_si_per_s=0.04 / H, at_pressure_pa=34500.0),),
        channels=(build.channel("cabin.pressure", "kPa"),),
        cabin=Cabin(volume_m3=16.0, pressure=Measured(channel="cabin.pressure")),
    )
    snapshot = build.assess(craft, plan_to(build, 60), build.feed(cabin__pressure=17250.0)).snapshot
    assert snapshot.supplies["oxygen"].rate_plan_si_per_s == pytest.approx(0.02 / H)
    assert [(reading.name, reading.value_si) for reading in snapshot.cabin] == [("pressure", 17250.0)]


def test_what_lasts_longer_than_two_centuries_does_not_run_out(build: Any) -> None:
    craft = build.craft(
        build.supply("propellant", "kg", build.store("tank", capacity_si=100.0)),
        uses=(Use(name="seep", supply="propellant", rate_si_per_s=1e-10),),
    )
    propellant = build.assess(craft, plan_to(build, 60)).snapshot.supplies["propellant"]
    assert (propellant.runs_out_at_s, propellant.endurance_plan_s.p50, propellant.margin_s.p05) == (
        None,
        None,
        None,
    )
    assert propellant.band is Band.NOMINAL
    assert "does not run out" in propellant.why


def test_the_delta_v_left_is_by_the_rocket_equation(build: Any) -> None:
    """OpenStax College Physics chapter 8: 4,000 kg expelling 3,500 kg at 2,000 m/s gains 4,158.88 m/s."""
    craft = build.craft(
        build.supply("propellant", "kg", build.store("tank", capacity_si=3500.0)),
        propulsion=Propulsion(supply="propellant", dry_mass_kg=500.0, exhaust_velocity_m_per_s=2000.0),
    )
    need = build.assess(craft, plan_to(build, 60)).snapshot.need
    assert need.delta_v_left_m_per_s == pytest.approx(4158.88, abs=0.01)


def test_a_need_that_has_passed_is_said_and_gives_no_allowance(build: Any) -> None:
    oxygen = build.assess(oxygen_craft(build), plan_to(build, 80), at_s=90 * H).snapshot.supplies["oxygen"]
    assert oxygen.allowance_si_per_s is None
    assert oxygen.left_at_need_si.p50 == pytest.approx(oxygen.usable_si)
    assert "the need has passed" in oxygen.why


def gauged_craft(build: Any, *stores: Any, spread: float = 0.0, rate: float = 0.1, **fields: Any) -> Any:
    """Oxygen in stores that channels ``a`` and ``b`` weigh, used at a steady rate."""
    channels = tuple(build.channel(name, "kg", stale_after_s=60.0, **fields) for name in ("a", "b"))
    uses = (Use(name="crew", supply="oxygen", rate_si_per_s=rate / H, spread_fraction=spread),)
    return build.craft(build.supply("oxygen", "kg", *stores), uses=uses, channels=channels)


def old(channel: str, value: float, at_s: float = 0.0) -> Reading:
    return Reading(channel=channel, quality=Quality.STALE, why="old", value_si=value, at_s=at_s)


def test_a_store_without_a_gauge_takes_no_share_of_what_old_gauges_did_not_see(build: Any) -> None:
    craft = gauged_craft(
        build, build.store("a", quantity=Measured(channel="a")), build.store("spare", capacity_si=20.0)
    )
    plan = plan_to(build, 300)
    fresh = build.assess(craft, plan, build.feed(a=10.0)).snapshot.supplies["oxygen"]
    aged = build.assess(craft, plan, build.feed(50 * H, a=old("a", 10.0)), at_s=50 * H).snapshot.supplies[
        "oxygen"
    ]
    assert aged.usable_si == pytest.approx(25.0)
    assert aged.runs_out_at_s == pytest.approx(fresh.runs_out_at_s)


def test_one_old_gauge_of_two_is_charged_its_share_only(build: Any) -> None:
    stores = [build.store(name, quantity=Measured(channel=name)) for name in ("a", "b")]
    feed = build.feed(20 * H, a=old("a", 6.0), b=6.0)
    oxygen = build.assess(
        gauged_craft(build, *stores), plan_to(build, 80), feed, at_s=20 * H
    ).snapshot.supplies["oxygen"]
    assert oxygen.usable_si == pytest.approx(12.0 - 20 * 0.1 / 2)
    carried = [line.amount_si for line in oxygen.ledger if line.kind is LineKind.CARRIED]
    assert carried == [pytest.approx(-1.0)]
    assert sum(line.amount_si for line in oxygen.ledger[:-1]) == pytest.approx(oxygen.left_at_need_si.p50)


def test_the_low_end_does_not_rise_with_a_readings_age(build: Any) -> None:
    craft = gauged_craft(build, build.store("a", quantity=Measured(channel="a")), spread=0.2)
    lows = []
    for hours in (0, 20, 40, 60):
        feed = build.feed(hours * H, a=old("a", 10.0))
        snapshot = build.assess(
            craft, plan_to(build, 80), feed, at_s=hours * H, draws=Draws(seed=1, count=500)
        ).snapshot
        lows.append(snapshot.supplies["oxygen"].margin_s.p05)
    assert lows == pytest.approx([lows[0]] * 4)


def test_a_supply_that_ran_out_by_the_plan_since_its_last_reading_says_so(build: Any) -> None:
    craft = gauged_craft(build, build.store("a", quantity=Measured(channel="a")))
    feed = build.feed(150 * H, a=old("a", 10.0))
    oxygen = build.assess(craft, plan_to(build, 160), feed, at_s=150 * H).snapshot.supplies["oxygen"]
    assert oxygen.runs_out_at_s == pytest.approx(100 * H)
    assert oxygen.endurance_plan_s.p50 == 0.0
    assert oxygen.margin_s.p50 == pytest.approx(-60 * H)
    assert "it has run out since the last reading" in oxygen.why


def test_the_allowance_does_not_count_on_a_store_before_it_is_opened(build: Any) -> None:
    stores = (
        build.store("tank", capacity_si=5.0),
        build.store("bottle", capacity_si=45.0, state=StoreState.ISOLATED),
    )
    craft = build.craft(
        build.supply("oxygen", "kg", *stores),
        uses=(Use(name="crew", supply="oxygen", rate_si_per_s=0.05 / H),),
    )
    opening = build.event("bottle opened", 80 * H, sets={"bottle": StoreState.FEEDING})
    oxygen = build.assess(craft, plan_to(build, 100, opening)).snapshot.supplies["oxygen"]
    assert oxygen.allowance_si_per_s == pytest.approx(5.0 / (80 * H))
    assert "held down by what must last until bottle opened" in oxygen.why


def test_a_store_opened_later_brings_its_gauges_error_and_its_age(build: Any) -> None:
    stores = (
        build.store("tank", capacity_si=5.0),
        build.store("a", quantity=Measured(channel="a"), state=StoreState.ISOLATED),
    )
    craft = gauged_craft(build, *stores, accuracy_si=2.0)
    opening = build.event("opened", 20 * H, sets={"a": StoreState.FEEDING})
    feed = build.feed(50.0 * H, a=old("a", 10.0))
    plan = plan_to(build, 90, opening)
    fresh = build.assess(craft, plan, build.feed(a=10.0), draws=Draws(seed=1, count=500)).snapshot.supplies[
        "oxygen"
    ]
    assert fresh.left_at_need_si.p95 - fresh.left_at_need_si.p05 == pytest.approx(2 * 1.645, abs=0.05)
    aged = build.assess(craft, plan, feed, at_s=10 * H).snapshot.supplies["oxygen"]
    assert (aged.quality, aged.age_s) == (Quality.STALE, 10 * H)


def test_a_full_store_takes_nothing_from_a_transfer(build: Any) -> None:
    stores = (
        build.store("bat-1", kind=StoreKind.BATTERY, capacity_si=100 * AH),
        build.store("bat-2", kind=StoreKind.BATTERY, capacity_si=50 * AH, state=StoreState.ISOLATED),
    )
    craft = build.craft(
        build.supply("power", "A*h", *stores, bus_voltage_v=28.0), loads=(build.load("all", 1.0),)
    )
    events = (
        build.event(
            "charge",
            10 * H,
            transfer=Transfer(
                source="power", target_store="bat-2", amount_si=30 * AH, efficiency_fraction=1.0
            ),
        ),
        build.event("tie", 20 * H, sets={"bat-2": StoreState.FEEDING}),
    )
    power = build.assess(craft, plan_to(build, 50, *events)).snapshot.supplies["power"]
    assert power.left_at_need_si.p50 / AH == pytest.approx(100 - 30 + 50 - 50)


def test_the_rate_effect_counts_every_draw_on_the_batteries(build: Any) -> None:
    """By hand: 20 A from a battery rated at 10 A with exponent 1.2 costs 20 * 2 ** 0.2 = 22.97 A."""
    battery = build.store(
        "bat", kind=StoreKind.BATTERY, capacity_si=400 * AH, peukert=1.2, rated_current_a=10.0
    )
    supply = build.supply("power", "A*h", battery, bus_voltage_v=28.0)
    as_load = build.craft(supply, loads=(build.load("all", 20.0),))
    as_use = build.craft(
        supply,
        loads=(build.load("all", 1.0),),
        uses=(Use(name="heater", supply="power", rate_si_per_s=19.0),),
    )
    for craft in (as_load, as_use):
        power = build.assess(craft, plan_to(build, 10)).snapshot.supplies["power"]
        assert power.rate_plan_si_per_s == pytest.approx(20.0)
        assert power.endurance_plan_s.p50 / H == pytest.approx(400 / (20 * 2**0.2))


def test_a_band_keeps_its_memory_through_a_look_without_a_margin(build: Any) -> None:
    craft = gauged_craft(build, build.store("a", quantity=Measured(channel="a")))
    plan = plan_to(build, 98)
    first = build.assess(craft, plan, build.feed(a=10.0))
    blind = build.assess(
        craft,
        plan,
        build.feed(a=Reading(channel="a", quality=Quality.MISSING, why="null")),
        memory=first.memory,
    )
    assert first.snapshot.supplies["oxygen"].band is Band.WARNING
    assert blind.snapshot.supplies["oxygen"].band is None
    assert blind.memory == first.memory


def test_an_event_after_a_reading_counts_however_fresh_its_channel_calls_it(build: Any) -> None:
    channels = (build.channel("a", "kg", stale_after_s=9 * H),)
    craft = build.craft(
        build.supply("oxygen", "kg", build.store("a", quantity=Measured(channel="a"))),
        uses=(Use(name="crew", supply="oxygen", rate_si_per_s=1.0 / H),),
        channels=channels,
    )
    plan = plan_to(build, 80, build.event("vent", 2 * H, {"oxygen": 30.0}))
    reading = Reading(channel="a", quality=Quality.GOOD, value_si=100.0, at_s=0.0)
    for hours in (0.0, 1.99, 2.0, 2.01, 8.99, 9.01):
        oxygen = build.assess(
            craft, plan, build.feed(hours * H, a=reading), at_s=hours * H
        ).snapshot.supplies["oxygen"]
        assert oxygen.margin_s.p50 / H == pytest.approx(-10.0), hours
        assert oxygen.usable_si == pytest.approx(100 - hours - (30 if hours >= 2 else 0), abs=0.02)


def test_a_store_opened_since_does_not_take_over_what_old_gauges_had_given_before(build: Any) -> None:
    """By hand: a gave 10 kg alone until b was opened at T+10h: 40 + 20 kg."""
    stores = (
        build.store("a", quantity=Measured(channel="a")),
        build.store("b", quantity=Measured(channel="b"), state=StoreState.ISOLATED),
    )
    craft = gauged_craft(build, *stores, rate=1.0)
    plan = plan_to(build, 50, build.event("opened", 10 * H, sets={"b": StoreState.FEEDING}))
    for hours in (9.999, 10.0):
        feed = build.feed(hours * H, a=old("a", 50.0), b=20.0)
        oxygen = build.assess(craft, plan, feed, at_s=hours * H).snapshot.supplies["oxygen"]
        assert oxygen.left_at_need_si.p50 == pytest.approx(50 + 20 - 50, abs=0.01), hours


def test_a_store_that_gave_while_unread_and_was_then_shut_does_not_come_back_full(build: Any) -> None:
    """By hand: 50 + 100 kg, 4 kg/h for 60 h: 90 kg short at need, wherever the draw fell."""
    stores = [build.store(name, quantity=Measured(channel=name)) for name in ("a", "b")]
    craft = gauged_craft(build, *stores, rate=4.0)
    events = (
        build.event("shut", 10 * H, sets={"a": StoreState.ISOLATED}),
        build.event("reopened", 20 * H, sets={"a": StoreState.FEEDING}),
    )
    for hours in (9.0, 12.0, 25.0):
        feed = build.feed(hours * H, a=old("a", 50.0), b=old("b", 100.0))
        snapshot = build.assess(craft, plan_to(build, 60, *events), feed, at_s=hours * H).snapshot
        assert snapshot.supplies["oxygen"].left_at_need_si.p50 == pytest.approx(150 - 240), hours


def test_filling_a_store_below_its_residual_gains_only_what_rises_above_it(build: Any) -> None:
    stores = (
        build.store("bat-1", kind=StoreKind.BATTERY, capacity_si=200 * AH),
        build.store(
            "bat-2",
            kind=StoreKind.BATTERY,
            capacity_si=320 * AH,
            residual_si=32 * AH,
            quantity=Measured(constant_si=0.0),
        ),
    )
    craft = build.craft(
        build.supply("power", "A*h", *stores, bus_voltage_v=28.0), loads=(build.load("all", 1.0),)
    )
    transfer = Transfer(source="power", target_store="bat-2", amount_si=40 * AH, efficiency_fraction=1.0)
    power = build.assess(
        craft, plan_to(build, 10, build.event("charge", 5 * H, transfer=transfer))
    ).snapshot.supplies["power"]
    assert power.left_at_need_si.p50 / AH == pytest.approx(200 - 10 - 40 + 8)


def test_drawing_the_allowance_reaches_need_also_where_batteries_lose_by_the_rate(build: Any) -> None:
    battery = build.store(
        "bat", kind=StoreKind.BATTERY, capacity_si=1000 * AH, peukert=1.2, rated_current_a=5.0
    )
    supply = build.supply("power", "A*h", battery, bus_voltage_v=28.0)
    allowance = (
        build.assess(build.craft(supply, loads=(build.load("all", 12.5),)), plan_to(build, 80))
        .snapshot.supplies["power"]
        .allowance_si_per_s
    )
    assert allowance < 12.5
    drawn = build.assess(
        build.craft(supply, loads=(build.load("all", allowance),)), plan_to(build, 80)
    ).snapshot
    assert drawn.supplies["power"].margin_s.p50 == pytest.approx(0.0, abs=1.0)


def test_a_leak_whose_cabin_pressure_is_not_known_is_reckoned_at_its_reference_and_said(build: Any) -> None:
    def oxygen(reading: Reading) -> Any:
        craft = build.craft(
            build.supply("oxygen", "kg", build.store("tank", capacity_si=10.0)),
            uses=(Use(name="leak", supply="oxygen", leak_si_per_s=0.04 / H, at_pressure_pa=34500.0),),
            channels=(build.channel("cabin.pressure", "kPa"),),
            cabin=Cabin(volume_m3=16.0, pressure=Measured(channel="cabin.pressure")),
        )
        return build.assess(craft, plan_to(build, 60), build.feed(cabin__pressure=reading)).snapshot.supplies[
            "oxygen"
        ]

    low = oxygen(
        Reading(
            channel="cabin.pressure", quality=Quality.STALE, why="16 h old", value_si=20000.0, at_s=-57600.0
        )
    )
    assert low.rate_plan_si_per_s == pytest.approx(0.04 / H)
    assert "because cabin.pressure: 16 h old" in low.why
    none = oxygen(Reading(channel="cabin.pressure", quality=Quality.MISSING, why="the source says null"))
    assert none.rate_plan_si_per_s == pytest.approx(0.04 / H)
    assert "the source says null" in none.why


def test_an_unknown_store_is_named_in_the_ledger_and_not_counted_as_nothing_there(build: Any) -> None:
    stores = (
        build.store("tank", capacity_si=5.0),
        build.store("a", quantity=Measured(channel="a"), state=StoreState.ISOLATED),
    )
    opening = build.event("opened", 20 * H, sets={"a": StoreState.FEEDING})
    missing = Reading(channel="a", quality=Quality.MISSING, why="null")
    oxygen = build.assess(
        gauged_craft(build, *stores), plan_to(build, 30, opening), build.feed(a=missing)
    ).snapshot.supplies["oxygen"]
    assert oxygen.on_board_si is None
    names = [line.name for line in oxygen.ledger]
    assert "on board, of the stores that are known" in names
    assert "opened (a, not known: nothing counted)" in names
