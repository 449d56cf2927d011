"""The campaign's command in its short form: kills, flips, cuts, failing disks, power cuts."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def figures() -> dict[str, Any]:
    command = [sys.executable, "tests/campaigns/journal_campaign.py", "--json"]
    sizes = {
        "rounds": 4,
        "writers": 3,
        "flips": 300,
        "cuts": 12,
        "power-cuts": 60,
        "watch-every": 7,
        "seed": 7,
    }
    options = [word for name, size in sizes.items() for word in (f"--{name}", str(size))]
    done = subprocess.run([*command, *options], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    answer = json.loads(done.stdout)
    assert (answer["wrong"], done.returncode) == ([], 0)
    return dict(answer["figures"])


def test_every_acknowledged_entry_survives_the_kill_of_its_writer(figures: dict[str, Any]) -> None:
    kills = figures["kills"]
    assert kills["rounds"] == 4
    assert kills["acknowledged"] > 4
    assert (kills["lost"], kills["doubled"], kills["faults"]) == (0, 0, [])


def test_every_flipped_bit_that_stores_something_is_found(figures: dict[str, Any]) -> None:
    flips = figures["flips"]
    assert flips["found"] >= flips["used"] >= 200
    assert (flips["missed"], flips["rewritten"]) == (0, 0)
    assert flips["first_named"] == flips["entries_hit"] > 50, "the first entry that was hit is named first"
    # Without the chain most would go unseen: that is why it is there.
    assert flips["found_by_sqlite"] < flips["found"] / 2


def test_every_cut_tail_is_found_with_a_noted_head_and_none_without(figures: dict[str, Any]) -> None:
    cuts = figures["cuts"]
    assert cuts["found_with_head"] == cuts["cuts"] == 12
    assert cuts["found_without_head"] == 0
    assert cuts["truncations_found"] == cuts["truncations"] == 12


def test_an_append_survives_the_failure_of_each_of_its_acts(figures: dict[str, Any]) -> None:
    disk = figures["failing disk"]
    if "not run" in disk:
        pytest.skip(disk["not run"])
    assert set(disk["by_act"]) == {"open", "write", "sync", "delete", "folder"}
    assert disk["told"] == disk["failures"] > 50
    assert (disk["lost"], disk["doubled"], disk["unusable"], disk["faults"]) == (0, 0, 0, [])


def test_a_watch_that_loses_its_disk_at_any_write_ends_with_every_entry_in_order(
    figures: dict[str, Any],
) -> None:
    watch = figures["watch on a failing disk"]
    if "not run" in watch:
        pytest.skip(watch["not run"])
    assert watch["failures"] > 100
    assert watch["kept"] > watch["failures"] / 2, "most failures leave something to keep"
    wrong = ("told_too_early", "lost", "out_of_order", "changed", "still_kept")
    assert {name: watch[name] for name in wrong} == dict.fromkeys(wrong, 0)
    assert watch["faults"] == []


def test_a_power_cut_loses_nothing_that_was_acknowledged(figures: dict[str, Any]) -> None:
    power, control = figures["power"], figures["power, control with FULL"]
    if "not run" in power:
        pytest.skip(power["not run"])
    assert power["power_cuts"] == 60
    assert (power["lost"], power["unusable"], power["faulty"]) == (0, 0, 0)
    # The same trial must see what the next weaker setting loses, or it would prove nothing.
    assert control["lost"] > 0
