"""What must hold between the properties of one store: a store that cannot exist is refused.

Here stand the faults that a single value does not show: more in it than it can hold, a sorbent beyond its
chemistry, a gauge that nothing can be made of. A property that could not be read is not judged.
"""

from __future__ import annotations

from console.craft.channels import Measured
from console.craft.model import Store, StoreKind, StoreState
from console.physics.absorbent import capacity_is_possible, ceiling_kg
from console.scenario.fields import Fields, describe
from console.scenario.quantities import read_quantity
from console.scenario.store_capacity import CAPACITY_KEYS, Capacity
from console.units import Dimension

_FITTING = {
    StoreKind.BATTERY: (Dimension.CHARGE, Dimension.ENERGY),
    StoreKind.GAS: (Dimension.MASS, Dimension.VOLUME),
    StoreKind.LIQUID: (Dimension.MASS, Dimension.VOLUME),
    StoreKind.ABSORBENT: (Dimension.MASS,),
}
_ROUNDING = 1.0 + 1e-9
"""Two ways of writing one amount (lb and kg) may differ in the last digits."""


def check_store(store: Store, fields: Fields, capacity: Capacity) -> None:
    """Tell the faults that lie between the properties of a store of any kind.

    Args:
        store: as read, with None for what is absent or could not be read.
        fields: its keys, for the places of the faults.
        capacity: what it holds when full, as far as it could be read.
    """
    _check_amounts(store, fields, capacity)
    _check_is_known(store, fields, capacity)
    if store.state is StoreState.SPARE and store.kind is not StoreKind.ABSORBENT:
        others = ", ".join(state.value for state in StoreState if state is not StoreState.SPARE)
        fields.may("state").refuse(
            f"spare, of a store of kind {store.kind.value}",
            f"write one of {others}: only an absorbent is spare",
        )
    if store.kind is StoreKind.BATTERY:
        _check_peukert(store, fields)
    elif store.kind is StoreKind.ABSORBENT:
        _check_sorbent(store, fields, capacity)


def _check_amounts(store: Store, fields: Fields, capacity: Capacity) -> None:
    if store.quantity_is_share and not capacity.is_given:
        node = fields.may("quantity")
        found = "a share" if store.quantity is None or store.quantity.channel else describe(node.value)
        node.refuse(found, "write the capacity of which this is a share as well, or a quantity")
    if store.capacity_si is None:
        return
    amounts = {
        "residual": store.residual_si,
        "quantity": None if store.quantity_is_share else _constant(store.quantity),
        "used": _constant(store.used),
    }
    for key, amount_si in amounts.items():
        if amount_si is not None and amount_si > store.capacity_si * _ROUNDING:
            node = fields.may(key)
            node.refuse(
                f"{describe(node.value)}, more than the capacity {capacity.words}",
                "write at most the capacity",
            )


def kind_fits(kind: StoreKind, fields: Fields, dimension: Dimension | None) -> bool:
    """Whether a store of this kind can be of a supply with such amounts; tells a fault where it cannot."""
    fitting = _FITTING[kind]
    if dimension is None or dimension in fitting:
        return True
    words = " or ".join(each.word for each in fitting)
    found = f"a store of kind {kind.value} in a supply whose unit measures {dimension.word}"
    fields.need("kind").refuse(found, f"give the supply a unit of {words}, or the store another kind")
    return False


def _constant(measured: Measured | None) -> float | None:
    return None if measured is None else measured.constant_si


def _check_is_known(store: Store, fields: Fields, capacity: Capacity) -> None:
    """There must be something that says how much is in it."""
    known_by = ["capacity", "quantity"]
    if store.kind is StoreKind.GAS:
        known_by.append("pressure")
    elif store.kind is StoreKind.ABSORBENT:
        known_by[:1] = CAPACITY_KEYS
    if not capacity.is_given and not any(fields.may(key).is_given for key in known_by):
        names = " or ".join(known_by)
        fields.node.refuse(f"a {store.kind.value} store without {names}", f"write its {names}")


def _check_peukert(store: Store, fields: Fields) -> None:
    if store.peukert > 1.0 and not fields.may("rated_current").is_given:
        expected = "write rated_current, the current at which the capacity was rated"
        fields.may("peukert").refuse("an exponent without rated_current", expected)


def _check_sorbent(store: Store, fields: Fields, capacity: Capacity) -> None:
    """No stated capacity, nor what is left of one that is not stated, may be above what chemistry allows."""
    mass_kg = read_quantity(fields.may("sorbent_mass"), Dimension.MASS, is_positive=True)
    if store.sorbent is None or mass_kg is None:
        return
    quantity_kg = None if store.quantity_is_share else _constant(store.quantity)
    held = () if capacity.is_given or quantity_kg is None else ((fields.may("quantity"), quantity_kg),)
    for node, stated_kg in (*capacity.stated, *held):
        if not capacity_is_possible(stated_kg / _ROUNDING, store.sorbent, mass_kg):
            mass, written = describe(fields.may("sorbent_mass").value), describe(node.value)
            is_hours = fields.may("person_hours").is_given
            node.refuse(
                f"{written}{f', {stated_kg:.4g} kg,' if is_hours else ''} for {mass} of {store.sorbent}",
                f"write at most {ceiling_kg(store.sorbent, mass_kg):.4g} kg: chemistry allows "
                f"{ceiling_kg(store.sorbent, 1.0):.4g} kg of CO2 a kg",
            )
