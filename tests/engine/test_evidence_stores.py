"""What the stores of a supply say apart: from which one a leak comes, and one thermometer for several."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from evidence_world import HOUR, level_rows, times

from console.craft.channels import Measured
from console.craft.model import StoreKind
from console.engine.evidence.leaking_store import sources_of, store_gains
from console.engine.evidence.observed import _together
from console.engine.evidence.smoothing import smoothed
from console.engine.evidence.supply_evidence import SupplyEvidence, Way
from console.engine.quantity import store_quantity

AT = times(24.0)
SINCE = 6.0 * HOUR
LEAK = 1.0 / HOUR


def leaking(first: float, second: float) -> Any:
    """Two tanks that share 0.5 kg/h, and of which each leaks by a share an hour of its own."""
    held = [40.0, 60.0]
    rows = []
    for before, now in pairwise(AT.tolist()):
        rows.append(tuple(held))
        hours = (now - before) / HOUR
        whole = sum(held)
        for index, share in enumerate((first, second)):
            held[index] -= 0.5 * hours * held[index] / whole
            if before >= SINCE:
                held[index] *= 1.0 - share * hours
    rows.append(tuple(held))
    luck = np.random.default_rng(1).standard_normal((len(AT), 2))
    return level_rows(AT, (np.array(rows) + 0.05 * luck).T, 0.05 * np.sqrt(2.0))


def gain(level: Any, store: str) -> float:
    lost = LEAK * np.maximum(AT - SINCE, 0.0)
    return float(store_gains(level, store, lost[:, None])[0])


def test_a_hole_in_one_tank_shows_against_the_other() -> None:
    level = leaking(0.03, 0.0)
    assert gain(level, "tank-1") > 5.0
    assert gain(level, "tank-2") < -5.0


def test_a_leak_of_what_they_share_is_not_laid_to_one_of_them() -> None:
    level = leaking(0.01, 0.01)
    assert gain(level, "tank-1") < -3.0
    assert gain(level, "tank-2") < -3.0
    assert gain(level, "") == 0.0


def test_readings_that_tell_nothing_leave_it_as_it_was_beforehand() -> None:
    level = level_rows(AT, np.full((2, len(AT)), 50.0), 1000.0)
    assert gain(level, "tank-1") == pytest.approx(0.0, abs=0.01)


def test_displays_that_step_one_after_the_other_tell_of_no_hole() -> None:
    held = np.array([45.0 - 0.4 * AT / HOUR, 52.0 - 0.46 * AT / HOUR])
    level = level_rows(AT, np.round(held / 4.0) * 4.0, 0.1, step=4.0)
    assert abs(gain(level, "tank-1")) < 2.0
    assert abs(gain(level, "tank-2")) < 2.0


def test_where_a_leak_may_be_is_one_chance_in_all() -> None:
    assert sum(sources_of(leaking(0.0, 0.0)).values()) == pytest.approx(1.0)
    assert sources_of(level_rows(AT, np.full((1, len(AT)), 50.0), 0.1)) == {"": 1.0}


def test_bottles_read_by_one_thermometer_err_together(build: Any) -> None:
    warm, own = Measured(channel="sea.temperature"), Measured(channel="o2-3.temperature")
    stores = tuple(
        build.store(name, kind=StoreKind.GAS, temperature=thermometer)
        for name, thermometer in (("a", warm), ("b", warm), ("c", own))
    )
    found = _together(stores, {"a": 0.3, "b": 0.4, "c": 0.2})
    assert np.hypot(found["a"], found["b"]) == pytest.approx(0.7)
    assert found["c"] == 0.2


def test_an_amount_is_moved_to_what_all_readings_say_each_store_by_its_own_error(build: Any) -> None:
    """Two tanks of 30 and 10 kg read a minute apart from the anchor, 0.6 kg too high together, by hand."""
    first = build.store("tank-1", capacity_si=100.0, quantity=Measured(channel="tank-1.mass"))
    second = build.store("tank-2", capacity_si=100.0, quantity=Measured(channel="tank-2.mass"))
    supply = build.supply("water", "kg", first, second)
    channels = (build.channel("tank-1.mass", "kg"), build.channel("tank-2.mass", "kg"))
    craft = build.craft(supply, channels=channels)
    feed = build.feed(0.0, tank_1__mass=30.0, tank_2__mass=10.0)
    quantities = {
        store.name: store_quantity(store, supply, feed.readings, craft.channels, (), 0.0)
        for store in (first, second)
    }
    evidence = learnt_of(39.4, {"tank-1": 0.2, "tank-2": 0.4})
    found = smoothed(quantities, evidence, craft, feed.readings)
    # The -0.6 kg go by the squares of the biases: 0.04 and 0.16.
    assert found["tank-1"].held_si == pytest.approx(30.0 - 0.12)
    assert found["tank-2"].held_si == pytest.approx(10.0 - 0.48)
    assert (found["tank-1"].sd_si, found["tank-2"].sd_si) == (0.2, 0.4)


def test_a_reading_of_long_ago_stands_for_its_own_part_of_the_draw_alone(build: Any) -> None:
    """tank-1, 30 of 40 kg, was read 4 h before; at 1 kg/h its part since is 3 kg: nothing is to be moved."""
    first = build.store("tank-1", capacity_si=100.0, quantity=Measured(channel="tank-1.mass"))
    second = build.store("tank-2", capacity_si=100.0, quantity=Measured(channel="tank-2.mass"))
    supply = build.supply("water", "kg", first, second)
    craft = build.craft(
        supply, channels=(build.channel("tank-1.mass", "kg"), build.channel("tank-2.mass", "kg"))
    )
    old = build.feed(-4.0 * HOUR, tank_1__mass=30.0).readings
    readings = {**build.feed(0.0, tank_2__mass=10.0).readings, **old}
    quantities = {
        store.name: store_quantity(store, supply, readings, craft.channels, (), 0.0)
        for store in (first, second)
    }
    evidence = learnt_of(37.0, {"tank-1": 0.2, "tank-2": 0.2})
    found = smoothed(quantities, evidence, craft, readings)
    assert found["tank-1"].held_si == pytest.approx(30.0)
    assert found["tank-2"].held_si == pytest.approx(10.0)


def learnt_of(level: float, biases: dict[str, float]) -> Any:
    """What was learnt of water alone: so much at the anchor 0, a draw of 1 kg/h."""
    from console.engine.evidence.evidence import Evidence

    way = Way(weight=1.0, changes=(), mean=np.array([level]), root=np.zeros((1, 1)))
    one = SupplyEvidence(
        supply="water",
        anchor_s=0.0,
        stores=tuple(biases),
        biases_sd=biases,
        held_si=dict.fromkeys(biases, 1.0),
        ways=(way,),
        factors=(),
        wander_fraction=0.05,
        rate_si_per_s=1.0 / HOUR,
        rate_sd_si_per_s=0.0,
        following=1.0,
        window_s=HOUR,
        count=10,
        set_aside=0,
    )
    return Evidence(names=(), mean=np.zeros(0), covariance=np.zeros((0, 0)), supplies={"water": one})
