"""The amount in every store by all its readings of late, in place of the newest one alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from console.craft.model import Craft, Store
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.supply_evidence import SupplyEvidence
from console.engine.quantity import StoreQuantity, read_value
from console.engine.reading import Reading
from console.engine.value import gauge_value

BY_ONE_GAUGE = ("quantity", "pressure", "used")
"""The ways of knowing an amount that readings of one gauge make better."""


def smoothed(
    quantities: Mapping[str, StoreQuantity],
    evidence: Evidence,
    craft: Craft,
    readings: Mapping[str, Reading],
) -> dict[str, StoreQuantity]:
    """The quantities with the noise of the newest reading taken out, as far as many readings show it.

    What stays is the error that no reading shows; how sure the level is otherwise comes with the evidence.
    """
    found = dict(quantities)
    for one in evidence.supplies.values():
        mine = [quantities[name] for name in one.stores]
        if not mine or any(each.basis not in BY_ONE_GAUGE or not _is_free(each) for each in mine):
            continue
        read = [_as_read(each, craft, readings) for each in mine]
        amounts = [amount for amount in read if amount is not None]
        moment_s = moment_of(mine)
        if len(amounts) < len(mine) or moment_s is None:
            continue
        since_s = moment_s - one.anchor_s
        off_si = one.ways[0].mean[0] - one.rate_si_per_s * since_s - sum(amounts)
        whole = sum(sd**2 for sd in one.biases_sd.values())
        for each in mine:
            bias_sd = one.biases_sd[each.store.name]
            share = bias_sd**2 / whole if whole > 0.0 else 1.0 / len(mine)
            held_si = max((each.held_si or 0.0) + share * off_si, 0.0)
            if each.store.capacity_si is not None:
                held_si = min(held_si, each.store.capacity_si)
            found[each.store.name] = replace(each, held_si=held_si, sd_si=bias_sd)
    return found


def moment_of(quantities: Sequence[StoreQuantity]) -> float | None:
    """The moment for which readings of different times hold together; None where one has none.

    Each has seen its own store's part of the draw, which goes by what the store holds.
    """
    moments = [each.as_of_s for each in quantities]
    parts = [each.held_si or 0.0 for each in quantities]
    known = [at_s for at_s in moments if at_s is not None]
    if len(known) < len(moments) or sum(parts) <= 0.0:
        return None
    # Centred before they are summed: seconds since the epoch are large beside what they differ by.
    apart = sum(part * (at_s - known[0]) for part, at_s in zip(parts, known, strict=True))
    return known[0] + apart / sum(parts)


def smooths(one: SupplyEvidence, quantities: Mapping[str, StoreQuantity]) -> bool:
    """Whether a supply's level is taken from its readings together."""
    return bool(one.stores) and all(
        quantities[name].basis in BY_ONE_GAUGE and _is_free(quantities[name]) for name in one.stores
    )


def _is_free(each: StoreQuantity) -> bool:
    """Whether it is neither full nor empty, where the bound would be taken for a reading."""
    capacity = each.store.capacity_si
    return each.held_si is not None and each.held_si > 0.0 and (capacity is None or each.held_si < capacity)


def _as_read(each: StoreQuantity, craft: Craft, readings: Mapping[str, Reading]) -> float | None:
    """The amount as the level's rows have it: what was counted as used counts down from nothing."""
    store: Store = each.store
    if each.basis == "used" and store.used is not None:
        used = read_value(store.used, readings, craft.channels).value_si
        return None if used is None else -used
    if each.basis == "quantity":
        return gauge_value(store, readings, craft.channels).value_si
    return each.held_si
