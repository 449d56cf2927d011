"""Which history of readings a command means, and opening it."""

from __future__ import annotations

from pathlib import Path

from console.cli.journals import is_there
from console.record.history import History
from console.scenario.load import Scenario


def history_path(journal: Path) -> Path:
    """Where the history of a journal's readings stands: beside it.

    >>> history_path(Path("shift.journal")).name, history_path(Path("shift.db")).name
    ('shift.readings', 'shift.db.readings')
    """
    if journal.suffix == ".journal":
        return journal.with_suffix(".readings")
    return journal.with_name(f"{journal.name}.readings")


def open_history(scenario: Scenario, path: Path | None, *, writes: bool) -> History:
    """The history; in memory alone where no file is named, or there is none and nothing is to be written.

    Args:
        scenario: whose readings it keeps.
        path: the file.
        writes: whether it may be made and added to.

    Raises:
        JournalError: there is a file that is not this scenario's history.
    """
    if path is None or (not writes and not is_there(path)):
        return History(scenario.craft.channels)
    from console.record.history_store import HistoryStore  # SQLite is paid for only where there is a file

    store = HistoryStore.open(path, scenario=scenario.slug, epoch=scenario.craft.epoch, writes=writes)
    return History(scenario.craft.channels, store)
