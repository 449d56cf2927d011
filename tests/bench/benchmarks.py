"""Speed as ratios of two things measured in one run: ``python tests/bench/benchmarks.py [NAME …]``.

Names: margins, paint, figures, tick, central. Prints; judges nothing. Run it on a quiet machine and quote
the medians.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

from pint_loop import PintLoop
from whole_process import Ratio, paired, run_s, seen_s

from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.feed.state_file import StateFileSource, state_file_time_s
from console.scenario.load import load_scenario, packaged_scenario

HERE = Path(__file__).parent


def margins(pairs: int = 9) -> Ratio:
    """``endurance margins`` against a process that only imports numpy, pint and yaml."""
    return paired(
        lambda: run_s(["-m", "console", "margins"]),
        lambda: run_s(["-c", "import numpy, pint, yaml"]),
        pairs,
    )


def paint(pairs: int = 9) -> Ratio:
    """The board's first paint against that of a bare Textual app with the same imports."""
    return _until(b"FIRST READING", pairs)


def figures(pairs: int = 9) -> Ratio:
    """The board's first figures, read and reckoned, against the first paint of the same bare app."""
    return _until(b"RUNS OUT FIRST", pairs)


def _until(sign: bytes, pairs: int) -> Ratio:
    environment = {"TERM": "xterm-256color", "COLUMNS": "120", "LINES": "36"}
    board = ["-m", "console", "board", "--read-only", "--journal", "/nowhere/endurance.journal"]
    return paired(
        lambda: seen_s(board, sign, environment),
        lambda: seen_s([str(HERE / "bare_app.py")], b"READY", environment),
        pairs,
    )


def demo_situation() -> Situation:
    """The demo at its own time."""
    scenario = load_scenario(packaged_scenario())
    path = scenario.folder / "state.json"
    at_s = state_file_time_s(path, scenario.craft.epoch)
    feed = StateFileSource(path, scenario.craft.channels, scenario.craft.epoch).poll(at_s)
    return Situation(
        slug=scenario.slug, craft=scenario.craft, plan=scenario.plan, feed=feed, changes=(), at_s=at_s
    )


def tick(pairs: int = 5, samples: int = 20) -> Ratio:
    """One tick of the demo against the same sums, sample by sample, in loops over pint quantities.

    Twenty samples instead of the tick's two thousand, for both, since the loop takes seconds for these.
    """
    situation, draws = demo_situation(), Draws(seed=5, count=samples)
    loop = PintLoop(situation, assess(situation, None, draws).snapshot, draws)
    return paired(
        lambda: _seconds(lambda: assess(situation, None, draws), 5), lambda: _seconds(loop.run, 1), pairs
    )


def central() -> Ratio:
    """The same for the central case alone, which leaves the engine nothing to gain by arrays."""
    return tick(pairs=9, samples=0)


def _seconds(work: Callable[[], object], times: int) -> float:
    begin = time.perf_counter()
    for _ in range(times):
        work()
    return (time.perf_counter() - begin) / times


BENCHMARKS: dict[str, tuple[Callable[[], Ratio], str]] = {
    "margins": (margins, "at most 1.6 of importing numpy, pint and yaml"),
    "paint": (paint, "at most 1.6 of a bare Textual app"),
    "figures": (figures, "none; figures instead of a first paint"),
    "tick": (tick, "under 0.1 of a pint loop"),
    "central": (central, "none; without samples"),
}

if __name__ == "__main__":
    for name in sys.argv[1:] or BENCHMARKS:
        benchmark, target = BENCHMARKS[name]
        print(benchmark().line(name, target))
