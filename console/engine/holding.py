"""What a supply holds, as its readings say, and from which moment on it must be reckoned.

A fresh reading is taken as it is. A reading that is older than its channel allows is one of a past moment:
the supply is then reckoned from that moment on, by the plan, as if it were looked at then. So neither its end
nor its uncertainty looks any better for the reading's age.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import StoreState, Supply
from console.engine.configuration import Configuration
from console.engine.quantity import StoreQuantity, worst
from console.engine.reading import Quality
from console.engine.snapshot import StoreStatus


@dataclass(frozen=True, kw_only=True, slots=True)
class Holding:
    """One supply as read; amounts None where they cannot be known."""

    read_si: float | None
    """On board, each store as at its own reading."""
    protected_si: float | None
    isolated_si: float | None
    residual_si: float | None
    """Of the stores that feed now."""
    from_s: float
    """From when on it is reckoned: now, or the moment of its oldest old reading."""
    old_fraction: float
    """Share of the supply's draw since ``from_s`` that no fresh gauge has seen; 0 where all are fresh."""
    start_si: float | None
    """Usable at ``from_s``: of the stores that fed then, less residual and reserve."""
    errors_sd: Mapping[str, float]
    """By store of these, one standard deviation of its quantity."""
    stores: tuple[StoreStatus, ...]
    quality: Quality
    """Of the stores that feed now or are opened before need: the worst."""
    age_s: float | None
    """Of their readings: the oldest."""
    why: tuple[str, ...]


def holding(
    supply: Supply,
    quantities: Mapping[str, StoreQuantity],
    configuration: Configuration,
    now_s: float,
    need_s: float,
) -> Holding:
    """What a supply holds.

    Args:
        supply: the supply.
        quantities: by store, what its readings say, as at their own time.
        configuration: which stores give, when.
        now_s: the moment.
        need_s: until when it must last.
    """
    states = configuration.stores_at(now_s)
    mine = [quantities[store.name] for store in supply.stores]
    feeding = [quantity for quantity in mine if states[quantity.store.name] is StoreState.FEEDING]
    from_s = min((_true_since_s(one, configuration, now_s) for one in feeding if one.is_old), default=now_s)
    then = configuration.stores_at(from_s)
    fed = [quantity for quantity in mine if then[quantity.store.name] is StoreState.FEEDING]
    opened = {move.store for move in configuration.store_moves(now_s, need_s) if move.opens}
    trusted = [*feeding, *(quantity for quantity in mine if quantity.store.name in opened)]
    ages = [now_s - quantity.as_of_s for quantity in trusted if quantity.as_of_s is not None]
    gives = _sum_known([_gives_si(quantity) for quantity in fed])
    # What feeds now must be known too: a store that a step opened since then is part of what is there.
    is_known = gives is not None and all(quantity.held_si is not None for quantity in feeding)
    return Holding(
        read_si=_sum_known([quantity.held_si for quantity in mine]),
        protected_si=_held_in(StoreState.PROTECTED, mine, states),
        isolated_si=_held_in(StoreState.ISOLATED, mine, states),
        residual_si=_sum_known([_residual_si(quantity) for quantity in feeding]),
        from_s=from_s,
        old_fraction=_old_fraction(feeding) if from_s < now_s else 0.0,
        start_si=gives - supply.reserve_si if gives is not None and is_known else None,
        errors_sd={quantity.store.name: quantity.sd_si for quantity in fed},
        stores=tuple(_status(quantity, states[quantity.store.name], now_s) for quantity in mine),
        quality=worst(*(quantity.quality for quantity in trusted)),
        age_s=max(ages, default=None),
        why=tuple(f"{quantity.store.name}: {quantity.why}" for quantity in mine if quantity.why),
    )


def unread(held: Holding) -> tuple[str, ...]:
    """The feeding stores whose quantity is not known."""
    return tuple(
        store.name for store in held.stores if store.state is StoreState.FEEDING and store.on_board_si is None
    )


def _true_since_s(quantity: StoreQuantity, configuration: Configuration, now_s: float) -> float:
    """Until when an old reading holds: when it was made, or when its store, shut till then, was opened."""
    as_of_s = now_s if quantity.as_of_s is None else quantity.as_of_s
    openings = (
        move.at_s
        for move in configuration.store_moves(as_of_s, now_s)
        if move.store == quantity.store.name and move.opens
    )
    return next(openings, as_of_s)


def _residual_si(quantity: StoreQuantity) -> float | None:
    """What is below the residual cannot be given, but no more than all that is there is trapped."""
    if quantity.held_si is None:
        return None
    return min(quantity.residual_si or 0.0, quantity.held_si)


def _gives_si(quantity: StoreQuantity) -> float | None:
    residual_si = _residual_si(quantity)
    if quantity.held_si is None or residual_si is None:
        return None
    return quantity.held_si - residual_si


def _held_in(
    state: StoreState, quantities: list[StoreQuantity], states: Mapping[str, StoreState]
) -> float | None:
    return _sum_known([one.held_si for one in quantities if states[one.store.name] is state])


def _old_fraction(feeding: list[StoreQuantity]) -> float:
    """Share of the draw that fell to stores with old readings, by what each gauged store can give."""
    gauged = [(quantity, _gives_si(quantity) or 0.0) for quantity in feeding if quantity.as_of_s is not None]
    total = sum(gives for _, gives in gauged)
    if total <= 0.0:
        return 1.0
    return sum(gives for quantity, gives in gauged if quantity.is_old) / total


def _status(quantity: StoreQuantity, state: StoreState, now_s: float) -> StoreStatus:
    return StoreStatus(
        name=quantity.store.name,
        state=state,
        on_board_si=quantity.held_si,
        residual_si=_residual_si(quantity),
        basis=quantity.basis,
        quality=quantity.quality,
        age_s=None if quantity.as_of_s is None else now_s - quantity.as_of_s,
        why=quantity.why,
    )


def _sum_known(amounts: list[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if len(known) == len(amounts) else None
