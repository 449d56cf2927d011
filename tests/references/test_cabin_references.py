"""The cabin's closed forms against a numerical integration, and its clocks against published limits and sums.

The integration (scipy's solve_ivp) is written from the balances in moles and kelvin, sharing no code with
the engine but the people's rates and the saturation line, which have checks of their own.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from console.craft.band_limits import BandLimits
from console.craft.cabin import (
    Cabin,
    CabinLimit,
    CabinProperty,
    Drying,
    LimitSide,
    OxygenFeed,
    Regulated,
    Removal,
    Thermal,
)
from console.craft.channels import Measured
from console.craft.model import (
    Activity,
    Craft,
    Level,
    Load,
    LoadState,
    Metabolic,
    PersonRates,
    Store,
    StoreKind,
    StoreState,
    Supply,
    Use,
)
from console.craft.plan import Option, Phase
from console.engine.cabin.clocks import cabin_clocks
from console.engine.cabin.surroundings import CabinSurroundings
from console.engine.configuration import Configuration
from console.engine.forecast import Draws
from console.engine.reading import FeedState, Quality
from console.engine.snapshot import CabinClock, ClockState, Supposition
from console.physics.humidity import saturation_pressure_pa
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.units import parse_unit, rate_unit_of

H = 3600.0
R = 8.31446261815324
MMHG = 101325.0 / 760.0
CUBIC_FOOT = 0.3048**3
MOLAR = {"o2": 0.031998, "co2": 0.044009, "n2": 0.028014, "h2o": 0.018015}
BANDS = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)
CENTRAL = Draws(seed=1, count=0)


def constant(value_si: float) -> Measured:
    return Measured(constant_si=value_si)


def limit(name: str, of: CabinProperty, side: str, at_si: float, **fields: Any) -> CabinLimit:
    return CabinLimit(
        name=name, of=of, side=LimitSide(side), at_si=at_si, source=fields.pop("source", "test"), **fields
    )


def craft_of(
    cabin: Cabin,
    *,
    supplies: tuple[str, ...] = (),
    loads: tuple[tuple[str, float], ...] = (),
    levels: dict[str, tuple[str, ...]] | None = None,
    uses: tuple[Use, ...] = (),
    people: int = 4,
    rates: PersonRates | None = None,
) -> Craft:
    """A craft whose supplies' amounts do not matter: the tests say when each runs out."""

    def supply(name: str) -> Supply:
        unit = parse_unit("W*h" if name == "power" else "kg")
        kind = StoreKind.BATTERY if name == "power" else StoreKind.LIQUID
        store = Store(name=f"{name}-1", kind=kind, state=StoreState.FEEDING, capacity_si=1e9)
        return Supply(name=name, unit=unit, rate_unit=rate_unit_of(unit), stores=(store,), bands=BANDS)

    names = tuple(name for name, _ in loads)
    on_in = levels or {"all": names}
    return Craft(
        name="Tern",
        epoch=datetime(2041, 6, 2, 3, 10, tzinfo=UTC),
        crew_count=people,
        person_rates=dict.fromkeys(Activity, rates) if rates else DEFAULT_PERSON_RATES,
        supplies={name: supply(name) for name in supplies},
        loads={
            name: Load(
                name=name,
                supply="power",
                on_si_per_s=watts,
                standby_si_per_s=0.0,
                duty_fraction=1.0,
                heat_fraction=1.0,
                priority=5,
            )
            for name, watts in loads
        },
        load_spread_fraction=0.0,
        levels={
            level: Level(
                name=level,
                states={name: LoadState.ON if name in on else LoadState.OFF for name in names},
            )
            for level, on in on_in.items()
        },
        uses=uses,
        channels={},
        cabin=cabin,
    )


