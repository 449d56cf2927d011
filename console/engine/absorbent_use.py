"""How long the fitted cartridges last, which says when the next change-out is due.

Spares count as usable but take nothing up: a supply that lasts can still need somebody to change a cartridge.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from console.craft.model import StoreState, Supply
from console.engine.configuration import Configuration
from console.engine.contents import SupplyContents
from console.engine.forecast import Course, Draws, course_of, interval
from console.engine.jumps import Jump, event_factor
from console.engine.planned_use import PlannedUse
from console.engine.quantity import StoreQuantity
from console.engine.snapshot import Interval, LineKind


def fitted_lasts_s(
    supply: Supply,
    quantities: Mapping[str, StoreQuantity],
    configuration: Configuration,
    plan: PlannedUse,
    jumps: tuple[Jump, ...],
    draws: Draws,
    now_s: float,
) -> Interval | None:
    """From now, how long what is fitted now takes up what the plan gives off, with no cartridge changed.

    None where nothing is spare, and where it is not known what the fitted ones can take. The arguments are
    those of ``fitted_course``.
    """
    course = fitted_course(supply, quantities, configuration, plan, jumps, draws, now_s)
    return None if course is None else interval(np.maximum(course.runs_out_s() - now_s, 0.0))


def fitted_course(
    supply: Supply,
    quantities: Mapping[str, StoreQuantity],
    configuration: Configuration,
    plan: PlannedUse,
    jumps: tuple[Jump, ...],
    draws: Draws,
    now_s: float,
) -> Course | None:
    """How what is fitted now goes on from now; None as in ``fitted_lasts_s``.

    Args:
        supply: the supply.
        quantities: by store, what its readings say.
        configuration: which stores are fitted.
        plan: the planned uses, from now or an earlier moment on.
        jumps: what happens to the supply at one moment each, from that moment on.
        draws: samples and seed: those of the supply's own forecast.
        now_s: the moment.
    """
    states = configuration.stores_at(now_s)
    if not any(states[store.name] is StoreState.SPARE for store in supply.stores):
        return None
    fitted = [quantities[store.name] for store in supply.stores if states[store.name] is StoreState.FEEDING]
    if any(one.held_si is None for one in fitted):
        return None
    from_s = min(float(plan.starts_s[0]), now_s)
    contents = SupplyContents(supply, quantities, configuration, plan, from_s, now_s)
    taken = [jump for jump in jumps if jump.kind is LineKind.EVENT]
    for jump in taken:
        if jump.at_s <= now_s:
            contents.advance(jump.at_s)
            contents.take(-jump.amount_si, jump.at_s)
    contents.advance(now_s)
    start = np.full(draws.count + 1, sum(contents.gives_si(one.store.name) for one in fitted))
    for one in fitted:
        start = start + draws.error(f"store {one.store.name}", one.sd_si)
    ahead = [jump for jump in taken if jump.at_s > now_s]
    turns_s = [*plan.starts_s.tolist(), *(jump.at_s for jump in ahead)]
    times = np.array(sorted({now_s, *(turn_s for turn_s in turns_s if turn_s > now_s)}))
    rates = plan.sampled(supply.name, draws).over(np.searchsorted(plan.starts_s, times, side="right") - 1)
    added = [
        (jump.at_s, jump.amount_si * draws.factor(event_factor(jump.name), jump.spread_fraction))
        for jump in ahead
    ]
    return course_of(start, times, rates, added)
