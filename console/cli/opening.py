"""From a command's arguments to an open session: which scenario, source, clock and journal are meant.

Without a source a command reads the scenario's own state file at that file's own time, and the board runs the
simulated craft.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from console.cli.histories import history_path, open_history
from console.cli.journals import is_there, journal_path, open_journal, wall_clock
from console.cli.sources import (
    LOOKS_BACK,
    SIMULATED,
    Clock,
    entry_moment_s,
    instant_s,
    is_simulated,
    looked_back,
    opened_source,
)
from console.craft.shown import craft_shown_in
from console.engine.snapshot import Snapshot
from console.errors import FeedError, JournalError, UsageError
from console.feed.source import Source
from console.instants import at_epoch_plus
from console.scenario.load import Scenario, load_scenario, packaged_scenario
from console.session import Session
from console.units import UnitSystem

if TYPE_CHECKING:
    from console.record.history import History


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
    if arguments.as_of is not None:
        return _past(arguments, scenario, live=live)
    if is_simulated(arguments, scenario, live=live):
        return _rehearsal(arguments, scenario, writes=writes, live=live)
    journal = journal_path(arguments.journal, scenario, simulated=False)
    # For a moment of the past a growing file is read anew, as far as it went then.
    is_past_feed = arguments.feed is not None and arguments.at is not None
    history = open_history(scenario, None if is_past_feed else history_path(journal), writes=writes)
    opened = opened_source(arguments, scenario, history, live=live)
    return _session(
        arguments,
        scenario,
        opened.source,
        opened.clock,
        history,
        writes=writes,
        reads_on=not live,
        keeps=live,
        notices=opened.notices,
    )


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
    if arguments.as_of is not None:
        return _past_journal(arguments, scenario, writes=writes)
    moments = [at_epoch_plus(scenario.craft.epoch, entry_moment_s(arguments, scenario))]
    simulated = arguments.feed == SIMULATED
    session = _session(
        arguments, scenario, None, lambda: moments[-1], None, writes=writes, simulated=simulated
    )
    if simulated and arguments.at is None:
        # A rehearsal's own clock cannot be asked: its newest entry is the latest moment that is known of it.
        latest = session.known_entries.latest()
        moments += [] if latest is None else [max(moments[0], latest)]
    return session


def _session(
    arguments: argparse.Namespace,
    scenario: Scenario,
    source: Source | None,
    clock: Clock,
    history: History | None,
    *,
    writes: bool,
    simulated: bool = False,
    reads_on: bool = False,
    looks_back: bool = False,
    keeps: bool = False,
    notices: tuple[str, ...] = (),
) -> Session:
    path = journal_path(arguments.journal, scenario, simulated=simulated)
    # A rehearsal is written by the clock it lives by; all else by the host's, whatever moment is asked for.
    journal_clock = clock if simulated else wall_clock
    return Session(
        scenario=scenario,
        source=source,
        journal=open_journal(scenario, path, journal_clock, writes=writes, keeps=writes and keeps),
        clock=clock,
        operator=getattr(arguments, "operator", ""),
        position=getattr(arguments, "position", ""),
        notices=notices,
        history=history,
        reads_on=reads_on,
        looks_back=looks_back,
    )


def _rehearsal(arguments: argparse.Namespace, scenario: Scenario, *, writes: bool, live: bool) -> Session:
    from console.cli.rehearsal import Rehearsal  # only who rehearses pays for the simulated craft

    start_s = None if arguments.at is None else instant_s(arguments.at, scenario, "--at")
    rehearsal = Rehearsal(arguments, scenario, start_s, runs=live)
    # In memory: another rehearsal would have another past at the same moments.
    history = open_history(scenario, None, writes=False)
    session = _session(
        arguments,
        scenario,
        rehearsal.source,
        rehearsal.clock,
        history,
        writes=writes,
        simulated=True,
        keeps=live,
    )
    rehearsal.join(session)
    return session


def _past(arguments: argparse.Namespace, scenario: Scenario, *, live: bool) -> Session:
    """What was known at a moment; on a board it may go on from there."""
    from console.cli.clocks import RunningClock

    begin = at_epoch_plus(scenario.craft.epoch, instant_s(arguments.as_of, scenario, "--as-of"))
    path = history_path(journal_path(arguments.journal, scenario, simulated=False))
    history = open_history(scenario, None if arguments.feed else path, writes=False)
    if arguments.feed is None and not is_there(path):
        raise UsageError(
            f"--as-of: there is no history of readings at {path}; name the file that was recorded with "
            "--feed FILE, or the journal whose readings are meant with --journal FILE"
        )
    return _session(
        arguments,
        scenario,
        looked_back(arguments, scenario, history, f"history {path.name}"),
        RunningClock(begin, (arguments.speed or 0.0) if live else 0.0),
        history,
        writes=False,
        reads_on=True,
        looks_back=True,
        notices=(LOOKS_BACK,),
    )


def _past_journal(arguments: argparse.Namespace, scenario: Scenario, *, writes: bool) -> Session:
    """The entries that had been written at a moment."""
    if writes:
        raise UsageError(
            "--as-of: nothing can be logged in the past; log what happened earlier with --when TIME"
        )
    moment = at_epoch_plus(scenario.craft.epoch, instant_s(arguments.as_of, scenario, "--as-of"))
    simulated = arguments.feed == SIMULATED
    return _session(
        arguments, scenario, None, lambda: moment, None, writes=False, simulated=simulated, looks_back=True
    )
