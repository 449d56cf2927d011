"""What is supposed of a craft changes nothing of what readings said of it as it is.

Judged by a craft that has lost a battery, the meters of the others would say that every load draws less than
listed; judged by a leak that is supposed, the readings would say that it is not there.
"""

from __future__ import annotations

import numpy as np
import pytest
from explain_checks import DRAWS
from live_scene import live

from console.craft.model import Craft
from console.engine.assess import Assessment, assess
from console.engine.bare import both_sides, look_at
from console.engine.evidence.evidence import Evidence
from console.engine.known import judged, known_of
from console.engine.loss import losses_of
from console.engine.memory import Memory
from console.engine.planned_rate import use_factor
from console.engine.whatif import Change, LoseStore, SetRate, suppose

LEAK_KG_PER_S = 0.08 / 3600.0


def after(*changes: Change) -> Assessment:
    return assess(suppose(live()[0], changes), None, DRAWS)


def evidence(found: Assessment) -> Evidence:
    assert found.known.evidence is not None
    return found.known.evidence


def low_h(found: Assessment, supply: str) -> float:
    margin = found.snapshot.supplies[supply].margin_s
    assert margin is not None
    assert margin.p05 is not None
    return margin.p05 / 3600.0


def central_h(found: Assessment, supply: str) -> float:
    margin = found.snapshot.supplies[supply].margin_s
    assert margin is not None
    assert margin.p50 is not None
    return margin.p50 / 3600.0


@pytest.mark.parametrize(("store", "supply"), [("bat-1", "power"), ("o2-1", "oxygen"), ("water-1", "water")])
def test_a_lost_store_never_makes_a_margin_longer(store: str, supply: str) -> None:
    whole, without = live()[1], after(LoseStore(store=store))
    held = whole.known.quantities[store].held_si
    assert held is not None
    rate = whole.snapshot.supplies[supply].rate_plan_si_per_s
    assert rate is not None
    # It is shorter by about as long as what is lost would have lasted.
    assert low_h(without, supply) < low_h(whole, supply)
    lost_h = central_h(whole, supply) - central_h(without, supply)
    assert lost_h == pytest.approx(held / rate / 3600.0, rel=0.5)
    assert without.snapshot.supplies[supply].rate_plan_si_per_s == pytest.approx(rate)


def test_a_lost_store_changes_no_factor_and_no_other_store() -> None:
    whole, without = live()[1], after(LoseStore(store="bat-1"))
    assert np.array_equal(evidence(whole).mean, evidence(without).mean)
    assert "bat-1" not in without.known.quantities
    for name, one in without.known.quantities.items():
        assert one == whole.known.quantities[name]


def leak_rate(craft: Craft, found: Assessment) -> float:
    """The leak's own line in the present segment, without the factor that was measured over it."""
    use = found.ahead.use
    line = use.supplies["oxygen"].line_si_per_s("cabin-leak", use.now_index)
    reference = next(use.at_pressure_pa for use in craft.uses if use.name == "cabin-leak")
    pressure = found.known.pressure.for_leak_pa(reference or 0.0)
    return line * (reference or 0.0) / pressure


def test_a_supposed_leak_is_taken_as_it_is_written() -> None:
    whole, supposed = live()[1], after(SetRate(use="cabin-leak", rate_si_per_s=LEAK_KG_PER_S))
    place = evidence(whole).names.index(use_factor("cabin-leak"))
    assert evidence(whole).mean[place] != 0.0
    assert evidence(supposed).mean[place] == 0.0
    assert leak_rate(supposed.known.craft, supposed) == pytest.approx(LEAK_KG_PER_S)
    assert low_h(supposed, "oxygen") < low_h(whole, "oxygen") - 5.0
    # And as sure as the file says of it, no surer.
    spread = next(use.spread_fraction for use in whole.known.craft.uses if use.name == "cabin-leak")
    assert evidence(supposed).covariance[place, place] == pytest.approx(spread**2)
    others = [index for index in range(len(evidence(whole).mean)) if index != place]
    assert np.array_equal(evidence(supposed).mean[others], evidence(whole).mean[others])
    own = evidence(supposed).supplies["oxygen"]
    assert place not in own.factors
    for way in own.ways:
        assert way.root.shape == (len(way.mean), len(way.mean))


def test_a_rate_that_is_supposed_to_be_what_it_is_keeps_its_factor() -> None:
    craft = live()[0].craft
    stated = next(use.leak_si_per_s for use in craft.uses if use.name == "cabin-leak")
    assert stated is not None
    same = after(SetRate(use="cabin-leak", rate_si_per_s=stated))
    assert np.array_equal(evidence(same).mean, evidence(live()[1]).mean)
    assert low_h(same, "oxygen") == low_h(live()[1], "oxygen")


def test_readings_are_judged_once_and_say_the_same() -> None:
    situation = live()[0]
    once = judged(situation)
    assert judged(once) is once
    again = known_of(once)
    # The type is not asked of it: known here.
    assert np.array_equal(evidence(live()[1]).mean, again.evidence.mean)  # type: ignore[union-attr]
    assert again.quantities == live()[1].known.quantities
    assert assess(once, None, DRAWS).snapshot == live()[1].snapshot


def test_every_single_loss_of_a_feeding_store_costs_its_own_supply() -> None:
    found = losses_of(live()[0], None, DRAWS)
    whole = found.without_loss.margins_s
    for loss in found.losses:
        before, after_it = whole[loss.lost.supply], loss.margins.margins_s[loss.lost.supply]
        if before is None or after_it is None:
            continue
        # A cartridge that is spent takes its own error with it: by that much the low end may seem better.
        for low, high in zip((after_it.p05, after_it.p50), (before.p05, before.p50), strict=True):
            assert (float("inf") if low is None else low) <= (float("inf") if high is None else high) + 600.0


def test_both_sides_of_a_look_stand_on_the_same_readings() -> None:
    situation = live()[0]
    change = SetRate(use="cabin-leak", rate_si_per_s=LEAK_KG_PER_S)
    before, supposed = both_sides(look_at(situation, Memory(), DRAWS), (change,), DRAWS)
    assert before.supplies["oxygen"].margin_s == live()[1].snapshot.supplies["oxygen"].margin_s
    assert supposed == after(change).snapshot
