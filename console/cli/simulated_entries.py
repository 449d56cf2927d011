"""The simulated crew's acts as entries of a real journal, each written when the crew wrote it."""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime
from pathlib import Path
from typing import Any

from console.feed.simulated_contingency import CREW
from console.feed.simulated_operators import Act
from console.feed.simulated_recorded import Recorded
from console.instants import at_epoch_plus
from console.record.entry import Draft, Entry, EntryKind
from console.record.journal import Journal
from console.record.steps import body_of_commitment, body_of_step
from console.scenario.load import Scenario

HOST = "simulated"


class CrewClock:
    """The moment at which the crew writes, set from entry to entry."""

    def __init__(self, scenario: Scenario, at_s: float) -> None:
        self._epoch = scenario.craft.epoch
        self.at_s = at_s

    def __call__(self) -> datetime:
        """Now, UTC."""
        return at_epoch_plus(self._epoch, self.at_s)

    def monotonic(self) -> float:
        """Seconds of a clock that never steps."""
        return self.at_s


def write_journal(path: Path, scenario: Scenario, recorded: Recorded, until_s: float) -> tuple[Entry, ...]:
    """Write what the crew had logged by a moment; the journal is made even where that is nothing.

    Raises:
        JournalError: it cannot be written.
    """
    written = sorted(
        (
            (act.written_s, act)
            for act in recorded.acts
            if act.written_s is not None and act.written_s <= until_s
        ),
        key=lambda each: each[0],
    )
    clock = CrewClock(scenario, float(recorded.truth_times_s[0]))
    with Journal.open(
        path,
        scenario=scenario.slug,
        epoch=scenario.craft.epoch,
        clock=clock,
        monotonic=clock.monotonic,
        host=HOST,
    ) as journal:
        for number, (written_s, act) in enumerate(written):
            clock.at_s = written_s
            journal.append(_draft(act, scenario, _id(recorded.seed, number)))
        return journal.entries()


def _draft(act: Act, scenario: Scenario, draft_id: str) -> Draft:
    kind, body = _body(act, scenario)
    happened_at = at_epoch_plus(scenario.craft.epoch, act.happened_s)
    return Draft(id=draft_id, kind=kind, happened_at=happened_at, operator=CREW, position="", body=body)


def _body(act: Act, scenario: Scenario) -> tuple[EntryKind, dict[str, Any]]:
    if act.option is not None:
        return EntryKind.STEP, body_of_commitment(act.option)
    if act.procedure is None or act.step is None:
        return EntryKind.NOTE, {"text": act.text}
    return EntryKind.STEP, body_of_step(act.procedure, act.step, scenario.craft, act.reason)


def _id(seed: int, number: int) -> str:
    """A UUID (RFC 9562) that is the same whenever the same contingency is written."""
    digest = hashlib.sha256(f"simulated entry {number} of seed {seed}".encode()).digest()
    return str(uuid.UUID(bytes=digest[:16], version=4))
