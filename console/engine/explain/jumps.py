"""What happens to a supply at one moment: figures ``SUPPLY.jumps.J``."""

from __future__ import annotations

import math

from console.craft.plan import Event
from console.engine.explain.book import Book, assumed, series
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, PLAN, Grounds
from console.engine.explain.moments import event_key
from console.engine.explain.paths import Keys
from console.engine.explain.track import Track, unseen_share
from console.engine.jumps import Jump, event_factor
from console.engine.snapshot import LineKind

Equation = tuple[str, tuple[Input, ...]]


def jump_figure(track: Track, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.jumps.J``; ``keys`` are those behind ``jumps``."""
    own = track.book.grounds.ahead.supplies[track.supply.name].outlook.jumps
    if (
        len(keys) != 1
        or not keys[0].isascii()
        or not keys[0].isdecimal()
        or not 1 <= int(keys[0]) <= len(own)
    ):
        return None
    jump = own[int(keys[0]) - 1]
    place = (*track.keys, "jumps", keys[0])
    title = f"{jump.name} ({jump.kind.value})"
    if row:
        return _sampled(track, jump, place, row, title)
    text, inputs = _central(track, jump)
    value = jump.amount_si
    if _is_carried(track.book.grounds, jump):
        before_s = math.nextafter(jump.at_s, -math.inf)
        share = unseen_share(track, before_s)
        text, inputs = f"({text}) * unseen", (*inputs, share)
        value *= share.value
    amounts = track.amounts
    return track.book.explanation(
        place, 0, title, amounts.amount(value), amounts.unit, text, inputs, (jump.why,)
    )


def _is_carried(grounds: Grounds, jump: Jump) -> bool:
    return jump.at_s <= grounds.at_s and jump.kind in (LineKind.EVENT, LineKind.TRANSFER)


def _sampled(track: Track, jump: Jump, keys: Keys, row: int, title: str) -> Explanation:
    """The central amount with the factor and the error of one sample."""
    book, amounts, draws = track.book, track.amounts, track.book.grounds.draws
    central = book.figure("amount", *keys)
    value, text = central.value, "amount"
    inputs: tuple[Input, ...] = (central,)
    if jump.spread_fraction:
        name = event_factor(jump.name)
        text += " * exp(s * z)"
        inputs = (*inputs, _spread(book, jump), book.draw("z", name, row))
        value *= float(draws.factor(name, jump.spread_fraction)[row])
    if jump.error_sd_si:
        share = jump.error_sd_si / (book.grounds.known.quantities[jump.store].sd_si or 1.0)
        error = book.figure("e", *track.keys, "stores", jump.store, "error", row=row)
        part = assumed("x", f"share of the error of {jump.store} that goes with it", share, "1", _SHARE)
        inputs, text = (*inputs, error, part), f"{text} + e * x"
        value += amounts.amount(float(draws.error(f"store {jump.store}", jump.error_sd_si)[row]))
    return book.explanation(keys, row, title, value, amounts.unit, text, inputs)


_SHARE = "1 for a store that is opened; for one that is shut, minus what it still gives over what was read"


def _spread(book: Book, jump: Jump) -> Input:
    event = _event(book.grounds, jump)
    key = "" if event is None else f"{event_key(book.grounds, event)}.spread"
    return book.config("s", f"spread of {jump.name}", jump.spread_fraction, "1", PLAN, key)


def _event(grounds: Grounds, jump: Jump) -> Event | None:
    """The event behind a jump."""
    return next(
        (one for one in grounds.ahead.events if one.at_s == jump.at_s and one.name == jump.name), None
    )


def _central(track: Track, jump: Jump) -> Equation:
    event = _event(track.book.grounds, jump)
    if jump.kind in (LineKind.OPENED, LineKind.SHUT):
        return _moved(track, jump)
    if event is None:
        raise ValueError(f"no event {jump.name} for what it does to {track.supply.name}")
    if jump.kind is LineKind.TRANSFER:
        return _transferred(track, jump, event)
    if event.burn_m_per_s is not None and dict(jump.parts_si):
        return _burnt(track, jump, event)
    amount = track.amounts.amount(-jump.amount_si)
    key = f"{event_key(track.book.grounds, event)}.uses.{track.supply.name}"
    lines = track.book.grounds.lines.get(PLAN)
    if lines is not None and key not in lines:
        key = f"{event_key(track.book.grounds, event)}.repressurise"
    name = f"what {event.name} takes"
    return "-taken", (track.book.config("taken", name, amount, track.amounts.unit, PLAN, key),)


def _burnt(track: Track, jump: Jump, event: Event) -> Equation:
    """M = m_0 (1 - exp(-dv / v_e))."""
    grounds = track.book.grounds
    propulsion = grounds.craft.propulsion
    if propulsion is None or event.burn_m_per_s is None:
        raise ValueError(f"{event.name} burns without propulsion")
    parts = dict(jump.parts_si)
    usable_kg = parts["usable then"]
    dry_kg = parts["mass before"] - usable_kg
    dry = assumed(
        "dry",
        f"mass without usable propellant at {event.name}",
        dry_kg,
        "kg",
        "propulsion.dry_mass of craft.yaml less the modules dropped before then",
    )
    dropped = grounds.ahead.configuration.dropped_at(math.nextafter(event.at_s, -math.inf))
    if not dropped:
        dry = track.book.config(
            "dry", "mass without usable propellant", dry_kg, "kg", CRAFT, "propulsion.dry_mass"
        )
    inputs = (
        dry,
        _walked(track, "usable", f"usable propellant at {event.name}", usable_kg, "kg"),
        track.book.config(
            "dv",
            f"change of velocity of {event.name}",
            event.burn_m_per_s,
            "m/s",
            PLAN,
            f"{event_key(grounds, event)}.burn",
        ),
        track.book.config(
            "v_e",
            "exhaust velocity",
            propulsion.exhaust_velocity_m_per_s,
            "m/s",
            CRAFT,
            "propulsion.exhaust_velocity",
        ),
    )
    behind, factor = track.amounts.of_mass()
    return f"-(dry + usable) * (1 - exp(-dv / v_e)){behind}", (*inputs, *factor)


def _transferred(track: Track, jump: Jump, event: Event) -> Equation:
    book, amounts, transfer = track.book, track.amounts, event.transfer
    if transfer is None:
        raise ValueError(f"{event.name} is no transfer")
    key = f"{event_key(book.grounds, event)}.transfer"
    arrives = book.config(
        "arrives",
        f"what {event.name} brings",
        amounts.amount(transfer.amount_si),
        amounts.unit,
        PLAN,
        f"{key}.amount",
    )
    if not dict(jump.parts_si):
        efficiency = book.config(
            "eta",
            f"share that arrives of {event.name}",
            transfer.efficiency_fraction,
            "1",
            PLAN,
            f"{key}.efficiency",
            "all of it",
        )
        return "-arrives / eta", (arrives, efficiency)
    return _gained(track, jump, transfer.target_store, arrives)


def _gained(track: Track, jump: Jump, store: str, arrives: Input) -> Equation:
    """What a store that counts gains, less what does not fit and what lies below its residual."""
    amounts, parts = track.amounts, dict(jump.parts_si)
    before = _walked(
        track, "before", f"what {store} holds before", amounts.amount(parts["held before"]), amounts.unit
    )
    room = track.book.grounds.craft.store(store)[1].capacity_si
    residual = track.book.grounds.known.quantities[store].residual_si or 0.0
    below = track.book.config(
        "w",
        f"residual of {store}",
        amounts.amount(residual),
        amounts.unit,
        CRAFT,
        f"supplies.{track.supply.name}.stores.{store}.residual",
        "none is set aside",
    )
    inputs: tuple[Input, ...] = (before, arrives, below)
    text = "arrives"
    if room is not None:
        key = f"supplies.{track.supply.name}.stores.{store}.capacity"
        full = track.book.config("C", f"capacity of {store}", amounts.amount(room), amounts.unit, CRAFT, key)
        inputs, text = (*inputs, full), "min(arrives, max(0, C - before))"
    return f"max(0, before + {text} - w) - max(0, before - w)", inputs


def _moved(track: Track, jump: Jump) -> Equation:
    """What a store brings that is opened, or takes away that is shut."""
    book, amounts, parts = track.book, track.amounts, dict(jump.parts_si)
    sign = "" if jump.kind is LineKind.OPENED else "-"
    quantity = book.grounds.known.quantities[jump.store]
    if quantity.held_si is None:
        why = "what it holds is not known, so nothing of it is counted"
        return "x", (assumed("x", f"what {jump.store} gives", 0.0, amounts.unit, why),)
    place = (*track.keys, "stores", jump.store)
    text = "gives"
    inputs: tuple[Input, ...] = (book.figure("gives", *place, "gives"),)
    received, given = (parts.get(name, 0.0) for name in ("received", "given by then"))
    if received:
        name = f"what was moved into {jump.store} by then"
        held = book.figure("held", *place, "on_board")
        residual = book.config(
            "w",
            f"residual of {jump.store}",
            amounts.amount(quantity.residual_si or 0.0),
            amounts.unit,
            CRAFT,
            f"supplies.{track.supply.name}.stores.{jump.store}.residual",
            "none is set aside",
        )
        moved = _walked(track, "moved", name, amounts.amount(received), amounts.unit)
        text, inputs = "max(0, held + moved - w)", (held, moved, residual)
    if given:
        name = f"what {jump.store} will have given by then"
        taken = _walked(track, "given", name, amounts.amount(given), amounts.unit)
        text, inputs = f"({text} - given)", (*inputs, taken)
    return f"{sign}{text}", inputs


def _walked(track: Track, symbol: str, name: str, value: float, unit: str) -> Input:
    """What a walk through the plan says of a store at a moment ahead: no sum of its own stands for it."""
    how = (
        "every store followed through the plan from its reading on: those that feed share the use in "
        "proportion to what each can still give, or to capacity where that is less "
        "(console/engine/contents.py)"
    )
    stores = tuple(
        track.book.figure("g", *track.keys, "stores", store.name, "gives")
        for store in track.supply.stores
        if track.book.grounds.known.quantities[store.name].held_si is not None
    )
    source = SolvedSource(how=how, arguments=series("g", stores))
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)
