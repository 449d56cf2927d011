"""What a supply holds now: on board, protected, isolated, residual, reserve, usable, and how old that is."""

from __future__ import annotations

from console.craft.model import StoreState, Supply
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series, step, summed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import CRAFT
from console.engine.explain.kept import supply_keys
from console.engine.explain.learnt import learnt_of
from console.engine.explain.paths import Keys
from console.engine.explain.track import Track, level_at, level_si
from console.engine.holding import Holding
from console.engine.snapshot import LineKind


def holding_figure(
    book: Book, supply: Supply, track: Track | None, keys: Keys, row: int
) -> Explanation | None:
    """One of those figures; None for any other."""
    if len(keys) != 1:
        return None
    place = (*supply_keys(supply.name), *keys)
    match keys[0]:
        case "on_board":
            return _on_board(book, supply, place)
        case "on_board_as_read":
            return _as_read(book, supply, place)
        case "carried" if track is not None:
            return _carried(track, place)
        case "protected":
            return _in_state(book, supply, place, StoreState.PROTECTED)
        case "isolated":
            return _in_state(book, supply, place, StoreState.ISOLATED)
        case "residual":
            return _residual(book, supply, place)
        case "reserve":
            return _reserve(book, supply, place)
        case "released":
            return _released(book, supply, place)
        case "usable":
            return _usable(book, supply, track, place, row)
        case "usable_as_read" if track is not None:
            return _start(track, place, row)
        case "age":
            return _age(book, supply, place)
    return None


def _stores(book: Book, supply: Supply, names: list[str], figure: str, stem: str) -> tuple[Input, ...]:
    keys = supply_keys(supply.name)
    return series(stem, (book.figure(stem, *keys, "stores", name, figure) for name in names))


