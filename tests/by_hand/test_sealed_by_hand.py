"""The two sealed spaces as the engine has them against the same figures reckoned by hand.

``sealed_by_hand`` shares no code with the product. What each story must show is held here too: what is short,
what a procedure does about it, that levels and procedures agree.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from sealed_by_hand import CONFIGS, SealedCraft
from tern_by_hand import Answer, si

from console.craft.cabin import CabinProperty
from console.craft.model import LoadState, StoreState
from console.engine.assess import assess
from console.engine.configuration import ConfigurationChange
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.reading import FeedState, Quality
from console.engine.snapshot import Band, CabinClock, Snapshot, Supposition
from console.feed.simulation_file import read_simulation
from console.feed.state_file import StateFileSource, state_file_time_s
from console.scenario.load import Scenario, load_scenario

CENTRAL = Draws(seed=0, count=0)
SAMPLED = Draws(seed=20431108, count=400)
OPTIONS = {"whelk": ("first-lift", "second-lift"), "vole": ("drill-hole", "drift")}
SUPPLIES = ("power", "oxygen", "water", "absorbent")
PROCEDURES = {"whelk": ("", "one-warm-room"), "vole": ("", "lie-still")}

RELATIVE = {
    "power": 1e-4,  # the same arithmetic; the cold battery's curve is drawn in straight lines, to 1e-4
    "oxygen": 1e-2,  # another equation of state than the hand's table: 0.7 %, and 0.2 % of linear steps
    "water": 1e-9,
    "absorbent": 2e-5,  # molar masses to five places
}


@cache
def scenario(name: str) -> Scenario:
    return load_scenario(CONFIGS / name)


@cache
def now_s(name: str) -> float:
    return state_file_time_s(CONFIGS / name / "state.json", scenario(name).craft.epoch)


@cache
def feed(name: str) -> FeedState:
    craft = scenario(name).craft
    source = StateFileSource(CONFIGS / name / "state.json", craft.channels, craft.epoch)
    return source.poll(now_s(name))


def steps_of(name: str, procedure: str) -> dict[str, LoadState]:
    """What a procedure's steps do to the loads, taken in order."""
    states: dict[str, LoadState] = {}
    for step in scenario(name).procedures[procedure].steps:
        states.update(step.action.loads)
    return states


def changes_of(name: str, procedure: str) -> tuple[ConfigurationChange, ...]:
    if not procedure:
        return ()
    stores: dict[str, StoreState] = {}
    for step in scenario(name).procedures[procedure].steps:
        stores.update(step.action.stores)
    loads = steps_of(name, procedure)
    return (ConfigurationChange(at_s=now_s(name), label=procedure, loads=loads, stores=stores, used_si={}),)


@cache
def snapshot(name: str, option: str, procedure: str = "", draws: Draws = CENTRAL) -> Snapshot:
    situation = Situation(
        slug=scenario(name).slug,
        craft=scenario(name).craft,
        plan=replace(scenario(name).plan, committed=option),
        feed=feed(name),
        changes=changes_of(name, procedure),
        at_s=now_s(name),
    )
    return assess(situation, draws=draws).snapshot


def clocks(name: str, option: str, procedure: str = "") -> dict[tuple[str, Supposition], CabinClock]:
    """The cabin's clocks, central case, by limit and supposition."""
    found = snapshot(name, option, procedure).clocks
    return {(clock.limit.name, clock.supposition): clock for clock in found}


@cache
def hand(name: str, procedure: str = "") -> SealedCraft:
    stepped = {}
    if procedure:
        stepped = {load: state.value for load, state in steps_of(name, procedure).items()}
    return SealedCraft(CONFIGS / name, stepped)


def by_hand(name: str, option: str, supply: str, procedure: str = "") -> Answer:
    return hand(name, procedure).answer(option, supply)


every_case = pytest.mark.parametrize(
    ("name", "option", "supply", "procedure"),
    [
        (name, option, supply, procedure)
        for name, options in OPTIONS.items()
        for option in options
        for supply in SUPPLIES
        for procedure in PROCEDURES[name]
    ],
)


@every_case
def test_the_planned_rate_is_the_one_reckoned_by_hand(
    name: str, option: str, supply: str, procedure: str
) -> None:
    status = snapshot(name, option, procedure).supplies[supply]
    expected = by_hand(name, option, supply, procedure).rate_plan
    assert status.rate_plan_si_per_s == pytest.approx(expected, rel=RELATIVE[supply])


