"""``endurance check``: the scenario's faults, all at once, with exit code 1."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from console.scenario.load import load_scenario


def test_the_packaged_demo_is_sound(endurance: Any) -> None:
    said = endurance("check")
    assert said.status == 0
    assert "sound" in said.out
    assert "crew of 4" in said.out


def test_limits_of_the_cabin_and_modules_are_counted_where_there_are_some(endurance: Any, tern: Path) -> None:
    craft = load_scenario(tern).craft
    assert craft.cabin is not None
    assert craft.propulsion is not None
    limits, modules = len(craft.cabin.limits), len(craft.propulsion.modules)
    assert f", {limits} cabin limits, {modules} module" in endurance("check", tern).out


def test_a_craft_without_limits_or_modules_is_sound_without_a_word_of_them(
    endurance: Any, tmp_path: Path
) -> None:
    (tmp_path / "craft.yaml").write_text(
        'format: 1\ncraft: {name: Raft, epoch: "2043-03-01T00:00:00Z"}\ncrew: {count: 1}\n'
        "supplies: {water: {unit: kg, stores: {can: {kind: liquid, capacity: 9 kg}}}}\n"
        "bands: {default: {advisory: 24 h, caution: 12 h, warning: 3 h}}\n"
    )
    (tmp_path / "plan.yaml").write_text(
        "format: 1\nphases: [{name: drift, start: T+0h}]\n"
        "options: {shore: {arrival: T+9h}}\ncommitted: shore\n"
    )
    said = endurance("check", tmp_path)
    assert said.status == 0
    words = said.out.rsplit(": sound. ", 1)[1]
    assert "limit" not in words
    assert "module" not in words


def test_faults_of_several_files_are_told_together_with_exit_code_1(endurance: Any, tern: Path) -> None:
    for name, old, new in (
        ("craft.yaml", "count: 4", "count: four"),
        ("plan.yaml", "committed: homeward", "committed: homewrd"),
    ):
        text = (tern / name).read_text()
        assert old in text
        (tern / name).write_text(text.replace(old, new, 1))
    said = endurance("check", tern, "--json")
    assert said.status == 1
    faults = said.document["faults"]
    assert {fault["file"] for fault in faults} == {"craft.yaml", "plan.yaml"}
    committed = next(fault for fault in faults if fault["file"] == "plan.yaml")
    assert "homewrd" in committed["found"]
    assert "homeward" in committed["expected"]


def test_faults_of_the_own_state_file_are_told_too(endurance: Any, tern: Path) -> None:
    state = (tern / "state.json").read_text()
    (tern / "state.json").write_text(state.replace('"readings": {', '"readings": {"bat-1.curent": 3.0, ', 1))
    said = endurance("check", tern)
    assert said.status == 1
    assert "bat-1.curent" in said.out


def test_a_folder_that_is_not_there_is_bad_usage(endurance: Any, tmp_path: Path) -> None:
    said = endurance("check", tmp_path / "nowhere")
    assert said.status == 2
    assert "nowhere" in said.err


def test_other_commands_refuse_a_faulty_scenario_with_the_same_words(endurance: Any, tern: Path) -> None:
    text = (tern / "craft.yaml").read_text()
    (tern / "craft.yaml").write_text(text.replace("count: 4", "count: four", 1))
    said = endurance("margins", tern)
    assert said.status == 2
    assert "craft.yaml: crew.count" in said.err