def clocks_of(
    craft: Craft, phases: tuple[Phase, ...], ends_s: dict[str, float] | None = None, need_s: float = 100 * H
) -> dict[tuple[str, Supposition], CabinClock]:
    """The clocks of a craft at time 0, central case, by limit and supposition."""
    option = Option(
        name="homeward",
        arrival_s=need_s,
        arrival_spread_s=0.0,
        recovery_s=0.0,
        hold_s=0.0,
        decide_by_s=None,
        delta_v_m_per_s=None,
        phases=(),
        events=(),
        note="",
    )
    around = CabinSurroundings(
        craft=craft,
        feed=FeedState(source="test", at_s=0.0, quality=Quality.GOOD, faults=(), readings={}),
        segments=Configuration(craft, phases, (), ()).segments(0.0, math.inf),
        option=option,
        at_s=0.0,
        ends_s={name: np.array([end]) for name, end in (ends_s or {}).items()},
    )
    found = cabin_clocks(around, CENTRAL).clocks
    return {(clock.limit.name, clock.supposition): clock for clock in found}


def reached_h(clock: CabinClock) -> float:
    assert clock.reached_in_s is not None
    assert clock.reached_in_s.p50 is not None, clock.why
    return clock.reached_in_s.p50 / H


# --- everything at once against a numerical integration ------------------------------------------------


@dataclass(frozen=True)
class Case:
    """A random cabin, and when its supplies run out."""

    craft: Craft
    phases: tuple[Phase, ...]
    ends_s: dict[str, float]
    start: dict[str, float]


LEVELS = {"full": ("blower", "valves", "dryer", "pump", "radio"), "quiet": ("blower", "valves", "pump")}


def random_case(seed: int, holds: Regulated, limits: tuple[CabinLimit, ...] = ()) -> Case:
    random = np.random.default_rng(seed)
    pressure = random.uniform(34e3, 105e3)
    start = {
        "p": pressure,
        "o2": pressure * random.uniform(0.2, 0.5),
        "co2": random.uniform(200.0, 700.0),
        "t": random.uniform(285.0, 298.0),
        "rh": random.uniform(0.3, 0.5),
        "out": random.uniform(250.0, 285.0),
    }
    cabin = Cabin(
        volume_m3=random.uniform(8.0, 40.0),
        bands=BANDS,
        pressure=constant(start["p"]),
        oxygen=constant(start["o2"]),
        carbon_dioxide=constant(start["co2"]),
        temperature=constant(start["t"]),
        humidity=constant(start["rh"]),
        removal=Removal(
            flow_m3_per_s=random.uniform(0.3, 1.0) / 60.0, efficiency_fraction=0.9, needs=("blower",)
        ),
        oxygen_feed=OxygenFeed(holds=holds, needs=("valves",)),
        drying=Drying(humidity_fraction=0.55, needs=("dryer",)),
        thermal=Thermal(
            heat_capacity_j_per_k=random.uniform(4e5, 3e6),
            conductance_w_per_k=random.uniform(15.0, 60.0),
            outside=constant(start["out"]),
            cooled_to_k=300.0,
            cooling_needs=("pump",),
            cooling_supply="water",
        ),
        limits=limits,
    )
    uses = (
        Use(name="crew-o2", supply="oxygen", metabolic=Metabolic.OXYGEN),
        Use(name="crew-co2", supply="absorbent", metabolic=Metabolic.CARBON_DIOXIDE),
        Use(name="leak", supply="oxygen", leak_si_per_s=random.uniform(0.0, 0.1) / H, at_pressure_pa=50e3),
    )
    loads = (("blower", 60.0), ("valves", 10.0), ("dryer", 30.0), ("pump", 50.0), ("radio", 500.0))
    craft = craft_of(
        cabin,
        supplies=("power", "oxygen", "water", "absorbent"),
        loads=loads,
        levels=LEVELS,
        uses=uses,
    )
    starts = (0.0, *np.sort(random.uniform(2 * H, 60 * H, 4)))
    phases = tuple(
        Phase(
            name=f"phase {number}",
            start_s=float(at_s),
            level=("full", "quiet")[number % 2],
            crew={Activity.ASLEEP: number % 3, Activity.NOMINAL: 4 - number % 3},
        )
        for number, at_s in enumerate(starts)
    )
    ends = dict(zip(("absorbent", "oxygen", "water", "power"), random.uniform(5 * H, 70 * H, 4), strict=True))
    return Case(
        craft=craft, phases=phases, ends_s={name: float(end) for name, end in ends.items()}, start=start
    )


