"""Each good scenario with any one value replaced or taken out: it is used or refused, and nothing else ever.

The examples are the same in every run (``derandomize``), so that a failure can be repeated.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from full_scenario import FULL_FILES
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from scenario_builders import write_files

from console.errors import ScenarioError
from console.scenario.load import Scenario, load_scenario
from console.scenario.yaml_text import parse_yaml

EXAMPLES = 200

QUANTITIES = st.builds(
    lambda number, unit: f"{number} {unit}",
    st.one_of(
        st.integers(-5, 500), st.floats(width=32), st.sampled_from(["1e308", "-0", "0", ".5", "1e-320"])
    ),
    st.sampled_from(
        [
            *(
                "A*h",
                "A",
                "kg",
                "kg/h",
                "lb",
                "%",
                "h",
                "min",
                "K",
                "degC",
                "kPa",
                "m^3",
                "W",
                "V",
                "m/s",
                "mm^2",
                "kJ/K",
                "W/K",
                "mmHg",
                "",
            ),
            "%/%",
        ]
    ),
)
WORDS = st.sampled_from(
    [
        *(
            "on",
            "off",
            "standby",
            "feeding",
            "full",
            "dim",
            "dark",
            "power",
            "oxygen",
            "water",
            "lamp",
            "none",
        ),
        *("T+5h", "T-1h", "T+1e9h", "2043-01-09T07:00:00Z", "9999-12-31T23:59:59Z", "battery", "gas", "like"),
        *("default", "channel", "bell", "1", "soda_lime", "bus.current", "bank-a.used", "bank-a"),
        *("spare", "absorbent", "pressure", "humidity", "room.oxygen", "shed", "cart-1", "lead_acid", "us"),
    ]
)
SCALARS = st.one_of(
    *(st.none(), st.booleans(), st.integers(-(10**17), 10**17), st.floats(allow_nan=True), QUANTITIES, WORDS),
    st.text(max_size=80),
)
KEYS = st.one_of(
    WORDS, st.sampled_from(["kind", "capacity", "unit", "name", "start", "to"]), st.text(max_size=20)
)
TREES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=8,
)

Path_ = tuple[Any, ...]


def places(tree: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Every value's way from the root, the root's own first."""
    yield path
    children = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, child in children:
        yield from places(child, (*path, key))


def replaced(tree: Any, path: Path_, value: Any) -> Any:
    if not path:
        return value
    changed = copy.copy(tree)
    changed[path[0]] = replaced(tree[path[0]], path[1:], value)
    return changed


def without(tree: Any, path: Path_) -> Any:
    """The tree with one value taken out, with its key."""
    if len(path) > 1:
        return replaced(tree, path[:1], without(tree[path[0]], path[1:]))
    changed = copy.copy(tree)
    del changed[path[0]]
    return changed


def at(tree: Any, path: Path_) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def plain(tree: Any) -> Any:
    """The tree without the lines it knows."""
    if isinstance(tree, dict):
        return {key: plain(value) for key, value in tree.items()}
    return [plain(value) for value in tree] if isinstance(tree, list) else tree


@pytest.fixture(scope="session", params=["first", "second"])
def trees(files: Mapping[str, str], request: pytest.FixtureRequest) -> dict[str, Any]:
    texts = files if request.param == "first" else FULL_FILES
    return {name: plain(parse_yaml(text, file=name)) for name, text in texts.items()}


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("mutated")


def read(folder: Path, trees: Mapping[str, Any]) -> Scenario | None:
    """The scenario, or None where it was refused; JSON is YAML, with every text in quotes."""
    write_files(folder, {name: json.dumps(tree) for name, tree in trees.items()})
    try:
        return load_scenario(folder)
    except ScenarioError as error:
        faults = error.faults
    assert faults
    for fault in faults:
        assert fault.found
        assert fault.expected
        assert str(fault).isprintable(), repr(str(fault))
    return None


def assert_nothing_was_dropped(scenario: Scenario, trees: Mapping[str, Any]) -> None:
    craft, plan, procedures = (trees[name] for name in ("craft.yaml", "plan.yaml", "procedures.yaml"))
    assert list(scenario.craft.supplies) == list(craft["supplies"])
    for name, supply in scenario.craft.supplies.items():
        assert [store.name for store in supply.stores] == list(craft["supplies"][name]["stores"])
    for part in ("loads", "channels"):
        assert list(getattr(scenario.craft, part)) == list(craft.get(part, {}))
    assert [use.name for use in scenario.craft.uses] == list(craft.get("uses", {}))
    cabin, propulsion = craft.get("cabin", {}), craft.get("propulsion", {})
    if scenario.craft.cabin is not None:
        assert [each.name for each in scenario.craft.cabin.limits] == [
            each["name"] for each in cabin.get("limits", [])
        ]
        for part in ("removal", "oxygen_feed", "drying", "thermal"):
            assert (getattr(scenario.craft.cabin, part) is not None) is (part in cabin)
    if scenario.craft.propulsion is not None:
        modules = [each.name for each in scenario.craft.propulsion.modules]
        assert modules == list(propulsion.get("modules", {}))
    assert len(scenario.plan.phases) == len(plan["phases"])
    assert len(scenario.plan.events) == len(plan.get("events", []))
    assert list(scenario.plan.options) == list(plan["options"])
    assert scenario.plan.committed in scenario.plan.options
    for name, procedure in scenario.procedures.items():
        assert len(procedure.steps) == len(procedures["procedures"][name]["steps"])
    for phases in (scenario.plan.phases, *(option.phases for option in scenario.plan.options.values())):
        for phase in phases:
            assert set(scenario.craft.levels[phase.level].states) == set(scenario.craft.loads)
            assert sum(phase.crew.values()) == scenario.craft.crew_count


@settings(
    max_examples=EXAMPLES,
    derandomize=True,
    deadline=None,  # no test of ours judges elapsed time
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(data=st.data())
def test_any_value_in_any_place_is_used_or_refused(
    trees: dict[str, Any], folder: Path, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(list(trees)))
    path = data.draw(st.sampled_from(list(places(trees[name]))))
    way = data.draw(st.sampled_from(["any value", "a value from elsewhere", "a quantity", "nothing"]))
    if way == "nothing" and path:
        changed = without(trees[name], path)
    elif way == "a value from elsewhere":
        other = data.draw(st.sampled_from(list(trees)))
        changed = replaced(
            trees[name], path, at(trees[other], data.draw(st.sampled_from(list(places(trees[other])))))
        )
    else:
        changed = replaced(trees[name], path, data.draw(QUANTITIES if way == "a quantity" else TREES))
    changed = {**trees, name: changed}
    scenario = read(folder, changed)
    if scenario is not None:
        assert_nothing_was_dropped(scenario, changed)


@settings(max_examples=EXAMPLES, derandomize=True, deadline=None, database=None)
@example(text="a: &a [*a, *a]")
@example(text="{" * 5000)
@example(text="- " * 5000 + "a")
@example(text="? " * 500 + "a")
@given(text=st.text(alphabet=st.sampled_from("ab:-[]{}#&*!|>'\"%@` \t\n?,~<=1.e+\\é\u2028\x85"), max_size=60))
def test_any_text_at_all_is_used_or_refused(files: Mapping[str, str], folder: Path, text: str) -> None:
    write_files(folder, {**files, "craft.yaml": text})
    with pytest.raises(ScenarioError):
        load_scenario(folder)


def test_the_unchanged_trees_are_used(trees: dict[str, Any], folder: Path) -> None:
    scenario = read(folder, trees)
    assert scenario is not None
    assert_nothing_was_dropped(scenario, trees)
