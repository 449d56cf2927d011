"""A simulated craft as a source of readings, for the demo board and ``--feed sim``.

It advances its truth to the moment that is asked for and says what its instruments show then. Steps logged on
the board are switched in the truth, so that a power-down lowers the currents that are read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from console.display import age_text
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.decisions import decided
from console.engine.reading import FeedState, Quality, Reading
from console.feed.simulated_craft import SimulatedCraft, Truth
from console.feed.simulated_instruments import Instruments
from console.feed.simulation_file import Simulation
from console.scenario.load import Scenario

SOURCE_NAME = "simulated craft"

Changes = Callable[[], Sequence[ConfigurationChange]]


class SimulatedSource:
    """Readings from a craft that exists only here.

    The same seed, polls and changes give the same readings. A step that is logged late is switched when it
    is first seen, from the moment of the last poll on: what was lived is not lived again.

    Args:
        scenario: the craft and its plan; the committed option is flown.
        simulation: how it begins.
        changes: the logged steps; a session sets it when the journal is open.
    """

    def __init__(self, scenario: Scenario, simulation: Simulation, changes: Changes = lambda: ()) -> None:
        self.changes = changes
        self._scenario = scenario
        truth_seed, noise_seed = np.random.SeedSequence(simulation.seed).spawn(2)
        self._craft = SimulatedCraft(scenario, simulation, np.random.default_rng(truth_seed))
        self._instruments = Instruments(
            scenario.craft, self._craft, simulation.biases_si, np.random.default_rng(noise_seed)
        )
        self._start_s = simulation.start_s
        self._known: tuple[ConfigurationChange, ...] | None = None
        self._taken: list[ConfigurationChange] = []
        self._configuration: Configuration | None = None
        self._readings: dict[str, Reading] | None = None

    def truth(self) -> Truth:
        """What is so as of the last poll, for tests of what was forecast."""
        return self._craft.truth()

    def poll(self, now_s: float) -> FeedState:
        """Advance to a moment and read the instruments; asked for a past moment, say so and stay."""
        if now_s < self._craft.at_s:
            return self._not_now(now_s)
        if self._readings is None or now_s > self._craft.at_s:
            self._advance(now_s)
        return self._state(Quality.GOOD, ())

    def _advance(self, now_s: float) -> None:
        changes = tuple(self.changes())
        if self._configuration is None or changes != self._known:
            self._known, self._configuration = changes, self._configured(changes, now_s)
        if self._readings is None:
            self._craft.begin(self._configuration)
        for change in changes:
            if self._start_s <= change.at_s <= now_s and change.used_si and change not in self._taken:
                self._taken.append(change)
                self._craft.take_logged(change)
        self._craft.advance(now_s, self._configuration)
        self._readings = self._instruments.read(now_s)

    def _configured(self, changes: tuple[ConfigurationChange, ...], now_s: float) -> Configuration:
        """How the craft is switched on the way home in force; from now on it meets that one's events."""
        craft = self._scenario.craft
        plan = decided(craft, self._scenario.plan, changes, now_s).plan
        option = plan.options[plan.committed]
        events = plan.events_under(option)
        if any(change.option is not None for change in changes):
            self._craft.fly(events)
        return Configuration(craft, plan.phases_under(option), events, changes)

    def _not_now(self, now_s: float) -> FeedState:
        ahead = age_text(self._craft.at_s - now_s)
        if self._readings is None:
            fault = f"{SOURCE_NAME}: it starts {ahead} after the moment that is asked for"
            return self._state(Quality.MISSING, (fault,))
        fault = f"{SOURCE_NAME}: it has lived {ahead} past the moment that is asked for and cannot go back"
        return self._state(Quality.SUSPECT, (fault,))

    def _state(self, quality: Quality, faults: tuple[str, ...]) -> FeedState:
        readings = self._readings
        if readings is None:
            readings = {
                name: Reading(
                    channel=name, quality=Quality.MISSING, why="the simulated craft has not started"
                )
                for name in self._scenario.craft.channels
            }
        at_s = None if self._readings is None else self._craft.at_s
        return FeedState(
            source=SOURCE_NAME,
            at_s=at_s,
            quality=quality,
            faults=faults,
            readings=readings,
            is_simulated=True,
        )