class Integration:
    """The same cabin by its balances in moles, integrated numerically from one change to the next."""

    def __init__(self, case: Case, stops: str = "") -> None:
        self.case, self.stops = case, stops
        self.cabin = case.craft.cabin
        assert self.cabin is not None
        start, volume = case.start, self.cabin.volume_m3
        per_pa = volume / (R * start["t"])
        vapour = start["rh"] * saturation_pressure_pa(start["t"])
        rest = start["p"] - start["o2"] - start["co2"] - vapour
        self.moles = np.array([start["o2"], start["co2"], rest, vapour]) * per_pa
        self.pa = 1.0 / per_pa
        mass = float(self.moles @ [MOLAR["o2"], MOLAR["co2"], MOLAR["n2"], MOLAR["h2o"]])
        leak = next(use for use in case.craft.uses if use.name == "leak")
        assert leak.leak_si_per_s is not None
        assert leak.at_pressure_pa is not None
        self.leak_per_s = leak.leak_si_per_s * start["p"] / leak.at_pressure_pa / mass

    def held(self, time_s: float) -> dict[str, bool]:
        phase = [one for one in self.case.phases if one.start_s <= time_s][-1]
        on = set(LEVELS[phase.level]) if time_s < self.case.ends_s["power"] else set()
        if self.stops == "power":
            on = set()
        ends = self.case.ends_s
        return {
            "removal": "blower" in on and time_s < ends["absorbent"] and self.stops != "removal",
            "feed": "valves" in on and time_s < ends["oxygen"] and self.stops != "feed",
            "drying": "dryer" in on,
            "cooling": "pump" in on and time_s < ends["water"] and self.stops != "cooling",
            "heat": bool(on),
        }

    def run(self, until_s: float) -> tuple[Any, dict[str, Any]]:
        """Times and the air on a fine grid."""
        cuts = {0.0, until_s, *(phase.start_s for phase in self.case.phases), *self.case.ends_s.values()}
        moments = sorted(cut for cut in cuts if cut <= until_s)
        state = np.array([*self.moles, self.case.start["t"]])
        times, airs = [], []
        for begin, end in pairwise(moments):
            rates, held, caps = self.rates(begin, state)
            grid = np.linspace(begin, end, 4001)
            solved = solve_ivp(rates, (begin, end), state, t_eval=grid, rtol=1e-10, atol=1e-9, method="LSODA")
            assert solved.success
            states = self.limited(solved.y, held, caps)
            times.append(grid)
            airs.append(self.seen(states, held, caps))
            state = states[:, -1]
            if held["feed"] and not self.by_oxygen:
                state[0] = self.seen(states[:, -1:], held, caps)["o2"][0] / self.pa
        return np.concatenate(times), {key: np.concatenate([air[key] for air in airs]) for key in airs[0]}

    @property
    def by_oxygen(self) -> bool:
        assert self.cabin is not None
        assert self.cabin.oxygen_feed is not None
        return self.cabin.oxygen_feed.holds is Regulated.OXYGEN

    def rates(self, time_s: float, state: Any) -> tuple[Any, dict[str, bool], dict[str, float]]:
        cabin, craft = self.cabin, self.case.craft
        assert cabin is not None
        assert cabin.thermal is not None
        assert cabin.removal is not None
        held = self.held(time_s)
        phase = [one for one in self.case.phases if one.start_s <= time_s][-1]
        people = [(count, craft.person_rates[activity]) for activity, count in phase.crew.items()]
        oxygen = sum(count * one.oxygen_kg_per_s for count, one in people) / MOLAR["o2"]
        dioxide = sum(count * one.carbon_dioxide_kg_per_s for count, one in people) / MOLAR["co2"]
        water = sum(count * one.water_vapour_kg_per_s for count, one in people) / MOLAR["h2o"]
        heat = sum(count * one.heat_w for count, one in people)
        if held["heat"]:
            watts = {load.name: load.on_si_per_s for load in craft.loads.values()}
            heat += sum(watts[name] for name in LEVELS[phase.level])
        stream = cabin.removal.flow_m3_per_s * cabin.removal.efficiency_fraction / cabin.volume_m3
        thermal, leak = cabin.thermal, self.leak_per_s
        fixed = held["feed"] and self.by_oxygen
        if fixed:
            state[0] = self.case.start["o2"] / self.pa
        assert thermal.outside.constant_si is not None
        outside = thermal.outside.constant_si

        def balance(_: float, now: Any) -> list[float]:
            return [
                0.0 if fixed else -oxygen - leak * now[0],
                dioxide - leak * now[1] - (stream * now[1] if held["removal"] else 0.0),
                -leak * now[2],
                water - leak * now[3],
                (heat - thermal.conductance_w_per_k * (now[4] - outside)) / thermal.heat_capacity_j_per_k,
            ]

        temperature = state[4]
        humidity = (
            state[3] * self.pa * temperature / self.case.start["t"] / saturation_pressure_pa(temperature)
        )
        caps = {
            "t": max(temperature, 300.0) if held["cooling"] else math.inf,
            "rh": min(max(humidity, 0.55), 1.0) if held["drying"] else 1.0,
        }
        return balance, held, caps

    def limited(self, states: Any, held: dict[str, bool], caps: dict[str, float]) -> Any:
        states = states.copy()
        states[0] = np.maximum(states[0], 0.0)
        states[4] = np.minimum(states[4], caps["t"])
        if held["drying"]:
            states[3] = np.minimum(states[3], self.most(states[4], caps["rh"]))
        return states

    def most(self, temperature: Any, humidity: float) -> Any:
        return humidity * saturation_pressure_pa(temperature) * self.case.start["t"] / temperature / self.pa

    def seen(self, states: Any, held: dict[str, bool], caps: dict[str, float]) -> dict[str, Any]:
        vapour = np.minimum(states[3], self.most(states[4], caps["rh"])) * self.pa
        dioxide, rest, oxygen = states[1] * self.pa, states[2] * self.pa, states[0] * self.pa
        if held["feed"] and not self.by_oxygen:
            oxygen = np.maximum(self.case.start["p"] - dioxide - rest - vapour, 0.0)
            whole = np.full_like(oxygen, self.case.start["p"])
        else:
            whole = oxygen + dioxide + rest + vapour
        humidity = np.minimum(
            states[3] * self.pa * states[4] / self.case.start["t"] / saturation_pressure_pa(states[4]),
            caps["rh"],
        )
        return {"o2": oxygen, "co2": dioxide, "p": whole, "rh": humidity, "t": states[4]}


