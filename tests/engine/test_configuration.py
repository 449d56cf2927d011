"""The last word counts, whether the plan spoke it or an operator."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from console.craft.model import LoadState, StoreState
from console.engine.configuration import Configuration, ConfigurationChange

H = 3600.0
ON, STANDBY, OFF = LoadState.ON, LoadState.STANDBY, LoadState.OFF


@pytest.fixture
def craft(build: Any) -> Any:
    stores = (
        build.store("tank", capacity_si=10.0),
        build.store("bottle", capacity_si=3.0, state=StoreState.ISOLATED),
    )
    return build.craft(
        build.supply("power", "A*h", build.store("bat", capacity_si=1e6), bus_voltage_v=28.0),
        build.supply("oxygen", "kg", *stores),
        loads=(build.load("radio", 2.0, 0.3), build.load("fan", 1.0)),
        levels={
            "full": {"radio": ON, "fan": ON},
            "quiet": {"radio": STANDBY, "fan": ON},
            "dark": {"radio": STANDBY, "fan": OFF},
        },
    )


def phases(build: Any) -> Any:
    return (
        build.phase("stabilise", 0.0, "full"),
        build.phase("coast", 7 * H, "quiet"),
        build.phase("long coast", 20 * H, "dark"),
        build.phase("return", 40 * H, "full"),
    )


def radio_at(configuration: Configuration, *hours: float) -> list[LoadState]:
    return [configuration.loads_at(hour * H)["radio"].state for hour in hours]


def test_without_steps_the_plan_moves_the_loads(craft: Any, build: Any) -> None:
    configuration = Configuration(craft, phases(build), (), ())
    assert radio_at(configuration, -5, 0, 6.99, 7, 39.9, 40) == [ON, ON, ON, STANDBY, STANDBY, ON]


def test_a_step_holds_through_a_phase_that_leaves_the_load_alone(craft: Any, build: Any) -> None:
    configuration = Configuration(craft, phases(build), (), [build.step(10 * H, radio=OFF)])
    assert radio_at(configuration, 9, 10, 20, 39) == [STANDBY, OFF, OFF, OFF]
    assert configuration.loads_at(30 * H)["radio"].by_step


def test_a_step_ends_where_the_plan_next_moves_the_load(craft: Any, build: Any) -> None:
    configuration = Configuration(craft, phases(build), (), [build.step(10 * H, radio=OFF)])
    assert radio_at(configuration, 40) == [ON]
    assert not configuration.loads_at(40 * H)["radio"].by_step


def test_a_step_logged_late_counts_from_when_it_happened(craft: Any, build: Any) -> None:
    late_first = [build.step(12 * H, radio=ON), build.step(10 * H, radio=OFF)]
    assert radio_at(Configuration(craft, phases(build), (), late_first), 11, 13) == [OFF, ON]


def test_a_step_at_the_moment_of_a_phase_start_has_the_last_word(craft: Any, build: Any) -> None:
    assert radio_at(Configuration(craft, phases(build), (), [build.step(7 * H, radio=OFF)]), 7) == [OFF]


def test_stores_follow_events_and_steps_in_time_order(craft: Any, build: Any) -> None:
    events = (build.event("open", 30 * H, sets={"bottle": StoreState.FEEDING}),)
    shut = ConfigurationChange(
        at_s=35 * H, label="", loads={}, stores={"bottle": StoreState.ISOLATED}, used_si={}
    )
    configuration = Configuration(craft, phases(build), events, [shut])
    states = [configuration.stores_at(hour * H)["bottle"] for hour in (0, 30, 34, 35)]
    assert states == [StoreState.ISOLATED, StoreState.FEEDING, StoreState.FEEDING, StoreState.ISOLATED]
    assert configuration.stores_before(30 * H)["bottle"] is StoreState.ISOLATED


def test_segments_cover_all_time_and_break_where_anything_changes(craft: Any, build: Any) -> None:
    events = (build.event("open", 30 * H, sets={"bottle": StoreState.FEEDING}),)
    configuration = Configuration(craft, phases(build), events, [build.step(10 * H, radio=OFF)])
    segments = configuration.segments(5 * H, float("inf"))
    assert [segment.start_s / H for segment in segments] == [5, 7, 10, 20, 30, 40]
    assert all(first.end_s == second.start_s for first, second in pairwise(segments))
    assert segments[-1].end_s == float("inf")
