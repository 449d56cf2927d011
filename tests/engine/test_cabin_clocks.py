"""What the cabin's clocks say, of what, and how honestly."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from cabin_builders import (
    BANDS,
    CENTRAL,
    PLAN,
    SAMPLED,
    H,
    above,
    below,
    by_name,
    cabin,
    central_s,
    channels,
    feed,
    look,
    surroundings,
)

from console.craft.cabin import CabinProperty, Drying, OxygenFeed, Regulated, Removal, Thermal
from console.craft.channels import Measured
from console.craft.model import Craft, LoadState, Metabolic, StoreKind, Use
from console.engine.cabin.clocks import cabin_clocks
from console.engine.forecast import Draws
from console.engine.reading import Quality
from console.engine.snapshot import Band, ClockState, Supposition

DIOXIDE, OXYGEN, WARMTH = CabinProperty.CARBON_DIOXIDE, CabinProperty.OXYGEN, CabinProperty.TEMPERATURE
STREAM = Removal(flow_m3_per_s=0.5 / 60, efficiency_fraction=0.9)
HULL = Thermal(heat_capacity_j_per_k=900e3, conductance_w_per_k=40.0, outside=Measured(constant_si=250.0))


def sealed(
    build: Any, *limits: Any, loads: tuple[Any, ...] = (), uses: tuple[Use, ...] = (), **fields: Any
) -> Craft:
    """A cabin with no stores but the power for its loads."""
    supplies = (
        [build.supply("power", "W*h", build.store("bat", kind=StoreKind.BATTERY, capacity_si=1e9))]
        if loads
        else []
    )
    given = {use.supply for use in uses} - {"power"}
    supplies.extend(
        build.supply(name, "kg", build.store(f"{name}-1", capacity_si=1e9)) for name in sorted(given)
    )
    return build.craft(*supplies, loads=loads, uses=uses, channels=channels(), cabin=cabin(*limits, **fields))


def wait(build: Any, **crew: int) -> Any:
    return (build.phase("wait", -1000 * H, **crew),)


def test_a_craft_without_a_cabin_or_limits_has_no_clocks(build: Any) -> None:
    bare = build.craft(channels=channels())
    assert look(surroundings(bare, wait(build))) == {}
    assert look(surroundings(sealed(build), wait(build))) == {}


def test_a_sealed_space_without_stores_has_its_plan_clocks_and_nothing_to_stop(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), below(OXYGEN, 19_000.0))
    clocks = look(surroundings(craft, wait(build)))
    assert set(clocks) == {("carbon_dioxide high", PLAN), ("oxygen low", PLAN)}
    assert "nothing takes up CO2" in clocks["carbon_dioxide high", PLAN].why
    assert "nothing feeds oxygen" in clocks["oxygen low", PLAN].why
    assert all(clock.state is ClockState.RUNNING for clock in clocks.values())


def test_what_stops_decides_which_clocks_there_are(build: Any) -> None:
    craft = sealed(
        build,
        above(DIOXIDE, 2000.0),
        below(OXYGEN, 19_000.0),
        below(OXYGEN, 0.19, name="share", is_share=True),
        below(WARMTH, 278.0),
        above(WARMTH, 303.0),
        above(OXYGEN, 50_000.0),
        above(OXYGEN, 0.235, name="rich", is_share=True),
        loads=(build.load("heater", 100.0),),
        removal=STREAM,
        oxygen_feed=OxygenFeed(),
        thermal=replace(HULL, cooled_to_k=294.0),
    )
    clocks = look(surroundings(craft, wait(build), ends_s={"power": math.inf}))
    asked: dict[str, list[Supposition]] = {}
    for name, supposition in clocks:
        asked.setdefault(name, []).append(supposition)
    assert asked == {
        "carbon_dioxide high": [PLAN, Supposition.NO_REMOVAL, Supposition.NO_POWER],
        "oxygen low": [PLAN, Supposition.NO_FEED, Supposition.NO_POWER],
        "share": [PLAN, Supposition.NO_REMOVAL, Supposition.NO_FEED, Supposition.NO_POWER],
        "temperature low": [PLAN, Supposition.NO_POWER],
        "temperature high": [PLAN, Supposition.NO_COOLING, Supposition.NO_POWER],
        "oxygen high": [PLAN],
        "rich": [PLAN],
    }


def test_the_end_of_a_supply_is_followed_by_the_true_deadline(build: Any) -> None:
    uses = (Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE),)
    craft = sealed(build, above(DIOXIDE, 2000.0), uses=uses)
    stopped = central_s(
        look(surroundings(craft, wait(build), ends_s={"absorbent": 50 * H}))[
            "carbon_dioxide high", Supposition.NO_REMOVAL
        ]
    )
    clock = look(surroundings(craft, wait(build), ends_s={"absorbent": 50 * H}))["carbon_dioxide high", PLAN]
    # Without a known stream CO2 stays as it is until the absorbent is spent, and then rises as if from now.
    assert central_s(clock) == pytest.approx(50 * H + stopped, rel=1e-9)
    assert clock.state is ClockState.RUNNING
    assert "cabin.removal" in clock.why
    assert "in 50.0 h" in clock.why
    assert clock.margin_s.p50 == pytest.approx(central_s(clock) - 100 * H)


def test_an_undescribed_stream_is_taken_to_stop_without_power(build: Any) -> None:
    uses = (Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE),)
    craft = sealed(build, above(DIOXIDE, 2000.0), uses=uses, loads=(build.load("lamp", 10.0),))
    clocks = look(surroundings(craft, wait(build), ends_s={"absorbent": math.inf, "power": math.inf}))
    assert central_s(clocks["carbon_dioxide high", Supposition.NO_POWER]) == pytest.approx(
        central_s(clocks["carbon_dioxide high", Supposition.NO_REMOVAL])
    )
    described = sealed(
        build, above(DIOXIDE, 2000.0), uses=uses, loads=(build.load("lamp", 10.0),), removal=STREAM
    )
    around = surroundings(described, wait(build), ends_s={"absorbent": math.inf, "power": math.inf})
    assert look(around)["carbon_dioxide high", Supposition.NO_POWER].state is ClockState.HELD


def test_a_level_that_switches_the_blower_off_starts_the_clock_there(build: Any) -> None:
    craft = build.craft(
        build.supply("power", "W*h", build.store("bat", kind=StoreKind.BATTERY, capacity_si=1e9)),
        loads=(build.load("blower", 50.0),),
        levels={"on": {"blower": LoadState.ON}, "off": {"blower": LoadState.OFF}},
        channels=channels(),
        cabin=cabin(above(DIOXIDE, 2000.0), removal=replace(STREAM, needs=("blower",))),
    )
    phases = (build.phase("one", -H, "on"), build.phase("two", 10 * H, "off"))
    clocks = look(surroundings(craft, phases, ends_s={"power": math.inf}))
    plan, stopped = (central_s(clocks["carbon_dioxide high", one]) for one in (PLAN, Supposition.NO_REMOVAL))
    assert 10 * H < plan < 10 * H + stopped + H
    assert "stops where the plan switches its loads off" in clocks["carbon_dioxide high", PLAN].why


def test_a_blower_on_standby_moves_no_air(build: Any) -> None:
    def state_of(blower: LoadState) -> ClockState:
        craft = build.craft(
            build.supply("power", "W*h", build.store("bat", kind=StoreKind.BATTERY, capacity_si=1e9)),
            loads=(build.load("blower", 50.0, 5.0),),
            levels={"all": {"blower": blower}},
            channels=channels(),
            cabin=cabin(above(DIOXIDE, 2000.0), removal=replace(STREAM, needs=("blower",))),
        )
        around = surroundings(craft, wait(build), ends_s={"power": math.inf})
        return look(around)["carbon_dioxide high", PLAN].state

    assert state_of(LoadState.ON) is ClockState.HELD
    assert state_of(LoadState.STANDBY) is ClockState.RUNNING


def test_when_the_power_supply_runs_out_everything_that_needs_a_load_stops(build: Any) -> None:
    craft = sealed(
        build,
        above(DIOXIDE, 2000.0),
        loads=(build.load("blower", 50.0),),
        removal=replace(STREAM, needs=("blower",)),
    )
    ends = {"power": 20 * H}
    clock = look(surroundings(craft, wait(build), ends_s=ends))["carbon_dioxide high", PLAN]
    assert 20 * H < central_s(clock) < 24 * H
    for_ever = look(surroundings(craft, wait(build), ends_s={"power": math.inf}))
    assert for_ever["carbon_dioxide high", PLAN].state is ClockState.HELD


def test_a_supply_that_nobody_knows_makes_the_clock_unknown_but_not_what_stops_anyway(build: Any) -> None:
    uses = (Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE),)
    craft = sealed(build, above(DIOXIDE, 2000.0), uses=uses, removal=STREAM)
    clocks = look(surroundings(craft, wait(build)))
    plan = clocks["carbon_dioxide high", PLAN]
    assert plan.state is ClockState.UNKNOWN
    assert plan.reached_in_s is None
    assert "absorbent" in plan.why
    assert clocks["carbon_dioxide high", Supposition.NO_REMOVAL].state is ClockState.RUNNING


def test_a_missing_reading_makes_the_clock_unknown_with_the_reason(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), below(OXYGEN, 19_000.0))
    clocks = look(surroundings(craft, wait(build), feed(dioxide=None)))
    clock = clocks["carbon_dioxide high", PLAN]
    assert (clock.state, clock.now_si, clock.reached_in_s, clock.band) == (
        ClockState.UNKNOWN, None, None, None,
    )  # fmt: skip
    assert clock.quality is Quality.MISSING
    assert "broken" in clock.why
    assert clocks["oxygen low", PLAN].state is ClockState.RUNNING


def test_a_temperature_limit_without_thermal_data_is_unknown_unless_it_is_broken(build: Any) -> None:
    craft = sealed(build, below(WARMTH, 278.0))
    clock = look(surroundings(craft, wait(build)))["temperature low", PLAN]
    assert clock.state is ClockState.UNKNOWN
    assert "cabin.thermal" in clock.why
    broken = look(surroundings(craft, wait(build), feed(warmth=277.0)))["temperature low", PLAN]
    assert broken.state is ClockState.REACHED


def test_a_limit_that_is_passed_is_reached_and_warned_of_at_once(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0))
    clock = look(surroundings(craft, wait(build), feed(dioxide=2100.0)))["carbon_dioxide high", PLAN]
    assert clock.state is ClockState.REACHED
    assert central_s(clock) == 0.0
    assert clock.now_si == 2100.0
    assert clock.margin_s.p50 == -100 * H
    assert clock.band is Band.WARNING


def test_a_property_at_its_limit_is_not_beyond_it(build: Any) -> None:
    craft = sealed(build, below(OXYGEN, 21_200.0), oxygen_feed=OxygenFeed(holds=Regulated.OXYGEN))
    assert look(surroundings(craft, wait(build)))["oxygen low", PLAN].state is ClockState.HELD


def test_what_does_not_come_is_held_with_no_end_and_nominal(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 5000.0), removal=STREAM)
    clock = look(surroundings(craft, wait(build)))["carbon_dioxide high", PLAN]
    assert clock.state is ClockState.HELD
    assert (clock.reached_in_s.p05, clock.reached_in_s.p50, clock.reached_in_s.p95) == (None, None, None)
    assert (clock.margin_s.p05, clock.margin_s.p50) == (None, None)
    assert clock.band is Band.NOMINAL
    assert "not reached within 30 days" in clock.why


def test_an_average_is_taken_at_the_moment_and_says_so(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0, is_average=True))
    assert "average" in look(surroundings(craft, wait(build)))["carbon_dioxide high", PLAN].why


def test_more_work_brings_the_limit_nearer(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0))
    asleep = look(surroundings(craft, wait(build, asleep=4)))["carbon_dioxide high", PLAN]
    nominal = look(surroundings(craft, wait(build, nominal=4)))["carbon_dioxide high", PLAN]
    # Rates of 4.55 and 7.20 (NASA/SP-2010-3407, from memory) and nothing else that takes CO2.
    assert central_s(asleep) / central_s(nominal) == pytest.approx(7.20 / 4.55, rel=1e-9)


def test_cooling_holds_the_warmth_until_its_water_ends(build: Any) -> None:
    thermal = replace(HULL, conductance_w_per_k=5.0, cooled_to_k=294.0, cooling_supply="water")
    uses = (Use(name="drinking", supply="water", per_person_si_per_s=1e-5),)
    craft = sealed(build, above(WARMTH, 303.15), thermal=thermal, uses=uses)
    clocks = look(surroundings(craft, wait(build), ends_s={"water": 30 * H}))
    plan = central_s(clocks["temperature high", PLAN])
    stopped = central_s(clocks["temperature high", Supposition.NO_COOLING])
    assert plan > 30 * H
    # From 294.0 K at the water's end a little less than from 293.15 K now.
    assert plan - 30 * H < stopped < plan - 29 * H
    assert "ends with water, in 30.0 h" in clocks["temperature high", PLAN].why


def test_vapour_saturates_and_no_further(build: Any) -> None:
    hygrometer = Measured(channel="humidity")
    craft = sealed(
        build,
        above(CabinProperty.HUMIDITY, 0.7),
        above(CabinProperty.HUMIDITY, 1.0, name="wet through"),
        humidity=hygrometer,
    )
    clocks = look(surroundings(craft, wait(build)))
    assert clocks["humidity high", PLAN].state is ClockState.RUNNING
    assert clocks["wet through", PLAN].state is ClockState.HELD
    dried = sealed(
        build, above(CabinProperty.HUMIDITY, 0.7), humidity=hygrometer, drying=Drying(humidity_fraction=0.55)
    )
    assert look(surroundings(dried, wait(build)))["humidity high", PLAN].state is ClockState.HELD
    # What is read above what drying should hold is taken as it is, and not talked down.
    damp = look(surroundings(dried, wait(build), feed(humidity=0.72)))
    assert damp["humidity high", PLAN].state is ClockState.REACHED


def test_apparent_temperature_comes_before_the_air_itself_is_that_hot(build: Any) -> None:
    craft = sealed(
        build,
        above(CabinProperty.APPARENT_TEMPERATURE, 308.15),
        above(WARMTH, 308.15),
        humidity=Measured(channel="humidity"),
        thermal=replace(HULL, conductance_w_per_k=5.0),
    )
    clocks = look(surroundings(craft, wait(build)))
    apparent = central_s(clocks["apparent_temperature high", PLAN])
    assert 0.0 < apparent < central_s(clocks["temperature high", PLAN])


def test_warmth_above_what_cooling_should_hold_is_taken_as_it_is(build: Any) -> None:
    thermal = replace(HULL, conductance_w_per_k=0.0, cooled_to_k=294.0)
    craft = sealed(build, above(WARMTH, 300.0), above(WARMTH, 295.0, name="warm"), thermal=thermal)
    clocks = look(surroundings(craft, wait(build), feed(warmth=296.0)))
    assert clocks["temperature high", PLAN].state is ClockState.HELD
    assert clocks["warm", PLAN].state is ClockState.REACHED
    # And when it stops, it starts from there.
    stopped = central_s(clocks["temperature high", Supposition.NO_COOLING])
    heat_w = 4 * craft.person_rates[next(iter(wait(build)[0].crew))].heat_w
    assert stopped == pytest.approx((300.0 - 296.0) * 900e3 / heat_w, rel=1e-9)


def test_warmth_that_rose_while_nothing_cooled_stays_when_cooling_comes_back(build: Any) -> None:
    craft = build.craft(
        build.supply("power", "W*h", build.store("bat", kind=StoreKind.BATTERY, capacity_si=1e9)),
        loads=(build.load("pump", 50.0),),
        levels={"on": {"pump": LoadState.ON}, "off": {"pump": LoadState.OFF}},
        channels=channels(),
        cabin=cabin(
            above(WARMTH, 297.0),
            thermal=replace(HULL, conductance_w_per_k=0.0, cooled_to_k=294.0, cooling_needs=("pump",)),
        ),
    )
    phases = (
        build.phase("cooled", -H, "on"),
        build.phase("not", H, "off"),
        build.phase("cooled again", 2 * H, "on"),
        build.phase("not again", 20 * H, "off"),
    )
    clock = look(surroundings(craft, phases, ends_s={"power": math.inf}))["temperature high", PLAN]
    heat_w = 4 * craft.person_rates[next(iter(phases[0].crew))].heat_w
    # 294 K at 1 h, an hour of the crew's heat, 18 h held at that, then on.
    assert central_s(clock) == pytest.approx(19 * H + (297.0 - 294.0) * 900e3 / heat_w, rel=1e-6)


def test_the_heat_of_loads_whose_supply_nobody_knows_is_not_guessed(build: Any) -> None:
    craft = sealed(build, below(WARMTH, 278.0), loads=(build.load("heater", 500.0),), thermal=HULL)
    clocks = look(surroundings(craft, wait(build)))
    assert clocks["temperature low", PLAN].state is ClockState.UNKNOWN
    assert "power" in clocks["temperature low", PLAN].why
    assert clocks["temperature low", Supposition.NO_POWER].state is ClockState.RUNNING


def test_the_absorbents_own_water_is_counted(build: Any) -> None:
    def humid_s(sorbent: str | None) -> float:
        store = build.store("cart", kind=StoreKind.ABSORBENT, capacity_si=1e9, sorbent=sorbent)
        craft = build.craft(
            build.supply("absorbent", "kg", store),
            uses=(Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE),),
            channels=channels(),
            cabin=cabin(
                above(CabinProperty.HUMIDITY, 0.5), removal=STREAM, humidity=Measured(channel="humidity")
            ),
        )
        clock = look(surroundings(craft, wait(build), ends_s={"absorbent": math.inf}))["humidity high", PLAN]
        return central_s(clock)

    # 0.409 kg of water for each kg of CO2 (stoichiometry), with 11.77 of vapour and 7.20 of CO2.
    assert humid_s(None) / humid_s("lithium_hydroxide") == pytest.approx(1 + 0.4093 * 7.20 / 11.77, rel=1e-3)


def test_no_sample_is_moister_than_saturation(build: Any) -> None:
    craft = replace(
        sealed(build, above(CabinProperty.HUMIDITY, 1.0), humidity=Measured(channel="humidity")),
        channels={channel.name: channel for channel in channels(humidity=0.2)},
    )
    read = feed(humidity=0.97)
    clock = look(surroundings(craft, wait(build), read, draws=SAMPLED), SAMPLED)["humidity high", PLAN]
    assert clock.state is ClockState.HELD
    assert clock.reached_in_s.p05 is None


# --- old readings ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("age_h", [0.5, 2.0, 6.0])
def test_an_old_reading_makes_no_clock_longer(build: Any, age_h: float) -> None:
    limits = (above(DIOXIDE, 3000.0), below(OXYGEN, 19_000.0))
    craft = sealed(build, *limits)
    fresh = look(surroundings(craft, wait(build), feed(0.0)))
    old = look(surroundings(craft, wait(build), feed(0.0, {"dioxide": age_h * H, "oxygen": age_h * H})))
    for key, clock in fresh.items():
        # Nothing takes up or feeds: the plan has gone on for just that long since the reading.
        expected = max(central_s(clock) - age_h * H, 0.0)
        assert central_s(old[key]) == pytest.approx(expected, abs=1.0)
        assert old[key].quality is Quality.STALE
        assert "old" in old[key].why


def test_a_plan_that_would_have_mended_it_does_not_make_an_old_reading_look_better(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), removal=STREAM)
    read = feed(0.0, {"dioxide": 6 * H}, dioxide=1900.0)
    key = ("carbon_dioxide high", Supposition.NO_REMOVAL)
    fresh = central_s(look(surroundings(craft, wait(build), feed(0.0, dioxide=1900.0)))[key])
    old = look(surroundings(craft, wait(build), read))[key]
    assert central_s(old) == pytest.approx(fresh)
    beyond = feed(0.0, {"dioxide": 6 * H}, dioxide=2100.0)
    assert (
        look(surroundings(craft, wait(build), beyond))["carbon_dioxide high", PLAN].state
        is ClockState.REACHED
    )


def test_a_fresh_reading_is_not_carried_because_another_is_old(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 3000.0))
    fresh = look(surroundings(craft, wait(build), feed(0.0)))["carbon_dioxide high", PLAN]
    mixed = look(surroundings(craft, wait(build), feed(0.0, {"oxygen": 6 * H, "pressure": 5 * H})))
    clock = mixed["carbon_dioxide high", PLAN]
    assert central_s(clock) == pytest.approx(central_s(fresh), rel=1e-6)
    assert clock.quality is Quality.GOOD


def test_a_share_is_as_old_as_the_older_of_its_readings(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 0.03, is_share=True), carbon_dioxide_is_share=True)
    fresh = look(surroundings(craft, wait(build), feed(dioxide=0.004)))["carbon_dioxide high", PLAN]
    old = feed(0.0, {"pressure": 2 * H}, dioxide=0.004)
    clock = look(surroundings(craft, wait(build), old))["carbon_dioxide high", PLAN]
    assert central_s(fresh) - central_s(clock) == pytest.approx(2 * H, rel=0.05)
    assert clock.quality is Quality.STALE


def test_a_reading_of_this_minute_is_one_of_now(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 3000.0))
    now = look(surroundings(craft, wait(build), feed(0.0)))["carbon_dioxide high", PLAN]
    minute = look(surroundings(craft, wait(build), feed(0.0, {"dioxide": 59.0})))["carbon_dioxide high", PLAN]
    assert central_s(minute) == central_s(now)


# --- intervals, bands, repeatability --------------------------------------------------------------------


def test_the_middle_is_the_central_case_and_the_ends_hold_it(build: Any) -> None:
    craft = replace(
        sealed(build, above(DIOXIDE, 2000.0), below(OXYGEN, 19_000.0)),
        channels={channel.name: channel for channel in channels(dioxide=60.0, oxygen=400.0)},
    )
    around = surroundings(craft, wait(build), draws=SAMPLED)
    alone, sampled = look(around, CENTRAL), look(around, SAMPLED)
    for key, clock in sampled.items():
        assert central_s(clock) == pytest.approx(central_s(alone[key]), rel=1e-12)
        assert clock.reached_in_s.p05 < clock.reached_in_s.p50 < clock.reached_in_s.p95
        assert alone[key].reached_in_s.p05 == alone[key].reached_in_s.p95


def test_the_spread_of_a_sealed_cabin_is_that_of_the_crews_rates(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0))
    clock = look(surroundings(craft, wait(build), draws=SAMPLED), SAMPLED)["carbon_dioxide high", PLAN]
    # 5 % where the craft says nothing: a factor of exp(1.645 x 0.05), which 250 samples hold to 2 %.
    assert clock.reached_in_s.p95 / clock.reached_in_s.p50 == pytest.approx(math.exp(1.645 * 0.05), rel=0.02)
    assert clock.reached_in_s.p50 / clock.reached_in_s.p05 == pytest.approx(math.exp(1.645 * 0.05), rel=0.02)


def test_the_luck_is_that_of_the_supply(build: Any) -> None:
    uses = (Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE, spread_fraction=0.05),)
    craft = sealed(build, above(DIOXIDE, 2000.0), uses=uses)
    around = surroundings(craft, wait(build), draws=SAMPLED)
    # A crew that gives more empties the absorbent earlier and fills the cabin faster, in the same sample.
    shared = replace(around, ends_s={"absorbent": 50 * H / SAMPLED.factor("use co2", 0.05)})
    other = replace(around, ends_s={"absorbent": 50 * H / SAMPLED.factor("use other", 0.05)})

    def width(of: Any) -> float:
        interval = look(of, SAMPLED)["carbon_dioxide high", PLAN].reached_in_s
        return float(interval.p95 - interval.p05)

    assert width(shared) > width(other)


def test_the_same_look_gives_the_same_clocks_to_the_bit(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), below(OXYGEN, 0.19, is_share=True), removal=STREAM)
    around = surroundings(craft, wait(build), draws=SAMPLED)
    assert cabin_clocks(around, SAMPLED) == cabin_clocks(around, SAMPLED)
    assert cabin_clocks(around, SAMPLED) != cabin_clocks(around, Draws(seed=2, count=400))


def test_a_clock_far_beyond_need_is_nominal_and_one_short_of_it_is_warned_of(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0))
    time_s = central_s(look(surroundings(craft, wait(build)))["carbon_dioxide high", PLAN])
    for need_s, band in (
        (time_s - 25 * H, Band.NOMINAL),
        (time_s - 20 * H, Band.ADVISORY),
        (time_s - 6 * H, Band.CAUTION),
        (time_s + H, Band.WARNING),
    ):
        clock = look(surroundings(craft, wait(build), need_s=need_s))["carbon_dioxide high", PLAN]
        assert clock.band is band


def test_the_bands_memory_is_kept_by_the_clocks_key(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), removal=STREAM)
    craft = replace(craft, cabin=replace(craft.cabin, bands=replace(BANDS, off_delay_s=600.0)))
    bad = cabin_clocks(surroundings(craft, wait(build), feed(dioxide=2100.0)), CENTRAL)
    assert set(bad.bands) == {"carbon_dioxide high, under the plan"}
    later = replace(surroundings(craft, wait(build), at_s=60.0), bands=bad.bands)
    eased = by_name(cabin_clocks(later, CENTRAL))["carbon_dioxide high", PLAN]
    assert eased.state is ClockState.HELD
    assert eased.band is Band.WARNING  # not before it has held for the off-delay
    assert look(replace(later, bands={}))["carbon_dioxide high", PLAN].band is Band.NOMINAL


def test_no_band_is_left_on_an_old_reading(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), removal=STREAM)
    bad = cabin_clocks(surroundings(craft, wait(build), feed(dioxide=2100.0)), CENTRAL)
    for age_s, band in ((0.0, Band.NOMINAL), (90.0, Band.WARNING)):
        read = feed(60.0, {"dioxide": age_s})
        later = replace(surroundings(craft, wait(build), read, at_s=60.0), bands=bad.bands)
        assert by_name(cabin_clocks(later, CENTRAL))["carbon_dioxide high", PLAN].band is band


def test_a_use_that_names_no_spread_is_taken_as_five_percent(build: Any) -> None:
    def wide(spread: float) -> float:
        uses = (
            Use(name="co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE, spread_fraction=spread),
        )
        craft = sealed(build, above(DIOXIDE, 2000.0), uses=uses)
        around = surroundings(craft, wait(build), ends_s={"absorbent": 0.0}, draws=SAMPLED)
        interval = look(around, SAMPLED)["carbon_dioxide high", PLAN].reached_in_s
        return float(interval.p95 / interval.p50)

    assert wide(0.0) == wide(0.05) < wide(0.10)


def test_only_the_plan_has_a_margin_and_a_band_among_the_models_clocks(build: Any) -> None:
    craft = sealed(build, above(DIOXIDE, 2000.0), removal=STREAM)
    clock = look(surroundings(craft, wait(build)))["carbon_dioxide high", Supposition.NO_REMOVAL]
    assert clock.margin_s is None
    assert clock.band is None
    assert clock.reached_in_s is not None
