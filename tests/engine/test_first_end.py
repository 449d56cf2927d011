"""What comes first under the plan, supply or limit of the cabin, by the margins' low ends."""

from __future__ import annotations

from dataclasses import replace

import pytest

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.engine.first_end import EndKind, first_end, unknown_ends
from console.engine.reading import Quality
from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot, Supposition
from console.scenario.load import load_scenario, packaged_scenario

HOUR = 3600.0


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    from datetime import timedelta

    from console.feed.state_file import StateFileSource
    from console.session import Session

    scenario = load_scenario(packaged_scenario("tern"))
    craft = scenario.craft
    session = Session(
        scenario=scenario,
        source=StateFileSource(scenario.folder / "state.json", craft.channels, craft.epoch),
        journal=None,
        clock=lambda: craft.epoch + timedelta(hours=25.8),
        operator="",
        position="",
    )
    return replace(session.tick(), clocks=())


def clock(snapshot: Snapshot, margin_h: float | None, **changes: object) -> CabinClock:
    limit = CabinLimit(
        name="raised CO2",
        of=CabinProperty.CARBON_DIOXIDE,
        side=LimitSide.ABOVE,
        at_si=2000.0,
        source="rule 1",
    )
    margin = None if margin_h is None else margin_h * HOUR
    reached = None if margin is None else margin + snapshot.need.in_s
    made = CabinClock(
        limit=limit,
        supposition=Supposition.PLAN,
        state=ClockState.RUNNING if margin is not None else ClockState.HELD,
        now_si=560.0,
        reached_in_s=Interval(p05=reached, p50=reached, p95=reached),
        margin_s=Interval(p05=margin, p50=margin, p95=margin),
        band=Band.WARNING,
        quality=Quality.GOOD,
        why="",
    )
    return replace(made, **changes)  # type: ignore[arg-type]  # a test's own changes


def low_h(snapshot: Snapshot) -> float:
    assert snapshot.shortest is not None
    margin = snapshot.supplies[snapshot.shortest].margin_s
    assert margin is not None
    assert margin.p05 is not None
    return margin.p05 / HOUR


def test_without_limits_the_shortest_supply_comes_first(snapshot: Snapshot) -> None:
    first = first_end(snapshot)
    assert first is not None
    assert (first.kind, first.name) == (EndKind.SUPPLY, snapshot.shortest)
    assert first.low_margin_s == pytest.approx(low_h(snapshot) * HOUR)


@pytest.mark.parametrize(("hours_earlier", "kind"), [(0.1, EndKind.CABIN_LIMIT), (-0.1, EndKind.SUPPLY)])
def test_a_limit_comes_first_only_where_its_low_end_is_earlier(
    snapshot: Snapshot, hours_earlier: float, kind: EndKind
) -> None:
    limited = replace(snapshot, clocks=(clock(snapshot, low_h(snapshot) - hours_earlier),))
    first = first_end(limited)
    assert first is not None
    assert first.kind is kind


def test_only_the_plan_counts_not_what_would_be_if_something_stopped(snapshot: Snapshot) -> None:
    stopped = clock(snapshot, -70.0, supposition=Supposition.NO_REMOVAL, margin_s=None)
    trend = clock(snapshot, -70.0, supposition=Supposition.TREND)
    first = first_end(replace(snapshot, clocks=(stopped, trend)))
    assert first is not None
    assert first.kind is EndKind.SUPPLY


def test_a_limit_that_is_passed_comes_before_everything(snapshot: Snapshot) -> None:
    passed = clock(snapshot, 0.0, state=ClockState.REACHED, margin_s=None, reached_in_s=None)
    first = first_end(replace(snapshot, clocks=(passed,)))
    assert first is not None
    assert first.name == "raised CO2"
    assert first.low_margin_s == -snapshot.need.in_s
    assert first.comes_in_s is not None
    assert first.comes_in_s.p05 == 0.0


def test_a_limit_that_is_not_known_is_named_and_one_that_never_comes_is_not(snapshot: Snapshot) -> None:
    unknown = clock(snapshot, None, state=ClockState.UNKNOWN, margin_s=None, reached_in_s=None)
    held = clock(snapshot, None, limit=replace(unknown.limit, name="cold"), margin_s=None)
    both = replace(snapshot, clocks=(unknown, held), unknown=("water",))
    assert unknown_ends(both) == ("water", "raised CO2")


def test_where_no_supply_is_known_the_limit_stands_alone(snapshot: Snapshot) -> None:
    bare = replace(snapshot, supplies={}, shortest=None)
    assert first_end(bare) is None
    first = first_end(replace(bare, clocks=(clock(snapshot, 500.0),)))
    assert first is not None
    assert first.kind is EndKind.CABIN_LIMIT


def test_a_limit_comes_before_supplies_that_never_run_out(snapshot: Snapshot) -> None:
    endless = Interval(p05=None, p50=None, p95=None)
    assert snapshot.shortest is not None
    supply = replace(snapshot.supplies[snapshot.shortest], margin_s=endless, endurance_plan_s=endless)
    calm = replace(snapshot, supplies={**snapshot.supplies, supply.name: supply})
    first = first_end(replace(calm, clocks=(clock(snapshot, 500.0),)))
    assert first is not None
    assert first.kind is EndKind.CABIN_LIMIT
