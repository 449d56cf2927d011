"""Literal Snapshots and a session that hands them out, for the board's tests. Fakes, not mocks."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from console.board.app import BoardApp
from console.board.look import Depth, look
from console.board.view import Pane, View
from console.craft.model import Activity, Craft, LoadState, StoreState
from console.craft.plan import Option, Phase, Plan
from console.craft.procedures import Action, Procedure, Step
from console.engine.reading import CabinReading, FeedState, Quality, Reading
from console.engine.snapshot import (
    Band,
    Coming,
    Interval,
    LedgerLine,
    LineKind,
    LoadStatus,
    Need,
    RateSource,
    Snapshot,
    StoreStatus,
    SupplyStatus,
)
from console.errors import JournalError, UsageError
from console.record.entry import Entry, EntryKind
from console.record.journal_corrections import Standing, standings
from console.record.journal_kept import Kept
from console.scenario.load import Scenario
from console.units import Dimension, Unit

HOUR = 3600.0
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
NOW_S = 25 * HOUR + 52 * 60 + 14
NEED_S = 105.5 * HOUR

AMP_HOUR = Unit(text="A*h", dimension=Dimension.CHARGE, factor=3600.0)
AMP = Unit(text="A", dimension=Dimension.CURRENT, factor=1.0)
KILOGRAM = Unit(text="kg", dimension=Dimension.MASS, factor=1.0)
KILOGRAM_PER_HOUR = Unit(text="kg/h", dimension=Dimension.MASS_RATE, factor=1.0 / 3600.0)


def hours(low: float | None, central: float | None, high: float | None) -> Interval:
    """An interval given in hours."""
    return Interval(p05=_s(low), p50=_s(central), p95=_s(high))


def _s(value_h: float | None) -> float | None:
    return None if value_h is None else value_h * HOUR


def make_supply(name: str, ends: tuple[float, float, float], band: Band, **changes: Any) -> SupplyStatus:
    """A supply that lasts so many hours under the plan: low end, central, high end."""
    need_in_h = (NEED_S - NOW_S) / HOUR
    low, central, high = ends
    charge = name == "power"
    unit, rate_unit = (AMP_HOUR, AMP) if charge else (KILOGRAM, KILOGRAM_PER_HOUR)
    rate = (12.0 if charge else 0.31) * rate_unit.factor
    usable = rate * central * HOUR
    left = tuple(rate * (end - need_in_h) * HOUR for end in ends)
    status = SupplyStatus(
        name=name,
        unit=unit,
        rate_unit=rate_unit,
        on_board_si=usable * 1.25,
        protected_si=usable * 0.1,
        isolated_si=usable * 0.05,
        residual_si=usable * 0.04,
        reserve_si=usable * 0.06,
        usable_si=usable,
        quality=Quality.GOOD,
        age_s=3.4,
        rate_now_si_per_s=rate * 1.05,
        rate_now_source=RateSource.MEASURED,
        rate_plan_si_per_s=rate,
        endurance_now_s=hours(low / 1.05, central / 1.05, high / 1.05),
        endurance_plan_s=hours(low, central, high),
        runs_out_at_s=NOW_S + central * HOUR,
        margin_s=hours(low - need_in_h, central - need_in_h, high - need_in_h),
        left_at_need_si=Interval(p05=left[0], p50=left[1], p95=left[2]),
        allowance_si_per_s=usable / (need_in_h * HOUR),
        lasts_probability=0.012 if central < need_in_h else 0.97,
        band=band,
        why="",
        stores=(
            make_store(f"{name}-1", StoreState.FEEDING, usable * 0.7, "quantity"),
            make_store(f"{name}-2", StoreState.ISOLATED, usable * 0.05, "pressure"),
            make_store(f"{name}-entry", StoreState.PROTECTED, usable * 0.1, "capacity", age_s=None),
        ),
        ledger=(
            LedgerLine(kind=LineKind.ON_BOARD, name=name, amount_si=usable * 1.25),
            LedgerLine(kind=LineKind.PROTECTED, name="protected", amount_si=-usable * 0.1),
            LedgerLine(kind=LineKind.ISOLATED, name="isolated", amount_si=-usable * 0.05),
            LedgerLine(kind=LineKind.RESIDUAL, name="residual", amount_si=-usable * 0.04),
            LedgerLine(kind=LineKind.RESERVE, name="reserve", amount_si=-usable * 0.06),
            LedgerLine(kind=LineKind.USE, name="drinking", amount_si=-rate * need_in_h * HOUR * 0.3),
            LedgerLine(kind=LineKind.USE, name="cooling", amount_si=-rate * need_in_h * HOUR * 0.6),
            LedgerLine(kind=LineKind.EVENT, name="fill the suits", amount_si=-rate * need_in_h * HOUR * 0.1),
            LedgerLine(kind=LineKind.LEFT, name="left at need", amount_si=left[1]),
        ),
    )
    return replace(status, **changes)


def make_store(
    name: str, state: StoreState, held: float, basis: str, age_s: float | None = 3.4
) -> StoreStatus:
    """A store in good order."""
    return StoreStatus(
        name=name,
        state=state,
        on_board_si=held,
        residual_si=held * 0.02,
        basis=basis,
        quality=Quality.GOOD,
        age_s=age_s,
        why="",
    )


LOADS = (
    ("s-radio", "transmitter", LoadState.ON, 2.4, True),
    ("cabin-fan", "cabin fan", LoadState.ON, 1.3, False),
    ("computer", "main computer", LoadState.ON, 7.9, False),
    ("wall-heater", "wall heaters", LoadState.STANDBY, 0.4, False),
    ("mapper", "survey mapper", LoadState.OFF, 0.0, False),
)


def make_loads(radio: LoadState = LoadState.ON) -> tuple[LoadStatus, ...]:
    """The loads, with the transmitter in a state of one's choice."""
    return tuple(
        LoadStatus(
            name=name,
            title=title,
            supply="power",
            state=radio if name == "s-radio" else state,
            draw_si_per_s=(draw if radio is LoadState.ON else 0.3) if name == "s-radio" else draw,
            priority=index + 1,
            by_step=by_step,
        )
        for index, (name, title, state, draw, by_step) in enumerate(LOADS)
    )


