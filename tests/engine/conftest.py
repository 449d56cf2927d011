"""Builders of small crafts, plans and feeds: literal models, so that the engine is tested without files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import pytest

from console.craft.band_limits import BandLimits
from console.craft.cabin import Cabin
from console.craft.channels import Channel, Measured
from console.craft.model import (
    Activity,
    Craft,
    Level,
    Load,
    LoadState,
    Propulsion,
    Store,
    StoreKind,
    StoreState,
    Supply,
    Use,
)
from console.craft.plan import Event, Option, Phase, Plan, Transfer
from console.engine.assess import Assessment, assess
from console.engine.configuration import ConfigurationChange
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.reading import FeedState, Quality, Reading
from console.feed.state_file import StateFileSource, state_file_time_s
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.scenario.load import load_scenario, packaged_scenario
from console.units import parse_unit, rate_unit_of

H = 3600.0
AH = 3600.0
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
CENTRAL = Draws(seed=1, count=0)
BANDS = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)


@dataclass(frozen=True)
class Build:
    """Makes the parts with as few words as a test needs."""

    @staticmethod
    def store(name: str, **fields: Any) -> Store:
        given: dict[str, Any] = {"kind": StoreKind.LIQUID, "state": StoreState.FEEDING, **fields}
        return Store(name=name, **given)

    @staticmethod
    def supply(name: str, unit: str, *stores: Store, **fields: Any) -> Supply:
        parsed = parse_unit(unit)
        given: dict[str, Any] = {"bands": BANDS, **fields}
        return Supply(name=name, unit=parsed, rate_unit=rate_unit_of(parsed), stores=stores, **given)

    @staticmethod
    def load(name: str, on: float, standby: float = 0.0, **fields: Any) -> Load:
        given: dict[str, Any] = {
            "supply": "power",
            "duty_fraction": 1.0,
            "heat_fraction": 1.0,
            "priority": 5,
            **fields,
        }
        return Load(name=name, on_si_per_s=on, standby_si_per_s=standby, **given)

    @staticmethod
    def channel(name: str, unit: str, **fields: Any) -> Channel:
        return Channel(name=name, unit=parse_unit(unit), **fields)

    @staticmethod
    def craft(
        *supplies: Supply,
        loads: tuple[Load, ...] = (),
        levels: Mapping[str, Mapping[str, LoadState]] | None = None,
        uses: tuple[Use, ...] = (),
        channels: tuple[Channel, ...] = (),
        crew_count: int = 4,
        load_spread_fraction: float = 0.0,
        cabin: Cabin | None = None,
        propulsion: Propulsion | None = None,
    ) -> Craft:
        given = levels or {"all": {load.name: LoadState.ON for load in loads}}
        return Craft(
            name="Tern",
            epoch=EPOCH,
            crew_count=crew_count,
            person_rates=DEFAULT_PERSON_RATES,
            supplies={supply.name: supply for supply in supplies},
            loads={load.name: load for load in loads},
            load_spread_fraction=load_spread_fraction,
            levels={
                name: Level(
                    name=name, states={load.name: states.get(load.name, LoadState.OFF) for load in loads}
                )
                for name, states in given.items()
            },
            uses=uses,
            channels={channel.name: channel for channel in channels},
            cabin=cabin,
            propulsion=propulsion,
        )

    @staticmethod
    def phase(name: str, start_s: float, level: str = "all", **crew: int) -> Phase:
        return Phase(
            name=name,
            start_s=start_s,
            level=level,
            crew={Activity(activity): count for activity, count in (crew or {"nominal": 4}).items()},
        )

    @staticmethod
    def event(
        name: str,
        at_s: float,
        uses: Mapping[str, float] | None = None,
        transfer: Transfer | None = None,
        sets: Mapping[str, StoreState] | None = None,
        spread: float = 0.0,
    ) -> Event:
        return Event(
            name=name,
            at_s=at_s,
            uses_si=uses or {},
            spread_fraction=spread,
            transfer=transfer,
            sets=sets or {},
        )

    @staticmethod
    def option(arrival_s: float, **fields: Any) -> Option:
        given: dict[str, Any] = {
            "name": "homeward",
            "arrival_spread_s": 0.0,
            "recovery_s": 0.0,
            "hold_s": 0.0,
            "decide_by_s": None,
            "delta_v_m_per_s": None,
            "phases": (),
            "events": (),
            "note": "",
            **fields,
        }
        return Option(arrival_s=arrival_s, **given)

    @staticmethod
    def plan(option: Option, phases: tuple[Phase, ...], events: tuple[Event, ...] = ()) -> Plan:
        return Plan(
            phases=phases, events=events, options={option.name: option}, committed=option.name, watches=()
        )

    @staticmethod
    def feed(at_s: float = 0.0, **values: float | Reading) -> FeedState:
        """Good readings, all of one moment; dots of a channel's name are written as two underscores."""
        readings = {}
        for key, value in values.items():
            name = key.replace("__", ".").replace("_", "-")
            readings[name] = (
                value
                if isinstance(value, Reading)
                else Reading(channel=name, quality=Quality.GOOD, value_si=value, at_s=at_s)
            )
        return FeedState(source="test", at_s=at_s, quality=Quality.GOOD, faults=(), readings=readings)

    @staticmethod
    def assess(
        craft: Craft,
        plan: Plan,
        feed: FeedState | None = None,
        at_s: float = 0.0,
        changes: tuple[ConfigurationChange, ...] = (),
        draws: Draws = CENTRAL,
        memory: Any = None,
    ) -> Assessment:
        situation = Situation(
            slug="tern",
            craft=craft,
            plan=plan,
            feed=Build.feed(at_s) if feed is None else feed,
            changes=changes,
            at_s=at_s,
        )
        return assess(situation, memory, draws)

    @staticmethod
    def step(at_s: float, **loads: LoadState) -> ConfigurationChange:
        named = {name.replace("_", "-"): state for name, state in loads.items()}
        return ConfigurationChange(at_s=at_s, label="test", loads=named, stores={}, used_si={})

    @staticmethod
    def constant(value_si: float) -> Measured:
        return Measured(constant_si=value_si)


@pytest.fixture(scope="session")
def build() -> type[Build]:
    return Build


@pytest.fixture(scope="session")
def demo() -> Situation:
    """The packaged demo at the moment of its state file."""
    scenario = load_scenario(packaged_scenario("tern"))
    path = scenario.folder / "state.json"
    at_s = state_file_time_s(path, scenario.craft.epoch)
    feed = StateFileSource(path, scenario.craft.channels, scenario.craft.epoch).poll(at_s)
    return Situation(
        slug=scenario.slug, craft=scenario.craft, plan=scenario.plan, feed=feed, changes=(), at_s=at_s
    )
