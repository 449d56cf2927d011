"""A contingency that is under way, with its readings of the last hours: what explanations must stand by then.

Tern under its simulated crew of instruments: loads switched off together and logged, one load left on that
nobody logged, a gauge that is stuck, a tank that sloshes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from types import MappingProxyType
from typing import Final

import numpy as np
from explain_checks import DRAWS, HOUR

from console.craft.model import LoadState
from console.craft.shown import craft_shown_in
from console.engine.assess import Assessment, assess
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import decided
from console.engine.explain.figures import Figures, figures_of
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.reading import FeedState
from console.engine.series import HISTORY_BACK_S, HISTORY_ROWS, Series
from console.engine.snapshot import Snapshot
from console.feed.simulated_contingency import Contingency
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault
from console.feed.simulated_recorded import Recorded
from console.feed.simulation_file import read_simulation
from console.record.history import History
from console.scenario.load import load_scenario, packaged_scenario
from console.units import UnitSystem

NOW_S: Final = 37.0 * HOUR
DOWN_S: Final = 33.0 * HOUR
OFF: Final = ("air-fan-2", "th-wall", "com-panel")
"""Switched off together, and logged."""
LEFT_ON: Final = "sci-mapper"
"""Truly on since two hours, and nobody logged it."""
STUCK: Final = "o2-2.pressure"
SLOSHES: Final = "prop-1"


def _faults() -> tuple[SimulatedFault, ...]:
    off = [
        SimulatedFault(kind=FaultKind.LOAD_STATE, at_s=DOWN_S, load=load, state=LoadState.OFF) for load in OFF
    ]
    return (
        *off,
        SimulatedFault(kind=FaultKind.LOAD_STATE, at_s=34.5 * HOUR, load=LEFT_ON, state=LoadState.ON),
        SimulatedFault(kind=FaultKind.STUCK, at_s=35.0 * HOUR, channel=STUCK),
        SimulatedFault(
            kind=FaultKind.STRATIFIED,
            at_s=26.0 * HOUR,
            channel=None,
            store=SLOSHES,
            size_si=12.0,
            period_s=2100.0,
        ),
    )


LOGGED: Final = ConfigurationChange(
    at_s=DOWN_S,
    label="switched together",
    loads=MappingProxyType(dict.fromkeys(OFF, LoadState.OFF)),
    stores={},
    used_si={},
    sequence=3,
)


@cache
def lived() -> Recorded:
    """The contingency up to now, as it went."""
    scenario = load_scenario(packaged_scenario("tern"))
    plain = replace(read_simulation(scenario), faults=(), random_faults=None)
    contingency = Contingency(scenario, plain, _faults(), seed=7, has_operators=False, is_faultless=True)
    return contingency.run(NOW_S, 60.0, horizon_s=NOW_S)


def history_of(truth: Recorded, at_s: float) -> Mapping[str, Series]:
    """The readings as a session's history holds them."""
    history = History(truth.craft.channels)
    arrived = {name: truth.arrived(name, -np.inf, at_s) for name in truth.craft.channels}
    feed = truth.feed_at(at_s)
    history.take(
        FeedState(source="", at_s=at_s, quality=feed.quality, faults=(), readings={}, arrived=arrived)
    )
    return {
        name: history.series(name, at_s - HISTORY_BACK_S, at_s, HISTORY_ROWS) for name in truth.craft.channels
    }


@cache
def live(at_s: float = NOW_S, draws: Draws = DRAWS, *, history: bool = True) -> tuple[Situation, Assessment]:
    """What a session knows at a moment, and what comes of it; or what it would know without a history."""
    scenario, truth = load_scenario(packaged_scenario("tern")), lived()
    changes = tuple(change for change in (LOGGED,) if change.at_s <= at_s)
    made = decided(scenario.craft, scenario.plan, changes, at_s)
    situation = Situation(
        slug=scenario.slug,
        craft=made.craft,
        plan=made.plan,
        feed=truth.feed_at(at_s),
        changes=changes,
        at_s=at_s,
        history=history_of(truth, at_s) if history else {},
    )
    return situation, assess(situation, None, draws)


def live_figures(
    at_s: float = NOW_S, draws: Draws = DRAWS, *, history: bool = True
) -> tuple[Snapshot, Figures]:
    """The Snapshot of a moment and its figures."""
    situation, found = live(at_s, draws, history=history)
    lines = load_scenario(packaged_scenario("tern")).lines
    return found.snapshot, figures_of(situation, found, draws, lines)


def leaking_figures(
    name: str, hours: float, units: UnitSystem, store: str, course: LeakCourse
) -> tuple[Snapshot, Figures]:
    """The figures of another scenario so long after its start, with a store that leaks since its third."""
    scenario = load_scenario(packaged_scenario(name))
    plain = replace(read_simulation(scenario), faults=(), random_faults=None)
    leak = SimulatedFault(
        kind=FaultKind.LEAK,
        at_s=plain.start_s + 2.0 * HOUR,
        store=store,
        rate_si_per_s=plain.initial_si[store] / (40.0 * HOUR),
        course=course,
        doubles_in_s=5.0 * HOUR,
    )
    at_s = plain.start_s + hours * HOUR
    contingency = Contingency(scenario, plain, (leak,), seed=5, has_operators=False, is_faultless=True)
    truth = contingency.run(at_s, 60.0, horizon_s=at_s)
    situation = Situation(
        slug=scenario.slug,
        craft=craft_shown_in(scenario.craft, units),
        plan=scenario.plan,
        feed=truth.feed_at(at_s),
        changes=(),
        at_s=at_s,
        history=history_of(truth, at_s),
    )
    found = assess(situation, None, DRAWS)
    return found.snapshot, figures_of(situation, found, DRAWS, scenario.lines)