def make_snapshot(*supplies: SupplyStatus, **changes: Any) -> Snapshot:
    """A Snapshot of these supplies; water is short where none are given."""
    listed = supplies or (
        make_supply("power", (92.4, 101.7, 113.0), Band.NOMINAL),
        make_supply("oxygen", (84.1, 91.0, 99.2), Band.CAUTION),
        make_supply("water", (29.1, 35.87, 41.06), Band.WARNING),
        make_supply("absorbent", (96.0, 101.0, 106.0), Band.ADVISORY),
        make_supply("propellant", (212.0, 250.0, 300.0), Band.NOMINAL),
    )
    known = [supply for supply in listed if supply.margin_s is not None and supply.margin_s.p05 is not None]
    shortest = min(known, key=lambda supply: supply.margin_s.p05, default=None)
    snapshot = Snapshot(
        scenario="tern",
        craft_name="Tern",
        epoch=EPOCH,
        at_s=NOW_S,
        feed=FeedState(
            source="simulated craft",
            at_s=NOW_S - 3.4,
            quality=Quality.GOOD,
            faults=(),
            readings={"cabin.pressure": Reading(channel="cabin.pressure", quality=Quality.GOOD)},
        ),
        need=Need(
            option="homeward",
            at_s=NEED_S,
            in_s=NEED_S - NOW_S,
            arrival_s=NEED_S - 1.5 * HOUR,
            recovery_s=1.5 * HOUR,
            hold_s=0.0,
            decide_by_s=NOW_S + 5 * HOUR + 8 * 60,
            delta_v_m_per_s=210.0,
            delta_v_left_m_per_s=480.0,
            note="",
        ),
        shortest=shortest.name if shortest is not None else None,
        supplies={supply.name: supply for supply in listed},
        unknown=tuple(supply.name for supply in listed if supply.margin_s is None),
        phase="coast",
        level="quiet",
        level_differs=1,
        loads=make_loads(),
        next_phase=Coming(name="descent", at_s=NOW_S + 12.05 * HOUR, in_s=12.05 * HOUR),
        next_event=Coming(name="top up entry battery", at_s=58 * HOUR, in_s=58 * HOUR - NOW_S),
        watch="fourth",
        cabin=(
            CabinReading(name="pressure", value_si=37_900.0, quality=Quality.GOOD, age_s=3.4),
            CabinReading(name="carbon_dioxide", value_si=620.0, quality=Quality.GOOD, age_s=3.4),
        ),
    )
    return replace(snapshot, **changes)


def make_unknown(name: str, why: str) -> SupplyStatus:
    """A supply of which nothing is known."""
    return replace(
        make_supply(name, (1.0, 1.0, 1.0), Band.NOMINAL),
        on_board_si=None,
        usable_si=None,
        quality=Quality.MISSING,
        age_s=None,
        rate_now_si_per_s=None,
        rate_now_source=None,
        endurance_now_s=None,
        endurance_plan_s=None,
        runs_out_at_s=None,
        margin_s=None,
        left_at_need_si=None,
        allowance_si_per_s=None,
        lasts_probability=None,
        band=None,
        why=why,
        ledger=(),
    )