SEEN: dict[CabinProperty, Callable[[dict[str, Any]], Any]] = {
    CabinProperty.PRESSURE: lambda air: air["p"],
    CabinProperty.OXYGEN: lambda air: air["o2"],
    CabinProperty.CARBON_DIOXIDE: lambda air: air["co2"],
    CabinProperty.TEMPERATURE: lambda air: air["t"],
    CabinProperty.HUMIDITY: lambda air: air["rh"],
    CabinProperty.INSPIRED_OXYGEN: lambda air: (air["p"] - 47 * MMHG) * air["o2"] / air["p"],
}
SHARES: dict[CabinProperty, Callable[[dict[str, Any]], Any]] = {
    CabinProperty.OXYGEN: lambda air: air["o2"] / air["p"],
    CabinProperty.CARBON_DIOXIDE: lambda air: air["co2"] / air["p"],
}
STOPPED = {
    Supposition.PLAN: "",
    Supposition.NO_REMOVAL: "removal",
    Supposition.NO_FEED: "feed",
    Supposition.NO_COOLING: "cooling",
    Supposition.NO_POWER: "power",
}
ASKED = [
    (CabinProperty.PRESSURE, "below", False, 0.93),
    (CabinProperty.OXYGEN, "below", False, 0.85),
    (CabinProperty.INSPIRED_OXYGEN, "below", False, 0.85),
    (CabinProperty.OXYGEN, "below", True, 0.9),
    (CabinProperty.CARBON_DIOXIDE, "above", False, 4.0),
    (CabinProperty.CARBON_DIOXIDE, "above", True, 4.0),
    (CabinProperty.HUMIDITY, "above", False, 1.7),
    (CabinProperty.TEMPERATURE, "above", False, 1.012),
    (CabinProperty.TEMPERATURE, "below", False, 0.985),
]


