"""Every margin again with one thing lost: a store, a battery bus, a feeding line. Which ends the plan?

A loss is the same scenario without those stores, assessed by the same look ahead: nothing else fails with
them. The plan survives it if every supply still lasts until need; by the low end first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

from console.craft.model import Craft, StoreState, Supply
from console.engine.ahead import Ahead, look_ahead
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, judged, known_of
from console.engine.memory import Memory
from console.engine.options import delta_v_left
from console.engine.remedy import Remedy, remedies
from console.engine.snapshot import Interval, Snapshot
from console.engine.whatif import LoseStore, suppose

_SAME_S = 1.0
"""A margin that moves by less than this has not moved."""


class LossKind(Enum):
    """What is lost."""

    STORE = "store"
    BUS = "bus"
    LINE = "line"


@dataclass(frozen=True, kw_only=True, slots=True)
class Lost:
    """One thing that can fail, and the stores that give no more when it does."""

    kind: LossKind
    name: str
    title: str
    supply: str
    stores: tuple[str, ...]
    """None for a line whose stores all feed through another line too."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LossMargins:
    """Every margin with or without a loss, and whether the plan survives."""

    margins_s: Mapping[str, Interval | None]
    """By supply; None where it is not known."""
    shortest: str | None
    unknown: tuple[str, ...]
    lacks_delta_v: bool
    """Whether the way home, not begun yet, asks for more delta-v than is left."""
    is_survived_low: bool | None
    """By the low ends; None where nothing is short and some margin is not known."""
    is_survived_central: bool | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Loss:
    """One loss, what it does, and what would make the plan survive it."""

    lost: Lost
    margins: LossMargins
    short: tuple[str, ...]
    """The supplies that it makes short, or shorter, by the low end."""
    takes_delta_v: bool
    """Whether it takes delta-v that the way home needs, and that was there before."""
    remedies: tuple[Remedy, ...]
    """Each by itself; none where it is survived, or where nothing of that kind helps."""

    @property
    def ends_plan(self) -> bool:
        """Whether the plan does not survive it, by the low end, through what it does itself."""
        return bool(self.short) or self.takes_delta_v

    @property
    def ends_plan_central(self) -> bool:
        """The same by the central case."""
        ends = (self.margins.margins_s[name] for name in self.short)
        return self.takes_delta_v or any(end is not None and _end(end.p50) < 0.0 for end in ends)


@dataclass(frozen=True, kw_only=True, slots=True)
class NotCounted:
    """A store whose loss is not tried, and why."""

    store: str
    supply: str
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Losses:
    """Every single loss of a situation."""

    snapshot: Snapshot
    supplies: Mapping[str, Supply]
    without_loss: LossMargins
    losses: tuple[Loss, ...]
    """Stores in the craft's order, then buses, then lines."""
    not_counted: tuple[NotCounted, ...]

    @property
    def worst(self) -> Loss | None:
        """The one that leaves the least margin among what it touches; None where nothing can be lost."""
        return min(self.losses, key=_least_left_s, default=None)


def losses_of(situation: Situation, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS) -> Losses:
    """Every single loss of a situation, one after the other."""
    situation = judged(situation)
    snapshot = assess(situation, memory, draws).snapshot
    known = known_of(situation)
    ahead = _look(known, situation, draws)
    before = margins_of(known, ahead)
    counted, not_counted = counted_stores(situation.craft, ahead, situation.at_s)
    return Losses(
        snapshot=snapshot,
        supplies=situation.craft.supplies,
        without_loss=before,
        losses=tuple(
            _loss(situation, lost, before, draws) for lost in what_can_fail(situation.craft, counted)
        ),
        not_counted=not_counted,
    )


