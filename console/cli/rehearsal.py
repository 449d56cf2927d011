"""The simulated craft as a command's source, with the clock that it lives by."""

from __future__ import annotations

import argparse
from dataclasses import replace

from console.cli.clocks import RunningClock
from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.instants import at_epoch_plus
from console.scenario.load import Scenario
from console.session import Session


class Rehearsal:
    """A simulated craft and its clock.

    Args:
        arguments: the parsed command line.
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
        if arguments.seed is not None:
            simulation = replace(simulation, seed=arguments.seed)
        begin_s = simulation.start_s if start_s is None else start_s
        speed = simulation.speed if arguments.speed is None else arguments.speed
        speed = speed if runs else 0.0
        self.source = SimulatedSource(scenario, simulation)
        self.clock = RunningClock(at_epoch_plus(scenario.craft.epoch, begin_s), speed)

    def join(self, session: Session) -> None:
        """Let the simulated craft follow a session's logged steps, and go on where its journal ends.

        Going on there keeps everything that was logged in the past of the clock.
        """
        self.source.changes = session.changes
        latest = session.known_entries.latest()
        if latest is not None:
            self.clock.not_before(latest)
