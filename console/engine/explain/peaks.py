"""The currents of phases and events: figures ``peaks.N.FIGURE``, in the order of the documents."""

from __future__ import annotations

from console.craft.model import LoadState, Supply
from console.craft.plan import Event
from console.engine.bus import amps_per_rate
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, assumed, series, summed
from console.engine.explain.crew import people
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import CRAFT, PLAN, Grounds
from console.engine.explain.loads import load_draw, load_state
from console.engine.explain.moments import event_key
from console.engine.explain.paths import Keys
from console.engine.planned_rate import feeding
from console.engine.snapshot import Peak

PEAK_FIGURES = ("mean", "peak", "bus_limit", "store_peak", "store_limit")


def peak_paths(grounds: Grounds) -> list[Keys]:
    """Every figure of every peak."""
    count = len(grounds.snapshot.peaks)
    return [("peaks", str(number), figure) for number in range(1, count + 1) for figure in PEAK_FIGURES]


def peaks(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """``peaks.N.FIGURE``; what a load draws then is ``peaks.N.loads.LOAD``."""
    every = book.grounds.snapshot.peaks
    if len(keys) < 3 or not keys[1].isascii() or not keys[1].isdecimal():
        return None
    if not 1 <= int(keys[1]) <= len(every):
        return None
    peak = every[int(keys[1]) - 1]
    supply = book.grounds.craft.supplies[peak.supply]
    match keys[2:]:
        case ("mean",):
            return _current(book, keys, peak, supply, is_peak=False)
        case ("peak",):
            return _current(book, keys, peak, supply, is_peak=True)
        case ("bus_limit",):
            key = f"supplies.{supply.name}.current_limit"
            return _limit(book, keys, f"most that the bus of {supply.name} may carry", peak.bus_limit_a, key)
        case ("store_limit",):
            key = f"supplies.{supply.name}.stores.{peak.store}.current_limit"
            return _limit(book, keys, f"most that {peak.store} may be asked for", peak.store_limit_a, key)
        case ("store_peak",):
            return _store_peak(book, keys, peak, supply)
        case ("loads", name) if name in book.grounds.craft.loads:
            return load_draw(book, keys, book.grounds.craft.loads[name], peak.at_s)
    return None


def _limit(book: Book, keys: Keys, title: str, value: float | None, key: str) -> Explanation:
    if value is None:
        return book.explanation(keys, 0, title, None, "A", "", (), ("none is stated",))
    return book.leaf(keys, 0, title, book.config("limit", title, value, "A", CRAFT, key))


def _current(book: Book, keys: Keys, peak: Peak, supply: Supply, *, is_peak: bool) -> Explanation:
    """Loads, uses, and what events take over a time."""
    grounds, amounts = book.grounds, Amounts(supply=supply)
    word = "with all that cycles on" if is_peak else "on average"
    title = f"current on {supply.name} in {peak.name}, {word}"
    loads = series("l", (_load(book, keys, name, peak.at_s, is_peak) for name in _drawing(grounds, peak)))
    uses = series("u", _uses(book, peak, supply))
    going_on = [
        event for event in grounds.ahead.events if event.at_s <= peak.at_s < event.at_s + event.lasts_s
    ]
    events = [event for event in going_on if _amount_si(event, supply)]
    amount = series("a", (_amount(book, event, supply) for event in events))
    length = series("d", (_length(book, event) for event in events))
    parts = [summed(stem, found) for stem, found in (("l", loads), ("u", uses)) if found]
    inputs = (*loads, *uses)
    if events:
        parts.append(f"sum(a_i / d_i){amounts.over}")
        inputs = (*inputs, *amount, *length, *amounts.factor)
    text = " + ".join(parts) or "0"
    per = (amps_per_rate(supply) or 1.0) * supply.rate_unit.factor
    if per != 1.0 and inputs:
        key = f"supplies.{supply.name}.bus_voltage"
        scale = book.config("y", f"amperes in one {amounts.rate_unit}", per, "A", CRAFT, key)
        text, inputs = f"({text}) * y", (*inputs, scale)
    value = peak.peak_a if is_peak else peak.mean_a
    return book.explanation(keys, 0, title, value, "A", text, inputs, (peak.why,))


def _drawing(grounds: Grounds, peak: Peak) -> list[str]:
    states = grounds.ahead.configuration.loads_at(peak.at_s)
    return [
        load.name
        for load in grounds.craft.loads.values()
        if load.supply == peak.supply and load.draw_si_per_s(states[load.name].state)
    ]


def _load(book: Book, keys: Keys, name: str, at_s: float, is_peak: bool) -> Input:
    """What a load draws then; at its peak, without its duty."""
    grounds = book.grounds
    load = grounds.craft.loads[name]
    state = grounds.ahead.configuration.loads_at(at_s)[name].state
    if is_peak and state is LoadState.ON and load.duty_fraction != 1.0:
        amounts = Amounts(supply=grounds.craft.supplies[load.supply])
        title = f"{name} while it draws ({load_state(book, load, at_s).name})"
        value = amounts.rate(load.on_si_per_s)
        return book.config("l", title, value, amounts.rate_unit, CRAFT, f"loads.{name}.on")
    return book.figure("l", *keys[:2], "loads", name)


def _uses(book: Book, peak: Peak, supply: Supply) -> list[Input]:
    """Uses at a constant rate, and those that go by people."""
    from console.craft.plan import phase_at

    amounts, found = Amounts(supply=supply), []
    phase = phase_at(book.grounds.ahead.phases, peak.at_s)
    for use in book.grounds.craft.uses:
        if use.supply != supply.name:
            continue
        if use.rate_si_per_s:
            value = amounts.rate(use.rate_si_per_s)
            found.append(book.config("u", use.name, value, amounts.rate_unit, CRAFT, f"uses.{use.name}.rate"))
        if use.per_person_si_per_s:
            count = sum(one.value for one in people(book, phase))
            value = amounts.rate(use.per_person_si_per_s) * count
            name = f"{use.name} of {count:.0f} people"
            found.append(
                book.config("u", name, value, amounts.rate_unit, CRAFT, f"uses.{use.name}.per_person")
            )
    return found


def _amount_si(event: Event, supply: Supply) -> float:
    amount_si = event.uses_si.get(supply.name, 0.0)
    if event.transfer is not None and event.transfer.source == supply.name:
        amount_si += event.transfer.amount_si / event.transfer.efficiency_fraction
    return amount_si


def _amount(book: Book, event: Event, supply: Supply) -> Input:
    amounts = Amounts(supply=supply)
    place = event_key(book.grounds, event)
    key = f"{place}.uses.{supply.name}" if supply.name in event.uses_si else f"{place}.transfer"
    name = f"what {event.name} takes, losses included"
    value = amounts.amount(_amount_si(event, supply))
    return book.config("a", name, value, amounts.unit, PLAN, key)


def _length(book: Book, event: Event) -> Input:
    key = f"{event_key(book.grounds, event)}.lasts"
    return book.config("d", f"how long {event.name} lasts", event.lasts_s / 3600.0, "h", PLAN, key)


def _store_peak(book: Book, keys: Keys, peak: Peak, supply: Supply) -> Explanation:
    """Its share of the peak."""
    title = f"current of {peak.store} in {peak.name}, with all that cycles on"
    if peak.store is None or peak.store_peak_a is None:
        return book.explanation(keys, 0, title, None, "A", "", (), ("no battery has a limit",))
    whole = book.figure("peak", *keys[:2], "peak")
    amounts, place = Amounts(supply=supply), f"supplies.{supply.name}.stores"
    fed = feeding(supply, book.grounds.ahead.configuration.stores_at(peak.at_s))
    batteries = [store for store in fed if store.capacity_si]
    capacities = series(
        "c",
        (
            book.config(
                "c",
                f"capacity of {store.name}",
                amounts.amount(store.capacity_si or 0.0),
                amounts.unit,
                CRAFT,
                f"{place}.{store.name}.capacity",
            )
            for store in batteries
        ),
    )
    by_capacity = next(store.capacity_si or 0.0 for store in batteries if store.name == peak.store)
    share = by_capacity / sum(store.capacity_si or 0.0 for store in batteries)
    if abs(share * peak.peak_a - peak.store_peak_a) > 1e-9 * max(abs(peak.store_peak_a), 1.0):
        measured = peak.store_peak_a / peak.peak_a if peak.peak_a else 0.0
        why = "its share as the batteries' own meters say now"
        one = assumed("share", f"share of {peak.store}", measured, "1", why)
        return book.explanation(keys, 0, title, peak.store_peak_a, "A", "peak * share", (whole, one))
    number = next(index for index, store in enumerate(batteries, 1) if store.name == peak.store)
    text = f"peak * c_{number} / sum(c_i)"
    return book.explanation(keys, 0, title, peak.store_peak_a, "A", text, (whole, *capacities))