def first_crossing_s(times: Any, values: Any, level: float, side: str) -> float:
    beyond = values > level if side == "above" else values < level
    if not beyond.any():
        return math.inf
    index = int(np.argmax(beyond))
    if index == 0:
        return float(times[0])
    before, after = values[index - 1], values[index]
    if times[index] == times[index - 1] or after == before:
        return float(times[index])
    return float(times[index - 1] + (level - before) / (after - before) * (times[index] - times[index - 1]))


@pytest.mark.parametrize("holds", list(Regulated))
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_every_clock_of_a_random_cabin_agrees_with_a_numerical_integration(
    seed: int, holds: Regulated
) -> None:
    bare = random_case(seed, holds)
    at_start = Integration(bare).seen(
        np.array([[*Integration(bare).moles, bare.start["t"]]]).T,
        {"feed": False},
        {"t": math.inf, "rh": 1.0},
    )
    limits = tuple(
        limit(
            f"{of.value} {side} {is_share}",
            of,
            side,
            factor * float((SHARES if is_share else SEEN)[of](at_start)[0]),
            is_share=is_share,
        )
        for of, side, is_share, factor in ASKED
    )
    case = random_case(seed, holds, limits)
    until_s = 30 * 86400.0
    clocks = clocks_of(case.craft, case.phases, case.ends_s)
    finite = 0
    for supposition, stops in STOPPED.items():
        times, air = Integration(case, stops).run(until_s)
        for one in limits:
            clock = clocks.get((one.name, supposition))
            if clock is None:
                continue
            of = (SHARES if one.is_share else SEEN)[one.of]
            expected = first_crossing_s(times, of(air), one.at_si, one.side.value)
            assert clock.reached_in_s is not None, clock.why
            got = clock.reached_in_s.p50
            if not math.isfinite(expected):
                assert got is None, (clock.key, got)
                assert clock.state is ClockState.HELD
                continue
            finite += 1
            # The grid of the integration, straight between its points, is what limits this.
            step_s = float(np.diff(times)[np.searchsorted(times, expected, side="right") - 2])
            assert got == pytest.approx(expected, abs=1.0 + 0.01 * step_s), clock.key
    assert finite > 15


# --- sums that a person can do with a pencil -------------------------------------------------------------