def make_entry(sequence: int, kind: EntryKind, text: str, **changes: Any) -> Entry:
    """A log entry, a quarter of an hour after the one before."""
    happened_at = EPOCH + timedelta(seconds=NOW_S) - timedelta(minutes=15 * (10 - sequence))
    entry = Entry(
        sequence=sequence,
        id=f"id-{sequence}",
        kind=kind,
        happened_at=happened_at,
        written_at=happened_at + timedelta(seconds=2),
        elapsed_s=(happened_at - EPOCH).total_seconds(),
        monotonic_s=float(sequence),
        boot_id="boot",
        host="host",
        operator="A. Lead",
        position="lead",
        body={"text": text},
        previous_hash="",
        hash="",
    )
    return replace(entry, **changes)


def make_procedures() -> Mapping[str, Procedure]:
    """Two procedures with a requirement and a caution among their steps."""
    nothing = Action(loads={}, stores={}, used_si={})

    def step(id: str, do: str, action: Action = nothing, **changes: Any) -> Step:
        made = Step(id=id, do=do, action=action, verify_within_s=None, note="", requires=(), caution="")
        return replace(made, **changes)

    radio = Action(loads={"s-radio": LoadState.STANDBY}, stores={}, used_si={})
    return {
        "quiet-down": Procedure(
            name="quiet-down",
            title="Power down to quiet level",
            steps=(
                step("1", "Transmitter to standby", radio, verify_within_s=180.0),
                step(
                    "2",
                    "Guidance off",
                    requires=("1",),
                    caution="Guidance alignment is lost. Realigning costs 2.1 A h.",
                ),
                step("3", "Report level to the ground", note="By voice."),
            ),
        ),
        "open-bottle": Procedure(
            name="open-bottle",
            title="Open the walk bottle",
            steps=(
                step("1", "Valve open", Action(loads={}, stores={"water-2": StoreState.FEEDING}, used_si={})),
            ),
        ),
    }


def make_scenario() -> Scenario:
    """Enough of a scenario for the board: names, procedures, a plan."""
    phase = Phase(name="coast", start_s=0.0, level="quiet", crew={Activity.NOMINAL: 4})
    option = Option(
        name="homeward",
        arrival_s=NEED_S - 1.5 * HOUR,
        arrival_spread_s=0.0,
        recovery_s=1.5 * HOUR,
        hold_s=0.0,
        decide_by_s=None,
        delta_v_m_per_s=None,
        phases=(),
        events=(),
        note="",
    )
    craft = Craft(
        name="Tern",
        epoch=EPOCH,
        crew_count=4,
        person_rates={},
        supplies={},
        loads={},
        load_spread_fraction=0.0,
        levels={},
        uses=(),
        channels={},
    )
    plan = Plan(phases=(phase,), events=(), options={"homeward": option}, committed="homeward", watches=())
    return Scenario(slug="tern", folder=Path("tern"), craft=craft, plan=plan, procedures=make_procedures())


class FakeSession:
    """A session whose answers a test sets."""

    def __init__(self) -> None:
        self.scenario = make_scenario()
        self.operator = "A. Lead"
        self.position = "lead"
        self.snapshot = make_snapshot()
        self.after = replace(
            self.snapshot,
            supplies={
                name: supply if name != "water" else make_supply("water", (41.0, 48.5, 55.0), Band.WARNING)
                for name, supply in self.snapshot.supplies.items()
            },
            loads=make_loads(LoadState.STANDBY),
        )
        self.tick_error: Exception | None = None
        self.log_error: Exception | None = None
        self.journal = [
            make_entry(7, EntryKind.NOTE, "Crew of two asleep"),
            make_entry(
                8,
                EntryKind.STEP,
                "",
                body={"text": "Valve open", "procedure": "open-bottle", "step": "1"},
            ),
        ]
        self.waiting = Kept()
        self.logged: list[dict[str, Any]] = []
        self.previews: list[tuple[str, str]] = []

    def now_s(self) -> float:
        return NOW_S

    def tick(self) -> Snapshot:
        if self.tick_error is not None:
            raise self.tick_error
        return self.snapshot

    def entries(self, limit: int | None = None) -> tuple[Entry, ...]:
        return tuple(self.journal if limit is None else self.journal[-limit:])

    def standings(self) -> Mapping[int, Standing]:
        return standings(self.journal)

    def unsaved(self) -> Kept:
        return self.waiting

    def write_unsaved(self) -> tuple[Entry, ...]:
        return ()

    def done_steps(self) -> Mapping[tuple[str, str], Entry]:
        done = {("open-bottle", "1"): self.journal[1]}
        for index, step in enumerate(self.logged):
            if "procedure" in step:
                done[step["procedure"], step["step_id"]] = self.journal[2 + index]
        return done

    def missing_requirements(self, procedure: str, step_id: str) -> tuple[str, ...]:
        step = self.scenario.procedures[procedure].step(step_id)
        return tuple(name for name in step.requires if (procedure, name) not in self.done_steps())

    def preview(self, procedure: str, step_id: str) -> Snapshot:
        self.previews.append((procedure, step_id))
        return self.after

    def log_step(
        self, procedure: str, step_id: str, *, happened_s: float | None = None, reason: str = ""
    ) -> Entry:
        if self.missing_requirements(procedure, step_id) and not reason.strip():
            raise UsageError("give the reason for doing it out of order")
        words = {"procedure": procedure, "step_id": step_id, "happened_s": happened_s, "reason": reason}
        step = self.scenario.procedures[procedure].step(step_id)
        body = {"text": step.do, "procedure": procedure, "step": step_id, "reason": reason}
        return self._append(EntryKind.STEP, body, words)

    def log_note(self, text: str, *, happened_s: float | None = None) -> Entry:
        return self._append(EntryKind.NOTE, {"text": text}, {"text": text, "happened_s": happened_s})

    def _append(self, kind: EntryKind, body: dict[str, Any], words: dict[str, Any]) -> Entry:
        if self.log_error is not None:
            raise self.log_error
        self.logged.append(words)
        entry = make_entry(len(self.journal) + 7, kind, "", body=body)
        self.journal.append(entry)
        return entry


