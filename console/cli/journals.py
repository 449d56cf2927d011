"""Which journal a command means, and opening it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from console.instants import format_utc
from console.scenario.load import Scenario

if TYPE_CHECKING:
    from console.record.journal import Journal


def wall_clock() -> datetime:
    """Now, UTC."""
    return datetime.now(UTC)


def journal_path(named: Path | None, scenario: Scenario, *, simulated: bool) -> Path:
    """The journal that was named, else the scenario's own in the user's state folder.

    One per scenario and epoch; the simulated craft has its own, so that a rehearsal stays out of it.
    """
    if named is not None:
        return named
    state_home = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    stamp = format_utc(scenario.craft.epoch).replace("-", "").replace(":", "")
    return state_home / "endurance" / f"{scenario.slug}-{stamp}{'-simulated' if simulated else ''}.journal"


def open_journal(
    scenario: Scenario, path: Path, clock: Callable[[], datetime], *, writes: bool
) -> Journal | None:
    """The journal; None where there is none and nothing is to be written.

    Args:
        scenario: whose journal it is.
        path: the file.
        clock: by which entries are written.
        writes: whether it may be made and added to.

    Raises:
        JournalError: it cannot be opened, or is another scenario's.
    """
    if not writes and not path.exists():
        return None
    from console.record.journal import Journal  # SQLite is paid for only where there is a journal

    return Journal.open(
        path,
        scenario=scenario.slug,
        epoch=scenario.craft.epoch,
        clock=clock,
        monotonic=time.monotonic,
        create=writes,
        read_only=not writes,
    )
