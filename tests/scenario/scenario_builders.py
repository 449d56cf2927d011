"""How the tests write a scenario's folder and spoil it by single edits."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from console.errors import Fault, ScenarioError
from console.scenario.load import load_scenario

NAMES = ("craft.yaml", "plan.yaml", "procedures.yaml")


def edited(text: str, old: str, new: str) -> str:
    """The text with one place changed; the place must be there once, or the test would test nothing."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the good text"
    return text.replace(old, new)


def write_files(folder: Path, files: Mapping[str, str]) -> Path:
    """A scenario's folder with these files in it and no others."""
    folder.mkdir(exist_ok=True)
    for name in NAMES:
        (folder / name).unlink(missing_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def faults_in(folder: Path) -> tuple[Fault, ...]:
    """What is wrong with a scenario; empty where nothing is."""
    try:
        load_scenario(folder)
    except ScenarioError as error:
        return error.faults
    return ()