def margins_of(known: Known, ahead: Ahead) -> LossMargins:
    """Every margin of a look ahead, and whether the plan survives by them."""
    margins = {name: one.outlook.margin_s for name, one in ahead.supplies.items()}
    unknown = tuple(name for name, margin in margins.items() if margin is None)
    lows = {name: low_s(margin) for name, margin in margins.items() if margin is not None}
    centrals = [_end(margin.p50) for margin in margins.values() if margin is not None]
    option, left = ahead.option, delta_v_left(known, ahead)
    is_ahead = option.decide_by_s is None or option.decide_by_s > known.at_s
    needed = option.delta_v_m_per_s
    lacks = is_ahead and needed is not None and left is not None and left < needed
    return LossMargins(
        margins_s=margins,
        shortest=min(lows, key=lambda name: lows[name], default=None),
        unknown=unknown,
        lacks_delta_v=lacks,
        is_survived_low=_is_survived(lows.values(), lacks=lacks, unknown=bool(unknown)),
        is_survived_central=_is_survived(centrals, lacks=lacks, unknown=bool(unknown)),
    )


def low_s(margin: Interval) -> float:
    """A margin's low end, infinite where the supply does not run out."""
    return _end(margin.p05)


def what_can_fail(craft: Craft, counted: Iterable[str]) -> tuple[Lost, ...]:
    """Every store that counts, every electrical supply's bank of them, every feeding line.

    A store that feeds through two lines is lost with neither of them alone.
    """
    names = set(counted)
    stores = [
        Lost(kind=LossKind.STORE, name=store.name, title=store.note, supply=supply.name, stores=(store.name,))
        for supply in craft.supplies.values()
        for store in supply.stores
        if store.name in names
    ]
    buses = [
        Lost(kind=LossKind.BUS, name=supply.name, title="its whole bank", supply=supply.name, stores=bank)
        for supply in craft.supplies.values()
        if supply.is_electrical
        and (bank := tuple(store.name for store in supply.stores if store.name in names))
    ]
    lines = [
        Lost(
            kind=LossKind.LINE,
            name=line.name,
            title=line.title,
            supply=craft.store(line.stores[0])[0].name,
            stores=tuple(
                store
                for store in line.stores
                if store in names
                and not any(store in other.stores for other in craft.lines if other is not line)
            ),
        )
        for line in craft.lines
        if line.stores
    ]
    return (*stores, *buses, *lines)


def counted_stores(
    craft: Craft, ahead: Ahead, now_s: float
) -> tuple[tuple[str, ...], tuple[NotCounted, ...]]:
    """The stores that the plan lives on, and the others with why not."""
    states = ahead.configuration.stores_at(now_s)
    moves = ahead.configuration.store_moves(now_s, ahead.option.need_s)
    opened = {move.store for move in moves if move.opens}
    counted, others = [], []
    for supply in craft.supplies.values():
        for store in supply.stores:
            if states[store.name].is_counted or store.name in opened:
                counted.append(store.name)
                continue
            is_protected = states[store.name] is StoreState.PROTECTED
            why = "protected, never counted" if is_protected else "shut, and nothing opens it before need"
            others.append(NotCounted(store=store.name, supply=supply.name, why=why))
    return tuple(counted), tuple(others)


def _loss(situation: Situation, lost: Lost, before: LossMargins, draws: Draws) -> Loss:
    without = suppose(situation, [LoseStore(store=store) for store in lost.stores])
    known = known_of(without)
    ahead = _look(known, without, draws)
    margins = margins_of(known, ahead)
    short = tuple(
        name for name, margin in margins.margins_s.items() if _is_shorter(before.margins_s[name], margin)
    )
    return Loss(
        lost=lost,
        margins=margins,
        takes_delta_v=margins.lacks_delta_v and not before.lacks_delta_v,
        short=short,
        remedies=remedies(without, known, ahead, short, draws) if short else (),
    )


def _is_shorter(before: Interval | None, after: Interval | None) -> bool:
    """Whether a margin is short after a loss and was longer before it."""
    if after is None or low_s(after) >= 0.0:
        return False
    return before is None or low_s(after) < low_s(before) - _SAME_S


def _look(known: Known, situation: Situation, draws: Draws) -> Ahead:
    plan = situation.plan
    return look_ahead(known, plan, plan.options[plan.committed], draws)


def _is_survived(ends_s: Iterable[float], *, lacks: bool, unknown: bool) -> bool | None:
    if lacks or any(end < 0.0 for end in ends_s):
        return False
    return None if unknown else True


def _least_left_s(loss: Loss) -> float:
    margin = loss.margins.margins_s[loss.lost.supply]
    return math.inf if margin is None else low_s(margin)


def _end(value: float | None) -> float:
    return math.inf if value is None else value
