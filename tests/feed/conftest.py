"""A state file on a desk: in JSON and in YAML, not there yet when a test begins."""

from __future__ import annotations

from pathlib import Path

import pytest
from feed_builders import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A state file in JSON that is not there yet."""
    return Desk(tmp_path / "tern.json")


@pytest.fixture
def yaml_desk(tmp_path: Path) -> Desk:
    """A state file in YAML that is not there yet."""
    return Desk(tmp_path / "tern.yaml")
