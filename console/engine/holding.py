"""What a supply holds, as its readings say, and from which moment on it must be reckoned.

A reading of this minute is taken as one of now. An older one, or one from before an event, is one of its own
moment, whatever age its channel allows: the supply is reckoned from then on, by the plan, as if it were
looked at then. So neither its end nor its uncertainty looks any better for the reading's age.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import StoreState, Supply
from console.engine.configuration import Configuration
from console.engine.quantity import StoreQuantity, worst
from console.engine.reading import Quality
from console.engine.snapshot import StoreStatus

THIS_MINUTE_S = 60.0
"""A reading no older than this is taken as one of now, if nothing has happened since."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Holding:
    """One supply as read; amounts None where they cannot be known."""

    read_si: float | None
    """On board, each store as at its own reading."""
    protected_si: float | None
    isolated_si: float | None
    residual_si: float | None
    """Of the stores that count as usable now: those that feed, and spare cartridges."""
    from_s: float
    """From when on it is reckoned: now, or the moment of its oldest reading."""
    unseen: tuple[tuple[float, float], ...]
    """From which moment on, which share of the supply's draw no later reading has seen; until now."""
    start_si: float | None
    """Usable at ``from_s``: of the stores that counted then, less residual and reserve."""
    errors_sd: Mapping[str, float]
    """By store of these, one standard deviation of its quantity."""
    stores: tuple[StoreStatus, ...]
    quality: Quality
    """Of the stores that count now or are opened before need: the worst."""
    age_s: float | None
    """Of their readings: the oldest."""
    why: tuple[str, ...]


def holding(
    supply: Supply,
    quantities: Mapping[str, StoreQuantity],
    configuration: Configuration,
    happenings_s: tuple[float, ...],
    now_s: float,
    need_s: float,
) -> Holding:
    """What a supply holds. What was left behind with a module by now is not aboard, and is not looked at.

    Args:
        supply: the supply.
        quantities: by store, what its readings say, as at their own time.
        configuration: which stores give, when.
        happenings_s: when events take from it or add to it.
        now_s: the moment.
        need_s: until when it must last.
    """
    states = configuration.stores_at(now_s)
    aboard = [store.name for store in supply.stores if not configuration.is_gone(store.name, now_s)]
    mine = [quantities[name] for name in aboard]
    counted = [quantity for quantity in mine if states[quantity.store.name].is_counted]
    drained = {one.store.name: _true_until_s(one, configuration, happenings_s, now_s) for one in mine}
    from_s = min((since_s for since_s in drained.values() if since_s is not None), default=now_s)
    then = configuration.stores_at(from_s)
    at_first = [quantity for quantity in mine if then[quantity.store.name].is_counted]
    opened = {move.store for move in configuration.store_moves(now_s, need_s) if move.opens}
    trusted = [*counted, *(quantity for quantity in mine if quantity.store.name in opened)]
    ages = [now_s - quantity.as_of_s for quantity in trusted if quantity.as_of_s is not None]
    gives = _sum_known([_gives_si(quantity) for quantity in at_first])
    # What counts now must be known too: a store that was opened since then is part of what is there.
    is_known = gives is not None and all(quantity.held_si is not None for quantity in counted)
    return Holding(
        read_si=_sum_known([quantity.held_si for quantity in mine]),
        protected_si=_held_in(StoreState.PROTECTED, mine, states),
        isolated_si=_held_in(StoreState.ISOLATED, mine, states),
        residual_si=_sum_known([_residual_si(quantity) for quantity in counted]),
        from_s=from_s,
        unseen=_unseen(mine, drained, configuration, from_s, now_s),
        start_si=gives - supply.reserve_si if gives is not None and is_known else None,
        errors_sd={quantity.store.name: quantity.sd_si for quantity in at_first},
        stores=tuple(_status(quantity, states[quantity.store.name], now_s) for quantity in mine),
        quality=worst(*(quantity.quality for quantity in trusted)),
        age_s=max(ages, default=None),
        why=tuple(f"{quantity.store.name}: {quantity.why}" for quantity in mine if quantity.why),
    )


def unread(held: Holding) -> tuple[str, ...]:
    """The stores that count as usable and whose quantity is not known."""
    return tuple(store.name for store in held.stores if store.state.is_counted and store.on_board_si is None)


def _true_until_s(
    quantity: StoreQuantity, configuration: Configuration, happenings_s: tuple[float, ...], now_s: float
) -> float | None:
    """Until when a reading holds as it stands: from then on its store has been drawn from.

    None where it holds still: its store has not fed since, or the reading is of this minute and nothing has
    happened to the supply since, or there is no reading.
    """
    as_of_s = quantity.as_of_s
    if as_of_s is None or as_of_s >= now_s:
        return None
    name = quantity.store.name
    moves = [move for move in configuration.feeding_moves(as_of_s, now_s) if move.store == name]
    fed = configuration.stores_at(as_of_s)[name] is StoreState.FEEDING
    since_s = as_of_s if fed else next((move.at_s for move in moves if move.opens), None)
    if since_s is None or (now_s - since_s <= THIS_MINUTE_S and not _any_in(happenings_s, since_s, now_s)):
        return None
    return since_s


def _any_in(moments_s: tuple[float, ...], after_s: float, until_s: float) -> bool:
    return any(after_s < at_s <= until_s for at_s in moments_s)


def _unseen(
    mine: list[StoreQuantity],
    drained: Mapping[str, float | None],
    configuration: Configuration,
    from_s: float,
    now_s: float,
) -> tuple[tuple[float, float], ...]:
    """The steps of the share of the draw that fell to stores after their reading."""
    moments = {from_s, *(since_s for since_s in drained.values() if since_s is not None)}
    moments.update(move.at_s for move in configuration.feeding_moves(from_s, now_s))
    return tuple(
        (at_s, _unseen_fraction(mine, drained, configuration.stores_at(at_s), at_s))
        for at_s in sorted(moments)
        if at_s < now_s
    )


def _unseen_fraction(
    mine: list[StoreQuantity],
    drained: Mapping[str, float | None],
    states: Mapping[str, StoreState],
    at_s: float,
) -> float:
    """The share, at one moment, of feeding stores that were read before it, by what each can give."""
    gauged = [
        (drained[one.store.name], _gives_si(one) or 0.0)
        for one in mine
        if states[one.store.name] is StoreState.FEEDING and one.as_of_s is not None
    ]
    total = sum(gives for _, gives in gauged)
    if total <= 0.0:
        return 1.0
    return sum(gives for since_s, gives in gauged if since_s is not None and since_s <= at_s) / total


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
        note=quantity.store.note,
    )


def _sum_known(amounts: list[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if len(known) == len(amounts) else None
