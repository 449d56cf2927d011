"""``endurance simulate``: run the simulated craft and write what its instruments and crew would have said.

Times are the scenario's own. The same seed and words give the same feed and truth, to the byte.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from console.cli import arguments as shared
from console.cli.opening import scenario_of
from console.cli.simulated_entries import write_journal
from console.cli.sources import instant_s
from console.display import elapsed_text
from console.errors import UsageError, YamlError
from console.feed.simulated_contingency import FAST_STEP_S, Contingency
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_faults_file import FaultWords, read_fault
from console.feed.simulated_files import csv_feed, jsonl_feed, truth_lines
from console.feed.simulated_recorded import Recorded
from console.feed.simulation_file import Simulation, read_simulation
from console.instants import at_epoch_plus, format_utc
from console.record.entry import Entry
from console.report.export import entry_document, to_text
from console.scenario.faults import FaultList
from console.scenario.fields import Node
from console.scenario.load import Scenario
from console.scenario.yaml_text import parse_yaml

FEEDS: dict[str, Callable[[Recorded], Iterator[str]]] = {"csv": csv_feed, "jsonl": jsonl_feed}
FILES = ("feed.csv", "feed.jsonl", "truth.jsonl", "entries.jsonl", "journal.db")
MOST_MOMENTS = 2_000_000
"""Of readings in one run: three weeks of every second."""
DEFAULT_TRUTH_EVERY_S = 600.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    parser.add_argument("--out", metavar="FOLDER", type=Path, required=True, help="where the files go")
    parser.add_argument("--force", action="store_true", help="write over an earlier run's files")
    parser.add_argument(
        "--seed", metavar="N", type=shared.seed, help="another contingency than simulation.yaml's"
    )
    parser.add_argument("--from", dest="begin", metavar="TIME", help="first reading (default: its start)")
    end = parser.add_mutually_exclusive_group()
    end.add_argument("--until", metavar="TIME", help="last reading (default: need)")
    end.add_argument("--hours", metavar="H", type=_hours, help="last reading, so long after the first")
    parser.add_argument(
        "--every",
        metavar="TIME",
        type=shared.stretch_s,
        default=60.0,
        help="between readings, as 1s (default: 60s)",
    )
    parser.add_argument(
        "--truth-every",
        metavar="TIME",
        type=shared.stretch_s,
        default=DEFAULT_TRUTH_EVERY_S,
        help="between the states in truth.jsonl (default: 10min)",
    )
    parser.add_argument("--format", choices=list(FEEDS), default="csv", help="of the feed (default: csv)")
    parser.add_argument("--no-operators", action="store_true", help="nobody logs anything")
    parser.add_argument(
        "--fault",
        metavar="KIND:KEY=VALUE,…",
        action="append",
        default=[],
        help="one more fault, in the words of simulation.yaml, as leak:at=T+30h,store=o2-1,rate=0.1 kg/h; "
        "may be given again",
    )
    shared.add_json(parser)
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Live the contingency and write its files."""
    scenario = scenario_of(arguments)
    simulation = read_simulation(scenario)
    simulation = replace(simulation, faults=(*simulation.faults, *_faults(arguments.fault, scenario)))
    stretch = _stretch(arguments, scenario, simulation)
    folder: Path = arguments.out
    _make_room(folder, may_replace=arguments.force)
    contingency = Contingency(
        scenario,
        simulation,
        seed=arguments.seed,
        step_s=min(stretch.every_s, FAST_STEP_S),
        has_operators=not arguments.no_operators,
    )
    recorded = contingency.run(stretch.until_s, stretch.every_s, from_s=stretch.from_s)
    files = _write(folder, recorded, arguments.format, arguments.truth_every)
    entries = write_journal(folder / "journal.db", scenario, recorded, stretch.until_s)
    _write_lines(folder / "entries.jsonl", (json.dumps(entry_document(entry)) + "\n" for entry in entries))
    document = _summary(folder, recorded, files, entries, stretch)
    sys.stdout.write(
        to_text(document) if arguments.json else _text(folder, recorded, files, entries, stretch)
    )
    return 0


@dataclass(frozen=True, kw_only=True, slots=True)
class _Stretch:
    """When instruments are read."""

    from_s: float
    until_s: float
    every_s: float


def _stretch(arguments: argparse.Namespace, scenario: Scenario, simulation: Simulation) -> _Stretch:
    start_s = simulation.start_s
    from_s = start_s if arguments.begin is None else instant_s(arguments.begin, scenario, "--from")
    if from_s < start_s:
        raise UsageError(
            f"--from: found {arguments.begin!r}; the simulated craft starts at {elapsed_text(start_s)}, "
            "write that or later"
        )
    until_s = scenario.plan.options[scenario.plan.committed].need_s
    if arguments.hours is not None:
        until_s = from_s + arguments.hours * 3600.0
    elif arguments.until is not None:
        until_s = instant_s(arguments.until, scenario, "--until")
    if until_s <= from_s:
        raise UsageError(
            f"--until: the last reading lies at {elapsed_text(until_s)}, not after the first one"
        )
    if (until_s - from_s) / arguments.every > MOST_MOMENTS:
        raise UsageError(
            f"--every: more than {MOST_MOMENTS:,} readings of every channel; write a longer time"
        )
    return _Stretch(from_s=from_s, until_s=until_s, every_s=arguments.every)


