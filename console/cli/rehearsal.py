"""The simulated craft as a command's source, with the clock that it lives by."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.instants import at_epoch_plus
from console.scenario.load import Scenario
from console.session import Session


class SimulatedClock:
    """A clock that runs from a start on, some times as fast as the real one."""

    def __init__(
        self, start: datetime, speed: float, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._start = start
        self._speed = speed
        self._monotonic = monotonic
        self._began_s = monotonic()

    def __call__(self) -> datetime:
        """Now, by this clock."""
        return self._start + timedelta(seconds=(self._monotonic() - self._began_s) * self._speed)

    def not_before(self, moment: datetime) -> None:
        """Go on from a later moment."""
        self._start = max(self._start, moment)


class Rehearsal:
    """A simulated craft and its clock.

    Args:
        arguments: the parsed command line (``speed``, and ``seed`` where the command has it).
        scenario: what is rehearsed.
        start_s: from when on, seconds since the epoch; None for the start that simulation.yaml gives.
        runs: whether its clock goes on; for a command that looks once it stands, so as to say the same twice.

    Raises:
        ScenarioError: simulation.yaml is missing or faulty.
    """

    def __init__(
        self, arguments: argparse.Namespace, scenario: Scenario, start_s: float | None, *, runs: bool
    ) -> None:
        simulation = read_simulation(scenario)
        seed = getattr(arguments, "seed", None)  # of those commands that take one
        simulation = simulation if seed is None else replace(simulation, seed=seed)
        begin_s = simulation.start_s if start_s is None else start_s
        speed = simulation.speed if arguments.speed is None else arguments.speed
        speed = speed if runs else 0.0
        self.source = SimulatedSource(scenario, simulation)
        self.clock = SimulatedClock(at_epoch_plus(scenario.craft.epoch, begin_s), speed)

    def join(self, session: Session) -> None:
        """Let the simulated craft follow a session's logged steps, and go on where its journal ends.

        Going on there keeps everything that was logged in the past of the clock.
        """
        self.source.changes = session.changes
        for entry in session.entries():
            self.clock.not_before(entry.happened_at)
