"""Where output, paths or clocks are in a bad way: one plain sentence, the right exit code, nothing lost."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest


def program(
    *words: object, tmp_path: Path, shell: str = "", **environment: str
) -> subprocess.CompletedProcess[str]:
    """The program as a process of its own; ``shell`` is put behind its words for the shell to see."""
    asked = [sys.executable, "-m", "console", *map(str, words)]
    line = " ".join(f"'{word}'" for word in asked) + f" {shell}"
    return subprocess.run(
        ["sh", "-c", line],
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
        timeout=120,
        stdin=subprocess.DEVNULL,
        env={**os.environ, "XDG_STATE_HOME": str(tmp_path / "state-home"), **environment},
    )


def test_a_closed_output_is_no_defect(tern: Path, tmp_path: Path) -> None:
    done = program("margins", tern, tmp_path=tmp_path, shell=">&-")
    assert "defect" not in done.stderr
    assert done.returncode in (0, 2)


def test_a_full_output_is_told_in_one_sentence(tern: Path, tmp_path: Path) -> None:
    done = program("margins", tern, tmp_path=tmp_path, shell="> /dev/full")
    assert done.returncode == 2
    assert "the output cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_an_entry_that_is_saved_is_said_to_be_even_if_the_output_is_full(tern: Path, tmp_path: Path) -> None:
    done = program("log", "add", "--note", "valve shut", tern, tmp_path=tmp_path, shell="> /dev/full")
    assert done.returncode == 0
    assert "saved as #1" in done.stderr
    assert "valve shut" in program("log", "list", tern, tmp_path=tmp_path).stdout


@pytest.mark.parametrize("encoding", ["ascii", "latin-1:strict"])
def test_any_encoding_of_the_terminal_will_do(tern: Path, tmp_path: Path, encoding: str) -> None:
    done = program("margins", tern, tmp_path=tmp_path, PYTHONIOENCODING=encoding)
    assert (done.returncode, done.stderr) == (0, "")
    assert "water" in done.stdout


def test_the_board_without_a_terminal_says_what_to_use_instead(tern: Path, tmp_path: Path) -> None:
    done = program("board", tern, tmp_path=tmp_path)
    assert done.returncode == 2
    assert "endurance margins" in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(
    "words", [("margins",), ("log", "list"), ("log", "verify"), ("log", "add", "--note", "x")]
)
def test_a_journal_path_that_is_too_long_is_told(endurance: Any, tern: Path, words: tuple[str, ...]) -> None:
    said = endurance(*words, "--journal", "/" + "x" * 5000, tern)
    assert said.status == 2
    assert "defect" not in said.err


def test_a_folder_name_that_is_too_long_is_told(endurance: Any) -> None:
    said = endurance("check", "x" * 5000)
    assert said.status == 2
    assert "cannot be looked at" in said.err


def test_without_a_home_folder_a_journal_must_be_named(
    endurance: Any, tern: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_STATE_HOME")
    monkeypatch.setattr(Path, "home", homeless)
    said = endurance("log", "list", tern)
    assert said.status == 2
    assert "--journal" in said.err


@pytest.mark.parametrize("name", ["simulation.yaml", "state.json", "craft.yaml"])
def test_a_pipe_or_a_dead_link_in_a_files_place_is_a_fault_and_hangs_nothing(
    endurance: Any, tern: Path, name: str
) -> None:
    (tern / name).unlink()
    os.mkfifo(tern / name)
    assert endurance("check", tern).status == 1
    (tern / name).unlink()
    (tern / name).symlink_to(name)
    assert endurance("check", tern).status == 1


@pytest.mark.parametrize("moment", ["9999-12-31T23:00:00Z", "0001-01-01T00:00:00Z"])
def test_moments_at_the_ends_of_the_calendar_are_refused(endurance: Any, tern: Path, moment: str) -> None:
    said = endurance("margins", "--at", moment, "--json", tern)
    assert said.status == 2
    assert "write a year between" in said.err
    state = json.loads((tern / "state.json").read_text())
    (tern / "state.json").write_text(json.dumps({**state, "at": moment}))
    said = endurance("margins", "--json", tern)
    assert "defect" not in said.err
    assert said.document["feed"]["quality"] == "suspect"


@pytest.mark.parametrize("number", ["1.7e308", "1e16", "-1e300"])
def test_a_number_beyond_all_measure_is_suspect_and_stays_out_of_the_sums(
    endurance: Any, tern: Path, number: str
) -> None:
    craft = (tern / "craft.yaml").read_text()
    assert "water-1.quantity:    {unit: kg, range: [0, 100]," in craft
    (tern / "craft.yaml").write_text(craft.replace("unit: kg, range: [0, 100],", "unit: kg,"))
    state = json.loads((tern / "state.json").read_text())
    name = next(name for name in state["readings"] if name.startswith("water-1"))
    before = json.dumps(state)
    reading = state["readings"][name]
    written = json.dumps(reading)
    (tern / "state.json").write_text(before.replace(f'"{name}": {written}', f'"{name}": {number}', 1))
    document = endurance("margins", "--json", tern).document
    assert document["feed"]["readings"][name]["quality"] == "suspect"
    assert document["supplies"]["water"]["usable"] is None


def test_a_rehearsal_asked_twice_says_the_same_bytes(endurance: Any, tern: Path) -> None:
    words = ("margins", "--feed", "sim", "--at", "T+26h", "--json", tern)
    assert endurance(*words).out == endurance(*words).out


def test_a_live_board_never_takes_the_files_own_time_for_now(tern: Path, tmp_path: Path) -> None:
    from argparse import Namespace

    from console.cli.opening import open_session
    from console.cli.sources import CLOCK_HELD

    (tern / "simulation.yaml").unlink()
    given = {"scenario": tern, "state": None, "feed": None, "journal": tmp_path / "j"}
    given |= {"speed": None, "seed": None, "as_of": None}
    live = open_session(Namespace(**given, at=None), writes=False, live=True)
    first = live.now_s()
    assert live.now_s() > first
    held = open_session(Namespace(**given, at="T+26h"), writes=False, live=True)
    assert held.tick().notices == (CLOCK_HELD,)
