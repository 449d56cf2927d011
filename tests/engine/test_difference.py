"""Two Snapshots compared: what is better, what worse, what is not known any more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.craft.model import LoadState, StoreState
from console.engine.assess import assess
from console.engine.bare import without_band_memory
from console.engine.difference import Difference, Verdict, difference
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.reading import Quality
from console.engine.snapshot import (
    Band,
    CabinClock,
    ClockState,
    Interval,
    Peak,
    Snapshot,
    Supposition,
)
from console.engine.whatif import Change, LoseStore, MoveStore, SetRate, SwitchLoad, suppose

H = 3600.0
CENTRAL = Draws(seed=1, count=0)
LIMIT = CabinLimit(
    name="CO2", of=CabinProperty.CARBON_DIOXIDE, side=LimitSide.ABOVE, at_si=2000.0, source="test"
)


def verdicts(compared: Difference) -> dict[str, Verdict]:
    return {change.after.name: change.verdict for change in compared.supplies}


@pytest.fixture
def compare(demo: Situation) -> Callable[..., Difference]:
    def compared(*changes: Change) -> Difference:
        before, after = (assess(each, None, CENTRAL).snapshot for each in (demo, suppose(demo, changes)))
        return difference(before, after)

    return compared


def test_without_a_change_everything_is_the_same(compare: Callable[..., Difference]) -> None:
    compared = compare()
    assert set(verdicts(compared).values()) == {Verdict.SAME}
    assert all(clock.verdict is Verdict.SAME for clock in compared.clocks)
    assert compared.peaks_over == ()


def test_a_load_off_makes_its_supply_and_the_cooling_water_better(
    compare: Callable[..., Difference], demo: Situation
) -> None:
    off = SwitchLoad(load="com-radio", to=LoadState.OFF, from_s=demo.at_s)
    found = verdicts(compare(off))
    assert (found["power"], found["water"]) == (Verdict.BETTER, Verdict.BETTER)
    assert {found[name] for name in ("oxygen", "absorbent", "propellant")} == {Verdict.SAME}
    assert compare(off).of(Verdict.BETTER)[:2] == ("power", "water")


def test_a_use_that_grows_makes_its_supply_worse_and_no_other(compare: Callable[..., Difference]) -> None:
    compared = compare(SetRate(use="drinking", rate_si_per_s=1e-3))
    assert verdicts(compared)["water"] is Verdict.WORSE
    assert [name for name, verdict in verdicts(compared).items() if verdict is Verdict.WORSE] == ["water"]
    (water,) = (change for change in compared.supplies if change.after.name == "water")
    assert water.is_band_changed is (water.before.band is not water.after.band)


def test_a_lost_store_makes_it_worse(compare: Callable[..., Difference]) -> None:
    assert verdicts(compare(LoseStore(store="o2-1")))["oxygen"] is Verdict.WORSE


def clock(state: ClockState, hours: float | None, margin_h: float | None = None, **fields: Any) -> CabinClock:
    def same(value_h: float | None) -> Interval | None:
        return None if value_h is None else Interval(p05=value_h * H, p50=value_h * H, p95=value_h * H)

    return CabinClock(
        limit=LIMIT,
        supposition=Supposition.PLAN,
        state=state,
        now_si=600.0,
        reached_in_s=same(hours),
        margin_s=same(margin_h),
        band=Band.NOMINAL,
        quality=Quality.GOOD,
        why="",
        **fields,
    )


@pytest.fixture
def snapshot(demo: Situation) -> Snapshot:
    return assess(demo, None, CENTRAL).snapshot


@pytest.mark.parametrize(
    ("before", "after", "verdict"),
    [
        (clock(ClockState.HELD, None), clock(ClockState.RUNNING, 40.0), Verdict.WORSE),
        (clock(ClockState.RUNNING, 40.0), clock(ClockState.RUNNING, 50.0), Verdict.BETTER),
        (clock(ClockState.RUNNING, 40.0), clock(ClockState.RUNNING, 40.0), Verdict.SAME),
        (clock(ClockState.RUNNING, 40.0), clock(ClockState.REACHED, None), Verdict.WORSE),
        (clock(ClockState.REACHED, None), clock(ClockState.HELD, None), Verdict.BETTER),
        (clock(ClockState.RUNNING, 40.0), clock(ClockState.UNKNOWN, None), Verdict.UNKNOWN),
        (clock(ClockState.UNKNOWN, None), clock(ClockState.UNKNOWN, None), Verdict.SAME),
        # The same moment, but need comes earlier: it is the margin that counts.
        (clock(ClockState.RUNNING, 40.0, -10.0), clock(ClockState.RUNNING, 40.0, -6.0), Verdict.BETTER),
    ],
)
def test_a_limit_that_comes_later_is_better(
    snapshot: Snapshot, before: CabinClock, after: CabinClock, verdict: Verdict
) -> None:
    trend = replace(before, supposition=Supposition.TREND)
    sides = (replace(snapshot, clocks=(one, trend)) for one in (before, after))
    (change,) = difference(*sides).clocks
    assert change.verdict is verdict


def test_a_supply_that_is_not_known_on_one_side_has_no_verdict(snapshot: Snapshot) -> None:
    water = replace(snapshot.supplies["water"], margin_s=None, left_at_need_si=None)
    unknown = replace(snapshot, supplies={**snapshot.supplies, "water": water})
    assert verdicts(difference(snapshot, unknown))["water"] is Verdict.UNKNOWN
    assert verdicts(difference(unknown, snapshot))["water"] is Verdict.UNKNOWN
    assert verdicts(difference(unknown, unknown))["water"] is Verdict.SAME


def test_more_left_is_better_though_no_end_moves(snapshot: Snapshot) -> None:
    water = snapshot.supplies["water"]
    endless = replace(water, margin_s=Interval(p05=None, p50=None, p95=None))
    more = replace(endless, left_at_need_si=Interval(p05=90.0, p50=91.0, p95=92.0))
    sides = [replace(snapshot, supplies={**snapshot.supplies, "water": one}) for one in (endless, more)]
    assert verdicts(difference(*sides))["water"] is Verdict.BETTER
    assert verdicts(difference(*reversed(sides)))["water"] is Verdict.WORSE


def test_a_current_above_a_limit_is_told_only_where_it_was_not_before(snapshot: Snapshot) -> None:
    over = Peak(
        supply="power",
        name="burn",
        at_s=0.0,
        mean_a=90.0,
        peak_a=95.0,
        bus_limit_a=90.0,
        store=None,
        store_peak_a=None,
        store_limit_a=None,
        is_over=True,
    )
    before, after = (replace(snapshot, peaks=peaks) for peaks in ((), (over,)))
    assert difference(before, after).peaks_over == (over,)
    assert difference(after, after).peaks_over == ()


def test_bands_without_memory_are_those_of_a_first_look(demo: Situation) -> None:
    first = assess(demo, None, CENTRAL)
    eased = suppose(demo, (SwitchLoad(load="com-radio", to=LoadState.OFF, from_s=demo.at_s),))
    remembered = assess(replace(eased, at_s=demo.at_s + 1.0), first.memory, CENTRAL)
    fresh = assess(replace(eased, at_s=demo.at_s + 1.0), None, CENTRAL).snapshot
    bare = without_band_memory(remembered)
    assert {name: one.band for name, one in bare.supplies.items()} == {
        name: one.band for name, one in fresh.supplies.items()
    }
    assert [one.band for one in bare.clocks] == [one.band for one in fresh.clocks]
    # The delays of a running board had kept at least one band: else nothing was shown here.
    assert any(
        one.band is not fresh.supplies[name].band for name, one in remembered.snapshot.supplies.items()
    )


def test_an_opened_store_is_better(compare: Callable[..., Difference], demo: Situation) -> None:
    opened = MoveStore(store="water-suit", to=StoreState.FEEDING, at_s=demo.at_s)
    assert verdicts(compare(opened))["water"] is Verdict.BETTER
