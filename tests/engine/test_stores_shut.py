"""What a store truly takes away when it is shut, changed out or dropped: by hand, and never late."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import StoreKind, StoreState, Use
from console.engine.absorbent_use import fitted_lasts_s
from console.engine.configuration import Configuration
from console.engine.forecast import Draws
from console.engine.jumps import jumps_between
from console.engine.leaks import CabinPressure
from console.engine.planned_use import planned_use
from console.engine.quantity import store_quantity
from console.engine.snapshot import LineKind

H = 3600.0
FEEDING, SPARE, ISOLATED = StoreState.FEEDING, StoreState.SPARE, StoreState.ISOLATED


def craft_of(build: Any, *stores: Any, rate: float) -> Any:
    use = Use(name="use", supply="s", rate_si_per_s=rate / H)
    return build.craft(build.supply("s", "kg", *stores), uses=(use,))


def cartridge(build: Any, name: str, kg: float, state: StoreState = FEEDING, **fields: Any) -> Any:
    return build.store(name, kind=StoreKind.ABSORBENT, state=state, capacity_si=kg, **fields)


def looked_at(
    build: Any, craft: Any, events: tuple[Any, ...], hours: float = 100.0, now_h: float = 0.0
) -> Any:
    """The jumps of the plan, and what they were reckoned from."""
    configuration = Configuration(craft, (build.phase("on", 0.0),), events, ())
    supply = craft.supplies["s"]
    quantities = {store.name: store_quantity(store, supply, {}, {}, (), now_h * H) for store in supply.stores}
    plan = planned_use(craft, configuration, now_h * H, now_h * H, CabinPressure(), {})
    jumps = jumps_between(craft, configuration, events, quantities, now_h * H, hours * H, plan, now_h * H)
    return jumps, configuration, quantities, plan


def change_out(build: Any, at_h: float, out: str, into: str) -> Any:
    return build.event(f"change {out}", at_h * H, sets={out: ISOLATED, into: FEEDING})


def test_a_change_out_loses_only_what_the_removed_cartridge_could_still_take(build: Any) -> None:
    """By hand: 3 kg at 0.1 kg/h for 20 h leaves 1 kg in it."""
    craft = craft_of(build, cartridge(build, "c-1", 3.0), cartridge(build, "c-2", 3.0, SPARE), rate=0.1)
    jumps, *_ = looked_at(build, craft, (change_out(build, 20, "c-1", "c-2"),))
    assert [(jump.kind, jump.store) for jump in jumps] == [(LineKind.SHUT, "c-1")]
    assert jumps[0].amount_si == pytest.approx(-1.0, rel=1e-12)


def test_a_cartridge_that_is_used_up_takes_nothing_away(build: Any) -> None:
    craft = craft_of(build, cartridge(build, "c-1", 3.0), cartridge(build, "c-2", 3.0, SPARE), rate=0.1)
    jumps, *_ = looked_at(build, craft, (change_out(build, 40, "c-1", "c-2"),))
    assert jumps[0].amount_si == 0.0


def test_fitted_cartridges_share_in_proportion_to_what_they_can_still_take(build: Any) -> None:
    """By hand: of 3 + 1 kg 2 kg are gone at 20 h: c-1 gave 1.5 and holds 1.5, c-2 0.5; then c-3 helps."""
    stores = (
        cartridge(build, "c-1", 3.0),
        cartridge(build, "c-2", 3.0, quantity=Measured(constant_si=1.0)),
        cartridge(build, "c-3", 3.0, SPARE),
    )
    events = (change_out(build, 20, "c-2", "c-3"), build.event("out", 30 * H, sets={"c-1": ISOLATED}))
    jumps, *_ = looked_at(build, craft_of(build, *stores, rate=0.1), events)
    assert jumps[0].amount_si == pytest.approx(-0.5, rel=1e-12)
    # From 20 to 30 h 1 kg falls on 1.5 and 3 kg: a third on c-1.
    assert jumps[1].amount_si == pytest.approx(-(1.5 - 1.0 / 3.0), rel=1e-12)


def test_two_batteries_share_by_the_smaller_of_what_they_hold_and_what_they_can_hold(build: Any) -> None:
    """By hand: 30 of 50 and 100 of 100 share 40: by content 9.2 on a, by capacity 13.3; the less counts."""
    stores = (
        build.store("a", capacity_si=50.0, quantity=Measured(constant_si=30.0)),
        build.store("b", capacity_si=100.0),
    )
    jumps, *_ = looked_at(
        build, craft_of(build, *stores, rate=4.0), (build.event("shut", 10 * H, sets={"a": ISOLATED}),)
    )
    assert jumps[0].amount_si == pytest.approx(-(30.0 - 40.0 * 30.0 / 130.0), rel=1e-12)
    jumps, *_ = looked_at(
        build, craft_of(build, *stores, rate=4.0), (build.event("shut", 10 * H, sets={"b": ISOLATED}),)
    )
    assert jumps[0].amount_si == pytest.approx(-(100.0 - 40.0 * 100.0 / 150.0), rel=1e-12)


def test_what_an_event_takes_falls_on_the_stores_that_feed_too(build: Any) -> None:
    craft = craft_of(build, build.store("a", capacity_si=10.0), build.store("b", capacity_si=30.0), rate=0.0)
    events = (build.event("vent", 5 * H, {"s": 8.0}), build.event("shut", 10 * H, sets={"b": ISOLATED}))
    jumps, *_ = looked_at(build, craft, events)
    assert jumps[-1].amount_si == pytest.approx(-(30.0 - 6.0), rel=1e-12)


def test_a_store_that_is_shut_and_opened_again_brings_back_what_it_took_away(build: Any) -> None:
    craft = craft_of(build, build.store("a", capacity_si=50.0), build.store("b", capacity_si=50.0), rate=2.0)
    events = (
        build.event("shut", 10 * H, sets={"a": ISOLATED}),
        build.event("open", 20 * H, sets={"a": FEEDING}),
    )
    jumps, *_ = looked_at(build, craft, events)
    assert [jump.amount_si for jump in jumps] == pytest.approx([-40.0, 40.0], rel=1e-12)


def test_an_error_of_a_gauge_leaves_with_its_store(build: Any) -> None:
    craft = craft_of(build, build.store("a", capacity_si=50.0), build.store("b", capacity_si=50.0), rate=2.0)
    events = (build.event("shut", 10 * H, sets={"a": ISOLATED}),)
    _, configuration, quantities, plan = looked_at(build, craft, events)
    quantities["a"] = replace(quantities["a"], sd_si=5.0)
    (jump,) = jumps_between(craft, configuration, events, quantities, 0.0, 50 * H, plan, 0.0)
    assert jump.error_sd_si == pytest.approx(-5.0 * 40.0 / 50.0, rel=1e-12)


def test_without_a_plan_every_store_keeps_what_it_holds(build: Any) -> None:
    craft = craft_of(build, build.store("a", capacity_si=50.0), build.store("b", capacity_si=50.0), rate=2.0)
    events = (build.event("shut", 10 * H, sets={"a": ISOLATED}),)
    _, configuration, quantities, _ = looked_at(build, craft, events)
    (jump,) = jumps_between(craft, configuration, events, quantities, 0.0, 50 * H)
    assert jump.amount_si == -50.0


def test_a_leak_of_a_shut_store_lowers_what_it_brings_when_it_is_opened(build: Any) -> None:
    stores = (build.store("a", capacity_si=50.0), build.store("b", capacity_si=50.0, state=ISOLATED))
    craft = craft_of(build, *stores, rate=2.0)
    leak = Use(name="seep", supply="s", leak_si_per_s=1.0 / H, of_store="b")
    craft = replace(craft, uses=(*craft.uses, leak))
    jumps, *_ = looked_at(build, craft, (build.event("open", 10 * H, sets={"b": FEEDING}),))
    assert jumps[0].amount_si == pytest.approx(40.0, rel=1e-12)


def test_a_spare_counts_as_usable_and_fitting_it_changes_nothing(build: Any) -> None:
    stores = (cartridge(build, "c-1", 3.0), cartridge(build, "c-2", 2.0, SPARE))
    craft = craft_of(build, *stores, rate=0.1)
    fitting = build.event("fit", 10 * H, sets={"c-2": FEEDING})
    for events in ((), (fitting,)):
        plan = build.plan(build.option(40 * H), (build.phase("on", 0.0),), events)
        status = build.assess(craft, plan).snapshot.supplies["s"]
        assert status.usable_si == pytest.approx(5.0)
        assert status.left_at_need_si.p50 == pytest.approx(1.0)
        assert sum(line.amount_si for line in status.ledger[:-1]) == pytest.approx(1.0, rel=1e-9)


def test_the_fitted_cartridges_last_as_long_as_they_can_take_what_the_plan_gives_off(build: Any) -> None:
    """By hand: 3 kg at 0.1 kg/h, though the change-out at 20 h is planned: it is due at 30 h."""
    craft = craft_of(build, cartridge(build, "c-1", 3.0), cartridge(build, "c-2", 3.0, SPARE), rate=0.1)
    events = (change_out(build, 20, "c-1", "c-2"),)
    jumps, configuration, quantities, plan = looked_at(build, craft, events)
    lasts = fitted_lasts_s(
        craft.supplies["s"], quantities, configuration, plan, jumps, Draws(seed=1, count=0), 0.0
    )
    assert lasts is not None
    assert lasts.p50 is not None
    assert lasts.p50 / H == pytest.approx(30.0, rel=1e-9)


def test_the_interval_of_the_fitted_cartridges_is_that_of_the_use_they_take_up(build: Any) -> None:
    craft = craft_of(build, cartridge(build, "c-1", 3.0), cartridge(build, "c-2", 3.0, SPARE), rate=0.1)
    craft = replace(craft, uses=(replace(craft.uses[0], spread_fraction=0.1),))
    jumps, configuration, quantities, plan = looked_at(build, craft, ())
    lasts = fitted_lasts_s(
        craft.supplies["s"], quantities, configuration, plan, jumps, Draws(seed=1, count=2000), 0.0
    )
    assert lasts is not None
    # 30 h over exp(±1.645 x 0.1).
    assert lasts.p05 is not None
    assert lasts.p95 is not None
    assert lasts.p05 / H == pytest.approx(30.0 / 1.1788, rel=0.005)
    assert lasts.p95 / H == pytest.approx(30.0 * 1.1788, rel=0.005)


def test_where_nothing_is_spare_no_change_out_is_reckoned(build: Any) -> None:
    craft = craft_of(build, cartridge(build, "c-1", 3.0), rate=0.1)
    jumps, configuration, quantities, plan = looked_at(build, craft, ())
    given = (craft.supplies["s"], quantities, configuration, plan, jumps, Draws(seed=1, count=0), 0.0)
    assert fitted_lasts_s(*given) is None
