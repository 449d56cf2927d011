"""What tests of explanations share: a scenario's figures, and the checks that each must stand."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from console.craft.shown import craft_shown_in
from console.engine.assess import assess
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import decided
from console.engine.explain.explanation import Explanation, FigureSource, Input, arguments_of
from console.engine.explain.expression import evaluate
from console.engine.explain.figures import Figures, figures_of
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.snapshot import Snapshot
from console.feed.state_file import StateFileSource, state_file_time_s
from console.scenario.load import load_scenario, packaged_scenario
from console.units import UnitSystem

DRAWS = Draws(seed=20410602, count=200)
HOUR = 3600.0


def assessed(
    name: str,
    later_s: float = 0.0,
    changes: tuple[ConfigurationChange, ...] = (),
    units: UnitSystem | None = None,
) -> tuple[Snapshot, Figures]:
    """A packaged scenario at its state file's time or later, and its figures."""
    return assessed_in(packaged_scenario(name), later_s, changes, units)


def assessed_in(
    folder: Path,
    later_s: float = 0.0,
    changes: tuple[ConfigurationChange, ...] = (),
    units: UnitSystem | None = None,
) -> tuple[Snapshot, Figures]:
    scenario = load_scenario(folder)
    craft = scenario.craft if units is None else craft_shown_in(scenario.craft, units)
    path = scenario.folder / "state.json"
    at_s = state_file_time_s(path, craft.epoch)
    feed = StateFileSource(path, craft.channels, craft.epoch).poll(at_s + later_s)
    moved = tuple(replace(change, at_s=at_s + change.at_s) for change in changes)
    made = decided(craft, scenario.plan, moved, at_s + later_s)
    situation = Situation(
        slug=scenario.slug, craft=made.craft, plan=made.plan, feed=feed, changes=moved, at_s=at_s + later_s
    )
    found = assess(situation, None, DRAWS)
    return found.snapshot, figures_of(situation, found, DRAWS, scenario.lines)


def every_input(one: Explanation) -> Iterator[Input]:
    todo = list(one.inputs)
    while todo:
        each = todo.pop()
        yield each
        todo.extend(arguments_of(each.source))


def check_equation(one: Explanation) -> None:
    assert one.value is not None
    values = {each.symbol: each.value for each in one.inputs}
    assert len(values) == len(one.inputs), f"{one.path}: one symbol for two inputs"
    scale = max((abs(value) for value in values.values()), default=0.0)
    # A difference of nearly equal numbers keeps the rounding of its parts, and no more than that.
    assert math.isclose(evaluate(one.equation, values), one.value, rel_tol=1e-9, abs_tol=1e-13 * scale), (
        f"{one.path} = {one.equation}"
    )


def walked(figures: Figures, paths: Iterable[str]) -> dict[str, Explanation]:
    """Everything that can be reached from some figures, each checked; a loop or a dead end raises."""
    known: dict[str, Explanation] = {}
    todo = list(paths)
    while todo:
        path = todo.pop()
        if path in known:
            continue
        one = known[path] = figures.explain(path)
        if one.value is None:
            assert one.remarks, f"{path} is missing without a reason"
            continue
        check_equation(one)
        for each in every_input(one):
            if isinstance(each.source, FigureSource):
                behind = figures.explain(each.source.path)
                assert (behind.value, behind.unit) == (each.value, each.unit), f"{path}: {each.symbol}"
                todo.append(each.source.path)
    return known


def depth_of(known: dict[str, Explanation]) -> int:
    """The longest way down; fails where one leads back to itself."""
    depths: dict[str, int] = {}
    on_the_way: set[str] = set()

    def depth(path: str) -> int:
        assert path not in on_the_way, f"{path} leads back to itself"
        if path not in depths:
            on_the_way.add(path)
            below = (
                each.source.path for each in every_input(known[path]) if isinstance(each.source, FigureSource)
            )
            depths[path] = 1 + max((depth(other) for other in below), default=0)
            on_the_way.discard(path)
        return depths[path]

    return max(depth(path) for path in known)
