"""When which gauge is read again: three steps at the present rate, rounded down to a time a clock shows."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import Fluid, StoreKind, StoreState, Use
from console.engine.gauge_times import CLOCK_TIMES_S, WATCH_S, clock_time_s, gauge_times
from console.engine.reading import Quality, Reading
from console.physics.gas import mass_kg

H = 3600.0


def look(build: Any, *stores: Any, channels: Any, feed: Any, rate: float = 1.0 / H) -> dict[str, Any]:
    supply = build.supply("oxygen", "kg", *stores)
    use = Use(name="crew", supply="oxygen", rate_si_per_s=rate)
    craft = build.craft(supply, uses=(use,), channels=channels)
    found = build.assess(craft, build.plan(build.option(50 * H), (build.phase("one", 0.0),)), feed)
    times = gauge_times(found.known, found.ahead, found.snapshot.supplies)
    return {one.channel.name: one for one in times}


def tank(build: Any, name: str, **fields: Any) -> Any:
    return build.store(name, capacity_si=100.0, quantity=Measured(channel=f"{name}.kg"), **fields)


def test_it_is_three_of_the_larger_of_resolution_and_accuracy(build: Any) -> None:
    fine = build.channel("a.kg", "kg", resolution_si=0.5, accuracy_si=0.1)
    coarse = build.channel("a.kg", "kg", resolution_si=0.1, accuracy_si=2.0)
    for channel, hours in ((fine, 1.5), (coarse, 6.0)):
        one = look(build, tank(build, "a"), channels=(channel,), feed=build.feed(a__kg=60.0))["a.kg"]
        assert one.moves_in_s == pytest.approx(hours * H)


def test_stores_that_feed_together_share_the_rate_by_what_they_can_give(build: Any) -> None:
    channels = tuple(build.channel(f"{name}.kg", "kg", resolution_si=0.5) for name in "ab")
    found = look(
        build, tank(build, "a"), tank(build, "b"), channels=channels, feed=build.feed(a__kg=60.0, b__kg=20.0)
    )
    assert found["a.kg"].moves_in_s == pytest.approx(2.0 * H)
    assert found["b.kg"].moves_in_s == pytest.approx(6.0 * H)


def test_a_store_that_does_not_feed_moves_no_gauge_and_is_read_once_a_watch(build: Any) -> None:
    channels = tuple(build.channel(f"{name}.kg", "kg", resolution_si=0.5) for name in "ab")
    shut = tank(build, "b", state=StoreState.PROTECTED)
    found = look(build, tank(build, "a"), shut, channels=channels, feed=build.feed(a__kg=60.0, b__kg=20.0))
    assert (found["b.kg"].moves_in_s, found["b.kg"].every_s) == (None, WATCH_S)
    assert found["a.kg"].moves_in_s == pytest.approx(1.5 * H)


def test_a_pressure_gauge_goes_by_the_gas_that_its_steps_stand_for(build: Any) -> None:
    store = build.store(
        "b",
        kind=StoreKind.GAS,
        fluid=Fluid.OXYGEN,
        volume_m3=0.06,
        pressure=Measured(channel="b.bar"),
        temperature=build.constant(290.0),
    )
    channel = build.channel("b.bar", "MPa", resolution_si=1e5)
    one = look(build, store, channels=(channel,), feed=build.feed(b__bar=10e6))["b.bar"]
    amount = mass_kg(Fluid.OXYGEN, 10e6, 290.0, 0.06) - mass_kg(Fluid.OXYGEN, 9.7e6, 290.0, 0.06)
    assert one.is_pressure
    assert one.moves_in_s == pytest.approx(amount * H)


def test_a_share_goes_by_the_capacity_it_is_of(build: Any) -> None:
    store = tank(build, "a", quantity_is_share=True)
    channel = build.channel("a.kg", "%", resolution_si=0.01)
    one = look(build, store, channels=(channel,), feed=build.feed(a__kg=0.6))["a.kg"]
    assert one.moves_in_s == pytest.approx(3.0 * H)


def test_a_gauge_that_is_not_good_says_so(build: Any) -> None:
    old = Reading(channel="a.kg", quality=Quality.STALE, value_si=60.0, at_s=-7200.0)
    channel = build.channel("a.kg", "kg", resolution_si=0.5)
    one = look(build, tank(build, "a"), channels=(channel,), feed=build.feed(a__kg=old))["a.kg"]
    assert not one.is_good


@pytest.mark.parametrize("seconds", [1.0, 299.0, 301.0, 3599.0, 3600.0, 20_000.0, 1e9])
def test_the_rounded_time_is_one_of_a_clock_and_never_later(seconds: float) -> None:
    found = clock_time_s(seconds)
    assert found in CLOCK_TIMES_S
    assert found <= max(seconds, CLOCK_TIMES_S[0])
    assert found <= WATCH_S
