"""The line of every key, against the text of the packaged scenarios themselves."""

from __future__ import annotations

import pytest

from console.scenario.key_lines import key_lines
from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names
from console.scenario.yaml_text import parse_yaml


@pytest.mark.parametrize("name", packaged_scenario_names())
def test_the_line_of_each_key_holds_that_key(name: str) -> None:
    scenario = load_scenario(packaged_scenario(name))
    assert {"craft.yaml", "plan.yaml"} <= set(scenario.lines)
    for file, lines in scenario.lines.items():
        text = (scenario.folder / file).read_text("utf-8").splitlines()
        assert len(lines) > 20
        for path, line in lines.items():
            if path.endswith("]"):
                continue  # an item of a list has no key of its own
            found = [last for last in (path.rpartition(".")[2], path.rpartition("]")[2].lstrip(".")) if last]
            assert any(f"{last}:" in text[line - 1] or f'"{last}"' in text[line - 1] for last in found), path


def test_items_are_named_by_number_and_by_name_and_the_second_of_a_name_by_its_own() -> None:
    text = "events:\n  - {name: trim, at: T+1h}\n  - name: burn\n    at: T+2h\n  - {name: trim, at: T+3h}\n"
    lines = key_lines(parse_yaml(text, file="plan.yaml"))
    assert [lines[f"events[{key}].at"] for key in ("0", "trim", "1", "burn", "2", "trim#2")] == [
        2,
        2,
        4,
        4,
        5,
        5,
    ]
