"""A record played again says the same every time, and a look back shows nothing that came later."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

KIND = "stuck:at=T+30h,channel=o2-1.pressure"


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Nine hours of a simulated contingency, with one gauge that sticks."""
    from console.cli.main import main
    from console.scenario.load import packaged_scenario

    folder = tmp_path_factory.mktemp("record")
    words = [
        "simulate",
        "--out",
        str(folder),
        "--seed",
        "4",
        "--hours",
        "9",
        "--every",
        "60s",
        "--fault",
        KIND,
    ]
    assert main([*words, "--force", str(packaged_scenario("tern"))]) == 0
    return folder


def of(record: Path) -> tuple[str, str, str, str]:
    return "--feed", str(record / "feed.csv"), "--journal", str(record / "journal.db")


def test_the_same_record_says_the_same_every_time(endurance: Any, record: Path) -> None:
    words = ("replay", *of(record), "--from", "T+29h", "--until", "T+30h", "--every", "30min", "--json")
    first, second = endurance(*words), endurance(*words)
    assert first.status == 0, first.err
    assert first.out == second.out
    moments = [json.loads(line)["elapsed_h"] for line in first.out.splitlines()]
    assert moments == pytest.approx([29.0, 29.5, 30.0])


def test_the_text_has_a_line_for_each_moment_and_names_what_is_doubted(endurance: Any, record: Path) -> None:
    said = endurance("replay", *of(record), "--from", "T+29h", "--every", "150min")
    lines = said.out.splitlines()
    assert lines[0].startswith("Margin at its low end in hours against need")
    assert lines[1].split()[:4] == ["elapsed", "power", "oxygen", "water"]
    assert [line.split()[0] for line in lines[2:]] == ["T+29h00m", "T+31h30m", "T+34h00m", "T+34h48m"]
    assert "doubted" not in lines[2]
    assert "doubted o2-1.pressure" in lines[-1]


def test_a_look_back_is_the_first_moment_of_a_replay_from_there(endurance: Any, record: Path) -> None:
    played = endurance("replay", *of(record), "--from", "T+30h30m", "--until", "T+30h30m", "--json")
    back = endurance("margins", *of(record), "--as-of", "T+30h30m", "--json").document
    shown = json.loads(played.out)
    assert back["notices"] == [
        "looking back: what was known at that moment, from the record; this is no live picture"
    ]
    back["notices"] = shown["notices"] = []
    assert back == shown


def test_what_came_later_is_left_out_of_a_look_back(endurance: Any, record: Path, tmp_path: Path) -> None:
    cut = tmp_path / "cut.csv"
    lines = (record / "feed.csv").read_text().splitlines(keepends=True)
    stamp = "2041-06-03T08:10:"  # T+29h
    cut.write_text("".join(line for line in lines if line.startswith("at") or line[:17] <= stamp))
    whole = endurance("margins", *of(record), "--as-of", "T+29h", "--json").document
    short = endurance(
        "margins", "--feed", cut, "--journal", record / "journal.db", "--as-of", "T+29h", "--json"
    ).document
    for document in (whole, short):
        document["feed"].pop("source")
    assert whole == short


def test_entries_written_later_are_not_in_a_look_back(endurance: Any, record: Path) -> None:
    whole = endurance("log", "list", "--journal", record / "journal.db", "--json").document
    back = endurance("log", "list", *of(record), "--as-of", "T+29h", "--json").document
    assert 0 < len(back["entries"]) < len(whole["entries"])
    assert all(entry["elapsed_h"] <= 29.0 for entry in back["entries"])


def test_nothing_can_be_logged_in_the_past(endurance: Any, record: Path) -> None:
    said = endurance("log", "add", "--note", "x", "--as-of", "T+29h", "--journal", record / "journal.db")
    assert said.status == 2
    assert "nothing can be logged in the past; log what happened earlier with --when TIME" in said.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("margins", "--feed", "sim", "--as-of", "T+29h"), "the simulated craft keeps no record"),
        (("margins", "--as-of", "T+29h"), "there is no history of readings at"),
        (("margins", "--as-of", "T+29h", "--at", "T+29h"), "not allowed with argument"),
    ],
)
def test_a_look_back_without_a_record_is_refused(endurance: Any, words: tuple[str, ...], told: str) -> None:
    said = endurance(*words)
    assert said.status == 2
    assert told in said.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--from", "T+31h", "--until", "T+30h"), "--until: found a moment 1.00 h before the first one"),
        (("--every", "0.1s", "--until", "T+60h"), "write a longer time"),
        (("--every", "soon"), "argument --every"),
    ],
)
def test_words_that_do_not_fit_are_refused(
    endurance: Any, record: Path, words: tuple[str, ...], told: str
) -> None:
    said = endurance("replay", *of(record), *words)
    assert said.status == 2
    assert told in said.err


def test_a_moment_taken_as_now_reads_a_growing_file_as_far_as_it_went(endurance: Any, record: Path) -> None:
    said = endurance("margins", *of(record), "--at", "T+29h", "--json").document
    assert said["feed"]["quality"] == "good"
    assert said["feed"]["faults"] == []
    assert all(reading["quality"] == "good" for reading in said["feed"]["readings"].values())
    assert said["supplies"]["power"]["factors"]["loads"]["factor"] == pytest.approx(1.0, abs=0.2)