@every_case
def test_a_supply_runs_out_when_the_hand_says_so(name: str, option: str, supply: str, procedure: str) -> None:
    status = snapshot(name, option, procedure).supplies[supply]
    expected = by_hand(name, option, supply, procedure)
    assert status.usable_si == pytest.approx(expected.usable, rel=RELATIVE[supply])
    assert status.runs_out_at_s is not None
    lasts_s = expected.runs_out_s - now_s(name)
    assert status.runs_out_at_s - now_s(name) == pytest.approx(lasts_s, rel=RELATIVE[supply])
    assert status.margin_s is not None
    assert status.margin_s.p50 == pytest.approx(expected.margin_h * 3600.0, abs=RELATIVE[supply] * lasts_s)


@every_case
def test_what_is_left_at_need_is_what_the_hand_has_left(
    name: str, option: str, supply: str, procedure: str
) -> None:
    status = snapshot(name, option, procedure).supplies[supply]
    expected = by_hand(name, option, supply, procedure)
    assert status.left_at_need_si is not None
    assert status.left_at_need_si.p50 == pytest.approx(
        expected.left_at_need, abs=RELATIVE[supply] * expected.usable
    )


every_way = pytest.mark.parametrize(
    ("name", "option"), [(name, option) for name, options in OPTIONS.items() for option in options]
)


@every_way
def test_carbon_dioxide_without_removal_rises_by_the_ideal_gas_law(name: str, option: str) -> None:
    limits = [
        limit.name
        for limit in scenario(name).craft.cabin.limits  # type: ignore[union-attr]  # both have a cabin
        if limit.of is CabinProperty.CARBON_DIOXIDE
    ]
    assert len(limits) == 2
    for limit in limits:
        clock = clocks(name, option)[limit, Supposition.NO_REMOVAL]
        expected_s = hand(name).dioxide_reaches_s(option, hand(name).limit_pa(limit)) - now_s(name)
        assert clock.reached_in_s is not None
        # A share's whole pressure rises a little too, by vapour and by what is exhaled: 1 % of a share.
        relative = 0.03 if name == "vole" else 1e-4
        assert clock.reached_in_s.p50 == pytest.approx(expected_s, rel=relative)


@pytest.mark.parametrize("option", OPTIONS["whelk"])
@pytest.mark.parametrize("procedure", ["", "one-warm-room"])
@pytest.mark.parametrize("limit", ["cold", "bitter cold"])
def test_the_house_cools_by_the_exponential(option: str, procedure: str, limit: str) -> None:
    written = next(one for one in hand("whelk").craft["cabin"]["limits"] if one["name"] == limit)
    expected_s = hand("whelk", procedure).temperature_reaches_s(option, si(written["below"]))
    reached = clocks("whelk", option, procedure)[limit, Supposition.PLAN].reached_in_s
    assert reached is not None
    if expected_s == float("inf"):
        assert reached.p50 is None
    else:
        assert reached.p50 == pytest.approx(expected_s - now_s("whelk"), abs=60.0)


@pytest.mark.parametrize("option", OPTIONS["vole"])
@pytest.mark.parametrize("procedure", ["", "lie-still"])
def test_the_apparent_temperature_follows_the_exponential(option: str, procedure: str) -> None:
    expected_s = hand("vole", procedure).apparent_reaches_s(option, 95.0) - now_s("vole")
    reached = clocks("vole", option, procedure)["apparent temperature", Supposition.PLAN].reached_in_s
    assert reached is not None
    assert reached.p50 == pytest.approx(expected_s, abs=120.0)


@pytest.mark.parametrize("name", OPTIONS)
def test_every_channel_reads_well_at_the_demo_moment(name: str) -> None:
    assert (feed(name).faults, feed(name).quality) == ((), Quality.GOOD)
    assert set(feed(name).readings) == set(scenario(name).craft.channels)
    bad = {name for name, reading in feed(name).readings.items() if reading.quality is not Quality.GOOD}
    assert bad == set()


