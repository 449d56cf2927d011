"""A whole contingency lived in one go: readings, entries and truth, for files and for judging forecasts.

It shares no forecasting code with the engine, and no engine may look into it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from console.craft.model import Craft
from console.engine.configuration import Configuration, ConfigurationChange
from console.feed.simulated_craft import SimulatedCraft
from console.feed.simulated_draws import Floats, Streams
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_faults_random import BEYOND_NEED_S, faults_of
from console.feed.simulated_faults_truth import Held
from console.feed.simulated_instruments import Instruments, Shown
from console.feed.simulated_operators import Act, Logbook, change_of, logbook_of
from console.feed.simulated_recorded import Drawn, Logged, Recorded
from console.feed.simulated_truth import TruthTable
from console.feed.simulation_file import Simulation
from console.scenario.load import Scenario

FAST_STEP_S = 60.0
"""Longest step while instruments are read: an eightieth of the time in which a small cabin's air changes."""
ONWARD_STEP_S = 150.0
ONWARD_EVERY_S = 300.0
"""How finely the truth is kept once nobody reads instruments any more."""
ROWS_AT_ONCE = 4096
"""How many looks are kept as lists before they become columns."""
CREW = "crew"
"""Who logs."""


class Contingency:
    """One contingency, to be run once.

    Args:
        scenario: the craft and the plan it flies, under the committed option.
        simulation: how it begins, with its own faults.
        faults: more of them.
        seed: another one than the simulation's.
        step_s: longest step of the truth.
        has_operators: whether anybody logs anything.
        lends: whether what a supply cannot give is lent, so that the end of each supply is its own.
        is_faultless: whether the simulation's own faults are left out, written and random ones.
    """

    def __init__(
        self,
        scenario: Scenario,
        simulation: Simulation,
        faults: Sequence[SimulatedFault] = (),
        *,
        seed: int | None = None,
        step_s: float = FAST_STEP_S,
        has_operators: bool = True,
        lends: bool = False,
        is_faultless: bool = False,
    ) -> None:
        self._scenario = scenario
        self._simulation = simulation
        self._option = scenario.plan.options[scenario.plan.committed]
        self.seed = simulation.seed if seed is None else seed
        self._streams = Streams(self.seed)
        self._step_s = step_s
        self._has_operators = has_operators
        self._lends = lends
        self.faults = faults_of(
            scenario,
            None if is_faultless else simulation.random_faults,
            (*(() if is_faultless else simulation.faults), *faults),
            simulation.initial_si,
            self._streams,
            simulation.start_s,
        )
        """Everything that goes wrong, in order of time."""

    def run(
        self,
        until_s: float,
        every_s: float = 60.0,
        *,
        from_s: float | None = None,
        horizon_s: float | None = None,
    ) -> Recorded:
        """Live it.

        Args:
            until_s: until when instruments are read.
            every_s: how often.
            from_s: from when on they are read; the simulation's start by default, and no earlier.
            horizon_s: until when the truth goes on after that, unless every supply's usable is gone before;
                need and 100 hours by default, and never before ``until_s``.
        """
        usual_s = self._option.need_s + BEYOND_NEED_S
        horizon_s = max(usual_s if horizon_s is None else horizon_s, until_s)
        book = self._logbook(horizon_s)
        start_s = self._simulation.start_s
        begin_s = start_s if from_s is None else max(from_s, start_s)
        count = max(math.floor((until_s - begin_s) / every_s + 1e-9) + 1, 0)
        times_s = begin_s + every_s * np.arange(count, dtype=np.float64)
        life = _Life(self._scenario, self._simulation, self._streams, self.faults, book, self._lends)
        life.craft.step_s = self._step_s
        shown = _joined(
            [life.read(times_s[at : at + ROWS_AT_ONCE]) for at in range(0, max(count, 1), ROWS_AT_ONCE)]
        )
        life.onward(until_s, horizon_s)
        return self._recorded(book, life, shown)

    def _recorded(self, book: Logbook, life: _Life, shown: Shown) -> Recorded:
        craft = self._scenario.craft
        return Recorded(
            craft=craft,
            seed=self.seed,
            times_s=shown.times_s,
            stamps_s=shown.stamps_s,
            values_si=dict(zip(craft.channels, shown.values_si.T, strict=True)),
            truth=life.table.over_time(),
            ran_out_s=life.craft.truth().ran_out_s,
            horizon_s=life.craft.at_s,
            acts=book.acts,
            logged=_logged(book.acts, craft),
            nothing_to_log=book.nothing_to_log,
            faults=self.faults,
            drawn=self._drawn(life),
        )

    def _logbook(self, horizon_s: float) -> Logbook:
        if not self._has_operators:
            return Logbook(acts=())
        start_s = self._simulation.start_s
        return logbook_of(self._scenario, self._streams, self.faults, start_s, horizon_s)

    def _drawn(self, life: _Life) -> Drawn:
        option = self._option
        late_s = option.arrival_spread_s * self._streams.normal(f"option/{option.name}/arrival")
        arrival_s = option.arrival_s + late_s
        events = self._scenario.plan.events_under(option)
        return Drawn(
            load_factors=life.craft.loads.factors,
            use_factors=life.craft.uses.factors,
            event_factors={event.name: life.craft.luck(event) for event in events},
            biases_si=life.instruments.biases_si,
            arrival_s=arrival_s,
            need_s=arrival_s + option.recovery_s + option.hold_s,
        )


