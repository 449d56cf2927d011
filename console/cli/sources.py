"""Where readings come from, and what moment is now, by what was asked for on the command line."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from console.cli.journals import wall_clock
from console.display import age_text
from console.errors import InstantError, UsageError
from console.feed.source import Source
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus, parse_instant_s, seconds_since
from console.scenario.load import SIMULATION_FILE, Scenario

if TYPE_CHECKING:
    from console.record.history import History

Clock = Callable[[], datetime]

CLOCK_HELD = "the clock is held at the moment asked for: this is no live picture"
"""Stands on a board that was opened for one moment."""
LOOKS_BACK = "looking back: what was known at that moment, from the record; this is no live picture"
"""Stands beside figures of the past."""
NOT_LIVE_AFTER_S = 60.0
STATE_FILES = ("state.json", "state.yaml")
SIMULATED = "sim"
"""What ``--feed`` is called with for the simulated craft."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Opened:
    """A source, and the clock it is asked by."""

    source: Source
    clock: Clock
    notices: tuple[str, ...] = ()


def is_simulated(arguments: argparse.Namespace, scenario: Scenario, *, live: bool) -> bool:
    """Whether the simulated craft is meant."""
    if arguments.feed is not None or arguments.state is not None or arguments.as_of is not None:
        return bool(arguments.feed == SIMULATED)
    return live and (scenario.folder / SIMULATION_FILE).exists()


def opened_source(
    arguments: argparse.Namespace, scenario: Scenario, history: History, *, live: bool
) -> Opened:
    """The file that is meant, read as it grows or is rewritten.

    Args:
        arguments: the parsed command line.
        scenario: whose readings they are.
        history: where a growing file was left is remembered there.
        live: whether it is the board, whose clock is the real one where no moment is named.

    Raises:
        EnduranceError: there is no source, or the moment cannot be had.
    """
    clock = _clock(arguments, scenario, live=live)
    return Opened(
        source=_followed(arguments, scenario, history),
        clock=clock,
        notices=_not_live(arguments, scenario, clock, live=live),
    )


def looked_back(
    arguments: argparse.Namespace, scenario: Scenario, history: History, history_name: str
) -> Source:
    """What was recorded: the growing file that is named, else the history beside the journal.

    Args:
        arguments: the parsed command line.
        scenario: whose readings they are.
        history: that history.
        history_name: what a person calls it.

    Raises:
        UsageError: the simulated craft is asked for, which keeps no record.
    """
    craft = scenario.craft
    if arguments.feed == SIMULATED:
        raise UsageError(
            "--as-of: the simulated craft keeps no record; write one with 'endurance simulate --out FOLDER' "
            "and look back in that, with --feed FOLDER/feed.csv --journal FOLDER/journal.db"
        )
    if arguments.feed is not None:
        from console.feed.recorded_file import RecordedFileSource

        return RecordedFileSource(Path(arguments.feed), craft.channels, craft.epoch)
    from console.history_source import HistorySource

    return HistorySource(history, craft.channels, history_name)


def source_file(arguments: argparse.Namespace, scenario: Scenario) -> Path | None:
    """The file whose readings are meant; None where there is none."""
    if arguments.feed not in (None, SIMULATED):
        return Path(arguments.feed)
    if arguments.state is not None:
        named: Path = arguments.state
        return named
    return next((path for name in STATE_FILES if (path := scenario.folder / name).exists()), None)


def newest_s(arguments: argparse.Namespace, path: Path, epoch: datetime) -> float:
    """The newest time in a source's file, seconds since the epoch.

    Raises:
        FeedError: it has none.
    """
    if arguments.feed not in (None, SIMULATED):
        from console.feed.growing_newest import growing_file_time_s

        return growing_file_time_s(path, epoch)
    return state_file_time_s(path, epoch)


def moment_s(arguments: argparse.Namespace, scenario: Scenario, text: str) -> float:
    """A moment given with ``--at``, seconds since the epoch.

    Raises:
        EnduranceError: it is none, or the source has none.
    """
    if text != "state":
        return instant_s(text, scenario, "--at")
    path = source_file(arguments, scenario)
    if path is None:
        raise UsageError("--at state: there is no state file whose time could be taken")
    return newest_s(arguments, path, scenario.craft.epoch)


def instant_s(text: str, scenario: Scenario, option: str) -> float:
    """A moment given on the command line.

    Raises:
        UsageError: names the option, what was found and what to write.
    """
    try:
        return parse_instant_s(text, scenario.craft.epoch)
    except InstantError as error:
        raise UsageError(f"{option}: {error}") from None


def entry_moment_s(arguments: argparse.Namespace, scenario: Scenario) -> float:
    """Now for a log command: the time asked for, else the real one.

    A scenario whose epoch lies ahead of the real clock is a rehearsal: its own source's time is now.
    """
    epoch = scenario.craft.epoch
    if arguments.at is not None:
        return moment_s(arguments, scenario, arguments.at)
    now_s = seconds_since(epoch, wall_clock())
    path = source_file(arguments, scenario)
    return now_s if now_s >= 0.0 or path is None else newest_s(arguments, path, epoch)


def _followed(arguments: argparse.Namespace, scenario: Scenario, history: History) -> Source:
    craft, path = scenario.craft, source_file(arguments, scenario)
    if path is None:
        names = " or ".join(STATE_FILES)
        raise UsageError(
            f"{scenario.folder} has no {names}: name a source with --state FILE, --feed FILE or --feed sim"
        )
    if arguments.feed is None:
        return StateFileSource(path, craft.channels, craft.epoch)
    if arguments.at is not None:
        from console.feed.recorded_file import RecordedFileSource

        return RecordedFileSource(path, craft.channels, craft.epoch)
    from console.cli.growing import growing_source  # only who follows one pays for it

    return growing_source(path, craft, history)


def _clock(arguments: argparse.Namespace, scenario: Scenario, *, live: bool) -> Clock:
    is_named = arguments.state is not None or arguments.feed is not None
    if arguments.at is None and (live or is_named):
        return wall_clock
    if arguments.at is None and source_file(arguments, scenario) is None:
        return wall_clock  # the source's absence is told where it is opened
    moment = at_epoch_plus(scenario.craft.epoch, moment_s(arguments, scenario, arguments.at or "state"))
    return lambda: moment


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
