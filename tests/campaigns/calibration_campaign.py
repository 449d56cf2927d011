"""Whether forecasts are as sure as they say: simulated contingencies, the engine against plain methods.

    python tests/campaigns/calibration_campaign.py --contingencies 300 --jobs 2 --seed 1 --regimes all

Prints a table for each regime and a verdict on each target; exit code 1 if one is missed. ``--json FILE``
keeps every scored forecast, ``--report FILE`` reports such a file again. The contingencies of
``--contingencies`` are shared out among the regimes. A campaign that was broken off goes on where it
stopped, from ``--cache``, as long as no source has changed.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import os
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from calibration_regimes import Case, Regime, case_of
from calibration_report import report, verdicts
from calibration_running import Came, rows_of
from calibration_truth import TOP, recorded, sources_digest, without_wander

from console.feed.simulation_file import Simulation, read_simulation
from console.scenario.load import Scenario, load_scenario

SCENARIOS = ("tern", "whelk", "vole")
ENGINE_SOURCES = (
    *(
        "console/*.py",
        "console/craft/*.py",
        "console/engine/**/*.py",
        "console/feed/*.py",
        "console/physics/*.py",
    ),
    *("console/record/*.py", "console/scenario/*.py", "tests/campaigns/calibration_*.py", "configs/*/*.yaml"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """One contingency to be lived and judged."""

    regime: Regime
    scenario: str
    seed: int
    number: int
    draws: int
    cache: Path | None
    has_floor: bool = False

    @property
    def name(self) -> str:
        """Which it is: the same name is the same contingency."""
        return f"{self.regime.value}-{self.scenario}-{self.seed}-{self.number}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Done:
    """What came of one."""

    name: str
    rows: list[dict[str, Any]]
    living_s: float
    judging_s: float


def main() -> int:
    """Run the campaign and print what was found."""
    arguments = _arguments()
    saved: Path | None = arguments.report
    rows = json.loads(saved.read_text())["forecasts"] if saved else _run(arguments)
    if arguments.json:
        arguments.json.write_text(json.dumps({"arguments": _said(arguments), "forecasts": rows}))
    print(report(rows, arguments.by))
    return 1 if any(verdict.holds is False for verdict in verdicts(rows)) else 0


def tasks_of(arguments: argparse.Namespace) -> list[Task]:
    """The contingencies, shared out evenly among the regimes and in each among the scenarios."""
    regimes, scenarios = _regimes(arguments.regimes), arguments.scenarios.split(",")
    return [
        Task(
            regime=regime,
            scenario=scenarios[number % len(scenarios)],
            seed=arguments.seed,
            number=number,
            draws=arguments.draws,
            cache=arguments.cache,
            has_floor=arguments.floor,
        )
        for number in range(-(-arguments.contingencies // len(regimes)))
        for regime in regimes
    ]


def judged(task: Task) -> Done:
    """Live one contingency and score its forecasts."""
    begun = time.perf_counter()
    case = case_of_task(task)
    came = Came(
        case=case,
        truth=recorded(case, task.cache),
        foreseeable=without_wander(case, task.cache) if task.has_floor else None,
    )
    lived = time.perf_counter()
    rows = [row.document() for row in rows_of(came, task.draws)]
    return Done(name=task.name, rows=rows, living_s=lived - begun, judging_s=time.perf_counter() - lived)


def case_of_task(task: Task) -> Case:
    """The contingency that a task names."""
    scenario, simulation = _scenario(task.scenario)
    seed = int.from_bytes(hashlib.sha256(task.name.encode()).digest()[:6], "big")
    return case_of(task.regime, scenario, simulation, seed, task.name)


@lru_cache(maxsize=8)
def _scenario(name: str) -> tuple[Scenario, Simulation]:
    scenario = load_scenario(TOP / "configs" / name)
    return scenario, read_simulation(scenario)


def _run(arguments: argparse.Namespace) -> list[dict[str, Any]]:
    tasks = tasks_of(arguments)
    kept = _Kept(arguments)
    todo = [task for task in tasks if task.name not in kept.rows]
    if len(todo) < len(tasks):
        print(f"{len(tasks) - len(todo)} contingencies were judged before", file=sys.stderr)
    for number, done in enumerate(_all_done(todo, arguments.jobs), start=1):
        kept.take(done)
        print(
            f"{number}/{len(todo)} {done.name}: {len(done.rows)} forecasts, lived in {done.living_s:.1f} s, "
            f"judged in {done.judging_s:.1f} s",
            file=sys.stderr,
        )
    return [row for task in tasks for row in kept.rows[task.name]]


def _all_done(tasks: Sequence[Task], jobs: int) -> Iterator[Done]:
    # One thread a process, set before it loads numpy: threads that wait for each other cost a factor of ten.
    os.environ.update(dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1"))
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        yield from pool.imap_unordered(judged, tasks)


class _Kept:
    """The contingencies that were judged already by just this engine and campaign, line by line on disk."""

    def __init__(self, arguments: argparse.Namespace) -> None:
        self.rows: dict[str, list[dict[str, Any]]] = {}
        self._path: Path | None = None
        if arguments.cache is None:
            return
        said = f"{sources_digest(ENGINE_SOURCES)} {arguments.draws} {arguments.floor}"
        digest = hashlib.sha256(said.encode()).hexdigest()
        arguments.cache.mkdir(parents=True, exist_ok=True)
        self._path = arguments.cache / f"judged-{digest[:16]}.jsonl"
        if self._path.exists():
            # A last line that was cut off by a sudden end does not count.
            lines = self._path.read_text().split("\n")[:-1]
            self.rows = {line["name"]: line["rows"] for line in map(json.loads, lines)}

    def take(self, done: Done) -> None:
        """Keep one more."""
        self.rows[done.name] = done.rows
        if self._path is not None:
            with self._path.open("a") as file:
                file.write(json.dumps({"name": done.name, "rows": done.rows}) + "\n")


def _regimes(words: str) -> list[Regime]:
    return list(Regime) if words == "all" else [Regime(word) for word in words.split(",")]


def _said(arguments: argparse.Namespace) -> dict[str, Any]:
    return {name: str(value) for name, value in vars(arguments).items()}


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--contingencies", type=int, default=300, help="how many in all")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--regimes", default="all", help=", ".join(regime.value for regime in Regime))
    parser.add_argument("--scenarios", default=",".join(SCENARIOS))
    parser.add_argument("--draws", type=int, default=500, help="samples of a forecast")
    parser.add_argument(
        "--floor", action="store_true", help="also the error of who knows everything but how people stray"
    )
    parser.add_argument("--cache", type=Path, help="a folder that keeps what was lived and what was judged")
    parser.add_argument("--json", type=Path, help="keep every scored forecast in this file")
    parser.add_argument("--report", type=Path, help="report such a file, run nothing")
    parser.add_argument(
        "--by",
        type=lambda text: text.split(","),
        default=["supply"],
        help="columns to break coverage down by",
    )
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
