"""Which journal a command means, and opening it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from console.errors import JournalError, UsageError
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
    try:
        state_home = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    except RuntimeError:
        raise UsageError("this user has no home folder: name the journal with --journal FILE") from None
    stamp = format_utc(scenario.craft.epoch).replace("-", "").replace(":", "")
    return state_home / "endurance" / f"{scenario.slug}-{stamp}{'-simulated' if simulated else ''}.journal"


def is_there(path: Path) -> bool:
    """Whether there is a journal.

    Raises:
        JournalError: that cannot be found out, which must not count as no journal.
    """
    try:
        return path.exists()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise JournalError(
            f"{path}: cannot be looked at ({reason}); name a journal with --journal FILE"
        ) from None


def boot_clock_s() -> float:
    """Seconds of a clock that never steps; where the system has one, it counts a machine's sleep too."""
    clock = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
    return time.clock_gettime(clock)


def open_journal(
    scenario: Scenario, path: Path, clock: Callable[[], datetime], *, writes: bool, keeps: bool = False
) -> Journal | None:
    """The journal; None where there is none and nothing is to be written.

    Args:
        scenario: whose journal it is.
        path: the file.
        clock: by which entries are written.
        writes: whether it may be made and added to.
        keeps: whether what cannot be written is kept until it can: for a board, which goes on running.

    Raises:
        JournalError: it cannot be opened, or is another scenario's.
    """
    if not writes and not is_there(path):
        return None
    from console.record.journal import Journal  # SQLite is paid for only where there is a journal
    from console.record.journal_keeping import KeepingJournal

    return (KeepingJournal if keeps else Journal).open(
        path,
        scenario=scenario.slug,
        epoch=scenario.craft.epoch,
        clock=clock,
        monotonic=boot_clock_s,
        create=writes,
        read_only=not writes,
        watches_clock=clock is wall_clock,
    )
