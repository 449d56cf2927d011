"""From a command's arguments to an open session: which scenario, source, clock and journal are meant.

Without a source a command reads the scenario's own state file at that file's own time, and the board runs the
simulated craft.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from console.cli.journals import is_there, journal_path, open_journal, wall_clock
from console.craft.shown import craft_shown_in
from console.display import age_text
from console.engine.snapshot import Snapshot
from console.errors import FeedError, InstantError, JournalError, UsageError
from console.feed.source import Source
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus, parse_instant_s, seconds_since
from console.scenario.load import SIMULATION_FILE, Scenario, load_scenario, packaged_scenario
from console.session import Session
from console.units import UnitSystem

Clock = Callable[[], datetime]

CLOCK_HELD = "the clock is held at the moment asked for: this is no live picture"
"""Stands on a board that was opened for one moment."""

NOT_LIVE_AFTER_S = 60.0

STATE_FILES = ("state.json", "state.yaml")


def scenario_of(arguments: argparse.Namespace) -> Scenario:
    """The scenario that is meant, in the units that are asked for; the packaged demo where none is named.

    Raises:
        ScenarioError: with every fault of every file.
    """
    scenario = load_scenario(packaged_scenario() if arguments.scenario is None else arguments.scenario)
    asked = getattr(arguments, "units", None)
    system = scenario.craft.shown_in if asked is None else UnitSystem(asked)
    return replace(scenario, craft=craft_shown_in(scenario.craft, system))


def open_session(arguments: argparse.Namespace, *, writes: bool, live: bool = False) -> Session:
    """Open what a command needs.

    Args:
        arguments: the parsed command line.
        writes: whether it may add to the journal, which is then made where there is none.
        live: whether it is the board, which runs the simulated craft when no source is named.

    Raises:
        EnduranceError: scenario, source, time or journal cannot be used.
    """
    scenario = scenario_of(arguments)
    has_simulation = (scenario.folder / SIMULATION_FILE).exists()
    if arguments.feed == "sim" or (live and arguments.state is None and has_simulation):
        return _rehearsal(arguments, scenario, writes=writes, live=live)
    source, clock = _state_file(arguments, scenario, live=live)
    notices = _not_live(arguments, scenario, clock, live=live)
    return _session(arguments, scenario, source, clock, writes=writes, notices=notices)


def snapshot_of(arguments: argparse.Namespace) -> Snapshot:
    """One Snapshot for a command that prints and ends.

    Raises:
        EnduranceError: nothing can be opened, or the source has not one state to read.
    """
    snapshot = open_session(arguments, writes=False).tick()
    if snapshot.feed.at_s is None:
        raise FeedError("; ".join(snapshot.feed.faults) or f"{snapshot.feed.source} has no readings")
    return snapshot


def log_session(arguments: argparse.Namespace, *, writes: bool) -> Session:
    """A session for the journal alone: its clock says when an entry happens, and no source is read.

    Raises:
        EnduranceError: scenario, time or journal cannot be used.
    """
    scenario = scenario_of(arguments)
    if not writes and arguments.journal is not None and not is_there(arguments.journal):
        raise JournalError(f"{arguments.journal}: there is no journal; check the name given with --journal")
    moments = [at_epoch_plus(scenario.craft.epoch, _entry_moment_s(arguments, scenario))]
    simulated = arguments.feed == "sim"
    session = _session(arguments, scenario, None, lambda: moments[-1], writes=writes, simulated=simulated)
    if simulated and arguments.at is None:
        # A rehearsal's own clock cannot be asked: its newest entry is the latest moment that is known of it.
        moments.append(max(moments + [entry.happened_at for entry in session.entries()]))
    return session


def instant_s(text: str, scenario: Scenario, option: str) -> float:
    """A moment given on the command line.

    Raises:
        UsageError: names the option, what was found and what to write.
    """
    try:
        return parse_instant_s(text, scenario.craft.epoch)
    except InstantError as error:
        raise UsageError(f"{option}: {error}") from None


def _session(
    arguments: argparse.Namespace,
    scenario: Scenario,
    source: Source | None,
    clock: Clock,
    *,
    writes: bool,
    simulated: bool = False,
    notices: tuple[str, ...] = (),
) -> Session:
    path = journal_path(arguments.journal, scenario, simulated=simulated)
    # A rehearsal is written by the clock it lives by; all else by the host's, whatever moment is asked for.
    journal_clock = clock if simulated else wall_clock
    return Session(
        scenario=scenario,
        source=source,
        journal=open_journal(scenario, path, journal_clock, writes=writes),
        clock=clock,
        operator=getattr(arguments, "operator", ""),
        position=getattr(arguments, "position", ""),
        notices=notices,
    )


def _rehearsal(arguments: argparse.Namespace, scenario: Scenario, *, writes: bool, live: bool) -> Session:
    from console.cli.rehearsal import Rehearsal  # only who rehearses pays for the simulated craft

    start_s = None if arguments.at is None else instant_s(arguments.at, scenario, "--at")
    rehearsal = Rehearsal(arguments, scenario, start_s, runs=live)
    session = _session(arguments, scenario, rehearsal.source, rehearsal.clock, writes=writes, simulated=True)
    rehearsal.join(session)
    return session


def _state_file(arguments: argparse.Namespace, scenario: Scenario, *, live: bool) -> tuple[Source, Clock]:
    path = _state_path(arguments, scenario)
    if path is None:
        names = " or ".join(STATE_FILES)
        raise UsageError(f"{scenario.folder} has no {names}: name a source with --state FILE or --feed sim")
    source = StateFileSource(path, scenario.craft.channels, scenario.craft.epoch)
    if arguments.at is None and (live or arguments.state is not None):
        return source, wall_clock
    moment_s = _at_s(arguments.at or "state", scenario, path)
    moment = at_epoch_plus(scenario.craft.epoch, moment_s)
    return source, lambda: moment


def _not_live(
    arguments: argparse.Namespace, scenario: Scenario, clock: Clock, *, live: bool
) -> tuple[str, ...]:
    """What must stand beside figures that are of another moment than now."""
    if clock is wall_clock:
        return ()
    if live:
        return (CLOCK_HELD,)
    since_s = (wall_clock() - clock()).total_seconds()
    # A scenario whose epoch lies ahead of the real clock is a rehearsal: nobody takes it for now.
    is_rehearsal = wall_clock() < scenario.craft.epoch
    if arguments.at is not None or is_rehearsal or since_s < NOT_LIVE_AFTER_S:
        return ()
    return (f"as of the state file's own time, {age_text(since_s)} before now: not live (see --state)",)


def _entry_moment_s(arguments: argparse.Namespace, scenario: Scenario) -> float:
    """Now for a log command: the time asked for, else the real one.

    A scenario whose epoch lies ahead of the real clock is a rehearsal: its own state file's time is now.
    """
    epoch = scenario.craft.epoch
    path = _state_path(arguments, scenario)
    if arguments.at is not None:
        return _at_s(arguments.at, scenario, path)
    now_s = seconds_since(epoch, wall_clock())
    return now_s if now_s >= 0.0 or path is None else state_file_time_s(path, epoch)


def _state_path(arguments: argparse.Namespace, scenario: Scenario) -> Path | None:
    if arguments.state is not None:
        named: Path = arguments.state
        return named
    return next((path for name in STATE_FILES if (path := scenario.folder / name).exists()), None)


def _at_s(text: str, scenario: Scenario, state_file: Path | None) -> float:
    if text != "state":
        return instant_s(text, scenario, "--at")
    if state_file is None:
        raise UsageError("--at state: there is no state file whose time could be taken")
    return state_file_time_s(state_file, scenario.craft.epoch)