@pytest.mark.parametrize("name", OPTIONS)
def test_what_is_gone_fits_the_phases_lived(name: str) -> None:
    craft, way = hand(name), OPTIONS[name][0]
    gone = {
        "whelk": {
            "power": [("house-1", 60 * 3.6e6), ("house-2", 60 * 3.6e6), ("house-3", None)],
            "absorbent": [("lime-1", None), ("lime-2", None), ("lime-3", None)],
        },
        "vole": {
            "power": [("bat-1", None), ("bat-2", None)],
            "absorbent": [("cart-1", None), ("cart-2", None), ("cart-3", None), ("cart-4", None)],
        },
    }[name]
    for supply, stores in gone.items():
        used = 0.0
        for store, full in stores:
            written = craft.stores(supply)[store]
            used += craft.measured(written["used"]) if full is None else full - craft.held(written)
        # Loads and people are known to 4 and 5 %.
        assert used == pytest.approx(craft.used_since_epoch(supply, way), rel=0.05), supply


@pytest.mark.parametrize("name", OPTIONS)
def test_the_simulated_craft_begins_as_the_state_file_stands(name: str) -> None:
    simulation = read_simulation(scenario(name))
    assert simulation.start_s == now_s(name)
    for supply in SUPPLIES:
        for store, written in hand(name).stores(supply).items():
            if any(key in written for key in ("quantity", "used", "pressure")):
                held, capacity = hand(name).held(written), scenario(name).craft.store(store)[1].capacity_si
                assert simulation.initial_si[store] == pytest.approx(
                    held, rel=0.02, abs=0.02 * (capacity or 0.0)
                ), store


@pytest.mark.parametrize(
    ("name", "procedure", "above", "below"),
    [
        ("whelk", "one-warm-room", "hold", "berths"),
        ("whelk", "no-heat", "berths", "bare"),
        ("vole", "lie-still", "waiting", "still"),
    ],
)
def test_the_steps_of_a_procedure_reach_its_level(name: str, procedure: str, above: str, below: str) -> None:
    levels = scenario(name).craft.levels
    assert {**levels[above].states, **steps_of(name, procedure)} == levels[below].states


@pytest.mark.parametrize("name", OPTIONS)
def test_each_scenario_has_watches_cautions_and_verified_steps(name: str) -> None:
    read = scenario(name)
    steps = [step for procedure in read.procedures.values() for step in procedure.steps]
    assert len(read.procedures) >= 2
    assert any(step.caution for step in steps)
    assert any(step.verify_within_s for step in steps)
    assert len(read.plan.watches) >= 2
    last_need_s = max(option.need_s for option in read.plan.options.values())
    assert max(watch.start_s for watch in read.plan.watches) < last_need_s + 8 * 3600.0
    assert all(option.note for option in read.plan.options.values())


def test_the_house_is_short_of_power_and_warmth_is_its_price() -> None:
    held = snapshot("whelk", "first-lift", draws=SAMPLED)
    assert held.shortest == "power"
    assert held.supplies["power"].band is Band.WARNING
    power = [snapshot("whelk", "first-lift", each).supplies["power"] for each in ("", "one-warm-room")]
    assert power[0].margin_s is not None
    assert power[1].margin_s is not None
    assert power[0].margin_s.p50 < 0.0 < power[1].margin_s.p50 - 6 * 3600.0
    cold = [clocks("whelk", "first-lift", each)["cold", Supposition.PLAN] for each in ("", "one-warm-room")]
    assert cold[0].margin_s is not None
    assert cold[1].margin_s is not None
    assert cold[0].margin_s.p50 is not None
    assert cold[0].margin_s.p50 > 0.0
    assert cold[1].margin_s.p50 is not None
    assert cold[1].margin_s.p50 < 0.0


def test_heat_is_what_ends_the_wait_in_the_chamber() -> None:
    late = snapshot("vole", "drift")
    supplies_s = [status.runs_out_at_s or float("inf") for status in late.supplies.values()]
    before = clocks("vole", "drift")["apparent temperature", Supposition.PLAN].reached_in_s
    after = clocks("vole", "drift", "lie-still")["apparent temperature", Supposition.PLAN].reached_in_s
    assert before is not None
    assert after is not None
    assert now_s("vole") + before.p50 < min(supplies_s)
    assert after.p50 > before.p50 + 1800.0


@pytest.mark.parametrize(
    ("name", "option", "procedure"),
    [("vole", "drift", "tape-cartridge"), ("whelk", "second-lift", "dry-canister")],
)
def test_a_spoilt_canister_made_fit_mends_what_the_late_way_is_short_of(
    name: str, option: str, procedure: str
) -> None:
    absorbent = [snapshot(name, option, each).supplies["absorbent"] for each in ("", procedure)]
    assert absorbent[0].margin_s is not None
    assert absorbent[1].margin_s is not None
    assert absorbent[0].margin_s.p50 < 0.0 < absorbent[1].margin_s.p50