class FakeClock:
    """A monotonic clock that a test moves."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


class Running:
    """A board under test."""

    def __init__(self, app: BoardApp, pilot: Any, session: FakeSession, clock: FakeClock) -> None:
        self.app = app
        self.pilot = pilot
        self.session = session
        self.clock = clock

    def text(self) -> str:
        """What stands on the screen now, row by row."""
        # The one private call of these tests: the compositor knows what the terminal would be sent.
        strips = self.app.screen._compositor.render_update(
            full=True, screen_stack=self.app._background_screens
        ).strips
        rows = ("".join(segment.text for strip in row for segment in strip) for row in strips)
        return "\n".join(row.rstrip() for row in rows)

    async def tick(self) -> None:
        """Let the engine look again, and the screen take it up."""
        self.app.desk.tick_now()
        self.app.pull()
        await self.pilot.pause()

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait for what another thread does; fails if it never comes."""
        for _ in range(400):
            self.app.pull()
            await self.pilot.pause()
            if holds():
                return
            await asyncio.sleep(0.005)
        raise AssertionError(f"it never came; the screen was:\n{self.text()}")


def make_view(snapshot: Snapshot | None, **changes: Any) -> View:
    """What is drawn of a Snapshot on a board of 80x24."""
    view = View(
        look=look(Depth.MANY, ascii_only=False),
        snapshot=snapshot,
        not_updated_s=None,
        waited_s=0.0,
        entries=(),
        faults=(),
        notice="",
        selected=None,
        pane=Pane.LOG,
        scroll=0,
        operator="A. Lead",
        position="lead",
        read_only=False,
        size=(80, 24),
    )
    return replace(view, **changes)


@pytest.fixture
def kit() -> SimpleNamespace:
    """The builders of this file, for tests that make their own Snapshots."""
    return SimpleNamespace(
        supply=make_supply,
        snapshot=make_snapshot,
        unknown=make_unknown,
        entry=make_entry,
        view=make_view,
        session=FakeSession,
        running=Running,
        clock=FakeClock,
        hours=hours,
        now_s=NOW_S,
        hour_s=HOUR,
        epoch=EPOCH,
        journal_error=JournalError,
    )


@pytest.fixture
def session() -> FakeSession:
    """A session in which water is short."""
    return FakeSession()


@pytest.fixture
def on_board(session: FakeSession) -> Callable[..., None]:
    """Run an asynchronous play on a board of a size; the first Snapshot is there when it begins."""

    def run(play: Callable[[Running], Any], size: tuple[int, int] = (80, 24), **options: Any) -> None:
        clock = FakeClock()

        async def main() -> None:
            # An interval that never ends: tests tick by hand, so nothing depends on the machine's speed.
            app = BoardApp(session, tick_interval_s=1e6, monotonic=clock, **options)  # type: ignore[arg-type]  # a fake session
            try:
                async with app.run_test(size=size) as pilot:
                    running = Running(app, pilot, session, clock)
                    await running.until(lambda: bool(app.desk.tick.made_at_s or app.desk.tick.engine_error))
                    await running.tick()
                    await play(running)
            finally:
                app.desk.stop(5.0)

        asyncio.run(main())

    return run
