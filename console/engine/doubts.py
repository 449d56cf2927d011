"""What is due of every channel, so that its history can be judged: what it reads, how fast it should move.

The judging itself is in ``validity/``; here the craft and the plan are turned into what it asks for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.model import Craft, LoadState, Store, StoreState, Supply
from console.craft.plan import Event, Phase
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.planned_rate import feeding
from console.engine.planned_use import PlannedUse
from console.engine.reading import Reading
from console.engine.series import Series, is_still
from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.judge import verdicts_of
from console.engine.validity.verdict import OF_THE_FEED, Doubt, Use, Verdict

JUDGED_BACK_S: Final = 12 * 3600.0

Verdicts = Mapping[str, tuple[Verdict, ...]]


def doubts_of(
    craft: Craft,
    configuration: Configuration,
    phases: tuple[Phase, ...],
    events: tuple[Event, ...],
    changes: tuple[ConfigurationChange, ...],
    past: PlannedUse,
    history: Mapping[str, Series],
    readings: Mapping[str, Reading],
    at_s: float,
) -> Verdicts:
    """What the history of every channel says against its newest word.

    Args:
        craft: the craft.
        configuration: what is switched how.
        phases: of the plan.
        events: of the plan.
        changes: the logged steps up to now.
        past: the model's uses up to now.
        history: by channel, its good readings.
        readings: the newest of each.
        at_s: the moment.
    """
    causes = sorted(
        {
            moment
            for moment in (
                *(phase.start_s for phase in phases),
                *(event.at_s for event in events),
                *(change.at_s for change in changes),
            )
            if at_s - JUDGED_BACK_S <= moment <= at_s
        }
    )
    contexts = {
        name: replace(context, causes_s=tuple(causes))
        for name, context in _contexts(craft, configuration, past, at_s).items()
    }
    recent = {name: series.between(at_s - JUDGED_BACK_S, at_s) for name, series in history.items()}
    found = verdicts_of(recent, contexts, readings, at_s)
    for name, series in recent.items():
        if name in contexts and is_still(series.between(at_s - 0.5 * JUDGED_BACK_S, at_s)):
            # Where it has stood still so long, what was usual lies further back.
            whole = verdicts_of({name: history[name]}, {name: contexts[name]}, readings, at_s)[name]
            stuck = tuple(one for one in whole if one.kind is Doubt.STUCK)
            found[name] = (*stuck, *(one for one in found[name] if one.kind is not Doubt.STUCK or not stuck))
    return found


def believed_until_s(verdicts: Verdicts) -> dict[str, float]:
    """By channel whose newest words are not taken as they are, until when its readings are to be believed.

    One that swings has a right average, but each swing looks like a change of use, and when it began to swing
    is not known: none of its readings is.
    """
    found: dict[str, float] = {}
    for name, mine in verdicts.items():
        since = [
            -math.inf if one.use is Use.AVERAGED else one.since_s
            for one in mine
            if _is_not_as_read(one) and one.since_s is not None
        ]
        if since:
            found[name] = min(since) - 1.0
    return found


def _is_not_as_read(one: Verdict) -> bool:
    return one.use is Use.LEFT_OUT or (one.use is Use.AVERAGED and one.is_doubt)


def doubts_told(verdicts: Verdicts) -> tuple[Verdict, ...]:
    """All that is to be said of the channels beside what the feed says itself, the gravest first."""
    order = {kind: index for index, kind in enumerate(Doubt)}
    found = [one for mine in verdicts.values() for one in mine if one.kind not in OF_THE_FEED]
    return tuple(sorted(found, key=lambda one: (not one.is_doubt, order[one.kind])))


def _contexts(
    craft: Craft, configuration: Configuration, past: PlannedUse, at_s: float
) -> dict[str, ChannelContext]:
    found = {name: ChannelContext(channel=channel) for name, channel in craft.channels.items()}
    states = configuration.stores_at(at_s)
    loads = configuration.load_states_at(at_s)
    for supply in craft.supplies.values():
        giving = feeding(supply, states)
        cycles = any(
            load.supply == supply.name and load.duty_fraction < 1.0 and loads[load.name] is LoadState.ON
            for load in craft.loads.values()
        )
        draw = past.supplies[supply.name].total_si_per_s(past.now_index)
        _say(found, supply.rate, ChannelKind.FLOW, None, cycles)
        for store in supply.stores:
            rate = _expected_si_per_s(store, giving, draw, states)
            share = _per_shown(store, supply)
            _say(found, store.quantity, ChannelKind.HELD, _signed(rate, -share), False)
            _say(found, store.pressure, ChannelKind.HELD, 0.0 if rate == 0.0 else None, False)
            _say(found, store.used, ChannelKind.TAKEN, rate, False)
            _say(found, store.current, ChannelKind.FLOW, None, cycles)
            if store.temperature is not None and store.temperature.channel is not None:
                channel = store.temperature.channel
                found[channel] = replace(found[channel], better_side=-1)
    _cabin(found, craft.cabin)
    return found


def _expected_si_per_s(
    store: Store, giving: tuple[Store, ...], draw_si_per_s: float, states: Mapping[str, StoreState]
) -> float | None:
    """How fast a store is drawn from now; None where nothing says which of several gives how much."""
    if states[store.name] is not StoreState.FEEDING:
        return 0.0
    return draw_si_per_s if giving == (store,) else None


def _per_shown(store: Store, supply: Supply) -> float:
    """How much its gauge moves for one unit of the amount."""
    if not store.quantity_is_share:
        return 1.0
    if store.capacity_si is None:
        raise ValueError(f"store {store.name} of {supply.name} is read as a share of no capacity")
    return 1.0 / store.capacity_si


def _signed(rate: float | None, by: float) -> float | None:
    return None if rate is None else rate * by


def _say(
    contexts: dict[str, ChannelContext],
    measured: Measured | None,
    kind: ChannelKind,
    rate: float | None,
    may_cycle: bool,
) -> None:
    if measured is not None and measured.channel is not None:
        contexts[measured.channel] = replace(
            contexts[measured.channel], kind=kind, expected_rate_si_per_s=rate, may_cycle=may_cycle
        )


def _cabin(contexts: dict[str, ChannelContext], cabin: Cabin | None) -> None:
    """What flatters of the cabin's air: CO2 that reads low, oxygen that reads high."""
    if cabin is None:
        return
    for measured, side in ((cabin.carbon_dioxide, -1), (cabin.oxygen, 1)):
        if measured is not None and measured.channel is not None:
            contexts[measured.channel] = replace(contexts[measured.channel], better_side=side)