def test_twelve_people_bring_a_sealed_refuge_to_2_5_percent_of_carbon_dioxide_when_a_pencil_says_so() -> None:
    """30 CFR part 7 subpart L: 2.5 % at most (read at second hand); MSHA PIB 07-03: 1.08 ft3/h a person.

    85 ft3 a person is our own choice. The whole pressure is held with oxygen, of which more is used than CO2
    is given off, so the share rises by 1.08 ft3/h over 85 ft3, whatever the number of people.
    """
    volume_m3 = 12 * 85 * CUBIC_FOOT
    temperature = 293.15
    # The cubic feet are taken at the refuge's own 20 degC and 101.325 kPa: then temperature cancels.
    kg_per_s = 1.08 * CUBIC_FOOT / H * 101325.0 / (R * temperature) * MOLAR["co2"]
    oxygen = 1.32 * CUBIC_FOOT / H * 101325.0 / (R * temperature) * MOLAR["o2"]
    rates = PersonRates(
        oxygen_kg_per_s=oxygen, carbon_dioxide_kg_per_s=kg_per_s, water_vapour_kg_per_s=0.0, heat_w=117.0
    )
    cabin = Cabin(
        volume_m3=volume_m3,
        bands=BANDS,
        pressure=constant(101325.0),
        oxygen=constant(0.209),
        oxygen_is_share=True,
        carbon_dioxide=constant(0.0004),
        carbon_dioxide_is_share=True,
        temperature=constant(temperature),
        oxygen_feed=OxygenFeed(),
        limits=(
            limit(
                "refuge, at most",
                CabinProperty.CARBON_DIOXIDE,
                "above",
                0.025,
                is_share=True,
                source="30 CFR part 7 subpart L",
            ),
            limit(
                "refuge oxygen", CabinProperty.OXYGEN, "below", 0.195, is_share=True, source="30 CFR 75.321"
            ),
        ),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.REST: 12}),)
    craft = craft_of(cabin, people=12, rates=rates)
    clock = clocks_of(craft, phases)["refuge, at most", Supposition.PLAN]
    by_hand_h = (0.025 - 0.0004) * 85 / 1.08
    assert by_hand_h == pytest.approx(1.936, abs=5e-4)
    assert reached_h(clock) == pytest.approx(by_hand_h, rel=1e-3)


def test_with_no_stores_at_all_a_refuge_runs_out_of_oxygen_by_the_same_pencil() -> None:
    """30 CFR 75.321: 19.5 % of oxygen at least (read). Nothing fed: oxygen falls, and CO2 takes its place."""
    volume_m3 = 12 * 85 * CUBIC_FOOT
    temperature, mol = 293.15, 101325.0 / (R * 293.15)
    rates = PersonRates(
        oxygen_kg_per_s=1.32 * CUBIC_FOOT / H * mol * MOLAR["o2"],
        carbon_dioxide_kg_per_s=1.08 * CUBIC_FOOT / H * mol * MOLAR["co2"],
        water_vapour_kg_per_s=0.0,
        heat_w=117.0,
    )
    cabin = Cabin(
        volume_m3=volume_m3,
        bands=BANDS,
        pressure=constant(101325.0),
        oxygen=constant(0.209 * 101325.0),
        carbon_dioxide=constant(0.0004 * 101325.0),
        temperature=constant(temperature),
        limits=(
            limit(
                "oxygen share", CabinProperty.OXYGEN, "below", 0.195, is_share=True, source="30 CFR 75.321"
            ),
        ),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.REST: 12}),)
    clocks = clocks_of(craft_of(cabin, people=12, rates=rates), phases)
    assert set(clocks) == {("oxygen share", Supposition.PLAN)}
    # (0.209 - 1.32 t / 85) / (1 - 0.24 t / 85) = 0.195, as 0.24 ft3/h more is used than given off.
    by_hand_h = 85 * (0.209 - 0.195) / (1.32 - 0.195 * 0.24)
    assert reached_h(clocks["oxygen share", Supposition.PLAN]) == pytest.approx(by_hand_h, rel=1e-6)
    assert "nothing feeds oxygen" in clocks["oxygen share", Supposition.PLAN].why


