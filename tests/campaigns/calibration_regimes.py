"""What contingencies a campaign is made of: for each regime, what befalls a craft, and when it is looked at.

Every choice comes from the seed of the case alone. Nothing is simulated or forecast here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType

import numpy as np
from calibration_choices import (
    HOUR_S,
    gauged,
    gauges,
    leaking,
    moved_by_loads,
    moved_loads,
    one_gauge,
    planned_move_s,
    quiet_moments_s,
    with_spares_fitted,
)

from console.engine.configuration import ConfigurationChange
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault
from console.feed.simulation_file import Simulation
from console.scenario.load import Scenario

AFTER_CHANGE_S = tuple(hours * HOUR_S for hours in (0.25, 0.5, 1.0, 2.0, 4.0))
AFTER_LEAK_S = tuple(hours * HOUR_S for hours in (2.0, 4.0, 8.0, 12.0))
AFTER_STUCK_S = tuple(hours * HOUR_S for hours in (0.5, 1.0, 2.0, 4.0, 8.0))
LIVES_LEFT = (2.0 / 3.0, 0.5, 1.0 / 3.0)
STEADY_MOMENTS = 4


class Regime(Enum):
    """What kind of contingency it is; the value is the word of the command line."""

    STEADY = "steady"
    POWER_DOWN = "power-down"
    POWER_UP = "power-up"
    UNLOGGED = "unlogged"
    """A power-down or power-up that nobody logged."""
    COARSE = "coarse"
    SLOW_LEAK = "slow-leak"
    GROWING_LEAK = "growing-leak"
    STUCK = "stuck"
    DROP_OUT = "drop-out"

    @property
    def has_change_or_leak(self) -> bool:
        """Whether something goes another way than it did."""
        return self in _CHANGES or self in _LEAKS

    @property
    def has_change(self) -> bool:
        """Whether loads are switched."""
        return self in _CHANGES

    @property
    def has_leak(self) -> bool:
        """Whether something leaks that the plan does not know of."""
        return self in _LEAKS


_CHANGES = frozenset((Regime.POWER_DOWN, Regime.POWER_UP, Regime.UNLOGGED))
_LEAKS = frozenset((Regime.SLOW_LEAK, Regime.GROWING_LEAK))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Case:
    """One contingency: what befalls which craft, and at which moments forecasts are asked for."""

    name: str
    regime: Regime
    variant: str
    scenario: Scenario
    """With its gauges as they are in this contingency."""
    simulation: Simulation
    seed: int
    supplies: tuple[str, ...]
    """Whose forecasts count."""
    until_s: float
    """Until when instruments are read."""
    faults: tuple[SimulatedFault, ...] = ()
    logged: tuple[ConfigurationChange, ...] = ()
    change_s: float | None = None
    """When it happened."""
    moments_s: tuple[float, ...] = ()
    lives_left: tuple[float, ...] = ()
    """In place of moments: what shares of the life of the first supply, from the change on, are left."""


def case_of(regime: Regime, scenario: Scenario, simulation: Simulation, seed: int, name: str) -> Case:
    """The contingency of one seed in one regime."""
    luck = np.random.default_rng([seed, list(Regime).index(regime)])
    # Errors of instruments are drawn anew in every contingency, instead of those that the file names.
    plain = replace(
        simulation, biases_si=MappingProxyType({}), draws_biases=True, faults=(), random_faults=None
    )
    blank = Case(
        name=name,
        regime=regime,
        variant="",
        scenario=with_spares_fitted(scenario),
        simulation=plain,
        seed=int(luck.integers(2**31)),
        supplies=(),
        until_s=0.0,
    )
    return _MAKERS[regime](blank, luck)


def _steady(case: Case, luck: np.random.Generator) -> Case:
    moments_s = _some(luck, quiet_moments_s(case.scenario, case.simulation.start_s, 6.0 * HOUR_S, 0.0))
    return _looked_at(replace(case, supplies=tuple(case.scenario.craft.supplies)), moments_s)


def _coarse(case: Case, luck: np.random.Generator) -> Case:
    scenario, share = case.scenario, float(luck.uniform(0.02, 0.05))
    coarse = {
        name: replace(channel, resolution_si=max(channel.resolution_si, share * full_si))
        for name, (channel, full_si) in gauges(scenario.craft).items()
    }
    channels = MappingProxyType({**scenario.craft.channels, **coarse})
    moments_s = _some(luck, quiet_moments_s(scenario, case.simulation.start_s, 5.0 * HOUR_S, 0.0))
    return _looked_at(
        replace(
            case,
            variant=f"steps of {share * 100.0:.1f} %",
            scenario=replace(scenario, craft=replace(scenario.craft, channels=channels)),
            supplies=tuple(gauged(scenario.craft)),
        ),
        moments_s,
    )


def _power_down(case: Case, luck: np.random.Generator) -> Case:
    return _switched(case, luck, goes_up=False, is_logged=True)


def _power_up(case: Case, luck: np.random.Generator) -> Case:
    return _switched(case, luck, goes_up=True, is_logged=True)


def _unlogged(case: Case, luck: np.random.Generator) -> Case:
    return _switched(case, luck, goes_up=bool(luck.random() < 0.5), is_logged=False)


def _switched(case: Case, luck: np.random.Generator, *, goes_up: bool, is_logged: bool) -> Case:
    """Several loads moved at one moment; they truly stay so until the plan moves each, as after a step."""
    scenario, start_s = case.scenario, case.simulation.start_s
    # Minutes, since that is how people write down when something was done.
    at_s = float(luck.choice(quiet_moments_s(scenario, start_s, 2.0 * HOUR_S, 4.0 * HOUR_S)))
    at_s += 60.0 * float(luck.integers(0, 10))
    loads = moved_loads(scenario, at_s, luck, goes_up=goes_up)
    faults = tuple(
        SimulatedFault(
            kind=FaultKind.LOAD_STATE,
            at_s=at_s,
            until_s=planned_move_s(scenario, load, at_s),
            load=load,
            state=state,
        )
        for load, state in loads.items()
    )
    change = ConfigurationChange(
        at_s=at_s, label="switched together", loads=MappingProxyType(loads), stores={}, used_si={}
    )
    return _looked_at(
        replace(
            case,
            variant="up" if goes_up else "down",
            faults=faults,
            logged=(change,) if is_logged else (),
            supplies=moved_by_loads(scenario.craft),
            change_s=at_s,
        ),
        [at_s + after_s for after_s in AFTER_CHANGE_S],
    )


def _slow_leak(case: Case, luck: np.random.Generator) -> Case:
    scenario = case.scenario
    supply, stores = leaking(scenario.craft, case.simulation, luck)
    from_all = bool(luck.random() < 0.5)
    holed = stores if from_all else [stores[int(luck.integers(len(stores)))]]
    decay_s = float(luck.uniform(1.0, 5.0)) * 24.0 * HOUR_S
    at_s = case.simulation.start_s + float(luck.uniform(1.0, 12.0)) * HOUR_S
    faults = tuple(
        SimulatedFault(
            kind=FaultKind.LEAK,
            at_s=at_s,
            store=store.name,
            rate_si_per_s=case.simulation.initial_si[store.name] / decay_s,
            course=LeakCourse.DECAYING,
        )
        for store in holed
    )
    return _looked_at(
        replace(
            case,
            variant="all stores" if from_all else "one store",
            faults=faults,
            supplies=(supply.name,),
            change_s=at_s,
        ),
        [at_s + after_s for after_s in AFTER_LEAK_S],
    )


def _growing_leak(case: Case, luck: np.random.Generator) -> Case:
    """A leak at the manifold, from all stores that feed: it would empty them in some doublings by itself."""
    supply, stores = leaking(case.scenario.craft, case.simulation, luck)
    doubles_s, doublings = float(luck.uniform(2.0, 6.0)) * HOUR_S, float(luck.uniform(3.0, 5.0))
    at_s = case.simulation.start_s + float(luck.uniform(1.0, 8.0)) * HOUR_S
    per_s = math.log(2.0) / (doubles_s * (2.0**doublings - 1.0))
    faults = tuple(
        SimulatedFault(
            kind=FaultKind.LEAK,
            at_s=at_s,
            store=store.name,
            rate_si_per_s=case.simulation.initial_si[store.name] * per_s,
            course=LeakCourse.GROWING,
            doubles_in_s=doubles_s,
        )
        for store in stores
    )
    return replace(
        case,
        variant=f"doubles in {doubles_s / HOUR_S:.1f} h",
        faults=faults,
        supplies=(supply.name,),
        change_s=at_s,
        lives_left=LIVES_LEFT,
        until_s=at_s + doubles_s * doublings,
    )


def _stuck(case: Case, luck: np.random.Generator) -> Case:
    supply, channel = one_gauge(case.scenario.craft, luck)
    at_s = case.simulation.start_s + float(luck.uniform(2.0, 12.0)) * HOUR_S
    fault = SimulatedFault(kind=FaultKind.STUCK, at_s=at_s, channel=channel)
    return _looked_at(
        replace(case, variant=channel, faults=(fault,), supplies=(supply,), change_s=at_s),
        [at_s + after_s for after_s in AFTER_STUCK_S],
    )


def _drop_out(case: Case, luck: np.random.Generator) -> Case:
    """One gauge, or all instruments, fall silent three times; looked at midway, at the end and after it."""
    supply, channel = one_gauge(case.scenario.craft, luck)
    falls_all = bool(luck.random() < 0.3)
    at_s = case.simulation.start_s + float(luck.uniform(2.0, 4.0)) * HOUR_S
    faults, moments_s = [], []
    for _ in range(3):
        lasts_s = math.exp(float(luck.uniform(math.log(1.0 / 3.0), math.log(4.0)))) * HOUR_S
        faults.append(
            SimulatedFault(
                kind=FaultKind.DROP_OUT,
                at_s=at_s,
                until_s=at_s + lasts_s,
                channel=None if falls_all else channel,
                is_null=bool(luck.random() < 0.5),
            )
        )
        moments_s += [at_s + 0.5 * lasts_s, at_s + lasts_s - 60.0, at_s + lasts_s + 600.0]
        at_s += lasts_s + float(luck.uniform(1.0, 3.0)) * HOUR_S
    supplies = tuple(gauged(case.scenario.craft)) if falls_all else (supply,)
    variant = "all instruments" if falls_all else channel
    return _looked_at(replace(case, variant=variant, faults=tuple(faults), supplies=supplies), moments_s)


_MAKERS: Mapping[Regime, Callable[[Case, np.random.Generator], Case]] = {
    Regime.STEADY: _steady,
    Regime.POWER_DOWN: _power_down,
    Regime.POWER_UP: _power_up,
    Regime.UNLOGGED: _unlogged,
    Regime.COARSE: _coarse,
    Regime.SLOW_LEAK: _slow_leak,
    Regime.GROWING_LEAK: _growing_leak,
    Regime.STUCK: _stuck,
    Regime.DROP_OUT: _drop_out,
}


def _looked_at(case: Case, moments_s: Iterable[float]) -> Case:
    whole_s = tuple(sorted({60.0 * math.floor(moment_s / 60.0) for moment_s in moments_s}))
    return replace(case, moments_s=whole_s, until_s=whole_s[-1])


def _some(luck: np.random.Generator, moments_s: list[float]) -> list[float]:
    chosen = luck.choice(moments_s, size=min(STEADY_MOMENTS, len(moments_s)), replace=False)
    return sorted(chosen.tolist())