def _faults(texts: Iterable[str], scenario: Scenario) -> list[SimulatedFault]:
    """The faults of the command line, in the words of simulation.yaml; all that is wrong is told at once."""
    words = FaultWords(craft=scenario.craft, procedures=scenario.procedures)
    told: list[str] = []
    faults = []
    for text in texts:
        kind, _, rest = text.partition(":")
        pairs = [f"kind: {kind}", *(part.replace("=", ": ", 1) for part in rest.split(",") if part.strip())]
        faulty = FaultList(f"--fault {text}")
        try:
            tree = parse_yaml("{" + ", ".join(pairs) + "}", file=faulty.file)
        except YamlError as error:
            told.append(f"{faulty.file}: found {error.found}; write KIND:KEY=VALUE,KEY=VALUE")
            continue
        fault = read_fault(Node(value=tree, place="", line=None, faults=faulty), words)
        told.extend(str(replace(each, line=None)) for each in faulty.in_file_order())
        faults.extend([] if fault is None else [fault])
    if told:
        raise UsageError("\n".join(told))
    return faults


def _make_room(folder: Path, *, may_replace: bool) -> None:
    """Make the folder, and refuse to write over what is there already."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        there = [name for name in FILES if (folder / name).exists()]
        if there and not may_replace:
            raise UsageError(
                f"--out: {folder} holds {', '.join(there)} already; name another folder, or add --force"
            )
        for name in there:
            (folder / name).unlink()
        with suppress(FileNotFoundError):
            (folder / "journal.db-journal").unlink()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"--out: {folder} cannot be written to ({reason}); name another folder") from None


def _write(folder: Path, recorded: Recorded, feed_format: str, truth_every_s: float) -> dict[str, int]:
    """The feed and the truth; returns the lines of each."""
    feed = f"feed.{feed_format}"
    return {
        feed: _write_lines(folder / feed, FEEDS[feed_format](recorded)),
        "truth.jsonl": _write_lines(folder / "truth.jsonl", truth_lines(recorded, truth_every_s)),
    }


def _write_lines(path: Path, lines: Iterable[str]) -> int:
    count = 0
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            for line in lines:
                file.write(line)
                count += 1
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"{path}: cannot be written ({reason})") from None
    return count


def _summary(
    folder: Path, recorded: Recorded, files: dict[str, int], entries: tuple[Entry, ...], stretch: _Stretch
) -> dict[str, Any]:
    epoch = recorded.craft.epoch

    def moments(ends: Any) -> dict[str, str]:
        return {name: format_utc(at_epoch_plus(epoch, at_s)) for name, at_s in ends.items()}

    return {
        "format": 1,
        "seed": recorded.seed,
        "from": format_utc(at_epoch_plus(epoch, stretch.from_s)),
        "until": format_utc(at_epoch_plus(epoch, stretch.until_s)),
        "every_s": stretch.every_s,
        "files": {
            **{name: {"path": str(folder / name), "lines": lines} for name, lines in files.items()},
            "entries.jsonl": {"path": str(folder / "entries.jsonl"), "lines": len(entries)},
            "journal.db": {"path": str(folder / "journal.db"), "entries": len(entries)},
        },
        "faults": len(recorded.faults),
        "need": format_utc(at_epoch_plus(epoch, recorded.need_s)),
        "usable_gone": moments(recorded.usable_gone_s),
        "ran_out": moments(recorded.ran_out_s),
        "nothing_to_log": list(recorded.nothing_to_log),
    }


def _text(
    folder: Path, recorded: Recorded, files: dict[str, int], entries: tuple[Entry, ...], stretch: _Stretch
) -> str:
    lines = [
        f"{recorded.craft.name}, seed {recorded.seed}: read from {elapsed_text(stretch.from_s)} to "
        f"{elapsed_text(stretch.until_s)}, {len(recorded.faults)} faults",
        *(f"  {folder / name}: {count} lines" for name, count in files.items()),
        f"  {folder / 'journal.db'} and entries.jsonl: {len(entries)} entries",
        f"needed until {elapsed_text(recorded.need_s)}, by the true arrival",
    ]
    for name in recorded.craft.supplies:
        gone_s = recorded.usable_gone_s.get(name)
        end = "lasts beyond what was simulated" if gone_s is None else f"usable until {elapsed_text(gone_s)}"
        lines.append(f"  {name}: {end}")
    lines += [f"nothing to log: {text}" for text in recorded.nothing_to_log]
    return "\n".join(lines) + "\n"


def _hours(text: str) -> float:
    hours = float(text)
    if not 0.0 < hours <= 24.0 * 366.0:
        raise argparse.ArgumentTypeError("write a number of hours above 0, up to a year")
    return hours
