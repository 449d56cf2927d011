"""The three files as one: all faults at once, none that only follows from another; folders that are none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from scenario_builders import edited, faults_in, write_files

import console.scenario.load as scenario_module
from console.errors import Fault, ScenarioError
from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names

FaultsAfter = Callable[..., tuple[Fault, ...]]


def test_the_faults_of_all_files_come_at_once_file_by_file_and_from_top_to_bottom(
    files: Mapping[str, str], tmp_path: Path
) -> None:
    craft = edited(files["craft.yaml"], "count: 3", "count: 0")
    craft = edited(craft, "bus.current: {unit: A, range: [0, 60]", "bus.current: {unit: A, range: [60, 0]")
    craft = edited(craft, "capacity: 60 kg", "capacity: 60 L")
    plan = edited(files["plan.yaml"], "committed: bell", "committed: boat")
    plan = edited(plan, "level: full", "level: ful")
    procedures = edited(files["procedures.yaml"], "load: lamp", "load: lantern")
    folder = write_files(
        tmp_path / "spoilt", {"procedures.yaml": procedures, "craft.yaml": craft, "plan.yaml": plan}
    )
    assert [(fault.file, fault.place) for fault in faults_in(folder)] == [
        ("craft.yaml", "crew.count"),
        ("craft.yaml", "supplies.water.stores.butt.capacity"),
        ("craft.yaml", "channels.bus.current.range"),
        ("plan.yaml", "phases[0].level"),
        ("plan.yaml", "committed"),
        ("procedures.yaml", "procedures.dim-down.steps[0].load"),
    ]


def test_the_message_holds_every_fault_on_a_line_of_its_own(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = edited(files["craft.yaml"], "count: 3", "count: 0")
    plan = edited(files["plan.yaml"], "committed: bell", "committed: boat")
    folder = write_files(tmp_path / "spoilt", {**files, "craft.yaml": craft, "plan.yaml": plan})
    with pytest.raises(ScenarioError) as caught:
        load_scenario(folder)
    first, second = str(caught.value).splitlines()
    assert first.startswith("craft.yaml: crew.count (line 4): found 0; write ")
    assert second.startswith("plan.yaml: committed (line 19): found 'boat', ")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("epoch: \"2043-01-09T06:00:00Z\"", "epoch: soon"),  # the plan's moments cannot be placed
        ("count: 3", "count: none"),  # the rosters cannot be summed
        ("    unit: A*h\n", "    unit: A*hh\n"),  # no amount of power can be judged
        ("supplies:\n", "suplies:\n"),  # no supply or store is known
        ("loads:\n", "load:\n"),  # no load is known
        ("levels:\n", "levles:\n"),  # no level is known
        ("channels:\n", "chanels:\n"),  # no channel is known
        ("bands:\n", "band:\n"),
        ("cabin: {", "cabbin: {"),  # a leak follows its pressure
        ("    stores:\n      bank-a:", "    store:\n      bank-a:"),  # no store of power is known
        ("crew:\n", "crw:\n"),
    ],
)  # fmt: skip
def test_a_fault_does_not_bring_others_with_it(faults_after: FaultsAfter, old: str, new: str) -> None:
    faults = faults_after("craft.yaml", old, new)
    assert len(faults) == 1, [str(fault) for fault in faults]


def test_a_store_that_cannot_be_read_is_still_known_to_the_plan(faults_after: FaultsAfter) -> None:
    (fault,) = faults_after(
        "craft.yaml", "{kind: battery, capacity: 80 A*h, protected: true, note: for the lift}", "7"
    )
    assert fault.place == "supplies.power.stores.bank-b"


@pytest.mark.parametrize("text", ["a: [1\n", "", "[]", "7", "*x", "\t"])
def test_an_unreadable_craft_leaves_the_plan_to_be_checked_by_itself(
    files: Mapping[str, str], tmp_path: Path, text: str
) -> None:
    plan = edited(files["plan.yaml"], "start: T+6h", "start: 6")
    folder = write_files(tmp_path / "spoilt", {**files, "craft.yaml": text, "plan.yaml": plan})
    faults = faults_in(folder)
    assert {fault.file for fault in faults} == {"craft.yaml", "plan.yaml"}
    assert [fault.place for fault in faults if fault.file == "plan.yaml"] == ["phases[1].start"]


def test_a_phase_that_cannot_be_read_does_not_make_an_arrival_too_early(faults_after: FaultsAfter) -> None:
    (fault,) = faults_after(
        "plan.yaml",
        *("settle, start: T+0h", "settle, start: 0"),
        *("arrival: T+70h", "arrival: T+5h"),
        *("decide_by: T+24h", "decide_by: T+1h"),
    )
    assert fault.place == "phases[0].start"


def test_without_procedures_there_are_none(files: Mapping[str, str], tmp_path: Path) -> None:
    two = {name: text for name, text in files.items() if name != "procedures.yaml"}
    assert dict(load_scenario(write_files(tmp_path, two)).procedures) == {}


@pytest.mark.parametrize("name", ["craft.yaml", "plan.yaml"])
def test_a_file_that_is_missing_is_a_fault(files: Mapping[str, str], tmp_path: Path, name: str) -> None:
    rest = {each: text for each, text in files.items() if each != name}
    (fault,) = faults_in(write_files(tmp_path, rest))
    assert (fault.file, fault.found) == (name, "no such file")
    assert name in fault.expected


@pytest.mark.parametrize("name", ["craft.yaml", "plan.yaml", "procedures.yaml"])
def test_a_folder_in_the_place_of_a_file_is_a_fault(
    files: Mapping[str, str], tmp_path: Path, name: str
) -> None:
    write_files(tmp_path, {each: text for each, text in files.items() if each != name})
    (tmp_path / name).mkdir()
    (fault,) = faults_in(tmp_path)
    assert (fault.file, fault.found) == (name, "something that is not a file")


def test_a_link_to_nowhere_is_not_taken_for_no_procedures(files: Mapping[str, str], tmp_path: Path) -> None:
    two = {name: text for name, text in files.items() if name != "procedures.yaml"}
    write_files(tmp_path, two)
    (tmp_path / "procedures.yaml").symlink_to(tmp_path / "gone.yaml")
    (fault,) = faults_in(tmp_path)
    assert (fault.file, fault.found) == ("procedures.yaml", "no such file")


def test_a_file_that_may_not_be_read_is_a_fault(
    files: Mapping[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_files(tmp_path, files)
    opened = Path.open

    def refuse(self: Path, *arguments: str) -> object:
        if self.name == "plan.yaml":
            raise PermissionError(13, "Permission denied")
        return opened(self, *arguments)

    monkeypatch.setattr(Path, "open", refuse)
    (fault,) = faults_in(tmp_path)
    assert fault.file == "plan.yaml"
    assert "Permission denied" in fault.found


@pytest.mark.parametrize("name", ["craft.yaml", "plan.yaml", "procedures.yaml"])
def test_a_file_of_other_bytes_or_without_end_is_one_fault(
    files: Mapping[str, str], tmp_path: Path, name: str
) -> None:
    write_files(tmp_path, files)
    (tmp_path / name).write_bytes(b"format: 1\nname: \xff\n")
    (fault,) = faults_in(tmp_path)
    assert (fault.file, fault.line) == (name, 2)
    (tmp_path / name).write_bytes(b"#" * (1024 * 1024 + 1))
    (fault,) = faults_in(tmp_path)
    assert "more than 1048576 bytes" in fault.found


def test_a_missing_folder_and_a_file_in_its_place_are_told_apart(
    files: Mapping[str, str], tmp_path: Path
) -> None:
    (missing,) = faults_in(tmp_path / "nowhere")
    assert missing.found == "no such folder"
    (file,) = faults_in(write_files(tmp_path, files) / "craft.yaml")
    assert file.found == "a file where a folder is due"
    assert "craft.yaml" in file.expected


@pytest.mark.parametrize("name", ["a\0b", "n" * 5000, "esc\x1b[2J"])
def test_a_path_that_cannot_be_is_a_fault(name: str) -> None:
    (fault,) = faults_in(Path(name))
    assert "\x1b" not in str(fault)
    assert "craft.yaml" in fault.expected


def test_every_scenario_that_comes_with_the_program_can_be_used() -> None:
    names = packaged_scenario_names()
    assert "tern" in names
    for name in names:
        scenario = load_scenario(packaged_scenario(name))
        assert scenario.folder.name == name
        assert scenario.plan.committed in scenario.plan.options


def test_an_unknown_scenario_is_told_with_the_nearest_name() -> None:
    with pytest.raises(ScenarioError) as caught:
        packaged_scenario("tren")
    assert "'tern'" in caught.value.faults[0].expected
    with pytest.raises(ScenarioError):
        packaged_scenario("../configs/tern")


def test_scenarios_inside_an_installed_package_come_before_those_beside_it(
    files: Mapping[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "console"
    (package / "craft").mkdir(parents=True)
    monkeypatch.setattr(scenario_module, "__file__", str(package / "craft" / "scenario.py"))
    assert packaged_scenario_names() == ()
    (tmp_path / "configs").mkdir()
    write_files(tmp_path / "configs" / "beside", files)
    (tmp_path / "configs" / "not a scenario").mkdir()
    assert packaged_scenario_names() == ("beside",)
    (package / "configs").mkdir()
    write_files(package / "configs" / "inside", files)
    assert packaged_scenario_names() == ("inside",)
    assert packaged_scenario("inside") == package / "configs" / "inside"
