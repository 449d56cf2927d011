"""The ``lines`` of craft.yaml: what is read, and each rule broken once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from scenario_builders import write_files

from console.errors import Fault
from console.scenario.load import load_scenario


def test_lines_are_read_in_the_order_of_the_file(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = (
        files["craft.yaml"]
        + "lines:\n  left: {stores: [bank-a], title: left cable}\n  air: {stores: [flask-2, flask-1]}\n"
    )
    scenario = load_scenario(write_files(tmp_path / "lined", {**files, "craft.yaml": craft}))
    left, air = scenario.craft.lines
    assert (left.name, left.stores, left.title) == ("left", ("bank-a",), "left cable")
    assert (air.name, air.stores, air.title) == ("air", ("flask-2", "flask-1"), "")


def test_a_craft_need_not_name_any(files: Mapping[str, str], tmp_path: Path) -> None:
    assert load_scenario(write_files(tmp_path / "plain", files)).craft.lines == ()


@pytest.mark.parametrize(
    ("text", "place", "found", "expected"),
    [
        ("{left: {stores: [bank-c]}}", "lines.left.stores[0]", "'bank-c'", "did you mean 'bank-"),
        ("{left: {stores: []}}", "lines.left.stores", "no store", "[bat-1, bat-2]"),
        ("{left: {}}", "lines.left.stores", "nothing", "[bat-1, bat-2]"),
        ("{left: {stores: bank-a}}", "lines.left.stores", "'bank-a'", "[bat-1, bat-2]"),
        ("{left: [bank-a]}", "lines.left", "a list", "{stores: [bat-1, bat-2]}"),
        ("{left: {stores: [bank-a, bank-a]}}", "lines.left.stores[1]", "second time", "once"),
        ("{left: {stores: [bank-a, butt]}}", "lines.left.stores[1]", "another supply", "one supply"),
        ("{left: {store: [bank-a]}}", "lines.left.store", "not known", "'stores'"),
        ("{butt: {stores: [bank-a]}}", "lines.butt", "which a store has", "another name"),
        ("[bank-a]", "lines", "a list", "NAME: {stores"),
    ],
)
def test_a_broken_rule_is_one_fault(
    faults_after: Callable[..., tuple[Fault, ...]], text: str, place: str, found: str, expected: str
) -> None:
    (fault,) = faults_after("craft.yaml", "load_spread: 4 %\n", f"load_spread: 4 %\nlines: {text}\n")
    assert fault.place == place
    assert found in fault.found
    assert expected in fault.expected
