"""Hand-made answers of the engine: ways home, differences, advice, losses, and figures with reasons."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import Any

from console.craft.band_limits import BandLimits
from console.craft.model import Craft, Load, LoadState, Supply
from console.craft.plan import Option, Plan
from console.engine.allowance_profile import AllowanceProfile
from console.engine.configuration import ConfigurationChange
from console.engine.difference import difference
from console.engine.explain.book import NoFigureError
from console.engine.explain.explanation import ConfigSource, Explanation, FigureSource, Input, ReadingSource
from console.engine.keep_or_off import KeepOrOff, Trade
from console.engine.loss import Loss, Losses, LossKind, LossMargins, Lost, NotCounted
from console.engine.open_until import Closing, Open, OpenUntil, Stop
from console.engine.options import Delay, Options, WayHome, WaySupply
from console.engine.reading import Quality
from console.engine.remedy import Remedy, RemedyKind
from console.engine.shed import Buys, Shed
from console.engine.shed_advice import ShedAdvice
from console.engine.snapshot import Band, Interval, Snapshot
from console.record.entry import EntryKind
from console.units import Dimension, Unit

HOUR = 3600.0
NOW_S = 25 * HOUR + 52 * 60 + 14
"""As the Snapshots of the kit."""
KILOGRAM = Unit(text="kg", dimension=Dimension.MASS, factor=1.0)
KILOGRAM_PER_HOUR = Unit(text="kg/h", dimension=Dimension.MASS_RATE, factor=1.0 / 3600.0)
AMP_HOUR = Unit(text="A*h", dimension=Dimension.CHARGE, factor=3600.0)
AMP = Unit(text="A", dimension=Dimension.CURRENT, factor=1.0)

BANDS = BandLimits(
    advisory_s=24 * HOUR,
    caution_s=12 * HOUR,
    warning_s=3 * HOUR,
    deadband_s=HOUR,
    on_delay_s=60.0,
    off_delay_s=120.0,
)


def make_craft_supply(name: str) -> Supply:
    """A supply of the craft, as far as the board looks at it."""
    is_charge = name == "power"
    return Supply(
        name=name,
        unit=AMP_HOUR if is_charge else KILOGRAM,
        rate_unit=AMP if is_charge else KILOGRAM_PER_HOUR,
        stores=(),
        bands=BANDS,
    )


def hours(low: float | None, central: float | None, high: float | None) -> Interval:
    """An interval given in hours."""
    return Interval(p05=_s(low), p50=_s(central), p95=_s(high))


def _s(value_h: float | None) -> float | None:
    return None if value_h is None else value_h * HOUR


def make_option(name: str, need_h: float, **changes: Any) -> Option:
    """A way home."""
    option = Option(
        name=name,
        arrival_s=(need_h - 2.0) * HOUR,
        arrival_spread_s=0.0,
        recovery_s=2.0 * HOUR,
        hold_s=0.0,
        decide_by_s=NOW_S + 5.0 * HOUR,
        delta_v_m_per_s=210.0,
        phases=(),
        events=(),
        note="",
    )
    return replace(option, **changes)


def opens(until_h: float | None, by: Closing, name: str = "") -> Open:
    """Open from now until so many hours from now; None: not any more."""
    stop = Stop(at_s=NOW_S + (until_h or 0.0) * HOUR, by=by, name=name)
    spans = () if until_h is None else ((NOW_S, NOW_S + until_h * HOUR),)
    return Open(spans_s=spans, closed_by=stop)


def make_open(low: Open, central: Open) -> OpenUntil:
    """The same for a margin of zero and the advisory one."""
    return OpenUntil(
        limit=low.closed_by, zero_low=low, zero_central=central, advisory_low=low, advisory_central=central
    )


def make_way(option: Option, margins: dict[str, Interval | None], **changes: Any) -> WayHome:
    """A way home with these margins."""
    known = {name: margin for name, margin in margins.items() if margin is not None}
    way = WayHome(
        option=option,
        is_committed=False,
        is_begun=False,
        supplies={
            name: WaySupply(
                supply=make_craft_supply(name),
                margin_s=margin,
                lasts_probability=0.87,
                left_at_need_si=Interval(p05=-2.0, p50=3.0, p95=5.0),
                runs_out_at_s=None,
                why="",
            )
            for name, margin in margins.items()
        },
        shortest=min(known, key=lambda name: known[name].p05 or 0.0, default=None),
        unknown=tuple(name for name, margin in margins.items() if margin is None),
        delta_v_left_m_per_s=360.0,
        open_until=make_open(opens(3.0, Closing.DECIDE_BY), opens(5.0, Closing.SUPPLY, "water")),
        delay=Delay(low=0.4, central=0.25, over_s=HOUR),
    )
    return replace(way, **changes)


def make_options(snapshot: Snapshot) -> Options:
    """Three ways: one closed and short, the committed one, one of which water is not known."""
    quick = make_way(
        make_option("quick-turn", 99.6, delta_v_m_per_s=400.0, note="Sea without a ship."),
        {
            "power": hours(27.5, 36.8, 46.0),
            "oxygen": hours(30.0, 39.6, 49.0),
            "water": hours(-5.1, 16.5, 42.6),
            "absorbent": hours(15.9, 23.9, 32.7),
            "propellant": hours(None, None, None),
        },
        open_until=make_open(opens(None, Closing.SUPPLY, "water"), opens(0.9, Closing.DECIDE_BY)),
    )
    home = make_way(
        make_option("homeward", 105.5),
        {name: hours(4.5, 10.2, 15.9) for name in ("power", "oxygen", "water", "absorbent", "propellant")},
        is_committed=True,
        delay=None,
    )
    tender = make_way(
        make_option("tender", 109.5, decide_by_s=NOW_S - 1800.0),
        {
            "power": hours(5.9, 13.6, 21.4),
            "oxygen": hours(17.1, 25.9, 34.5),
            "water": None,
            "absorbent": hours(4.9, 12.0, 20.0),
            "propellant": hours(205.0, 287.7, 392.0),
        },
        open_until=make_open(
            opens(8.0, Closing.UNDER_WAY, "main burn"), opens(8.0, Closing.UNDER_WAY, "main burn")
        ),
    )
    return Options(snapshot=snapshot, ways=(quick, home, tender))


def with_decision(options: Options) -> Options:
    """The same with a logged decision for the committed one."""
    need = replace(options.snapshot.need, decided_at_s=NOW_S - 2.0 * HOUR, decided_by="B. Mate")
    return replace(options, snapshot=replace(options.snapshot, need=need))


def make_after(kit: Any, before: Snapshot) -> Snapshot:
    """With the transmitter off: more power, more water in another band, all else as it was."""
    supplies = {
        **before.supplies,
        "power": kit.supply("power", (110.0, 119.0, 131.0), Band.NOMINAL),
        "water": kit.supply("water", (94.0, 98.0, 103.0), Band.ADVISORY),
    }
    return replace(before, supplies=supplies, shortest="oxygen")


def make_load(name: str, priority: int, title: str) -> Load:
    """A load of the craft."""
    return Load(
        name=name,
        title=title,
        supply="power",
        on_si_per_s=1.0,
        standby_si_per_s=0.0,
        duty_fraction=1.0,
        heat_fraction=1.0,
        priority=priority,
    )


def make_advice(kit: Any, *, is_enough: bool = True) -> ShedAdvice:
    """Two loads go, one more may; water is the one that lacks."""
    before = kit.snapshot()
    after = make_after(kit, before)
    gains = {"power": 9.1 * HOUR, "oxygen": 0.0, "water": 2.6 * HOUR, "absorbent": 0.0, "propellant": None}
    buys = [
        Buys(load=make_load(name, priority, title), margin_gained_s=gains)
        for name, priority, title in (
            ("cabin-fan", 6, "cabin fan"),
            ("s-radio", 5, "transmitter"),
            ("computer", 3, "main computer"),
        )
    ]
    margins_before = {name: supply.margin_s for name, supply in before.supplies.items()}
    margins_after = {name: supply.margin_s for name, supply in after.supplies.items()}
    return ShedAdvice(
        shed=Shed(
            goal_s=12.0 * HOUR,
            by_low_end=True,
            loads=tuple(buys[:2]),
            is_enough=is_enough,
            before_s=margins_before,
            after_s=margins_after,
            short=() if is_enough else ("oxygen", "propellant"),
            may_go=tuple(buys),
            kept=("wall-heater",),
            beyond_loads=() if is_enough else ("oxygen",),
        ),
        compared=difference(before, after),
        stays={"wall-heater": "craft.yaml says so"},
        run_for_s=None,
        running=(),
    )


def make_allowance(name: str) -> AllowanceProfile:
    """The steady draw of one supply in the free phases."""
    return AllowanceProfile(
        supply=make_craft_supply(name),
        free_s=70.0 * HOUR,
        power_up_s=4.0 * HOUR,
        power_ups=("burn",),
        power_ups_take_si=3600.0,
        allowance_si_per_s=27.0,
        allowance_low_si_per_s=23.0,
        planned_si_per_s=19.0,
        present_si_per_s=22.5,
        falls_si_per_s=0.1,
        held_down_at_s=None,
        why="",
    )


def make_losses(snapshot: Snapshot) -> Losses:
    """Four losses: two that end the plan, one that does by the low end, one that is survived."""
    names = ("power", "oxygen", "water")

    def margins(**others: Interval | None) -> LossMargins:
        all_of_them = {**dict.fromkeys(names, hours(14.4, 23.7, 33.0)), **others}
        is_short = any(margin is not None and (margin.p05 or 0.0) < 0.0 for margin in all_of_them.values())
        return LossMargins(
            margins_s=all_of_them,
            shortest="water",
            unknown=(),
            lacks_delta_v=False,
            is_survived_low=not is_short,
            is_survived_central=not is_short,
        )

    def loss(
        kind: LossKind, name: str, supply: str, left: LossMargins, *remedies: Remedy, short: bool
    ) -> Loss:
        lost = Lost(kind=kind, name=name, title="", supply=supply, stores=(name,))
        return Loss(
            lost=lost, margins=left, short=(supply,) if short else (), takes_delta_v=False, remedies=remedies
        )

    opened = Remedy(
        kind=RemedyKind.OPEN_STORE, name="water-3", shortest="water", margin_s=hours(2.0, 6.0, 9.0)
    )
    return Losses(
        snapshot=snapshot,
        supplies={name: make_craft_supply(name) for name in names},
        without_loss=margins(),
        losses=(
            loss(LossKind.STORE, "bat-1", "power", margins(power=hours(3.0, 9.0, 12.0)), short=False),
            loss(LossKind.STORE, "o2-1", "oxygen", margins(oxygen=hours(-2.9, 4.0, 9.0)), short=True),
            loss(
                LossKind.STORE,
                "water-1",
                "water",
                margins(water=hours(-31.8, -29.2, -26.0)),
                opened,
                short=True,
            ),
            loss(LossKind.BUS, "power", "power", margins(power=hours(-78.0, -77.7, -77.0)), short=True),
        ),
        not_counted=(NotCounted(store="bat-entry", supply="power", why="protected, never counted"),),
    )


@dataclass(frozen=True)
class Situated:
    """What a board may know of a situation."""

    craft: Craft
    plan: Plan
    at_s: float
    changes: tuple[ConfigurationChange, ...] = ()


def with_reserves(session: Any) -> Any:
    """The same session with a reserve of water and one of oxygen, of which 2 kg are released already."""
    reserves = {"water": (8.0, 0.0, "a day of drinking"), "oxygen": (6.0, 2.0, "")}
    craft, snapshot = session.scenario.craft, session.snapshot
    supplies = {
        name: replace(supply, reserve_si=sum(reserves[name][:2]), reserve_note=reserves[name][2])
        if name in reserves
        else supply
        for name, supply in craft.supplies.items()
    }
    statuses = {
        name: replace(
            status,
            reserve_si=reserves[name][0] if name in reserves else 0.0,
            released_si=reserves[name][1] if name in reserves else 0.0,
            reserve_note=reserves[name][2] if name in reserves else "",
        )
        for name, status in snapshot.supplies.items()
    }
    session.scenario = replace(session.scenario, craft=replace(craft, supplies=supplies))
    session.snapshot = replace(snapshot, supplies=statuses)
    return session


def make_released(kit: Any, before: Snapshot, reserve_si: float) -> Snapshot:
    """With so much of the water's reserve left."""
    water = kit.supply("water", (49.1, 55.9, 61.0), Band.WARNING)
    water = replace(water, reserve_si=reserve_si, released_si=8.0 - reserve_si)
    return replace(before, supplies={**before.supplies, "water": water})


