"""Every number of the JSON of margins and ledger is explained, down to what comes from outside.

The equation that is shown, with the inputs that are shown, must give the figure to 1e-9; each input that is
another figure must be that figure; and every way down must end, in readings, config lines, published values,
steps, draws or stated assumptions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import explain_scene
import pytest

from console.craft.model import LoadState, StoreState
from console.craft.shown import craft_shown_in
from console.engine.assess import assess
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import decided
from console.engine.explain.explanation import (
    AssumptionSource,
    ConfigSource,
    Explanation,
    FigureSource,
    Input,
    ReadingSource,
    StepSource,
    arguments_of,
)
from console.engine.explain.expression import evaluate
from console.engine.explain.figures import Figures, figures_of
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.snapshot import Snapshot
from console.feed.state_file import StateFileSource, state_file_time_s
from console.report.explain_paths import ledger_path, margins_path, numbers
from console.report.export import ledger_document, margins_document
from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names
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


def numbers_and_paths(snapshot: Snapshot) -> list[tuple[str, float]]:
    """Every number of both documents with the path of its figure."""
    found = [(margins_path(snapshot, place), value) for place, value in numbers(margins_document(snapshot))]
    for name in snapshot.supplies:
        document = ledger_document(snapshot, name)
        found.extend((ledger_path(snapshot, name, place), value) for place, value in numbers(document))
    return found


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


def walked(figures: Figures, paths: list[str]) -> dict[str, Explanation]:
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


STEPS = (
    ConfigurationChange(
        at_s=-600.0,
        label="quiet-down/1",
        loads={"sci-mapper": LoadState.ON, "com-radio": LoadState.OFF},
        stores={
            "bat-aux-1": StoreState.FEEDING,
            "bat-2": StoreState.ISOLATED,
            "o2-walk": StoreState.FEEDING,
        },
        used_si={"cart-4": 0.5, "water-suit": 1.0},
        released_si={"water": 3.0},
        sequence=7,
    ),
)

CASES = [(name, 0.0, None, ()) for name in packaged_scenario_names()]
CASES += [("tern", 1.7 * HOUR, None, ()), ("whelk", 30 * HOUR, None, ()), ("tern", 200 * HOUR, None, ())]
CASES += [
    ("vole", 0.0, UnitSystem.METRIC, ()),
    ("tern", 0.0, UnitSystem.US, ()),
    ("tern", 2 * HOUR, None, STEPS),
]


@pytest.mark.parametrize(("name", "later_s", "units", "steps"), CASES)
def test_every_number_is_explained_down_to_its_sources(
    name: str, later_s: float, units: UnitSystem | None, steps: tuple[ConfigurationChange, ...]
) -> None:
    check_every_number(*assessed(name, later_s, steps, units))


def check_every_number(snapshot: Snapshot, figures: Figures) -> dict[str, Explanation]:
    asked = numbers_and_paths(snapshot)
    assert len(asked) > 200
    assert {path for path, _ in asked} <= set(figures.paths())
    known = walked(figures, [path for path, _ in asked])
    for path, value in asked:
        assert known[path].value == pytest.approx(value, rel=1e-9, abs=1e-15), path
    assert 4 <= depth_of(known) <= 40
    return known


@pytest.mark.parametrize("later_h", [0, 3, 25, 38])
def test_kinds_that_no_packaged_scenario_has_are_explained_too(tmp_path: Path, later_h: int) -> None:
    known = check_every_number(*assessed_in(explain_scene.write(tmp_path), later_h * HOUR))
    equations = [one.equation for one in known.values()]
    # Through a hole, choked and not; batteries in joules at their rate; a module; warmth in closed form.
    assert any(text.startswith("cd * a * x * ") for text in equations)
    assert any("pow(out / " in text for text in equations)
    assert any("k_i - 1" in text and "/ y" in text for text in equations)
    assert any("usable - sum(g_i)) / (dry - sum(x_i))" in text for text in equations) is (later_h < 18)
    if later_h == 0:
        assert any("(1 - exp(-dv / v_e))" in text for text in equations)
        assert any("exp(-k * d)" in text for text in equations)


def test_every_listed_figure_can_be_explained() -> None:
    _, figures = assessed("tern")
    for path in figures.paths():
        one = figures.explain(path)
        assert one.path in (path, path.removesuffix(".p50")), path


def test_a_low_end_is_one_sample_with_its_luck_named() -> None:
    _, figures = assessed("tern")
    low, central = figures.explain("oxygen.margin.p05"), figures.explain("oxygen.margin")
    assert low.equation == central.equation
    assert low.value is not None
    assert central.value is not None
    assert low.value < central.value
    assert "number 10 of 200 in rising order" in low.remarks[0]
    assert "use cabin-leak x" in low.remarks[1]
    assert all(".sample-" in each.source.path for each in low.inputs if isinstance(each.source, FigureSource))
    row = int(low.remarks[0].partition("sample ")[2].partition(":")[0])
    margins = sorted(
        figures.explain(f"oxygen.margin.sample-{number}").value or 0.0 for number in range(1, 201)
    )
    assert figures.explain(f"oxygen.margin.sample-{row}").value == margins[9] == low.value


def test_a_share_of_the_samples_is_their_count() -> None:
    snapshot, figures = assessed("vole")
    for name, supply in snapshot.supplies.items():
        values = [figures.explain(f"{name}.margin.sample-{number}").value for number in range(1, 201)]
        lasting = sum(value is None or value >= 0.0 for value in values)
        assert supply.lasts_probability == lasting / 200


def test_what_a_config_line_is_said_to_hold_stands_in_that_line() -> None:
    scenario = load_scenario(packaged_scenario("tern"))
    _, figures = assessed("tern")
    known = walked(figures, ["power.margin", "oxygen.margin", "water.margin"])
    sources = {
        each.source for one in known.values() for each in one.inputs if isinstance(each.source, ConfigSource)
    }
    assert len(sources) > 150
    texts = {
        file: (scenario.folder / file).read_text("utf-8").splitlines() for file in ("craft.yaml", "plan.yaml")
    }
    for source in sources:
        assert source.line is not None
        assert f"{source.key.rpartition('.')[2]}:" in texts[source.file][source.line - 1], source


def test_a_logged_step_is_named_with_its_entry() -> None:
    _, figures = assessed("tern", 0.0, STEPS)
    inputs = {each.symbol: each for each in figures.explain("loads.sci-mapper.draw").inputs}
    source = inputs["is_on"].source
    assert isinstance(source, StepSource)
    assert (source.label, source.sequence) == ("quiet-down/1", 7)
    released = figures.explain("water.reserve")
    assert released.equation == "stated - released"
    assert released.value == pytest.approx(8.0 - 3.0)


def test_a_mass_of_gas_goes_back_to_pressure_and_temperature_as_read() -> None:
    _, figures = assessed("tern")
    one = figures.explain("oxygen.stores.o2-1.on_board")
    assert one.equation == "p * V * M / (Z * R * T)"
    readings = {each.symbol: each.source for each in one.inputs if isinstance(each.source, ReadingSource)}
    assert {symbol: source.channel for symbol, source in readings.items()} == {
        "p": "o2-1.pressure",
        "T": "o2-1.temperature",
    }


def test_what_nobody_wrote_is_said_to_be_assumed() -> None:
    _, figures = assessed("tern")
    inputs = {each.symbol: each.source for each in figures.explain("loads.air-fan-1.draw").inputs}
    assert isinstance(inputs["duty"], AssumptionSource)
    assert "craft.yaml has no loads.air-fan-1.duty" in inputs["duty"].text


def test_another_way_home_has_figures_of_its_own() -> None:
    _, figures = assessed("tern")
    known = walked(figures, ["options.tender.water.margin", "options.tender.power.left_at_need.p05"])
    assert depth_of(known) > 4
    assert all(path.startswith("options.tender.") for path in known)
    assert figures.explain("options.homeward.water.margin").value == figures.explain("water.margin").value
