"""A simulated craft as a source of readings, for the demo board and ``--feed sim``.

It advances its truth to the moment that is asked for and says what its instruments show then. Steps logged on
the board are switched in the truth, so that a power-down lowers the currents that are read.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from console.craft.channels import Channel
from console.display import age_text
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.decisions import decided
from console.engine.reading import FeedState, Quality, Reading
from console.feed.last_good import LastGood
from console.feed.simulated_craft import SimulatedCraft, Truth
from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulated_faults_random import faults_of
from console.feed.simulated_faults_truth import Held
from console.feed.simulated_instruments import Instruments
from console.feed.simulation_file import Simulation
from console.feed.validity import Said, not_said
from console.feed.word import Word
from console.scenario.load import Scenario

SOURCE_NAME = "simulated craft"

Changes = Callable[[], Sequence[ConfigurationChange]]


class SimulatedSource:
    """Readings from a craft that exists only here.

    The same seed, polls and changes give the same readings. Faults of the simulation happen as it lives:
    those of the craft, of its instruments, and steps done later than logged; entries are written late or
    forgotten by whoever is at the board, and not here. A step that is logged late is switched when it is
    first seen, from the moment of the last poll on: what was lived is not lived again.

    Args:
        scenario: the craft and its plan; the committed option is flown.
        simulation: how it begins.
        changes: the logged steps; a session sets it when the journal is open.
    """

    def __init__(self, scenario: Scenario, simulation: Simulation, changes: Changes = lambda: ()) -> None:
        self.changes = changes
        self._scenario = scenario
        streams = Streams(simulation.seed)
        self.faults = faults_of(
            scenario,
            simulation.random_faults,
            simulation.faults,
            simulation.initial_si,
            streams,
            simulation.start_s,
        )
        """Everything that goes wrong, in order of time; mistakes in the journal are the operators' own."""
        self._mistimed = [fault for fault in self.faults if fault.kind is FaultKind.MISTIMED_ENTRY]
        self._craft = SimulatedCraft(scenario, simulation, streams, faults=self.faults)
        self._instruments = Instruments(
            scenario.craft,
            self._craft,
            simulation.biases_si,
            self.faults,
            streams,
            draws_biases=simulation.draws_biases,
        )
        self._last_good = LastGood(scenario.craft.channels, "the simulated craft has not started")
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
        is_believed = self._last_good.time_is_believed
        return self._state(Quality.GOOD if is_believed else Quality.SUSPECT, self._last_good.faults)

    def _advance(self, now_s: float) -> None:
        changes = tuple(self.changes())
        if self._configuration is None or changes != self._known:
            self._hold_mistimed(changes)
            self._known, self._configuration = changes, self._configured(changes, now_s)
        if self._readings is None:
            self._craft.begin(self._configuration)
        for change in changes:
            if self._start_s <= change.at_s <= now_s and change.used_si and change not in self._taken:
                self._taken.append(change)
                self._craft.take_logged(change)
        self._craft.advance(now_s, self._configuration)
        self._readings = self._read(now_s)

    def _read(self, now_s: float) -> dict[str, Reading]:
        """Look, and judge what is shown as any other source's word is judged."""
        true_si = self._instruments.look()
        shown = self._instruments.show(np.array([now_s]), [true_si])
        stamp_s, values_si = float(shown.stamps_s[0]), shown.values_si[0].tolist()
        channels = self._scenario.craft.channels
        said = {
            name: self._said(channel, value_si, now_s, stamp_s)
            for (name, channel), value_si in zip(channels.items(), values_si, strict=True)
        }
        self._last_good.take(Word(at_s=stamp_s, said=said, faults=()), now_s)
        readings = dict(self._last_good.readings)
        for name, seen_si in zip(channels, true_si, strict=True):
            if math.isnan(seen_si):
                why = self._instruments.why_not(name)
                readings[name] = Reading(channel=name, quality=Quality.MISSING, why=why)
        return readings

    def _said(self, channel: Channel, value_si: float, now_s: float, stamp_s: float) -> Said:
        if math.isnan(value_si):
            is_null = self._instruments.faults.says_null(channel.name, now_s)
            return not_said("the source says null" if is_null else "not in what the simulated craft sends")
        low_si = -math.inf if channel.low_si is None else channel.low_si
        high_si = math.inf if channel.high_si is None else channel.high_si
        if not low_si <= value_si <= high_si:
            found = f"{channel.unit.from_si(value_si):.6g} {channel.unit.text}"
            return Said(quality=Quality.SUSPECT, why=f"found {found}, beyond the channel's range")
        return Said(quality=Quality.GOOD, value_si=value_si, at_s=stamp_s)

    def _hold_mistimed(self, changes: tuple[ConfigurationChange, ...]) -> None:
        """What a fault says was done later than logged stays as it is until then."""
        known = self._known or ()
        for change in changes:
            fault = None if change in known else self._fault_of(change)
            if fault is None or not change.loads or self._configuration is None:
                continue
            self._mistimed.remove(fault)
            before = self._configuration.loads_at(self._craft.at_s)
            for name in change.loads:
                until_s = change.at_s + fault.by_s
                self._craft.hold(
                    Held(load=name, state=before[name].state, from_s=change.at_s, until_s=until_s)
                )

    def _fault_of(self, change: ConfigurationChange) -> SimulatedFault | None:
        """The fault that befalls a step that was logged: its own, or one of whichever step comes next."""
        for fault in self._mistimed:
            is_meant = fault.step is None or change.label == "/".join(fault.step)
            if fault.at_s <= change.at_s and is_meant and fault.by_s > 0.0:
                return fault
        return None

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
        at_s = None if self._readings is None else self._last_good.at_s
        return FeedState(
            source=SOURCE_NAME,
            at_s=at_s,
            quality=quality,
            faults=faults,
            readings=readings,
            is_simulated=True,
        )