def _on_board(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """As read, less what the plan has taken since."""
    outlook, held = (book.grounds.ahead.supplies[supply.name].outlook, _held(book, supply))
    title = f"{supply.name} on board"
    unit = Amounts(supply=supply)
    if outlook.on_board_si is None:
        return _unknown(book, supply, keys, title)
    text, inputs = "read", (book.figure("read", *supply_keys(supply.name), "on_board_as_read"),)
    value = unit.amount(outlook.on_board_si)
    if held.from_s == book.grounds.at_s or outlook.course is None:
        return book.explanation(keys, 0, title, value, unit.unit, text, inputs)
    carried = book.figure("carried", *supply_keys(supply.name), "carried")
    return book.explanation(keys, 0, title, value, unit.unit, "read - carried", (*inputs, carried))


def _as_read(book: Book, supply: Supply, keys: Keys) -> Explanation:
    held, title = _held(book, supply), f"{supply.name} on board, each store as at its own reading"
    if held.read_si is None:
        return _unknown(book, supply, keys, title)
    amounts = Amounts(supply=supply)
    stores = _stores(book, supply, [store.name for store in held.stores], "on_board", "s")
    value = amounts.amount(held.read_si)
    return book.explanation(keys, 0, title, value, amounts.unit, summed("s", stores), stores)


def _unknown(book: Book, supply: Supply, keys: Keys, title: str) -> Explanation:
    missing = [store.name for store in _held(book, supply).stores if store.on_board_si is None]
    why = f"not known: no quantity for {', '.join(missing)}"
    return book.explanation(keys, 0, title, None, supply.unit.text, "", (), (why,))


def _held(book: Book, supply: Supply) -> Holding:
    return book.grounds.ahead.supplies[supply.name].held


def _carried(track: Track, keys: Keys) -> Explanation:
    """What the plan has taken since the old readings: what there would be without, less what is usable."""
    book, supply = track.book, track.supply
    held, outlook = _held(book, supply), book.grounds.ahead.supplies[supply.name].outlook
    moved = [
        number
        for number, jump in enumerate(outlook.jumps, start=1)
        if jump.at_s <= book.grounds.at_s and jump.kind in (LineKind.OPENED, LineKind.SHUT)
    ]
    jumps = series("j", (book.figure("j", *track.keys, "jumps", str(number)) for number in moved))
    opened_si = sum(outlook.jumps[number - 1].amount_si for number in moved)
    value = track.amounts.amount((held.start_si or 0.0) + opened_si - (outlook.usable_si or 0.0))
    inputs = (
        book.figure("start", *track.keys, "usable_as_read"),
        *jumps,
        book.figure("usable", *track.keys, "usable"),
    )
    text = f"start + {summed('j', jumps)} - usable" if jumps else "start - usable"
    title = f"{supply.name} used since the readings, by the plan"
    return book.explanation(keys, 0, title, value, track.amounts.unit, text, inputs)


def _in_state(book: Book, supply: Supply, keys: Keys, state: StoreState) -> Explanation:
    held, amounts = _held(book, supply), Amounts(supply=supply)
    value_si = held.protected_si if state is StoreState.PROTECTED else held.isolated_si
    title = f"{supply.name} in {state.value} stores"
    if value_si is None:
        return _unknown(book, supply, keys, title)
    names = [store.name for store in held.stores if store.state is state]
    stores = _stores(book, supply, names, "on_board", "s")
    remarks = () if names else (f"no store is {state.value}",)
    return book.explanation(
        keys, 0, title, amounts.amount(value_si), amounts.unit, summed("s", stores), stores, remarks
    )


def _residual(book: Book, supply: Supply, keys: Keys) -> Explanation:
    held, amounts = _held(book, supply), Amounts(supply=supply)
    title = f"{supply.name} that the stores which count hold and cannot give"
    if held.residual_si is None:
        return _unknown(book, supply, keys, title)
    names = [store.name for store in held.stores if store.state.is_counted]
    stores = _stores(book, supply, names, "residual", "s")
    return book.explanation(
        keys, 0, title, amounts.amount(held.residual_si), amounts.unit, summed("s", stores), stores
    )


def _reserve(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """What is set aside by decision, less what logged decisions have released of it."""
    amounts, title = Amounts(supply=supply), f"reserve of {supply.name}"
    key = f"supplies.{supply.name}.reserve"
    stated_si = supply.reserve_si + supply.released_si
    stated = book.config(
        "stated",
        f"{title} as the plan sets it",
        amounts.amount(stated_si),
        amounts.unit,
        CRAFT,
        key,
        "none is set aside",
    )
    value = amounts.amount(supply.reserve_si)
    note = f"kept for {supply.reserve_note}" if supply.reserve_note else ""
    if not supply.released_si:
        return book.explanation(keys, 0, title, value, amounts.unit, "stated", (stated,), (note,))
    released = book.figure("released", *supply_keys(supply.name), "released")
    inputs = (stated, released)
    return book.explanation(keys, 0, title, value, amounts.unit, "stated - released", inputs, (note,))


def _released(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """The sum of the logged decisions, no more than there was."""
    amounts, title = Amounts(supply=supply), f"what decisions have released of the reserve of {supply.name}"
    steps = series(
        "u",
        (
            step(
                "u",
                f"released by {change.label}",
                amounts.amount(change.released_si[supply.name]),
                amounts.unit,
                change,
            )
            for change in book.grounds.decisions
            if change.released_si.get(supply.name)
        ),
    )
    value = amounts.amount(supply.released_si)
    inputs, text = steps, summed("u", steps)
    if steps and supply.reserve_si <= 0.0:
        key = f"supplies.{supply.name}.reserve"
        stated = amounts.amount(supply.reserve_si + supply.released_si)
        inputs = (*steps, book.config("stated", "reserve as set", stated, amounts.unit, CRAFT, key))
        text = f"min(stated, {text})"
    return book.explanation(keys, 0, title, value, amounts.unit, text, inputs)


def _usable(book: Book, supply: Supply, track: Track | None, keys: Keys, row: int) -> Explanation:
    title = f"usable {supply.name}"
    if track is None:
        return _unknown(book, supply, keys, title)
    if track.now > 0:
        said = ("carried from the moment of the oldest reading by the plan",)
        return level_at(track, track.now, row, keys, title, said)
    value = track.amounts.amount(level_si(track.course, row, 0))
    if row:
        errors = _errors(track, row)
        inputs = (book.figure("usable", *keys), *errors)
        text = f"usable + {summed('e', errors)}" if errors else "usable"
        return book.explanation(keys, row, title, value, track.amounts.unit, text, inputs)
    held = _held(book, supply)
    if None in (held.read_si, held.protected_si, held.isolated_si, held.residual_si):
        start = book.figure("start", *track.keys, "usable_as_read")
        return book.explanation(keys, 0, title, value, track.amounts.unit, "start", (start,))
    parts = ("on_board", "protected", "isolated", "residual", "reserve")
    inputs = tuple(book.figure(part, *track.keys, part) for part in parts)
    return book.explanation(keys, 0, title, value, track.amounts.unit, " - ".join(parts), inputs)


def _errors(track: Track, row: int) -> tuple[Input, ...]:
    """The errors of the stores that counted at the beginning, in one sample."""
    held = _held(track.book, track.supply)
    names = [name for name, sd in held.errors_sd.items() if sd]
    errors = [track.book.figure("e", *track.keys, "stores", name, "error", row=row) for name in names]
    learnt = learnt_of(track.book, track.supply)
    if learnt is not None and learnt.own is not None and learnt.own.has_level:
        errors.append(track.book.figure("e", *learnt.keys, "level", row=row))
    return series("e", errors)


def _start(track: Track, keys: Keys, row: int) -> Explanation:
    """Usable at the moment of the oldest reading: what the stores that counted then can give."""
    book, held = track.book, _held(track.book, track.supply)
    title = f"usable {track.supply.name} as read"
    unit = track.amounts.unit
    if row:
        errors = _errors(track, row)
        value = track.amounts.amount(level_si(track.course, row, 0))
        text = f"start + {summed('e', errors)}" if errors else "start"
        return book.explanation(keys, row, title, value, unit, text, (book.figure("start", *keys), *errors))
    stores = _stores(book, track.supply, list(held.errors_sd), "gives", "g")
    value = track.amounts.amount(held.start_si or 0.0)
    inputs = (*stores, book.figure("reserve", *track.keys, "reserve"))
    return book.explanation(keys, 0, title, value, unit, f"{summed('g', stores)} - reserve", inputs)


def _age(book: Book, supply: Supply, keys: Keys) -> Explanation:
    """Of the oldest reading behind what counts now or is opened before need."""
    held, title = _held(book, supply), f"age of the oldest reading behind {supply.name}"
    grounds = book.grounds
    if held.age_s is None:
        return book.explanation(keys, 0, title, None, "s", "", (), ("no reading is behind it",))
    moves = grounds.ahead.configuration.store_moves(grounds.at_s, grounds.ahead.option.need_s)
    opened = {move.store for move in moves if move.opens}
    names = [
        store.name
        for store in held.stores
        if (store.state.is_counted or store.name in opened) and store.age_s is not None
    ]
    ages = _stores(book, supply, names, "age", "a")
    return book.explanation(keys, 0, title, held.age_s, "s", "max(a_i)", ages)
