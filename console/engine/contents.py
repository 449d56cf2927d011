"""What each store of a supply still holds at a moment ahead, when the plan has taken its part from it.

What a store that is shut, changed out or dropped takes away with it. Stores that feed together share the use:
absorbent cartridges in proportion to what they can still take; all others too, but if their capacities would
give one a smaller part, then that: a store that has given less takes more away, which is early.
"""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import StoreKind, StoreState, Supply
from console.engine.configuration import Configuration
from console.engine.holding import THIS_MINUTE_S
from console.engine.planned_use import PlannedUse
from console.engine.quantity import StoreQuantity


class SupplyContents:
    """The contents of one supply's stores, walked forward in time; central case.

    Args:
        supply: the supply.
        quantities: by store, what its readings say, as at their own time.
        configuration: which stores feed, when.
        plan: the planned uses; None where nothing is taken.
        from_s: where the walk starts.
        now_s: the moment: a reading of this minute counts as one of now.
    """

    def __init__(
        self,
        supply: Supply,
        quantities: Mapping[str, StoreQuantity],
        configuration: Configuration,
        plan: PlannedUse | None,
        from_s: float,
        now_s: float,
    ) -> None:
        self._supply = supply
        self._configuration = configuration
        self._plan = plan
        self._at_s = from_s
        self._unshared_si = 0.0
        """What was used and no store was charged with, because each was given its smaller part."""
        mine = [quantities[store.name] for store in supply.stores]
        self._held_si = {one.store.name: one.held_si or 0.0 for one in mine}
        self._residual_si = {one.store.name: one.residual_si or 0.0 for one in mine}
        self._read_s = {one.store.name: _true_at_s(one, from_s, now_s) for one in mine}
        moves = configuration.feeding_moves(from_s, float("inf"))
        turns_s = {move.at_s for move in moves if move.store in self._held_si}
        self._turns_s = sorted({*turns_s, *self._read_s.values()})

    def gives_si(self, store: str) -> float:
        """What one store could still give, were it open."""
        return max(self._held_si[store] - self._residual_si[store], 0.0)

    def usable_si(self, states: Mapping[str, StoreState]) -> float:
        """What all the stores that count in these states could give, less the reserve."""
        counted = sum(self.gives_si(name) for name in self._held_si if states[name].is_counted)
        return counted - self._supply.reserve_si - self._unshared_si

    def advance(self, to_s: float) -> None:
        """Take what the plan uses until then."""
        for turn_s in [turn_s for turn_s in self._turns_s if self._at_s < turn_s < to_s]:
            self._use_until(turn_s)
        if to_s > self._at_s:
            self._use_until(to_s)

    def take(self, amount_si: float, at_s: float) -> None:
        """Take an amount at one moment from the stores that feed just before it and were read before it."""
        self._share(amount_si, self._configuration.stores_before(at_s), at_s)

    def add(self, store: str, amount_si: float, at_s: float) -> None:
        """Fill one store at one moment, if it was read before that."""
        if self._read_s[store] < at_s:
            self._held_si[store] += amount_si

    def _use_until(self, end_s: float) -> None:
        begin_s, self._at_s = self._at_s, end_s
        if self._plan is None:
            return
        for store, rate in self._plan.store_leaks_si_per_s.items():
            if store in self._held_si and self._read_s[store] <= begin_s:
                self._held_si[store] = max(self._held_si[store] - rate * (end_s - begin_s), 0.0)
        shared = self._shared_use_si(self._plan, begin_s, end_s)
        self._share(shared, self._configuration.stores_at(begin_s), end_s)

    def _shared_use_si(self, plan: PlannedUse, begin_s: float, end_s: float) -> float:
        """What all feeding stores bear together: every line but the leaks of single stores."""
        amounts = plan.used_si(self._supply.name, begin_s, end_s)
        keys = plan.supplies[self._supply.name].keys
        return sum(
            float(amount)
            for key, amount in zip(keys, amounts, strict=True)
            if key.name not in plan.single_store_uses
        )

    def _share(self, amount_si: float, states: Mapping[str, StoreState], until_s: float) -> None:
        """Share an amount among the feeding stores; what was read later has given its part already."""
        feeding = [store for store in self._supply.stores if states[store.name] is StoreState.FEEDING]
        given = {store.name: self.gives_si(store.name) for store in feeding}
        total = sum(given.values())
        if total <= 0.0:
            return
        capacities = {store.name: store.capacity_si for store in feeding}
        full = sum(capacity or 0.0 for capacity in capacities.values())
        for store in feeding:
            share = by_content = given[store.name] / total
            capacity = capacities[store.name]
            if store.kind is not StoreKind.ABSORBENT and None not in capacities.values() and capacity:
                share = min(share, capacity / full)
            if self._read_s[store.name] < until_s:
                self._held_si[store.name] -= min(amount_si * share, given[store.name])
                self._unshared_si += min(amount_si, total) * (by_content - share)


def _true_at_s(quantity: StoreQuantity, from_s: float, now_s: float) -> float:
    """From when on a store's content is to be carried.

    Its reading's own moment, or now if that counts as one of now; what nothing reads is as at the start.
    """
    if quantity.as_of_s is None:
        return from_s
    return now_s if now_s - quantity.as_of_s <= THIS_MINUTE_S else quantity.as_of_s
