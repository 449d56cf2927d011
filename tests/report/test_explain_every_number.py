"""Every number of the JSON of margins and ledger is explained, down to what comes from outside.

The equation that is shown, with the inputs that are shown, must give the figure to 1e-9; each input that is
another figure must be that figure; and every way down must end, in readings, config lines, published values,
steps, draws or stated assumptions.
"""

from __future__ import annotations

from pathlib import Path

import explain_scene
import pytest
from explain_checks import HOUR, assessed, assessed_in, depth_of, walked

from console.craft.model import LoadState, StoreState
from console.engine.allowance_profile import profiles_of
from console.engine.configuration import ConfigurationChange
from console.engine.explain.explanation import (
    AssumptionSource,
    ConfigSource,
    Explanation,
    FigureSource,
    ReadingSource,
    StepSource,
)
from console.engine.explain.figures import Figures
from console.engine.snapshot import Snapshot
from console.report.explain_paths import ledger_path, margins_path, numbers
from console.report.export import ledger_document, margins_document
from console.report.options_export import allowance_document
from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names
from console.units import UnitSystem


def numbers_and_paths(snapshot: Snapshot, figures: Figures) -> list[tuple[str, float]]:
    """Every number of both documents with the path of its figure."""
    found = [(margins_path(snapshot, place), value) for place, value in numbers(margins_document(snapshot))]
    grounds = figures.grounds
    free_phases = profiles_of(grounds.craft, grounds.ahead, grounds.at_s)
    for name in snapshot.supplies:
        document = ledger_document(snapshot, name)
        document["free_phases"] = allowance_document(free_phases[name])
        found.extend((ledger_path(snapshot, name, place), value) for place, value in numbers(document))
    return found


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
    asked = numbers_and_paths(snapshot, figures)
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
