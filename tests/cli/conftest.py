"""The program run in this process, on a copy of the demo, with its own state folder."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from console.cli.main import main
from console.scenario.load import packaged_scenario


@dataclass(frozen=True)
class Said:
    """What one run of the program did."""

    status: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Said]


@pytest.fixture
def endurance(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state-home"))

    def run(*words: object) -> Said:
        capsys.readouterr()
        try:
            status = main([str(word) for word in words])
        except SystemExit as stop:  # argparse stops by itself on usage errors and on --help
            status = int(stop.code or 0)
        captured = capsys.readouterr()
        return Said(status=status, out=captured.out, err=captured.err)

    return run


@pytest.fixture
def tern(tmp_path: Path) -> Path:
    return Path(shutil.copytree(packaged_scenario("tern"), tmp_path / "tern"))