class _Life:
    """A contingency in progress."""

    def __init__(
        self,
        scenario: Scenario,
        simulation: Simulation,
        streams: Streams,
        faults: Sequence[SimulatedFault],
        book: Logbook,
        lends: bool,
    ) -> None:
        craft, plan = scenario.craft, scenario.plan
        option = plan.options[plan.committed]
        phases, events = plan.phases_under(option), plan.events_under(option)
        done = _done(book.acts, craft)
        self._configuration = Configuration(craft, phases, events, done)
        self._to_take = [change for change in done if change.used_si]
        held = _held(book.acts, craft, self._configuration)
        self.craft = SimulatedCraft(scenario, simulation, streams, faults=faults, held=held, lends=lends)
        self.instruments = Instruments(
            craft, self.craft, simulation.biases_si, faults, streams, draws_biases=simulation.draws_biases
        )
        self.table = TruthTable(self.craft)
        self.craft.begin(self._configuration)

    def read(self, times_s: Floats) -> Shown:
        """Live on to some moments, and look at each."""
        looks = []
        for at_s in times_s.tolist():
            self._live(at_s)
            looks.append(self.instruments.look())
        return self.instruments.show(times_s, looks)

    def onward(self, until_s: float, horizon_s: float) -> None:
        """Live on until nothing is usable any more, and no further than the horizon."""
        self.craft.step_s = max(self.craft.step_s, ONWARD_STEP_S)
        at_s = max(until_s, self.craft.at_s)
        if at_s > self.craft.at_s:
            self._live(at_s)
        left = {name for name, usable_si in self.craft.usable_si().items() if usable_si > 0.0}
        while at_s < horizon_s and left:
            at_s = min(at_s + ONWARD_EVERY_S, horizon_s)
            self._live(at_s)
            left -= {name for name, usable_si in self.craft.usable_si().items() if usable_si <= 0.0}

    def _live(self, at_s: float) -> None:
        while self._to_take and self._to_take[0].at_s <= at_s:
            change = self._to_take.pop(0)
            self.craft.advance(max(change.at_s, self.craft.at_s), self._configuration)
            self.craft.take_logged(change)
        self.craft.advance(at_s, self._configuration)
        self.table.note()


def _joined(parts: Sequence[Shown]) -> Shown:
    return Shown(
        times_s=np.concatenate([part.times_s for part in parts]),
        stamps_s=np.concatenate([part.stamps_s for part in parts]),
        values_si=np.concatenate([part.values_si for part in parts]),
    )


def _done(acts: Sequence[Act], craft: Craft) -> list[ConfigurationChange]:
    """What the crew truly did to the configuration, and when, in order of time."""
    changes = [change_of(act, craft, act.done_s) for act in acts]
    done = [change for change in changes if change is not None and change.option is None]
    return sorted(done, key=lambda change: change.at_s)


def _held(acts: Sequence[Act], craft: Craft, configuration: Configuration) -> list[Held]:
    """What a step that is done later than the plan and the log say leaves as it was until then."""
    held = []
    for act in acts:
        change = change_of(act, craft, act.happened_s)
        if change is None or act.done_s <= act.happened_s:
            continue
        before = configuration.loads_at(math.nextafter(act.happened_s, -math.inf))
        held += [
            Held(load=name, state=before[name].state, from_s=act.happened_s, until_s=act.done_s)
            for name in change.loads
        ]
    return held


def _logged(acts: Sequence[Act], craft: Craft) -> tuple[Logged, ...]:
    """What changes the configuration as the journal has it, in the order in which it was written."""
    logged = []
    for act in acts:
        change = change_of(act, craft, act.happened_s, by=CREW)
        if change is not None and act.written_s is not None:
            logged.append(Logged(change=change, written_s=act.written_s, text=act.text))
    return tuple(sorted(logged, key=lambda each: each.written_s))
