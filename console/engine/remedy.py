"""What would make a plan reach again that does not: each remedy tried by itself, by the same look ahead.

A remedy reaches when every supply named lasts until need by its low end and no other is made short by it.
Nothing is recommended here: what a remedy costs otherwise, people must judge.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum

from console.craft.model import Craft, StoreState
from console.craft.plan import Phase, phase_at
from console.engine.ahead import Ahead, look_ahead
from console.engine.allowance_profile import AllowanceProfile, free_time, profiles_of
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, known_of
from console.engine.options import delta_v_left, limit_of_way
from console.engine.snapshot import Interval
from console.engine.switch import switched_at
from console.engine.whatif import MoveStore, suppose
from console.units import Dimension


class RemedyKind(Enum):
    """What is done."""

    OPEN_STORE = "open"
    OPTION = "take"
    LEVEL = "level"
    LESS_DRAW = "draw less"


@dataclass(frozen=True, kw_only=True, slots=True)
class Remedy:
    """One thing that is done, and what it reaches."""

    kind: RemedyKind
    name: str
    """Of the store, way home, level or supply."""
    shortest: str | None = None
    """The shortest supply then; None for ``LESS_DRAW``, which says what is needed and tries nothing."""
    margin_s: Interval | None = None
    """Its margin."""
    less_si_per_s: float | None = None
    """``LESS_DRAW``: by how much less than planned in the free phases, to last by the low end."""
    allowed_si_per_s: float | None = None
    """``LESS_DRAW``: what may then be drawn in them; below zero: not even nothing would do."""


def remedies(
    situation: Situation, known: Known, ahead: Ahead, short: tuple[str, ...], draws: Draws
) -> tuple[Remedy, ...]:
    """Everything of these kinds that reaches, each by itself.

    Args:
        situation: the one in which the plan does not reach.
        known: what it tells.
        ahead: the look ahead on its committed way home.
        short: the supplies that must reach.
        draws: samples and seed.
    """
    lows = _lows(ahead)
    tried: list[Remedy] = []
    for kind, name, look in _tries(situation, known, ahead, short, draws):
        if kind is RemedyKind.LEVEL and any(remedy.kind is kind for remedy in tried):
            continue  # levels come from the highest draw down: the first that reaches is the least reduction
        tried.extend(_reached(kind, name, look, lows, short))
    profiles = profiles_of(situation.craft, ahead, situation.at_s)
    return (*tried, *(less for name in short if (less := _less_draw(profiles[name])) is not None))


def _tries(
    situation: Situation, known: Known, ahead: Ahead, short: tuple[str, ...], draws: Draws
) -> Iterator[tuple[RemedyKind, str, Ahead]]:
    craft, plan, now_s = situation.craft, situation.plan, situation.at_s
    committed = plan.options[plan.committed]
    states = ahead.configuration.stores_at(now_s)
    for name in short:
        for store in craft.supplies[name].stores:
            if states[store.name] is StoreState.ISOLATED and not ahead.configuration.is_gone(
                store.name, now_s
            ):
                opened = suppose(situation, [MoveStore(store=store.name, to=StoreState.FEEDING, at_s=now_s)])
                yield RemedyKind.OPEN_STORE, store.name, look_ahead(known_of(opened), plan, committed, draws)
    left = delta_v_left(known, ahead)
    for option in plan.options.values():
        if option.name != plan.committed and limit_of_way(known, plan, option, left).at_s > now_s:
            taken = switched_at(plan, option, now_s)
            yield RemedyKind.OPTION, option.name, look_ahead(known, plan, taken, draws)
    power_ups = free_time(craft, ahead.use, ahead.phases, now_s, committed.need_s).power_ups
    for level in lower_levels(craft, ahead.phases, now_s, power_ups):
        lowered = replace(committed, phases=lowered_phases(craft, ahead.phases, level, now_s, power_ups))
        yield RemedyKind.LEVEL, level, look_ahead(known, plan, lowered, draws)


def lower_levels(
    craft: Craft, phases: tuple[Phase, ...], now_s: float, power_ups: tuple[str, ...]
) -> tuple[str, ...]:
    """The levels that draw less than some free phase ahead does, from the highest draw down."""
    free = [phase for phase in _ahead(phases, now_s) if phase.name not in power_ups]
    highest_w = max((level_power_w(craft, phase.level) for phase in free), default=0.0)
    powers = {name: level_power_w(craft, name) for name in craft.levels}
    lower = [name for name, power_w in powers.items() if power_w < highest_w]
    return tuple(sorted(lower, key=lambda name: -powers[name]))


def lowered_phases(
    craft: Craft, phases: tuple[Phase, ...], level: str, now_s: float, power_ups: tuple[str, ...]
) -> tuple[Phase, ...]:
    """The phases with every free one from now on at a level, where its own draws more."""
    most_w = level_power_w(craft, level)
    before = tuple(phase for phase in phases if phase.start_s < now_s)
    return (
        *before,
        *(
            replace(phase, level=level)
            if phase.name not in power_ups and level_power_w(craft, phase.level) > most_w
            else phase
            for phase in _ahead(phases, now_s)
        ),
    )


def level_power_w(craft: Craft, level: str) -> float:
    """What all loads of a level take together."""
    states = craft.levels[level].states
    power_w = 0.0
    for load in craft.loads.values():
        supply = craft.supplies[load.supply]
        watts = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.CHARGE else 1.0
        power_w += watts * load.draw_si_per_s(states[load.name])
    return power_w


def _ahead(phases: tuple[Phase, ...], now_s: float) -> tuple[Phase, ...]:
    """The phase in progress, from now on, and those after it."""
    after = tuple(phase for phase in phases if phase.start_s > now_s)
    return (replace(phase_at(phases, now_s), start_s=now_s), *after)


def _reached(
    kind: RemedyKind, name: str, look: Ahead, before_s: Mapping[str, float], short: tuple[str, ...]
) -> Iterator[Remedy]:
    lows = _lows(look)
    if not all(
        low >= 0.0 or (supply not in short and low >= before_s[supply]) for supply, low in lows.items()
    ):
        return
    if any(supply not in lows for supply in short):
        return
    shortest = min(short, key=lambda supply: lows[supply])
    yield Remedy(kind=kind, name=name, shortest=shortest, margin_s=look.supplies[shortest].outlook.margin_s)


def _less_draw(profile: AllowanceProfile) -> Remedy | None:
    less = profile.shortfall_low_si_per_s
    if less is None or less <= 0.0:
        return None
    return Remedy(
        kind=RemedyKind.LESS_DRAW,
        name=profile.supply.name,
        less_si_per_s=less,
        allowed_si_per_s=profile.allowance_low_si_per_s,
    )


def _lows(ahead: Ahead) -> dict[str, float]:
    """The low end of every margin that is known."""
    lows = {name: one.outlook.band_margin_s for name, one in ahead.supplies.items()}
    return {name: low for name, low in lows.items() if low is not None}
