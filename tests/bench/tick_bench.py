"""A full tick as ratios to two other ways to the same forecast: ``python tests/bench/tick_bench.py``.

The craft of ``tick_craft.py``: 12 supplies, 40 loads, 200 phases, 4 ways home, 60 channels with an hour at
1 Hz, 2,000 samples. The tick is all that the engine does from a Situation to a Snapshot; the other two get
their inputs for nothing and do nothing but forecast (``tick_forecasts.py``). In the same run the three must
agree in p05, p50 and p95. Prints the ratios, with and without history, and how cost grows with phases,
samples and supplies as the slope of its logarithm. Each tick learns anew from the readings; draws, and what
the plan's configurations take where nothing was learnt, are kept from tick to tick, as they are on a board.
Set OPENBLAS_NUM_THREADS=1 on a busy machine: numpy's small matrix products, of which the evidence has some,
are else spread over threads.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from statistics import median

import numpy as np
from tick_craft import Size, situation_of
from tick_forecasts import Given, apart, by_closed_form, by_steps, by_table, given_of, rows_of
from whole_process import Ratio, paired

from console.engine.ahead import Ahead, look_ahead
from console.engine.assess import Assessment, assess
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, known_of
from console.engine.options import ways_home
from console.engine.switch import switched_at

FULL = Size()
PAIRS = 7
STEPPED = range(12)
"""The samples that are stepped through: their cost is scaled to all of them, once it is seen to be linear."""
AGREED = 1e-9
"""How far apart the three may be, as a share of the time to need and of what there is."""

GROWTH: Mapping[str, tuple[int, ...]] = {
    "phases": (50, 100, 200, 400, 800),
    "samples": (500, 1000, 2000, 4000, 8000),
    "supplies": (3, 6, 12, 24),
}


def draws_of(size: Size) -> Draws:
    """As many samples as the size says."""
    return Draws(seed=20410602, count=size.samples)


def looks(known: Known, situation: Situation, draws: Draws) -> list[Ahead]:
    """The looks ahead on every way home, taken now."""
    plan = situation.plan
    return [
        look_ahead(
            known,
            plan,
            option if option.name == plan.committed else switched_at(plan, option, situation.at_s),
            draws,
        )
        for option in plan.options.values()
    ]


class Scene:
    """One craft, and what each way home is forecast from."""

    def __init__(self, size: Size) -> None:
        self.size, self.draws = size, draws_of(size)
        self.situation = situation_of(size)
        self.known = known_of(self.situation)
        aheads = looks(self.known, self.situation, self.draws)
        self.given: list[dict[str, Given]] = [given_of(ahead, self.situation.at_s) for ahead in aheads]

    def tick(self) -> Assessment:
        """The committed way home, everything of it."""
        return assess(self.situation, None, self.draws)

    def tick_with_all_ways(self) -> object:
        """The same and a look ahead on every other way home."""
        known = assess(self.situation, None, self.draws).known
        plan = self.situation.plan
        others = replace(
            plan, options={name: one for name, one in plan.options.items() if name != plan.committed}
        )
        return [
            look_ahead(known, plan, switched_at(plan, option, self.situation.at_s), self.draws)
            for option in others.options.values()
        ]

    def options(self) -> object:
        """All ways home and until when each stays open: a search of many hundred switches, each forecast."""
        return ways_home(known_of(self.situation), self.situation.plan, self.draws)

    def agreement(self, rows: range) -> tuple[float, float]:
        """How far the closed form is from the table in all samples, and from the steps in some."""
        tables = [apart(by_closed_form(one), by_table(one), one) for one in self.given]
        some = [rows_of(one, rows) for one in self.given]
        steps = [
            apart(by_closed_form(few), by_steps(one, rows), few)
            for one, few in zip(self.given, some, strict=True)
        ]
        return max(tables), max(steps)


def seconds(work: Callable[[], object]) -> float:
    """Wall seconds of one call."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def stepped_s(given: dict[str, Given], samples: int) -> tuple[float, float]:
    """What all samples would take by steps, and the cost of these over that of half of them (linear: 2)."""
    half = range(len(STEPPED) // 2)
    by_steps(given, range(1))
    few = median(seconds(lambda: by_steps(given, half)) for _ in range(3))
    all_of_them = median(seconds(lambda: by_steps(given, STEPPED)) for _ in range(3))
    return all_of_them / len(STEPPED) * (samples + 1), all_of_them / few


def against_table(scene: Scene) -> Ratio:
    """The table of the committed way over a full tick."""
    return paired(lambda: seconds(lambda: by_table(scene.given[0])), lambda: seconds(scene.tick), PAIRS)


def against_tables(scene: Scene) -> Ratio:
    """The tables of all ways over a full tick with all ways."""
    return paired(
        lambda: seconds(lambda: [by_table(one) for one in scene.given]),
        lambda: seconds(scene.tick_with_all_ways),
        PAIRS,
    )


def forecasts(scene: Scene) -> Ratio:
    """The tables over the closed form, both from the same inputs and no more than that."""
    return paired(
        lambda: seconds(lambda: [by_table(one) for one in scene.given]),
        lambda: seconds(lambda: [by_closed_form(one) for one in scene.given]),
        PAIRS,
    )


def full() -> Ratio:
    """The tables of all four ways home over a full tick with them, history included."""
    scene = Scene(FULL)
    check(scene)
    return against_tables(scene)


def slopes(work_of: Callable[[Scene], Callable[[], object]], size: Size) -> dict[str, tuple[float, float]]:
    """By what grows, the slope of the logarithm of cost: over all sizes, and between the two largest."""
    found = {}
    for field, values in GROWTH.items():
        costs = []
        for value in values:
            work = work_of(Scene(replace(size, **{field: value})))
            work()
            costs.append(min(seconds(work) for _ in range(3)))
        logs = np.log(values), np.log(costs)
        found[field] = (
            float(np.polyfit(*logs, 1)[0]),
            float((logs[1][-1] - logs[1][-2]) / (logs[0][-1] - logs[0][-2])),
        )
    return found


def check(scene: Scene, rows: range = STEPPED) -> None:
    """The three ways must agree before their cost is worth a word."""
    tables, steps = scene.agreement(rows)
    print(
        f"  apart at most, p05, p50, p95: table {tables:.1e}, steps {steps:.1e} (of time to need, of begin)"
    )
    if max(tables, steps) > AGREED:
        raise SystemExit("the three ways do not agree: their cost says nothing")


def told(scene: Scene) -> None:
    """All ratios of one scene."""
    check(scene)
    for name, ratio in (
        ("forecast alone, table / closed form, four ways", forecasts(scene)),
        ("table / full tick, committed way", against_table(scene)),
        ("tables / full tick with all four ways", against_tables(scene)),
    ):
        print(" ", ratio.line(name, "at least 4"))
    steps_s, growth = stepped_s(scene.given[0], scene.size.samples)
    tick_s = median(seconds(scene.tick) for _ in range(PAIRS))
    print(
        f"  solve_ivp / full tick, committed way: {steps_s / tick_s:.0f} (target at least 100; "
        f"{steps_s:.0f} s scaled from {len(STEPPED)} samples; twice as many cost {growth:.2f} times as much)"
    )
    ways_s = seconds(scene.options)
    tables_s = median(seconds(lambda: [by_table(one) for one in scene.given]) for _ in range(3))
    print(f"  options, until when open included / four tables: {ways_s / tables_s:.1f} ({ways_s:.2f} s)")


def main() -> None:
    """All of them."""
    for has_history in (False, True):
        print("with an hour of history" if has_history else "without history")
        told(Scene(replace(FULL, has_history=has_history)))
    for name, work_of in (
        ("full tick", lambda scene: scene.tick),
        ("closed form alone", lambda scene: lambda: by_closed_form(scene.given[0])),
    ):
        for field, (slope, last) in slopes(work_of, FULL).items():
            print(f"{name}: as {field} to the power {slope:.2f}, {last:.2f} at the largest (wants at most 1)")


if __name__ == "__main__":
    main()
