"""What the craft weighs as its modules go, what leaving one behind is worth, and whether that can be flown.

Masses and delta-v only; what a dropped module's stores and loads do to the supplies is in ``configuration``
and ``jumps``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from console.craft.model import Craft, Module, Propulsion
from console.display import Rounding, amount_text, elapsed_text
from console.engine.configuration import Configuration, ConfigurationChange, ModuleDrop
from console.engine.snapshot import Drop, SupplyStatus
from console.physics.propulsion import delta_v_m_per_s


def dry_mass_kg(propulsion: Propulsion, dropped: Collection[str]) -> float:
    """Mass of the craft without the usable propellant and without the modules that were dropped."""
    gone_kg = sum(module.mass_kg for module in propulsion.modules if module.name in dropped)
    return propulsion.dry_mass_kg - gone_kg


def delta_v_left_m_per_s(
    propulsion: Propulsion, usable_kg: float | None, dropped: Collection[str]
) -> float | None:
    """What an amount of usable propellant gives the craft without those modules; None where not known."""
    dry_kg = dry_mass_kg(propulsion, dropped)
    if usable_kg is None or dry_kg <= 0.0:
        return None
    return delta_v_m_per_s(max(usable_kg, 0.0), dry_kg, propulsion.exhaust_velocity_m_per_s)


def drops_of(
    craft: Craft, configuration: Configuration, supplies: Mapping[str, SupplyStatus], at_s: float
) -> tuple[Drop, ...]:
    """What leaving each module behind does, in the craft's order: the delta-v left without it.

    Args:
        craft: the craft.
        configuration: which modules are gone.
        supplies: as they are now; the module's own stores of propellant go with it, as last read.
        at_s: the moment.
    """
    propulsion = craft.propulsion
    if propulsion is None:
        return ()
    dropped = configuration.dropped_at(at_s)
    status = supplies[propulsion.supply]
    return tuple(
        Drop(
            module=module.name,
            mass_kg=module.mass_kg,
            is_dropped=module.name in dropped,
            delta_v_left_m_per_s=delta_v_left_m_per_s(
                propulsion, _usable_without_kg(module, status), {*dropped, module.name}
            ),
        )
        for module in propulsion.modules
    )


def control_notices(
    craft: Craft,
    configuration: Configuration,
    changes: Iterable[ConfigurationChange],
    supplies: Mapping[str, SupplyStatus],
    at_s: float,
) -> tuple[str, ...]:
    """One sentence for every module dropped by now after which no step has confirmed control, oldest first.

    Args:
        craft: the craft.
        configuration: which modules are gone.
        changes: the logged steps.
        supplies: as they are now.
        at_s: the moment.
    """
    propulsion = craft.propulsion
    if propulsion is None:
        return ()
    confirming = [change for change in changes if change.confirms_control and change.at_s <= at_s]
    open_drops = [
        drop
        for drop in configuration.drops(float("-inf"), at_s)
        if not any(_confirms(change, drop) for change in confirming)
    ]
    status = supplies[propulsion.supply]
    dry_kg = dry_mass_kg(propulsion, configuration.dropped_at(at_s))
    mass = amount_text(dry_kg + max(status.usable_si or 0.0, 0.0), status.unit, Rounding.UP)
    without = "" if status.usable_si is not None else " without its propellant, which is not known,"
    return tuple(
        f"mass is now {mass}{without} after dropping {drop.module} at {elapsed_text(drop.at_s)}: "
        "control with the new mass must be confirmed"
        for drop in open_drops
    )


def _confirms(change: ConfigurationChange, drop: ModuleDrop) -> bool:
    """Whether a step confirms control after a drop; the step that drops it cannot know yet."""
    return change.at_s >= drop.at_s and drop.module not in change.drops


def _usable_without_kg(module: Module, status: SupplyStatus) -> float | None:
    """Usable propellant once the module's own tanks are gone."""
    if status.usable_si is None:
        return None
    mine = [store for store in status.stores if store.name in module.stores and store.state.is_counted]
    return status.usable_si - sum((store.on_board_si or 0.0) - (store.residual_si or 0.0) for store in mine)