@pytest.mark.parametrize(
    ("name", "share", "source"),
    [
        # OSHA 29 CFR 1910.1000 and NIOSH (read at second hand).
        ("working day", 0.005, "29 CFR 1910.1000"),
        ("ceiling", 0.030, "NIOSH"),
        ("immediately dangerous", 0.040, "NIOSH"),
    ],
)
def test_limits_of_work_places_come_one_after_another_in_a_sealed_room(
    name: str, share: float, source: str
) -> None:
    """One person at 0.0523 kg/h (ABS Underwater Vehicles rules 8/8.5.5, read at second hand) in 10 m3."""
    rates = PersonRates(
        oxygen_kg_per_s=0.0523 / H * MOLAR["o2"] / MOLAR["co2"],  # a quotient of 1 keeps the whole pressure
        carbon_dioxide_kg_per_s=0.0523 / H,
        water_vapour_kg_per_s=0.0,
        heat_w=100.0,
    )
    cabin = Cabin(
        volume_m3=10.0,
        bands=BANDS,
        pressure=constant(101325.0),
        oxygen=constant(21000.0),
        carbon_dioxide=constant(40.0),
        temperature=constant(293.15),
        limits=(limit(name, CabinProperty.CARBON_DIOXIDE, "above", share, is_share=True, source=source),),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.REST: 1}),)
    clock = clocks_of(craft_of(cabin, people=1, rates=rates), phases)[name, Supposition.PLAN]
    rise_pa_per_h = 0.0523 / MOLAR["co2"] * R * 293.15 / 10.0
    assert rise_pa_per_h == pytest.approx(289.65, abs=0.05)
    assert reached_h(clock) == pytest.approx((share * 101325.0 - 40.0) / rise_pa_per_h, rel=1e-5)


def test_the_raised_limit_of_a_flown_contingency_is_reached_by_the_wash_out_formula() -> None:
    """NASA MSC-02680 section 9.2.2: 7.6 mmHg nominal, 15 mmHg raised (read). A stream that is too small.

    By hand: towards g / (r + k), with g what the crew gives, r the stream over the volume, no leak.
    """
    volume, people = 16.0, 4
    cabin = Cabin(
        volume_m3=volume,
        bands=BANDS,
        carbon_dioxide=constant(4.0 * MMHG),
        temperature=constant(293.15),
        removal=Removal(flow_m3_per_s=0.07 / 60, efficiency_fraction=0.9),
        limits=tuple(
            limit(name, CabinProperty.CARBON_DIOXIDE, "above", mmhg * MMHG, source="NASA MSC-02680")
            for name, mmhg in (("nominal", 7.6), ("raised", 15.0), ("never", 30.0))
        ),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.NOMINAL: people}),)
    clocks = clocks_of(craft_of(cabin), phases)
    gain = people * 7.20e-4 / 60 / MOLAR["co2"] * R * 293.15 / volume
    washed = 0.07 / 60 * 0.9 / volume
    steady = gain / washed
    assert 15.0 * MMHG < steady < 30.0 * MMHG
    for name, mmhg in (("nominal", 7.6), ("raised", 15.0)):
        by_hand = math.log((steady - 4.0 * MMHG) / (steady - mmhg * MMHG)) / washed
        assert reached_h(clocks[name, Supposition.PLAN]) * H == pytest.approx(by_hand, rel=1e-4)
    assert clocks["never", Supposition.PLAN].state is ClockState.HELD
    # Without the stream: straight up.
    straight = (15.0 - 4.0) * MMHG / gain
    assert reached_h(clocks["raised", Supposition.NO_REMOVAL]) * H == pytest.approx(straight, rel=1e-4)


