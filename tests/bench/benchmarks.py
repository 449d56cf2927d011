"""Speed as ratios of two things measured in one run: ``python tests/bench/benchmarks.py [NAME …]``.

Names: margins, paint, figures, tick, full, central, options, ways, whatif. Prints; judges nothing. Run it on
a quiet machine and quote the medians.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import tick_bench
from pint_loop import PintLoop
from whole_process import Ratio, paired, run_s, seen_s

from console.craft.model import LoadState
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.difference import difference
from console.engine.forecast import Draws
from console.engine.known import Situation, known_of
from console.engine.options import options_of, ways_home
from console.engine.whatif import SwitchLoad
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.scenario.load import load_scenario, packaged_scenario
from console.session import Session

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


def options(pairs: int = 25) -> Ratio:
    """What ``options`` reckons for four ways home against the same for one."""
    four, one = _four_ways(), _one_way()
    return paired(
        lambda: _seconds(lambda: options_of(four), 1), lambda: _seconds(lambda: options_of(one), 1), pairs
    )


def ways(pairs: int = 25) -> Ratio:
    """The same without the Snapshot that goes with them."""
    four, one = _four_ways(), _one_way()
    return paired(lambda: _seconds(lambda: _ways(four), 1), lambda: _seconds(lambda: _ways(one), 1), pairs)


def _ways(situation: Situation) -> object:
    return ways_home(known_of(situation), situation.plan, DEFAULT_DRAWS)


def _four_ways() -> Situation:
    """The demo with a fourth way home: the tender 6 h later."""
    situation = demo_situation()
    plan = situation.plan
    tender = plan.options["tender"]
    late = replace(tender, name="late tender", arrival_s=tender.arrival_s + 6 * 3600.0)
    return replace(situation, plan=replace(plan, options={**plan.options, late.name: late}))


def _one_way() -> Situation:
    """The demo with the committed way home alone."""
    situation = demo_situation()
    plan = situation.plan
    return replace(situation, plan=replace(plan, options={plan.committed: plan.options[plan.committed]}))


def whatif(pairs: int = 9) -> Ratio:
    """What if one load is off, after a first tick of the demo, against one more tick; prints ms too."""
    scenario = load_scenario(packaged_scenario())
    situation = demo_situation()
    path = scenario.folder / "state.json"
    moment = at_epoch_plus(scenario.craft.epoch, situation.at_s)
    session = Session(
        scenario=scenario,
        source=StateFileSource(path, scenario.craft.channels, scenario.craft.epoch),
        journal=None,
        clock=lambda: moment,
        operator="",
        position="",
    )
    off = SwitchLoad(load=next(iter(scenario.craft.loads)), to=LoadState.OFF, from_s=situation.at_s)
    session.tick()

    def asked() -> None:
        difference(*session.whatif((off,)))

    print(f"whatif: {1000.0 * min(_seconds(asked, 1) for _ in range(pairs)):.1f} ms at best, target 50 ms")
    return paired(lambda: _seconds(asked, 3), lambda: _seconds(session.tick, 3), pairs)


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
    "whatif": (whatif, "at most about 2 ticks"),
    "full": (tick_bench.full, "at least 4: tables of samples by phases over a full tick, 4 ways home"),
    "central": (central, "none; without samples"),
    "options": (options, "at most 2.5: four ways home against one"),
    "ways": (ways, "none; the same without the Snapshot"),
}

if __name__ == "__main__":
    for name in sys.argv[1:] or BENCHMARKS:
        benchmark, target = BENCHMARKS[name]
        print(benchmark().line(name, target))