def make_trade(name: str, keeping: float | None, restart: float, pays_h: float | None) -> Trade:
    """One supply of the choice; amounts in its own unit."""
    supply = make_craft_supply(name)
    factor = supply.unit.factor
    return Trade(
        supply=supply,
        keeping_si=None if keeping is None else keeping * factor,
        restart_si=restart * factor,
        pays_after_s=None if pays_h is None else pays_h * HOUR,
    )


def make_kept(kit: Any, before: Snapshot, *trades: Trade, **changes: Any) -> KeepOrOff:
    """The transmitter on until T+40h, or off; power and water are saved, nothing is lost."""
    choice = KeepOrOff(
        load=make_load("s-radio", 5, "transmitter"),
        state=LoadState.ON,
        state_then=LoadState.ON,
        until_s=40.0 * HOUR,
        keep=before,
        off=make_after(kit, before),
        trades=trades
        or (
            make_trade("power", 34.0, 2.3, 0.9),
            make_trade("oxygen", 0.0, 0.0, 0.0),
            make_trade("water", 1.2, 0.0, 0.0),
        ),
    )
    return replace(choice, **changes)


class FakeFigures:
    """Figures of one assessment: a margin, behind it a moment, behind that a reading that is stale."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    def paths(self) -> tuple[str, ...]:
        return tuple(_FIGURES)

    def explain(self, path: str) -> Explanation:
        self.asked.append(path)
        if path not in _FIGURES:
            raise NoFigureError(path)
        return _FIGURES[path]


def _figure(
    path: str, value: float | None, unit: str, equation: str, *inputs: Input, title: str
) -> Explanation:
    remarks = () if value is not None else ("its gauge says nothing",)
    return Explanation(
        path=path, title=title, value=value, unit=unit, equation=equation, inputs=inputs, remarks=remarks
    )


def _behind(symbol: str, path: str, value: float, name: str) -> Input:
    return Input(symbol=symbol, name=name, value=value, unit="h", source=FigureSource(path=path))


_RUNS_OUT = _figure(
    "water.runs_out_at",
    61.5,
    "h",
    "now + level / rate",
    Input(
        symbol="now",
        name="now",
        value=25.87,
        unit="h",
        source=ConfigSource(file="plan.yaml", key="phases", line=7),
    ),
    Input(
        symbol="level",
        name="water in water-1",
        value=11.1,
        unit="kg",
        source=ReadingSource(channel="water-1.level", quality=Quality.STALE, age_s=400.0, why="too old"),
    ),
    Input(symbol="rate", name="rate", value=0.3115, unit="kg/h", source=FigureSource(path="water.rate_plan")),
    title="moment at which water runs out under the plan",
)
_FIGURES = {
    "water.margin": _figure(
        "water.margin",
        -44.0,
        "h",
        "runs_out - need",
        _behind("runs_out", "water.runs_out_at", 61.5, "moment at which water runs out"),
        _behind("need", "need.at", 105.5, "need of homeward"),
        title="time by which water outlasts the need",
    ),
    "water.margin.p05": _figure("water.margin.p05", -50.6, "h", "x", title="its low end"),
    "water.usable": _figure("water.usable", None, "kg", "", title="usable water"),
    "water.runs_out_at": _RUNS_OUT,
    "oxygen.margin": _figure("oxygen.margin", 11.4, "h", "x", title="time by which oxygen outlasts the need"),
    "need.at": _figure("need.at", 105.5, "h", "arrival", title="until when every supply must last"),
    "cabin.pressure": _figure("cabin.pressure", 37900.0, "Pa", "x", title="pressure of the cabin"),
}


def fill(kit: Any, session: Any) -> Any:
    """A fake session that answers all the questions of deciding, and counts how often."""
    session.asked = []
    session.options_answer = make_options(session.snapshot)
    session.advice = make_advice(kit)
    session.losses_answer = make_losses(session.snapshot)
    session.reasons = FakeFigures()
    session.commit_none = False
    session.goals = []

    def situation() -> Situated:
        return Situated(craft=session.scenario.craft, plan=session.scenario.plan, at_s=NOW_S)

    def whatif(changes: Any, _situation: Any = None) -> Any:
        session.asked.append(("whatif", tuple(changes)))
        # A release is no change but another craft: with less in reserve there is more margin.
        reserved = None if _situation is None else _situation.craft.supplies["water"].reserve_si
        if reserved is not None and reserved < session.scenario.craft.supplies["water"].reserve_si:
            released = make_released(kit, session.snapshot, reserved)
            return released, released
        return session.snapshot, make_after(kit, session.snapshot)

    def options() -> Options:
        session.asked.append("options")
        return session.options_answer

    def losses() -> Losses:
        session.asked.append("losses")
        return session.losses_answer

    def shed(goal_s: float, *, run_for_s: float | None = None) -> ShedAdvice:
        session.goals.append((goal_s, run_for_s))
        return session.advice

    def log_commitment(option: str, *, happened_s: float | None = None, reason: str = "") -> Any:
        if session.commit_none:
            return None
        body = {"text": f"committed to {option}", "option": option, "reason": reason}
        words = {"option": option, "happened_s": happened_s, "reason": reason}
        return session._append(EntryKind.STEP, body, words)

    def keep_or_off(load: str, until_s: float, restart_si: Any) -> KeepOrOff:
        session.kept.append((load, until_s, dict(restart_si), threading.current_thread() is main))
        if session.keep_error is not None:
            raise session.keep_error
        return session.keep_answer

    def log_release(
        supply: str, amount_si: float, written: str, reason: str, *, happened_s: float | None = None
    ) -> Any:
        body = {
            "text": f"released {written} of the reserve of {supply}",
            "reserves_si": {supply: amount_si},
            "reason": reason,
        }
        words = {"supply": supply, "amount_si": amount_si, "written": written, "reason": reason}
        return session._append(EntryKind.STEP, body, {**words, "happened_s": happened_s})

    main = threading.current_thread()
    session.kept, session.keep_error, session.keep_answer = [], None, make_kept(kit, session.snapshot)
    session.keep_or_off, session.log_release = keep_or_off, log_release
    session.situation, session.whatif, session.options, session.losses = situation, whatif, options, losses
    session.shed, session.log_commitment = shed, log_commitment
    session.allowances = lambda: {"power": make_allowance("power")}
    session.figures = lambda: session.reasons
    craft = session.scenario.craft
    loads = {name: make_load(name, 5, "") for name in ("s-radio", "cabin-fan", "computer")}
    craft = replace(
        craft, loads=loads, supplies={name: make_craft_supply(name) for name in session.snapshot.supplies}
    )
    session.scenario = replace(session.scenario, craft=craft)
    return session