@pytest.mark.parametrize(("mmhg", "name"), [(145.0, "target"), (127.0, "one hour"), (122.0, "absolute")])
def test_inspired_oxygen_reaches_the_published_limits_when_the_feed_stops(mmhg: float, name: str) -> None:
    """NASA-STD-3001 volume 2 (read at second hand): target 145, low 127 for an hour, 122 absolute, mmHg.

    Two people at a quotient of 1 in 20 m3 at 101.325 kPa: the whole stays, so oxygen falls straight.
    """
    rate = 0.84 / 86400.0
    rates = PersonRates(
        oxygen_kg_per_s=rate,
        carbon_dioxide_kg_per_s=rate * MOLAR["co2"] / MOLAR["o2"],
        water_vapour_kg_per_s=0.0,
        heat_w=100.0,
    )
    cabin = Cabin(
        volume_m3=20.0,
        bands=BANDS,
        pressure=constant(101325.0),
        oxygen=constant(160.0 * MMHG),
        carbon_dioxide=constant(100.0),
        temperature=constant(293.15),
        oxygen_feed=OxygenFeed(holds=Regulated.OXYGEN),
        limits=(limit(name, CabinProperty.INSPIRED_OXYGEN, "below", mmhg * MMHG, source="NASA-STD-3001"),),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.NOMINAL: 2}),)
    clocks = clocks_of(craft_of(cabin, people=2, rates=rates), phases)
    assert clocks[name, Supposition.PLAN].state is ClockState.HELD
    fall = 2 * rate / MOLAR["o2"] * R * 293.15 / 20.0
    level = mmhg * 760.0 / (760.0 - 47.0) * MMHG
    by_hand = (160.0 * MMHG - level) / fall
    assert reached_h(clocks[name, Supposition.NO_FEED]) * H == pytest.approx(by_hand, rel=1e-4)


def test_a_cold_cabin_reaches_its_limit_by_the_time_constant() -> None:
    """Common practice, no source: 900 kJ/K over 40 W/K is 6.25 h; the steady temperature is 250 K + Q / G."""
    rates = PersonRates(
        oxygen_kg_per_s=1e-5, carbon_dioxide_kg_per_s=1e-5, water_vapour_kg_per_s=0.0, heat_w=100.0
    )
    cabin = Cabin(
        volume_m3=16.0,
        bands=BANDS,
        temperature=constant(293.15),
        thermal=Thermal(heat_capacity_j_per_k=900e3, conductance_w_per_k=40.0, outside=constant(250.0)),
        limits=(limit("cold", CabinProperty.TEMPERATURE, "below", 278.15),),
    )
    phases = (Phase(name="wait", start_s=0.0, level="all", crew={Activity.NOMINAL: 4}),)
    craft = craft_of(cabin, supplies=("power",), loads=(("heater", 500.0),), rates=rates)
    clocks = clocks_of(craft, phases, {"power": math.inf})
    steady = 250.0 + 900.0 / 40.0
    by_hand_h = 6.25 * math.log((293.15 - steady) / (278.15 - steady))
    assert reached_h(clocks["cold", Supposition.PLAN]) == pytest.approx(by_hand_h, rel=1e-9)
    unheated = 250.0 + 400.0 / 40.0
    dark_h = 6.25 * math.log((293.15 - unheated) / (278.15 - unheated))
    assert reached_h(clocks["cold", Supposition.NO_POWER]) == pytest.approx(dark_h, rel=1e-9)
    assert dark_h < by_hand_h


def test_a_leak_reckoned_by_the_mean_molar_mass_of_the_start_is_off_by_less_than_two_percent() -> None:
    """A cabin of air whose leak is made up with oxygen grows heavier: how much that moves the nitrogen."""
    pressure, share, volume, leak = 101325.0, 0.21, 16.0, 0.05 / H
    per_pa = volume / (R * 293.15)

    def fall(_: float, now: Any) -> list[float]:
        oxygen = pressure * per_pa - now[0]
        mass = now[0] * MOLAR["n2"] + oxygen * MOLAR["o2"]
        return [-leak * now[0] / mass]

    start = (1 - share) * pressure * per_pa
    true = solve_ivp(fall, (0.0, 200 * H), [start], rtol=1e-10, atol=1e-9).y[0, -1]
    first = start * MOLAR["n2"] + share * pressure * per_pa * MOLAR["o2"]
    reckoned = start * math.exp(-leak / first * 200 * H)
    assert reckoned == pytest.approx(true, rel=0.02)
    assert reckoned < true  # the leak is reckoned a little too fast, once oxygen has replaced nitrogen
