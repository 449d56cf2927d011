"""What may be given up, on the card: loads that may go, and what is set aside and for what."""

from __future__ import annotations

import textwrap

from console.craft.model import StoreState
from console.display import figure_text
from console.engine.briefing import HandSums
from console.engine.snapshot import LoadStatus
from console.report.brief.card_columns import Section, folded
from console.report.brief.card_figures import WIDTH, cut, plain, unit_word

LEAST_PRIORITY = 4
"""Loads of a smaller number are the last to go; they are left to procedures."""
_NOTE = 24
"""Columns for what something is for."""


def loads_section(sums: HandSums) -> Section:
    """What draws now and may go, the least important first, with what each draws."""
    snapshot, craft = sums.snapshot, sums.situation.craft
    drawing = [
        load
        for load in snapshot.loads
        if load.draw_si_per_s > 0.0
        and load.priority >= LEAST_PRIORITY
        and not (load.name in craft.loads and craft.loads[load.name].stays)
    ]
    if not drawing:
        return Section(lines=(), least=0)
    drawing.sort(key=lambda load: (-load.priority, -load.draw_si_per_s))
    lines = folded("ON NOW, may go, least important first: ", _drawn(sums, drawing), ", ")
    return Section(lines=tuple(lines), least=min(len(lines), 2), more="endurance shed", rank=2)


def _drawn(sums: HandSums, loads: list[LoadStatus]) -> list[str]:
    """Name and mean draw; the unit once, where it changes."""
    said, before = [], ""
    for load in loads:
        unit = sums.snapshot.supplies[load.supply].rate_unit
        shown = figure_text(unit.from_si(load.draw_si_per_s), _decimals(unit.text))
        word = unit_word(unit)
        said.append(f"{plain(load.name)} {shown}{'' if word == before else f' {word}'}")
        before = word
    return said


def _decimals(unit: str) -> int:
    return 3 if unit == "kW" else 0 if unit == "W" else 2


def aside_section(sums: HandSums) -> Section:
    """Protected stores and reserves, with what they are for; with room, which stores are shut."""
    lines, close = (_aside_lines(sums, with_shut=with_shut) for with_shut in (True, False))
    return Section(lines=lines, least=min(len(lines), 2), more="endurance ledger", rank=2, compact=close)


def _aside_lines(sums: HandSums, *, with_shut: bool) -> tuple[str, ...]:
    supplies = sums.snapshot.supplies.values()
    kept = [
        f"{plain(store.name)}{_for(store.note)}"
        for supply in supplies
        for store in supply.stores
        if store.state is StoreState.PROTECTED
    ]
    reserves = [
        f"{plain(supply.name)}{_for(supply.reserve_note)}" for supply in supplies if supply.reserve_si > 0.0
    ]
    shut = [
        plain(store.name)
        for supply in supplies
        for store in supply.stores
        if with_shut and store.state is StoreState.ISOLATED
    ]
    parts = [
        f"{word} {', '.join(names)}"
        for word, names in (("PROTECTED", kept), ("RESERVE", reserves), ("SHUT", shut))
        if names
    ]
    return tuple(textwrap.wrap("; ".join(parts), WIDTH, subsequent_indent="    ")) if parts else ()


def _for(note: str) -> str:
    return f" ({cut(note, _NOTE)})" if note else ""
