"""The lines of a supply's ledger: figures ``SUPPLY.ledger.LINE``."""

from __future__ import annotations

import numpy as np

from console.craft.model import StoreState, Supply
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series, summed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import Grounds
from console.engine.explain.kept import supply_keys
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys, distinct
from console.engine.explain.stretch import Stretch
from console.engine.snapshot import LedgerLine, LineKind


def ledger_paths(grounds: Grounds, supply: Supply) -> list[str]:
    """The key of every line, in the ledger's order."""
    return distinct(line.name for line in grounds.ahead.supplies[supply.name].outlook.ledger)


def ledger_figure(book: Book, supply: Supply, keys: Keys) -> Explanation | None:
    """One line, or the time that a segment has until need (``ledger.LINE.N.lasts`` of the plan's uses)."""
    lines = book.grounds.ahead.supplies[supply.name].outlook.ledger
    names = ledger_paths(book.grounds, supply)
    if keys[:1] == ("spans",) and len(keys) == 2:
        return _span(book, supply, keys[1])
    if len(keys) != 1 or keys[0] not in names:
        return None
    index = names.index(keys[0])
    line = lines[index]
    place = (*supply_keys(supply.name), "ledger", keys[0])
    text, inputs = _equation(book, supply, lines, names, index)
    amounts = Amounts(supply=supply)
    title = (
        f"{supply.name}: {line.name}"
        if line.kind.value in line.name
        else (f"{supply.name}: {line.kind.value}, {line.name}")
    )
    return book.explanation(place, 0, title, amounts.amount(line.amount_si), amounts.unit, text, inputs)


_SINGLE = {LineKind.CARRIED: "carried", LineKind.RESERVE: "reserve"}
_STATES = {LineKind.PROTECTED: StoreState.PROTECTED, LineKind.ISOLATED: StoreState.ISOLATED}


def _equation(
    book: Book, supply: Supply, lines: tuple[LedgerLine, ...], names: list[str], index: int
) -> tuple[str, tuple[Input, ...]]:
    line, home = lines[index], supply_keys(supply.name)
    if line.kind in (LineKind.USE, LineKind.LOAD):
        return _used(book, supply, lines, index)
    if line.kind is LineKind.LEFT:
        parts = series("l", (book.figure("l", *home, "ledger", name) for name in names[:-1]))
        return summed("l", parts), parts
    if line.kind in _SINGLE:
        return "-taken", (book.figure("taken", *home, _SINGLE[line.kind]),)
    if line.kind is LineKind.RESIDUAL:
        return "-taken", (book.figure("taken", *home, "residual"),)
    if line.kind is LineKind.ON_BOARD or line.kind in _STATES:
        state = _STATES.get(line.kind)
        held = book.grounds.ahead.supplies[supply.name].held.stores
        stores = [
            store.name
            for store in held
            if store.on_board_si is not None and (state is None or store.state is state)
        ]
        parts = series("s", (book.figure("s", *home, "stores", name, "on_board") for name in stores))
        return ("" if state is None else "-") + summed("s", parts), parts
    return "j", (_jump(book, supply, lines, index),)


def _jump(book: Book, supply: Supply, lines: tuple[LedgerLine, ...], index: int) -> Input:
    """The jump behind a line: those ahead stand in the ledger in their own order."""
    outlook = book.grounds.ahead.supplies[supply.name].outlook
    ahead = [number for number, jump in enumerate(outlook.jumps, 1) if jump.at_s > book.grounds.at_s]
    first = len(lines) - 1 - len(ahead)
    return book.figure("j", *supply_keys(supply.name), "jumps", str(ahead[index - first]))


def _used(
    book: Book, supply: Supply, lines: tuple[LedgerLine, ...], index: int
) -> tuple[str, tuple[Input, ...]]:
    """Rate times time, summed over the segments until need."""
    use, amounts = book.grounds.ahead.use, Amounts(supply=supply)
    home = supply_keys(supply.name)
    name = _line_key(book, supply, lines, index)
    spans = [number for number in range(1, len(use.starts_s) + 1) if _span_s(book, number) > 0.0]
    rated, lengths = [], []
    for number in spans:
        stretch = Stretch(book=book, supply=supply, number=number)
        if stretch.rate_si_per_s(stretch.lines[name][0]):
            rated.append(book.figure("r", *stretch.keys, "uses", name))
            lengths.append(book.figure("d", *home, "ledger", "spans", str(number)))
    inputs = (*series("r", rated), *series("d", lengths), *amounts.factor)
    return f"-sum(r_i * d_i){amounts.times}", inputs


def _line_key(book: Book, supply: Supply, lines: tuple[LedgerLine, ...], index: int) -> str:
    """The key of a line's uses: the same kind and name, the same place among those of one name."""
    line = lines[index]
    before = sum(one.kind is line.kind and one.name == line.name for one in lines[:index])
    stretch = Stretch(book=book, supply=supply, number=1)
    same = [key for key, (_, one) in stretch.lines.items() if one.kind is line.kind and one.name == line.name]
    amounts = book.grounds.ahead.use.used_si(supply.name, book.grounds.at_s, _until_s(book))
    taken = [key for key in same if amounts[stretch.lines[key][0]]]
    return taken[before]


def _until_s(book: Book) -> float:
    return max(book.grounds.ahead.option.need_s, book.grounds.at_s)


def _span_s(book: Book, number: int) -> float:
    """How long a segment lasts between now and need."""
    starts_s = book.grounds.ahead.use.starts_s
    end_s = float(starts_s[number]) if number < len(starts_s) else np.inf
    return min(end_s, _until_s(book)) - max(float(starts_s[number - 1]), book.grounds.at_s)


def _span(book: Book, supply: Supply, text: str) -> Explanation | None:
    starts_s = book.grounds.ahead.use.starts_s
    if not text.isascii() or not text.isdecimal() or not 1 <= int(text) <= len(starts_s):
        return None
    number = int(text)
    if _span_s(book, number) <= 0.0:
        return None
    end_s = float(starts_s[number]) if number < len(starts_s) else np.inf
    end = book.figure("end", "need", "at") if end_s >= _until_s(book) else moment(book, "end", end_s)
    begin = moment(book, "begin", max(float(starts_s[number - 1]), book.grounds.at_s))
    keys = (*supply_keys(supply.name), "ledger", "spans", text)
    title = f"time until need that lies in segment {number}"
    return book.explanation(keys, 0, title, _span_s(book, number) / 3600.0, "h", "end - begin", (end, begin))
