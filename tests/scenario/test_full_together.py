"""What one key of the second scenario needs of another, and the spaces that have no stores or no cabin."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from full_scenario import FULL_FILES
from scenario_builders import edited, faults_in, write_files

from console.errors import Fault
from console.scenario.load import load_scenario

FaultsAfter = Callable[..., tuple[Fault, ...]]

SEALED = """\
format: 1
craft: {name: Shut Room, epoch: "2043-03-01T00:00:00Z"}
crew: {count: 4}
cabin:
  volume: 40 m^3
  pressure: 101.325 kPa
  oxygen: 20.9 %
  carbon_dioxide: 800 ppm
  limits: [{name: stale air, of: carbon_dioxide, above: 3 %, source: house rule}]
supplies: {}
bands: {default: {advisory: 24 h, caution: 12 h, warning: 3 h}}
"""
SEALED_PLAN = """\
format: 1
phases: [{name: wait, start: T+0h}]
options: {door: {arrival: T+30h}}
committed: door
"""


@pytest.fixture
def sealed_faults(tmp_path: Path) -> FaultsAfter:
    """Reads the sealed space after edits of its craft.yaml."""

    def read(*edits: str) -> tuple[Fault, ...]:
        craft = SEALED
        for old, new in zip(edits[::2], edits[1::2], strict=True):
            craft = edited(craft, old, new)
        return faults_in(write_files(tmp_path / "sealed", {"craft.yaml": craft, "plan.yaml": SEALED_PLAN}))

    return read


@pytest.mark.parametrize(
    ("key", "limits"),
    [
        ("  pressure: {channel: room.pressure}\n", [1, 2, 3, 4]),
        ("  oxygen: {channel: room.oxygen}\n", [3, 4]),
        ("  carbon_dioxide: 4 mmHg\n", [0, 1]),
        ("  temperature: {channel: room.temperature}\n", [5, 6, 7]),
        ("  humidity: 45 %\n", [5, 7]),
    ],
)
def test_a_limit_needs_what_it_rests_on(full_faults_after: FaultsAfter, key: str, limits: list[int]) -> None:
    name = key.strip().split(":")[0]
    faults = [fault for fault in full_faults_after("craft.yaml", key, "") if "cabin.limits" in fault.place]
    assert [fault.place for fault in faults] == [f"cabin.limits[{index}].of" for index in limits]
    assert all(f"cabin.{name}" in fault.found and f"cabin.{name}" in fault.expected for fault in faults)


def test_a_gas_read_as_a_share_is_no_pressure_without_the_whole(sealed_faults: FaultsAfter) -> None:
    (fault,) = sealed_faults("  pressure: 101.325 kPa\n", "", "above: 3 %", "above: 3 kPa")
    assert fault.place == "cabin.limits[0].of"
    assert "cabin.pressure" in fault.expected


def test_a_cabin_that_cannot_be_read_brings_no_faults_with_it(full_faults_after: FaultsAfter) -> None:
    (fault,) = full_faults_after("craft.yaml", "cabin:\n  volume", "cabbin:\n  volume")
    assert fault.place == "cabbin"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("  temperature: {channel: room.temperature}\n", "  temprature: {channel: room.temperature}\n"),
        ("  pressure: {channel: room.pressure}\n", "  presure: {channel: room.pressure}\n"),
        ("propulsion:\n", "propulsio:\n"),
        ("  modules:\n    shed", "  module:\n    shed"),
        ("    unit: L\n", "    unit: LL\n"),
        ("  dry_mass: 9000 kg\n", "  dry_mass: 9000\n"),
        ("volume: 12 m^3\n", "volume: 12\n"),
        ("loads:\n  blower", "load:\n  blower"),
        ("supplies:\n", "supplys:\n"),
        ("channels:\n", "chanels:\n"),
        ("  limits:\n", "  limit:\n"),
        ("fluid: oxygen, pressure: 101.325 kPa", "fluid: oxgen, pressure: 101.325 kPa"),
        ("bottle-2: {kind: gas", "bottle-2: {kind: gass"),
        ("cart-1: {kind: absorbent", "cart-1: {kind: absorbant"),
    ],
)
def test_a_fault_does_not_bring_others_with_it(full_faults_after: FaultsAfter, old: str, new: str) -> None:
    faults = full_faults_after("craft.yaml", old, new)
    assert len(faults) == 1, [str(fault) for fault in faults]


def test_a_volume_of_gas_means_nothing_without_the_state_it_is_stated_at(
    full_faults_after: FaultsAfter,
) -> None:
    craft, plan = (
        [fault for fault in full_faults_after(
            "craft.yaml", "    volume_at: {fluid: oxygen, pressure: 101.325 kPa, temperature: 15 degC}\n", ""
        ) if fault.file == file]
        for file in ("craft.yaml", "plan.yaml")
    )  # fmt: skip
    assert [fault.place for fault in craft] == [
        "supplies.breath.stores.flask.pressure",
        "uses.masks.metabolic",
        "uses.pinhole.hole",
    ]
    assert [fault.place for fault in plan] == ["events[2].repressurise.supply"]
    assert all("volume_at" in fault.expected for fault in (*craft, *plan))


def test_a_sealed_space_with_limits_may_have_no_stores(sealed_faults: FaultsAfter) -> None:
    assert sealed_faults() == ()


def test_without_limits_there_must_be_a_supply(sealed_faults: FaultsAfter) -> None:
    limits = "  limits: [{name: stale air, of: carbon_dioxide, above: 3 %, source: house rule}]\n"
    for instead in ("", "  limits: []\n"):
        (fault,) = sealed_faults(limits, instead)
        assert (fault.place, fault.found) == ("supplies", "no supply")
        assert "cabin.limits" in fault.expected


def test_bands_of_a_cabin_without_limits_are_of_nothing(faults_after: FaultsAfter) -> None:
    (fault,) = faults_after(
        "craft.yaml", "  oxygen: {caution: 18 h}", "  oxygen: {caution: 18 h}\n  cabin: {caution: 18 h}"
    )
    assert (fault.place, fault.found) == ("bands.cabin", "bands of a cabin without limits")


def test_no_gas_alone_has_more_than_the_whole_pressure(sealed_faults: FaultsAfter) -> None:
    (fault,) = sealed_faults("oxygen: 20.9 %", "oxygen: 209 kPa")
    assert fault.place == "cabin.oxygen"
    assert "'101.325 kPa'" in fault.expected


def test_a_regulator_holds_only_what_the_cabin_knows(sealed_faults: FaultsAfter) -> None:
    (fault,) = sealed_faults("  oxygen: 20.9 %\n", "  oxygen_feed: {holds: oxygen}\n")
    assert fault.place == "cabin.oxygen_feed.holds"
    assert "cabin.oxygen" in fault.expected


def test_an_empty_oxygen_feed_is_one(sealed_faults: FaultsAfter) -> None:
    assert sealed_faults("  oxygen: 20.9 %\n", "  oxygen: 20.9 %\n  oxygen_feed: {}\n") == ()


@pytest.mark.parametrize("key", ["pressure", "temperature"])
def test_a_hole_in_the_cabin_needs_its_pressure_and_temperature(faults_after: FaultsAfter, key: str) -> None:
    edits = {
        "pressure": ("pressure: {channel: room.pressure}, ", ""),
        "temperature": (", temperature: {channel: room.temperature}", ""),
    }[key]
    leak = "leak: 0.01 kg/h, at_pressure: 101 kPa"
    (fault,) = faults_after("craft.yaml", *edits, leak, "hole: 1 mm^2")
    assert (fault.place, fault.found) == (
        "uses.seep.hole",
        f"a hole in a cabin that says nothing of cabin.{key}",
    )


def test_a_craft_without_propulsion_makes_no_burn_and_drops_nothing(
    files: Mapping[str, str], tmp_path: Path
) -> None:
    craft = edited(
        files["craft.yaml"],
        "propulsion: {supply: ballast, dry_mass: 9000 kg, exhaust_velocity: 40 m/s}\n",
        "",
    )
    plan = edited(
        files["plan.yaml"],
        "{name: flush the lock, at: T+20h, uses: {oxygen: 1.2 kg}, spread: 10 %}",
        "{name: kick, at: T+20h, burn: 3 m/s, drop: shed}",
    )
    burn, drop = faults_in(write_files(tmp_path, {**files, "craft.yaml": craft, "plan.yaml": plan}))
    assert (burn.place, burn.found) == ("events[1].burn", "a burn of a craft without propulsion")
    assert drop.place == "events[1].drop"
    assert "there is none" in drop.expected


def test_without_a_cabin_a_filling_must_say_its_volume(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = files["craft.yaml"]
    start, end = craft.index("cabin: {"), craft.index("propulsion: {")
    craft = edited(craft[:start] + craft[end:], ", at_pressure: 101 kPa", "")
    plan = edited(files["plan.yaml"], "uses: {oxygen: 1.2 kg}", "repressurise: {supply: oxygen, to: 38 kPa}")
    (fault,) = faults_in(write_files(tmp_path, {**files, "craft.yaml": craft, "plan.yaml": plan}))
    assert (fault.place, fault.found) == ("events[1].repressurise.volume", "nothing")


def test_each_option_may_drop_a_module_that_another_drops(tmp_path: Path) -> None:
    plan = edited(
        FULL_FILES["plan.yaml"],
        "wait it out: {arrival: T+90h}",
        "wait it out: {arrival: T+90h, events: [{name: drop the porch, at: T+60h, drop: porch}]}",
    )
    scenario = load_scenario(write_files(tmp_path, {**FULL_FILES, "plan.yaml": plan}))
    drops = {name: option.events[0].drops for name, option in scenario.plan.options.items()}
    assert drops == {"lift": ("porch",), "wait it out": ("porch",)}


@pytest.mark.parametrize(
    ("mass", "is_taken"),
    [("8 kg", True), ("8.3 kg", False)],  # 20 L at 30 MPa and 290 K: about 8.2 kg
)
def test_a_vessel_takes_what_its_volume_holds_at_the_highest_pressure(
    full_faults_after: FaultsAfter, mass: str, is_taken: bool
) -> None:
    faults = full_faults_after("craft.yaml", "capacity: 4 kg, quantity: 3 kg", f"quantity: {mass}")
    assert (faults == ()) is is_taken


@pytest.mark.parametrize(
    ("written", "is_taken"),
    [("229.9 K", False), ("230 K", True), ("350 K", True), ("350.1 K", False), ("170 degF", True)],
)
def test_a_gas_may_be_as_cold_and_as_hot_as_its_equation_goes(
    full_faults_after: FaultsAfter, written: str, is_taken: bool
) -> None:
    faults = full_faults_after("craft.yaml", "temperature: 17 degC", f"temperature: {written}")
    assert (faults == ()) is is_taken


def test_several_faults_of_the_new_keys_are_told_together(full_faults_after: FaultsAfter) -> None:
    faults = full_faults_after(
        "craft.yaml",
        *("count: 3", "count: 0.5"),
        *("outside: 250 K", "outside: 20 K"),
        *("above: 15 mmHg", "above: 15 mg"),
        *("mass: 2100 kg", "mass: 21000 kg"),
        *("current_limit: 60 A", "current_limit: 60 A*h"),
        *("volume: 0.05 m^3, pressure: 9 MPa", "volume: 0.05 m^3, pressure: 90 MPa"),
        *("person_hours: 60 h", "person_hours: 600 h"),
        *("discharge: 60 %", "discharge: 160 %"),
    )
    assert [fault.place for fault in faults] == [
        "crew.count",
        "cabin.thermal.outside",
        "cabin.limits[0].above",
        "propulsion.modules",
        "supplies.power.stores.bank-a.current_limit",
        "supplies.oxygen.stores.bottle-2.pressure",
        "supplies.absorbent.stores.cart-1.person_hours",
        "uses.crack.discharge",
    ]
