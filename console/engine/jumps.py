"""What events and moved stores do to the usable amount of a supply, at one moment each.

An event can use a supply, burn propellant for a change of velocity, move an amount between stores with its
losses, or open and shut stores; a logged step can open and shut them too, and either can leave a module
behind. What is over at the moment asked for is in the gauges already; what comes after need is not waited
for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.model import Craft, Propulsion
from console.craft.plan import Event
from console.display import Rounding, amount_text
from console.engine.configuration import Configuration, StoreMove
from console.engine.contents import SupplyContents
from console.engine.mass import dry_mass_kg
from console.engine.planned_use import PlannedUse
from console.engine.quantity import StoreQuantity
from console.engine.snapshot import LineKind
from console.physics.propulsion import propellant_for_delta_v_kg


@dataclass(frozen=True, kw_only=True, slots=True)
class Jump:
    """One sudden change of a supply's usable amount."""

    supply: str
    at_s: float
    kind: LineKind
    name: str
    amount_si: float
    """Added to the usable amount: negative for what is taken."""
    spread_fraction: float = 0.0
    store: str = ""
    """The store that is opened or shut, whose gauge's error it brings; empty for all else."""
    error_sd_si: float = 0.0
    """Of that gauge; negative where its error leaves with the store."""
    why: str = ""
    """What a person must be told beside it."""
    parts_si: tuple[tuple[str, float], ...] = ()
    """What it was reckoned from and nothing else keeps, by name, for whoever must say why."""


def event_factor(name: str) -> str:
    """The key of an event's own uncertainty."""
    return f"event {name}"


def happenings_s(
    events: tuple[Event, ...], supply: str, propulsion: Propulsion | None = None
) -> tuple[float, ...]:
    """When events use a supply, burn it or move some of it."""
    burns = propulsion is not None and propulsion.supply == supply
    return tuple(
        event.at_s
        for event in events
        if supply in event.uses_si
        or (burns and event.burn_m_per_s is not None)
        or (event.transfer is not None and event.transfer.source == supply)
    )


def jumps_between(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    quantities: Mapping[str, StoreQuantity],
    after_s: float,
    until_s: float,
    plan: PlannedUse | None = None,
    now_s: float | None = None,
) -> tuple[Jump, ...]:
    """Every jump after one moment and up to another, in order of time.

    A store that is shut later takes away what it still holds by then, when the plan has taken its part of the
    use from it (``SupplyContents`` says which part, and why that is early); the amount is that of the central
    case.
    A store that is filled takes no more than the room it has: what does not fit is lost.

    Args:
        craft: the craft.
        configuration: which stores are open and which modules are aboard, when.
        events: those that happen.
        quantities: by store, what its readings say.
        after_s: where the supplies are reckoned from.
        until_s: the last moment.
        plan: the planned uses from ``after_s`` on; None to let every store keep what it holds.
        now_s: the moment; ``after_s`` by default.
    """
    walk = _Walk(craft, configuration, quantities, plan, after_s, after_s if now_s is None else now_s)
    happenings: list[Event | StoreMove] = [
        *(event for event in events if after_s < event.at_s <= until_s),
        *configuration.store_moves(after_s, until_s),
    ]
    jumps: list[Jump] = []
    # Stable: at one moment uses and transfers come before the stores they find open are moved.
    for happening in sorted(happenings, key=lambda one: one.at_s):
        if isinstance(happening, StoreMove):
            jumps.extend(walk.moved(happening))
        else:
            jumps.extend(walk.uses(happening))
            jumps.extend(walk.burn(happening))
            jumps.extend(walk.transfer(happening))
    return tuple(jumps)


