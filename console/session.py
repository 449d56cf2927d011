"""The one mutable thing: holds feed, journal and clock, and turns them into Snapshots.

Board and commands go through it; none of them computes a margin. ``tick`` and ``preview`` may be called from
different threads: the last feed is handed over whole, and the journal locks for itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from console.craft.procedures import Procedure, Step
from console.display import clean_text
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.bare import Look, both_sides, look_at
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import Decided, decided
from console.engine.known import Situation
from console.engine.memory import Memory
from console.engine.reading import FeedState
from console.engine.snapshot import Snapshot
from console.errors import JournalError, UsageError, nearest_words
from console.feed.source import Source
from console.instants import at_epoch_plus, seconds_since
from console.intake import Intake
from console.record.entry import Draft, Entry, EntryKind, new_id
from console.record.journal_corrections import Standing
from console.record.journal_kept import NOTHING, Kept
from console.record.known_entries import KnownEntries
from console.record.releases import release_body
from console.record.steps import (
    body_of_commitment,
    body_of_step,
    change_of_body,
    done_steps,
    keys_of,
    missing_requirements,
)
from console.scenario.load import Scenario

if TYPE_CHECKING:
    from console.engine.allowance_profile import AllowanceProfile
    from console.engine.explain.explanation import Explanation
    from console.engine.explain.figures import Figures
    from console.engine.keep_or_off import KeepOrOff
    from console.engine.loss import Losses
    from console.engine.options import Options
    from console.engine.shed_advice import ShedAdvice
    from console.engine.whatif import Change
    from console.record.history import History
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
        history: what keeps the readings; None for nobody.
        reads_on: whether a look goes on until the source has nothing more.
        looks_back: whether what was written in the journal after the clock's moment is left out.
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
        history: History | None = None,
        reads_on: bool = False,
        looks_back: bool = False,
    ) -> None:
        self.scenario = scenario
        self.operator = operator
        self.position = position
        self._intake = Intake(source, history, reads_on=reads_on, notices=notices)
        self._journal = journal
        self._clock = clock
        self._memory: Memory | None = None
        self._ticked: Look | None = None
        """The last tick, handed over whole: suppositions start from it."""
        self._known = KnownEntries(journal, clock if looks_back else None)

    def now_s(self) -> float:
        """Now, in seconds since the epoch."""
        return seconds_since(self.scenario.craft.epoch, self._clock())

    def tick(self) -> Snapshot:
        """Poll the feed and assess; remembers the bands for the next tick."""
        at_s, feed = self._poll()
        situation = self._situation(feed, self.changes(), at_s)
        self._ticked = look_at(situation, self._memory or Memory(), DEFAULT_DRAWS)
        self._memory = self._ticked.assessment.memory
        return self._ticked.assessment.snapshot

    def situation(self) -> Situation:
        """What is known now, the feed polled once; suppositions start from it."""
        at_s, feed = self._poll()
        return self._situation(feed, self.changes(), at_s)

    def whatif(
        self, changes: Iterable[Change], situation: Situation | None = None
    ) -> tuple[Snapshot, Snapshot]:
        """The figures without and with changes that nobody has made; changes nothing, remembers nothing.

        Both are of one poll of the feed and of the same draws, and their bands are those of the margins
        alone, without memory, so that like is compared with like. The last tick's figures are the first of
        the two as long as nothing was logged since.

        Args:
            changes: what is supposed, all together.
            situation: the one in which they were read; that of the last tick by default, else polled now.
        """
        ticked = self._ticked
        if situation is None and ticked is not None and ticked.situation.changes is self.changes():
            situation = ticked.situation
        if ticked is None or ticked.situation is not situation:
            trends = Memory() if self._memory is None else Memory(trends=self._memory.trends)
            ticked = look_at(situation or self.situation(), trends, DEFAULT_DRAWS)
        return both_sides(ticked, changes, DEFAULT_DRAWS)

    def keep_or_off(self, load: str, until_s: float, restart_si: Mapping[str, float]) -> KeepOrOff:
        """Leave a load on until a moment, or switch it off now and pay to bring it back; changes nothing.

        Raises:
            UsageError: it draws nothing now, or the moment does not lie between now and need.
        """
        from console.engine.keep_or_off import keep_or_off

        return keep_or_off(self.situation(), load, until_s, restart_si, DEFAULT_DRAWS)

    def shed(self, goal_s: float, *, by_low_end: bool = True, run_for_s: float | None = None) -> ShedAdvice:
        """What to switch off for a margin, and what may be switched on; changes nothing, remembers nothing.

        Args:
            goal_s: the margin asked of every supply.
            by_low_end: whether the low end must reach it, or the central case.
            run_for_s: also say what may be switched on for so long; None for not asking.
        """
        from console.engine.shed_advice import shed_advice

        return shed_advice(
            self.situation(), goal_s, DEFAULT_DRAWS, by_low_end=by_low_end, run_for_s=run_for_s
        )

    def options(self) -> Options:
        """The ways home side by side; changes nothing, remembers nothing."""
        from console.engine.options import options_of  # only who asks pays for it

        return options_of(self.situation(), self._memory, DEFAULT_DRAWS)

    def losses(self) -> Losses:
        """Every margin with one thing lost after the other; changes nothing, remembers nothing."""
        from console.engine.loss import losses_of

        return losses_of(self.situation(), self._memory, DEFAULT_DRAWS)

    def allowances(self) -> Mapping[str, AllowanceProfile]:
        """By supply, what may be drawn in the free phases; changes nothing, remembers nothing."""
        from console.engine.allowance_profile import allowance_profiles

        return allowance_profiles(self.situation(), DEFAULT_DRAWS)

    def figures(self) -> Figures:
        """Every figure of now with what it was made from; changes nothing, remembers nothing."""
        from console.engine.explain.figures import figures_of  # only who asks why pays for it

        situation = self.situation()
        assessed = assess(situation, self._memory, DEFAULT_DRAWS)
        return figures_of(situation, assessed, DEFAULT_DRAWS, self.scenario.lines)

    def explain(self, path: str) -> Explanation:
        """Why one figure is what it is; changes nothing, remembers nothing.

        Raises:
            UsageError: there is no such figure; names the nearest.
        """
        from console.engine.explain.book import NoFigureError

        figures = self.figures()
        try:
            return figures.explain(path)
        except NoFigureError:
            near = figures.nearest(path)
            hint = f"did you mean {' or '.join(near)}?" if near else "explain figures lists all there are"
            raise UsageError(f"FIGURE: found {clean_text(path)!r}; {hint}") from None

    def preview(self, procedure: str, step_id: str) -> Snapshot:
        """What the margins would be with one more step taken now; changes nothing, remembers nothing."""
        feed = self._intake.feed or self._poll()[1]
        at_s = self.now_s()
        changes = (*self.changes(), self._imagined(procedure, step_id, at_s))
        # Without memory of bands: the question is which band it would come to, not when that would show.
        return assess(self._situation(feed, changes, at_s), None, DEFAULT_DRAWS).snapshot

    def entries(self, limit: int | None = None) -> tuple[Entry, ...]:
        """The newest entries of the journal, oldest of them first."""
        return self._known.newest(limit)

    def standings(self) -> Mapping[int, Standing]:
        """By sequence, how every entry stands that was corrected."""
        return self._known.standings()

    @property
    def known_entries(self) -> KnownEntries:
        """What is known of the journal, and what can be found in it."""
        return self._known

    def changes(self) -> tuple[ConfigurationChange, ...]:
        """The logged steps as the engine sees them, in the journal's order."""
        return self._known.changes()

    def done_steps(self) -> Mapping[tuple[str, str], Entry]:
        """The newest entry of every procedure step that was logged."""
        return done_steps(self._known.steps())

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
        done = {*self.done_steps(), *keys_of(self.unsaved().drafts)}
        return missing_requirements(steps, steps.step(step_id), done)

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

    def in_force(self) -> Decided:
        """Craft and plan as logged decisions up to now have made them."""
        return decided(self.scenario.craft, self.scenario.plan, self.changes(), self.now_s())

    def log_commitment(
        self, option: str, *, happened_s: float | None = None, reason: str = ""
    ) -> Entry | None:
        """Log that a way home was committed to; None, and nothing is logged, where that stands already.

        To commit to what the plan alone has in force records the decision, once.

        Raises:
            UsageError: the plan has no such option, or its time lies ahead.
            JournalError: it could not be written, and nothing was.
        """
        options = self.scenario.plan.options
        if option not in options:
            raise UsageError(f"found option {option!r}; {nearest_words(option, options)}")
        decision = self.in_force().decision
        if decision is not None and decision.option == option:
            return None
        return self._append(EntryKind.STEP, body_of_commitment(option, reason.strip()), happened_s)

    def log_release(
        self, supply: str, amount_si: float, written: str, reason: str, *, happened_s: float | None = None
    ) -> Entry:
        """Log that part of a supply's reserve is released: from then on it counts as usable.

        Args:
            supply: whose reserve it is.
            amount_si: how much, in the supply's SI unit.
            written: the same for people.
            reason: why; always asked for.
            happened_s: when it was decided, seconds since the epoch; now by default.

        Raises:
            UsageError: no such supply, no reserve or less than that is left of it, or no reason.
            JournalError: it could not be written, and nothing was.
        """
        supplies = self.scenario.craft.supplies
        if supply not in supplies:
            raise UsageError(f"found supply {supply!r}; {nearest_words(supply, supplies)}")
        body = release_body(supplies[supply], self.changes(), amount_si, written, reason)
        return self._append(EntryKind.STEP, body, happened_s)

    def unsaved(self) -> Kept:
        """What was typed and could not be written yet."""
        return NOTHING if self._journal is None else self._journal.kept()

    def write_unsaved(self) -> tuple[Entry, ...]:
        """Write what is kept, as far as that is possible now; what was written."""
        return () if self._journal is None else self._journal.write_kept()

    def close(self) -> None:
        """Save the history and let go of it and of the journal."""
        self._intake.close()
        if self._journal is not None:
            self._journal.close()

    def _poll(self) -> tuple[float, FeedState]:
        return self._intake.poll(self.now_s)

    def _situation(self, feed: FeedState, changes: tuple[ConfigurationChange, ...], at_s: float) -> Situation:
        return self._intake.situation(self.scenario, feed, changes, at_s, self._memory)

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


AHEAD_S = 60.0
"""How far an entry's own time may lie ahead of now: two clocks that differ by less are taken as one."""
