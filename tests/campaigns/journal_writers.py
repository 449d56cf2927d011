"""Writers that are killed in the middle of their work, several at once on one journal.

Each writer notes an entry in a file of its own only after ``append`` returned; after the kill every noted
entry must be in the journal. Run with a journal and a name, this file is such a writer.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from journal_scene import note, open_journal

from console.record.chain import Head
from console.record.entry import Draft
from console.record.journal import Journal
from console.record.verify import verify

_ROUNDS_A_JOURNAL = 10
_START_PATIENCE_S = 60.0


@dataclass
class KillFigures:
    """What came out of the rounds."""

    rounds: int = 0
    acknowledged: int = 0
    lost: int = 0
    """Acknowledged and not in the journal, or there with another sequence or hash."""
    unacknowledged: int = 0
    """In the journal though the writer was killed before it could say so."""
    rolled_back: int = 0
    """Rounds that left a rollback journal behind, for the next one to undo."""
    doubled: int = 0
    """Entries that a resend after the kill entered a second time."""
    faults: list[str] = field(default_factory=list)


def write_until_killed(path: Path, name: str, acknowledged: Path) -> None:
    """Append without end; note every entry that was acknowledged."""
    with open_journal(path) as journal:
        notes = os.open(acknowledged, os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
        for number in count(1):
            draft = _draft(name, number)
            entry = journal.append(draft)
            os.write(notes, f"{draft.id} {entry.sequence} {entry.hash}\n".encode())


def _draft(name: str, number: int) -> Draft:
    return note(f"{name}-{number}", f"{name} {number} " + "·" * (number * 37 % 700))


def kill_rounds(folder: Path, *, rounds: int, writers: int, seed: int) -> KillFigures:
    """Start writers, kill them at a moment of chance, look at what is left; again and again."""
    chance = random.Random(seed)
    figures = KillFigures()
    for number in range(rounds):
        path = folder / f"killed-{number // _ROUNDS_A_JOURNAL}.db"
        names = [f"r{number}w{writer}" for writer in range(writers)]
        _run_and_kill(path, [(name, folder / f"{name}.txt") for name in names], chance)
        figures.rounds += 1
        figures.rolled_back += path.with_name(path.name + "-journal").exists()
        _examine(path, names, folder, figures)
    return figures


def _run_and_kill(path: Path, writers: list[tuple[str, Path]], chance: random.Random) -> None:
    running = [
        subprocess.Popen([sys.executable, __file__, str(path), name, str(acknowledged)])
        for name, acknowledged in writers
    ]
    try:
        _wait_for([acknowledged for _, acknowledged in writers], chance.randrange(1, 25 * len(writers)))
        time.sleep(chance.uniform(0.0, 0.02))
        for writer in chance.sample(running, len(running)):
            time.sleep(chance.uniform(0.0, 0.004))
            writer.send_signal(signal.SIGKILL)
    finally:
        for writer in running:
            writer.kill()
            writer.wait()


def _wait_for(acknowledged: list[Path], entries: int) -> None:
    """Until the writers have so many entries behind them, however fast the disk is."""
    give_up = time.monotonic() + _START_PATIENCE_S
    while time.monotonic() < give_up:
        if sum(noted.read_bytes().count(b"\n") for noted in acknowledged if noted.exists()) >= entries:
            return
        time.sleep(0.002)


def _examine(path: Path, names: list[str], folder: Path, figures: KillFigures) -> None:
    with open_journal(path) as journal:
        found = {entry.id: entry for entry in journal.entries()}
        heads = []
        for name in names:
            noted = folder / f"{name}.txt"
            # A line without its end is the writer's own note cut short by the kill; its entry may be there.
            text = noted.read_text() if noted.exists() else ""
            lines = [line.split() for line in text.split("\n")[:-1]]
            for draft_id, sequence, entry_hash in lines:
                entry = found.get(draft_id)
                figures.acknowledged += 1
                figures.lost += entry is None or (str(entry.sequence), entry.hash) != (sequence, entry_hash)
                heads.append(Head(count=int(sequence), hash=entry_hash))
            last = len(lines) + 1
            figures.unacknowledged += f"{name}-{last}" in found
            figures.doubled += _resend(journal, _draft(name, last), f"{name}-{last}" in found)
    figures.faults += [str(fault) for fault in verify(path, heads=heads).faults]


def _resend(journal: Journal, draft: Draft, was_there: bool) -> bool:
    """Send again what the killed writer had in hand; whether it was wrongly entered anew."""
    before = journal.head().count
    journal.append(draft)
    return journal.head().count != before + (not was_there)


if __name__ == "__main__":
    write_until_killed(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))