class _Walk:
    """Goes through what happens in order of time, and knows what every store holds by then."""

    def __init__(
        self,
        craft: Craft,
        configuration: Configuration,
        quantities: Mapping[str, StoreQuantity],
        plan: PlannedUse | None,
        after_s: float,
        now_s: float,
    ) -> None:
        self._craft = craft
        self._configuration = configuration
        self._quantities = quantities
        self._now_s = now_s
        self._received_si: dict[str, float] = {}
        self._contents = {
            supply.name: SupplyContents(supply, quantities, configuration, plan, after_s, now_s)
            for supply in craft.supplies.values()
        }

    def uses(self, event: Event) -> list[Jump]:
        """What an event takes from supplies."""
        return [self._used(event, supply, amount_si) for supply, amount_si in event.uses_si.items()]

    def burn(self, event: Event) -> list[Jump]:
        """The propellant of an event's change of velocity, by the mass that the craft has then."""
        propulsion = self._craft.propulsion
        if propulsion is None or event.burn_m_per_s is None:
            return []
        contents = self._contents[propulsion.supply]
        contents.advance(event.at_s)
        before_s = math.nextafter(event.at_s, -math.inf)
        usable_kg = max(contents.usable_si(self._configuration.stores_before(event.at_s)), 0.0)
        # What the same event leaves behind is still there while it burns, which costs more.
        mass_kg = dry_mass_kg(propulsion, self._configuration.dropped_at(before_s)) + usable_kg
        cost_kg = propellant_for_delta_v_kg(event.burn_m_per_s, mass_kg, propulsion.exhaust_velocity_m_per_s)
        why = ""
        if cost_kg > usable_kg:
            unit = self._craft.supplies[propulsion.supply].unit
            why = (
                f"{event.name} asks for {amount_text(cost_kg, unit, Rounding.UP)}, and "
                f"{amount_text(usable_kg, unit)} is usable by then"
            )
        used = self._used(event, propulsion.supply, cost_kg, why)
        return [replace(used, parts_si=(("mass before", mass_kg), ("usable then", usable_kg)))]

    def transfer(self, event: Event) -> list[Jump]:
        """What an event moves into a store, and what that takes from its source."""
        transfer = event.transfer
        if transfer is None:
            return []
        target, store = self._craft.store(transfer.target_store)
        taken = self._used(event, transfer.source, transfer.amount_si / transfer.efficiency_fraction)
        jumps = [_by_transfer(event, transfer.source, taken.amount_si)]
        quantity = self._quantities[store.name]
        before_si = (quantity.held_si or 0.0) + self._received_si.get(store.name, 0.0)
        # What a feeding target will have given by then is not counted: only the room it has now is.
        room_si = math.inf if store.capacity_si is None else max(store.capacity_si - before_si, 0.0)
        arrives_si = min(transfer.amount_si, room_si)
        if self._is_unread(quantity, event.at_s):
            self._received_si[store.name] = self._received_si.get(store.name, 0.0) + arrives_si
            self._contents[target.name].add(store.name, arrives_si, event.at_s)
        if self._configuration.stores_before(event.at_s)[store.name].is_counted:
            residual_si = quantity.residual_si or 0.0
            gained_si = max(before_si + arrives_si - residual_si, 0.0) - max(before_si - residual_si, 0.0)
            gained = _by_transfer(event, target.name, gained_si)
            parts_si = (("held before", before_si), ("arrives", arrives_si))
            jumps.append(replace(gained, parts_si=parts_si))
        return jumps

    def moved(self, move: StoreMove) -> list[Jump]:
        """What a store brings that is opened, or takes away that is shut."""
        if move.at_s <= self._now_s and self._configuration.is_gone(move.store, self._now_s):
            # What was left behind with its module by now was never counted: see ``holding``.
            return []
        supply, _ = self._craft.store(move.store)
        quantity = self._quantities[move.store]
        contents = self._contents[supply.name]
        contents.advance(move.at_s)
        held_si = (quantity.held_si or 0.0) + self._received_si.get(move.store, 0.0)
        as_read_si = max(held_si - (quantity.residual_si or 0.0), 0.0)
        gives_si = contents.gives_si(move.store)
        # A store whose quantity is not known brings nothing that could be counted on.
        unknown = "" if quantity.held_si is not None else ", not known: nothing counted"
        sd_si = quantity.sd_si if quantity.held_si is not None else 0.0
        if not move.opens:
            sd_si *= -(gives_si / as_read_si) if as_read_si > 0.0 else 0.0
        return [
            Jump(
                supply=supply.name,
                at_s=move.at_s,
                kind=LineKind.OPENED if move.opens else LineKind.SHUT,
                name=f"{move.label} ({move.store}{unknown})",
                amount_si=gives_si if move.opens else -gives_si,
                store=move.store,
                error_sd_si=sd_si,
                parts_si=(
                    ("received", self._received_si.get(move.store, 0.0)),
                    ("given by then", as_read_si - gives_si),
                ),
            )
        ]

    def _used(self, event: Event, supply: str, amount_si: float, why: str = "") -> Jump:
        contents = self._contents[supply]
        contents.advance(event.at_s)
        contents.take(amount_si, event.at_s)
        return Jump(
            supply=supply,
            at_s=event.at_s,
            kind=LineKind.EVENT,
            name=event.name,
            amount_si=-amount_si,
            spread_fraction=event.spread_fraction,
            why=why,
        )

    def _is_unread(self, quantity: StoreQuantity, at_s: float) -> bool:
        """Whether a store's reading cannot have seen what happened to it at a moment."""
        return at_s > self._now_s or (quantity.as_of_s is not None and quantity.as_of_s < at_s)


def _by_transfer(event: Event, supply: str, amount_si: float) -> Jump:
    return Jump(
        supply=supply,
        at_s=event.at_s,
        kind=LineKind.TRANSFER,
        name=event.name,
        amount_si=amount_si,
        spread_fraction=event.spread_fraction,
    )
