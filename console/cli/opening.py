"""From a command's arguments to an open session: which scenario, source, clock and journal are meant.

This is the one place that knows the real clock. Without a source a command reads the scenario's own state
file at that file's own time, and the board runs the simulated craft.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from console.craft.scenario import Scenario, load_scenario, packaged_scenario
from console.engine.snapshot import Snapshot
from console.errors import FeedError, InstantError, JournalError, UsageError
from console.feed.source import Source
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus, format_utc, parse_instant_s, seconds_since
from console.record.journal import Journal
from console.session import Session

Clock = Callable[[], datetime]

STATE_FILES = ("state.json", "state.yaml")


@dataclass(frozen=True, kw_only=True, slots=True)
class Feed:
    """A source and the clock it lives by."""

    source: Source
    clock: Clock
    is_simulated: bool = False


def wall_clock() -> datetime:
    """Now, UTC."""
    return datetime.now(UTC)


def scenario_of(arguments: argparse.Namespace) -> Scenario:
    """The scenario that is meant; the packaged demo where none is named.

    Raises:
        ScenarioError: with every fault of every file.
    """
    return load_scenario(packaged_scenario() if arguments.scenario is None else arguments.scenario)


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
    feed = _feed(arguments, scenario, live=live)
    journal_path = arguments.journal or default_journal(scenario, simulated=feed.is_simulated)
    journal = open_journal(scenario, journal_path, writes=writes)
    session = Session(
        scenario=scenario,
        source=feed.source,
        journal=journal,
        clock=feed.clock,
        operator=getattr(arguments, "operator", ""),
        position=getattr(arguments, "position", ""),
    )

    return session


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
    path = arguments.journal or default_journal(scenario, simulated=arguments.feed == "sim")
    if not writes and not path.exists() and arguments.journal is not None:
        raise JournalError(f"{path}: there is no journal; check the name given with --journal")
    moment = at_epoch_plus(scenario.craft.epoch, _entry_moment_s(arguments, scenario))
    return Session(
        scenario=scenario,
        source=None,
        journal=open_journal(scenario, path, writes=writes),
        clock=lambda: moment,
        operator=getattr(arguments, "operator", ""),
        position=getattr(arguments, "position", ""),
    )


def open_journal(scenario: Scenario, path: Path, *, writes: bool) -> Journal | None:
    """The journal; None where there is none and nothing is to be written.

    Raises:
        JournalError: it cannot be opened, or is another scenario's.
    """
    if not writes and not path.exists():
        return None
    return Journal.open(
        path,
        scenario=scenario.slug,
        epoch=scenario.craft.epoch,
        clock=wall_clock,
        monotonic=time.monotonic,
        create=writes,
        read_only=not writes,
    )


def default_journal(scenario: Scenario, *, simulated: bool) -> Path:
    """One journal per scenario and epoch in the user's state folder; the simulated craft has its own."""
    state_home = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    stamp = format_utc(scenario.craft.epoch).replace("-", "").replace(":", "")
    return state_home / "endurance" / f"{scenario.slug}-{stamp}{'-simulated' if simulated else ''}.journal"


def _entry_moment_s(arguments: argparse.Namespace, scenario: Scenario) -> float:
    """Now for a log command: the time asked for, else the real one.

    A scenario whose epoch lies ahead of the real clock is a rehearsal: its own state file's time is now.

    Raises:
        EnduranceError: the time cannot be read.
    """
    epoch = scenario.craft.epoch
    if arguments.at is not None:
        return _at_s(arguments.at, scenario, _own_state_file(arguments, scenario))
    now_s = seconds_since(epoch, wall_clock())
    own = _own_state_file(arguments, scenario)
    if now_s >= 0.0 or own is None:
        return now_s
    return state_file_time_s(own, epoch)


def instant_s(text: str, scenario: Scenario, option: str) -> float:
    """A moment given on the command line.

    Raises:
        UsageError: names the option, what was found and what to write.
    """
    try:
        return parse_instant_s(text, scenario.craft.epoch)
    except InstantError as error:
        raise UsageError(f"{option}: {error}") from None


def _feed(arguments: argparse.Namespace, scenario: Scenario, *, live: bool) -> Feed:
    simulated = arguments.feed == "sim" or (live and arguments.state is None and _has_simulation(scenario))
    if simulated:
        return _simulated(arguments, scenario)
    path = _own_state_file(arguments, scenario)
    if path is None:
        names = " or ".join(STATE_FILES)
        raise UsageError(f"{scenario.folder} has no {names}: name a source with --state FILE or --feed sim")
    source = StateFileSource(path, scenario.craft.channels, scenario.craft.epoch)
    if arguments.at is not None:
        moment = at_epoch_plus(scenario.craft.epoch, _at_s(arguments.at, scenario, path))
    elif arguments.state is None:
        moment = at_epoch_plus(scenario.craft.epoch, state_file_time_s(path, scenario.craft.epoch))
    else:
        return Feed(source=source, clock=wall_clock)
    return Feed(source=source, clock=lambda: moment)


def _own_state_file(arguments: argparse.Namespace, scenario: Scenario) -> Path | None:
    if getattr(arguments, "state", None) is not None:
        named: Path = arguments.state
        return named
    return next((path for name in STATE_FILES if (path := scenario.folder / name).exists()), None)


def _at_s(text: str, scenario: Scenario, state_file: Path | None) -> float:
    if text != "state":
        return instant_s(text, scenario, "--at")
    if state_file is None:
        raise UsageError("--at state: there is no state file whose time could be taken")
    return state_file_time_s(state_file, scenario.craft.epoch)


def _has_simulation(scenario: Scenario) -> bool:
    return (scenario.folder / "simulation.yaml").exists()
