"""What stands between session and screen: the threads, the standing faults, and the saving of entries.

It knows nothing of Textual. An entry counts as saved when the session says so and not before; what could not
be saved stays here as text until it is.
"""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable, Coroutine, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from console.board.clerk import Clerk
from console.board.faces.currents import over_sentences
from console.board.faces.entry_words import drafts_of, kept_faults, kept_text, saved_words
from console.board.ticker import Tick, Ticker, described
from console.display import age_text, time_of_day_text
from console.engine.snapshot import Snapshot
from console.errors import EnduranceError, JournalError, UsageError
from console.instants import at_epoch_plus
from console.learnt_words import unlogged_text
from console.record.entry import Entry
from console.record.journal_kept import NotYetSavedError

if TYPE_CHECKING:
    from console.session import Session

Answer = TypeVar("Answer")

_LATE_TICKS = 3.0
"""Intervals without a Snapshot after which the board says that it is not updated."""
_LEAVE_ENGINE_S = 1.0
"""An engine that hangs must not hold up whoever leaves."""
_SAID_FOR_S = 120.0
"""How long the board says what was last done."""
_LATE_S = 3.0
"""At the least: an engine that is busy for a second is no fault."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Effect:
    """What a step would do, as reckoned beside the screen."""

    before: Snapshot | None
    after: Snapshot


class Desk:
    """One operator's dealings with one session.

    Args:
        session: the session.
        interval_s: from one tick to the next.
        monotonic: the clock that ages are measured by.
    """

    def __init__(self, session: Session, interval_s: float, monotonic: Callable[[], float]) -> None:
        self.session = session
        self.unsaved: dict[str, str] = {}
        """By dialog, what was typed and is not in the journal."""
        self.on_said: Callable[[], None] | None = None
        """Called when there is something new to tell, so that no older word stays in sight meanwhile."""
        self._said = ("", 0.0)
        self._monotonic = monotonic
        self._ticker = Ticker(session, interval_s, monotonic)
        self._clerk = Clerk(duty=self._write_kept)
        self._asker = Clerk("asker")
        """What may take seconds is reckoned by a second one, so that no entry waits behind it."""
        self._log_fault = ""
        self._steps_fault = ""
        self._display_faults: dict[str, str] = {}
        self._writing: dict[int, str] = {}
        """What is on its way into the journal, by the number of its write."""
        self._writes = 0

    def start(self) -> None:
        """Start the threads."""
        self._ticker.start()
        self._clerk.start()
        self._asker.start()

    def stop(self, timeout_s: float) -> tuple[str, ...]:
        """End the threads; returns every text that is not in the journal."""
        self._asker.stop(0.0)
        self._clerk.stop(timeout_s)
        self._ticker.stop(min(timeout_s, _LEAVE_ENGINE_S))
        kept = (f"{draft.kind.value}: {kept_text(draft)}" for draft in drafts_of(self.session.unsaved()))
        # A note on its way stands in both.
        return tuple(dict.fromkeys((*kept, *self._writing.values(), *self.unsaved.values())))

    def monotonic_s(self) -> float:
        """The clock that ages are measured by."""
        return self._monotonic()

    def ask(self, work: Callable[[], Answer]) -> asyncio.Future[Answer]:
        """Put a question to the session beside the screen; one that still waits is given up for it."""
        return self._asker.reckon(work)

    def tick_now(self) -> None:
        """Tick in the caller's own thread, for a board without the engine's: pictures and tests."""
        self._ticker.tick()

    @property
    def tick(self) -> Tick:
        """What the engine last said."""
        return self._ticker.latest

    def not_updated_s(self) -> float | None:
        """For how long no Snapshot has come, where that is too long or the last try failed."""
        waited_s = self._ticker.waited_s()
        late = waited_s > max(_LATE_S, _LATE_TICKS * self._ticker.interval_s)
        return waited_s if late or self.tick.engine_error else None

    @property
    def notice(self) -> str:
        """What was last done; empty once that is long ago."""
        words, until_s = self._said
        return words if self._monotonic() < until_s else ""

    def say(self, words: str, for_s: float = _SAID_FOR_S) -> None:
        """Tell the operator something on the board."""
        self._said = (words, self._monotonic() + for_s)
        if self.on_said is not None:
            self.on_said()

    def faults(self) -> tuple[str, ...]:
        """The standing faults, the worst first."""
        tick, stalled_s = self.tick, self.not_updated_s()
        faults = []
        if tick.engine_error:
            faults.append(f"ENGINE: {tick.engine_error}{_figures_of(tick)}")
        elif stalled_s is not None:
            faults.append(f"ENGINE STANDS STILL: no answer for {age_text(stalled_s)}{_figures_of(tick)}")
        if self._log_fault:
            faults.append(f"LOG: NOT SAVED: {self._log_fault}; what was typed is kept")
        kept = kept_faults(self.session.unsaved())
        faults += kept
        if tick.log_error and not kept:  # the same trouble is told once
            faults.append(f"LOG: cannot be read: {tick.log_error}")
        if self._clerk.duty_error is not None:
            faults.append(f"LOG: {described(self._clerk.duty_error)}")
        if self._steps_fault:
            faults.append(f"LOG: which steps are done cannot be read: {self._steps_fault}")
        for what, words in self._display_faults.items():
            faults.append(f"DISPLAY: {what} could not be drawn: {words}")
        if tick.snapshot is not None:
            faults += [f"CURRENT: {words}" for words in over_sentences(tick.snapshot)]
            faults += _unlogged(tick.snapshot)
            faults += [f"NOTE: {notice}" for notice in tick.snapshot.notices]
        return tuple(faults)

    def display_failed(self, what: str, error: Exception) -> None:
        """A defect of drawing stands until the program ends: what is not drawn must not be forgotten."""
        self._display_faults[what] = described(error)

    async def steps_done(self) -> Mapping[tuple[str, str], Entry]:
        """The newest entry of every step that was logged; none where the log cannot be read."""
        self._steps_fault = ""
        try:
            return await self._clerk.write(self.session.done_steps)
        except Exception as error:  # noqa: BLE001  whatever the log is ill with, steps can still be seen
            self._steps_fault = described(error)
            return {}

    async def missing(self, procedure: str, step_id: str) -> tuple[str, ...]:
        """The steps that a step requires and that are not logged; the session asks again when it is saved."""
        try:
            work = self.session.missing_requirements
            return tuple(await self._clerk.write(lambda: work(procedure, step_id)))
        except Exception as error:  # noqa: BLE001  as above
            self._steps_fault = described(error)
            return ()

    async def effect_of(self, procedure: str, step_id: str) -> Effect:
        """What a step would do to draw and margins."""

        def reckon() -> Effect:
            after = self.session.preview(procedure, step_id)
            return Effect(before=self.tick.snapshot, after=after)

        return await self._clerk.reckon(reckon)

    def save_step(
        self, procedure: str, step_id: str, happened_s: float | None, reason: str
    ) -> Coroutine[None, None, str]:
        """Log a step; what is returned comes to why it was not saved, or nothing."""
        step = self.session.scenario.procedures[procedure].step(step_id)
        return self._save(
            f"step {procedure}/{step_id} {step.do}{f' (reason: {reason})' if reason else ''}",
            lambda: self.session.log_step(procedure, step_id, happened_s=happened_s, reason=reason),
        )

    def save_note(self, text: str, happened_s: float | None) -> Coroutine[None, None, str]:
        """Log a note; what is returned comes to why it was not saved, or nothing."""
        return self._save(f"note: {text}", lambda: self.session.log_note(text, happened_s=happened_s))

    def save_commitment(
        self, option: str, happened_s: float | None, reason: str
    ) -> Coroutine[None, None, str]:
        """Log that a way home is taken; what is returned comes to why it was not saved, or nothing."""

        def commit() -> Entry:
            entry = self.session.log_commitment(option, happened_s=happened_s, reason=reason)
            if entry is None:
                raise UsageError(f"{option} is committed to already by a logged entry: nothing to log")
            return entry

        why = f" (reason: {reason})" if reason else ""
        return self._save(f"commitment to {option}{why}", commit)

    def save_release(
        self, supply: str, amount_si: float, written: str, reason: str, happened_s: float | None
    ) -> Coroutine[None, None, str]:
        """Log that part of a reserve is released; what is returned comes to why it was not saved."""
        return self._save(
            f"released {written} of the reserve of {supply} (reason: {reason})",
            lambda: self.session.log_release(supply, amount_si, written, reason, happened_s=happened_s),
        )

    def _write_kept(self) -> None:
        """What the clerk does again and again; the words are taken up at the screen's next look."""
        if entries := self.session.write_unsaved():
            numbers = ", ".join(f"#{entry.sequence}" for entry in entries)
            self._said = (
                f"the log can be written again: saved as {numbers}",
                self._monotonic() + _SAID_FOR_S,
            )
            self._ticker.tick_soon()

    def _save(self, what: str, work: Callable[[], Entry]) -> Coroutine[None, None, str]:
        # Registered before it is queued, and both before anything is awaited: what waits behind another
        # write must not be lost on leaving.
        self._writes += 1
        number = self._writes
        self._writing[number] = what

        def write() -> Entry:
            entry = work()
            # Taken off here and not by the screen, which may be gone by now.
            del self._writing[number]
            return entry

        written = self._clerk.write(write)
        self.say("writing ... not saved in the log yet", math.inf)
        return self._told(number, written)

    async def _told(self, number: int, written: asyncio.Future[Entry]) -> str:
        """Wait for a write and tell what became of it."""
        try:
            entry = await asyncio.shield(written)
        except NotYetSavedError:
            self._writing.pop(number, None)
            self._log_fault = ""  # what waits says so itself
            self.say("NOT SAVED YET, but kept: do not type it again", math.inf)
            return ""
        except Exception as error:  # noqa: BLE001  whatever it is, the text is kept and the fault shown
            self._writing.pop(number, None)
            self.say("")
            if isinstance(error, JournalError) or not isinstance(error, EnduranceError):
                self._log_fault = described(error)
            return described(error)
        self._log_fault = ""
        self.say(saved_words(entry))
        self._ticker.tick_soon()
        return ""


def _figures_of(tick: Tick) -> str:
    if tick.snapshot is None:
        return "; no figures yet"
    moment = at_epoch_plus(tick.snapshot.epoch, tick.snapshot.at_s)
    return f"; figures are those of {time_of_day_text(moment)} UTC"


def _unlogged(snapshot: Snapshot) -> list[str]:
    """What changed and nobody logged."""
    return [
        f"{supply.name}: {unlogged_text(change, supply)}"
        for supply in snapshot.supplies.values()
        for change in supply.unlogged
    ]
