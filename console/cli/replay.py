"""``endurance replay``: a recorded feed and journal through the same engine, moment by moment.

The same record, moments and scenario give the same Snapshots every time. The board does it live with
``board --feed FILE --as-of TIME --speed N``.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from console.cli import arguments as shared
from console.cli.histories import open_history
from console.cli.journals import journal_path, open_journal, wall_clock
from console.cli.opening import scenario_of
from console.cli.sources import instant_s
from console.errors import UsageError
from console.feed.growing_newest import growing_file_time_s
from console.feed.recorded_file import RecordedFileSource, first_time_s
from console.instants import at_epoch_plus
from console.report.export import margins_document
from console.report.replay import replay_head, replay_line
from console.scenario.load import Scenario
from console.session import Session

DEFAULT_EVERY_S = 600.0
MOST_MOMENTS = 1_000_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    parser.add_argument("--feed", metavar="FILE", required=True, help="what was recorded, CSV or JSON Lines")
    shared.add_journal(parser)
    parser.add_argument("--from", dest="begin", metavar="TIME", help="first moment (default: first reading)")
    parser.add_argument("--until", metavar="TIME", help="last moment (default: newest reading)")
    parser.add_argument(
        "--every",
        metavar="TIME",
        type=shared.stretch_s,
        default=DEFAULT_EVERY_S,
        help="between moments, as 1s (default: 10min)",
    )
    parser.add_argument(
        "--speed",
        metavar="N",
        type=shared.speed,
        help="N times as fast as it was (default: as fast as it can)",
    )
    shared.add_units(parser)
    parser.add_argument(
        "--json", action="store_true", help="print JSON Lines: a line of 'margins --json' for each moment"
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print what was known at each moment."""
    scenario = scenario_of(arguments)
    moments = list(_moments_s(arguments, scenario))
    clock = _Stepped(scenario, moments[0])
    session = _session(arguments, scenario, clock)
    began_s = time.monotonic()
    try:
        for index, moment_s in enumerate(moments):
            _wait(began_s, moment_s - moments[0], arguments.speed)
            clock.at_s = moment_s
            snapshot = session.tick()
            if arguments.json:
                sys.stdout.write(json.dumps(margins_document(snapshot), allow_nan=False) + "\n")
            else:
                sys.stdout.write((replay_head(snapshot) if index == 0 else "") + replay_line(snapshot))
            sys.stdout.flush()
    finally:
        session.close()
    return 0


class _Stepped:
    """A clock that stands at the moment that is looked at."""

    def __init__(self, scenario: Scenario, at_s: float) -> None:
        self._epoch = scenario.craft.epoch
        self.at_s = at_s

    def __call__(self) -> datetime:
        """Now, by it."""
        return at_epoch_plus(self._epoch, self.at_s)


def _session(arguments: argparse.Namespace, scenario: Scenario, clock: _Stepped) -> Session:
    path = journal_path(arguments.journal, scenario, simulated=False)
    craft = scenario.craft
    return Session(
        scenario=scenario,
        source=RecordedFileSource(Path(arguments.feed), craft.channels, craft.epoch),
        journal=open_journal(scenario, path, wall_clock, writes=False),
        clock=clock,
        operator="",
        position="",
        history=open_history(scenario, None, writes=False),
        reads_on=True,
        looks_back=True,
    )


def _moments_s(arguments: argparse.Namespace, scenario: Scenario) -> Iterator[float]:
    """When it is looked at; the last moment always is.

    Raises:
        EnduranceError: the file has no times, or the words do not fit.
    """
    path, epoch = Path(arguments.feed), scenario.craft.epoch
    begin, until = arguments.begin, arguments.until
    from_s = first_time_s(path, epoch) if begin is None else instant_s(begin, scenario, "--from")
    until_s = growing_file_time_s(path, epoch) if until is None else instant_s(until, scenario, "--until")
    if until_s < from_s:
        raise UsageError(f"--until: found a moment {(from_s - until_s) / 3600.0:.2f} h before the first one")
    count = int((until_s - from_s) / arguments.every)
    if count > MOST_MOMENTS:
        raise UsageError(f"--every: that makes {count:,} moments; write a longer time")
    for index in range(count + 1):
        yield from_s + index * arguments.every
    if from_s + count * arguments.every < until_s:
        yield until_s


def _wait(began_s: float, after_s: float, speed: float | None) -> None:
    """Wait until a moment is due at a speed."""
    if speed is not None:
        time.sleep(max(0.0, began_s + after_s / speed - time.monotonic()))
