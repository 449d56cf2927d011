"""The one mutable thing: holds feed, journal and clock, and turns them into Snapshots.

Board and commands go through it; none of them computes a margin. ``tick`` and ``preview`` may be called from
different threads: the last feed is handed over whole, and the journal locks for itself.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from console.craft.procedures import Procedure, Step
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.configuration import ConfigurationChange
from console.engine.known import Situation
from console.engine.memory import Memory
from console.engine.reading import FeedState
from console.engine.snapshot import Snapshot
from console.errors import FeedError, JournalError, UsageError, nearest_words
from console.feed.source import Source
from console.instants import at_epoch_plus, seconds_since
from console.record.entry import Draft, Entry, EntryKind, new_id
from console.record.steps import (
    body_of_step,
    change_of_body,
    changes_from,
    done_steps,
    missing_requirements,
    unknown_names,
)
from console.scenario.load import Scenario

if TYPE_CHECKING:
    from console.record.journal import Journal


class Session:
    """One scenario, its feed, its journal and its clock.

    Args:
        scenario: what is watched.
        source: where readings come from; None where only the journal is wanted.
        journal: where entries go; None where there is none yet and nothing is to be written.
        clock: now, UTC, by the clock that the source lives in (a simulated craft has its own).
        operator: who is at it.
        position: from where.
        notices: what whoever opened it has to say to whoever reads its Snapshots.
    """

    def __init__(
        self,
        *,
        scenario: Scenario,
        source: Source | None,
        journal: Journal | None,
        clock: Callable[[], datetime],
        operator: str,
        position: str,
        notices: tuple[str, ...] = (),
    ) -> None:
        self.scenario = scenario
        self.operator = operator
        self.position = position
        self._notices = notices
        self._source = source
        self._journal = journal
        self._clock = clock
        self._memory: Memory | None = None
        self._feed: FeedState | None = None
        self._poll_lock = threading.Lock()
        self._entries: tuple[Entry, ...] = ()
        self._entries_mark: int | None = None
        self._changes: tuple[tuple[Entry, ...], tuple[ConfigurationChange, ...]] = ((), ())
        """The entries that were last read for steps, and those steps."""
        self._entries_lock = threading.Lock()

    def now_s(self) -> float:
        """Now, in seconds since the epoch."""
        return seconds_since(self.scenario.craft.epoch, self._clock())

    def tick(self) -> Snapshot:
        """Poll the feed and assess; remembers the bands for the next tick."""
        at_s, feed = self._poll()
        assessment = assess(self._situation(feed, self.changes(), at_s), self._memory, DEFAULT_DRAWS)
        self._memory = assessment.memory
        return assessment.snapshot

    def preview(self, procedure: str, step_id: str) -> Snapshot:
        """What the margins would be with one more step taken now; changes nothing, remembers nothing."""
        feed = self._feed or self._poll()[1]
        at_s = self.now_s()
        changes = (*self.changes(), self._imagined(procedure, step_id, at_s))
        # Without memory of bands: the question is which band it would come to, not when that would show.
        return assess(self._situation(feed, changes, at_s), None, DEFAULT_DRAWS).snapshot

    def entries(self, limit: int | None = None) -> tuple[Entry, ...]:
        """The newest entries of the journal, oldest of them first."""
        known = self._all_entries()
        return known if limit is None else known[max(len(known) - limit, 0) :]

    def changes(self) -> tuple[ConfigurationChange, ...]:
        """The logged steps as the engine sees them, in the journal's order."""
        entries = self._all_entries()
        known, changes = self._changes
        if known is not entries:
            changes = changes_from(entries)
            self._changes = (entries, changes)
        return changes

    def done_steps(self) -> Mapping[tuple[str, str], Entry]:
        """The newest entry of every procedure step that was logged."""
        return done_steps(self._all_entries())

    def find_step(self, place: str) -> tuple[Procedure, Step]:
        """The step that ``PROCEDURE/STEP`` names.

        Raises:
            UsageError: there is none; names the nearest.
        """
        name, _, step_id = place.partition("/")
        procedures = self.scenario.procedures
        if name not in procedures:
            raise UsageError(f"found procedure {name!r}; {nearest_words(name, procedures)}")
        steps = {step.id: step for step in procedures[name].steps}
        if step_id not in steps:
            raise UsageError(f"found step {step_id!r} of procedure {name}; {nearest_words(step_id, steps)}")
        return procedures[name], steps[step_id]

    def missing_requirements(self, procedure: str, step_id: str) -> tuple[str, ...]:
        """The steps that should come first and are not logged."""
        steps = self.scenario.procedures[procedure]
        return missing_requirements(steps, steps.step(step_id), self.done_steps())

    def log_step(
        self, procedure: str, step_id: str, *, happened_s: float | None = None, reason: str = ""
    ) -> Entry:
        """Log that a step was done; it is safe on disk when this returns.

        Args:
            procedure: the procedure's name.
            step_id: the step's id.
            happened_s: when it was done, seconds since the epoch; now by default.
            reason: why it was done out of order, where the steps before it are not logged.

        Raises:
            UsageError: steps that must come first are missing and no reason is given, or it lies ahead.
            JournalError: it could not be written, and nothing was.
        """
        missing = self.missing_requirements(procedure, step_id)
        if missing and not reason.strip():
            raise UsageError(
                f"step {procedure}/{step_id} requires {', '.join(missing)}, not logged yet: log that first, "
                "or give the reason for doing it out of order"
            )
        return self._append(EntryKind.STEP, self._step_body(procedure, step_id, reason), happened_s)

    def log_note(self, text: str, *, happened_s: float | None = None) -> Entry:
        """Log a note; it is safe on disk when this returns.

        Raises:
            UsageError: it is empty, or its time lies ahead.
            JournalError: it could not be written, and nothing was.
        """
        if not text.strip():
            raise UsageError("a note needs a text")
        return self._append(EntryKind.NOTE, {"text": text}, happened_s)

    def log_correction(self, sequence: int, text: str, *, withdraws: bool) -> Entry:
        """Log that an earlier entry is wrong; it stays, and this one names it.

        Args:
            sequence: the entry that is corrected.
            text: what is right.
            withdraws: whether it did not happen at all: a step withdrawn no longer counts.

        Raises:
            UsageError: there is no text.
            JournalError: there is no such entry, or it could not be written.
        """
        if not text.strip():
            raise UsageError("a correction needs a text that says what is right")
        body = {"text": text, "corrects": sequence, "withdrawn": withdraws}
        return self._append(EntryKind.CORRECTION, body, None)

    def close(self) -> None:
        """Let go of the journal."""
        if self._journal is not None:
            self._journal.close()

    def _poll(self) -> tuple[float, FeedState]:
        """Now, and what the source knows; the clock is read inside the lock, so that no poll looks back."""
        if self._source is None:
            raise FeedError("no source of readings: name one with --state FILE or --feed sim")
        with self._poll_lock:
            at_s = self.now_s()
            self._feed = self._source.poll(at_s)
            return at_s, self._feed

    def _situation(self, feed: FeedState, changes: tuple[ConfigurationChange, ...], at_s: float) -> Situation:
        return Situation(
            slug=self.scenario.slug,
            craft=self.scenario.craft,
            plan=self.scenario.plan,
            feed=feed,
            changes=changes,
            notices=(
                *self._notices,
                *(
                    f"the journal names {name}, which this craft does not have: passed over"
                    for name in unknown_names(changes, self.scenario.craft)
                ),
            ),
            at_s=at_s,
        )

    def _imagined(self, procedure: str, step_id: str, at_s: float) -> ConfigurationChange:
        body = self._step_body(procedure, step_id, reason="")
        return change_of_body(body, at_s, f"step {procedure}/{step_id}")

    def _step_body(self, procedure: str, step_id: str, reason: str) -> dict[str, Any]:
        steps = self.scenario.procedures[procedure]
        return body_of_step(steps, steps.step(step_id), self.scenario.craft, reason)

    def _append(self, kind: EntryKind, body: Mapping[str, Any], happened_s: float | None) -> Entry:
        if self._journal is None:
            raise JournalError("no journal is open to write to")
        now_s = self.now_s()
        at_s = now_s if happened_s is None else happened_s
        if at_s > now_s + AHEAD_S:
            raise UsageError("an entry cannot have happened later than now: check the time given")
        return self._journal.append(
            Draft(
                id=new_id(),
                kind=kind,
                happened_at=at_epoch_plus(self.scenario.craft.epoch, at_s),
                operator=self.operator,
                position=self.position,
                body=body,
            )
        )

    def _all_entries(self) -> tuple[Entry, ...]:
        """Every entry, read on from the last one known when the journal says that it has changed."""
        if self._journal is None:
            return ()
        with self._entries_lock:
            mark = self._journal.change_mark()
            if mark != self._entries_mark:
                last = self._entries[-1].sequence if self._entries else 0
                if newer := self._journal.entries(after=last):
                    self._entries = (*self._entries, *newer)
                self._entries_mark = mark
            return self._entries


AHEAD_S = 60.0
"""How far an entry's own time may lie ahead of now: two clocks that differ by less are taken as one."""
