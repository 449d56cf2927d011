"""The ledger of the selected supply: where it goes until need, the biggest uses first."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import clipped, fit, line, one_line
from console.board.faces.pane_title import scrolled
from console.board.view import View
from console.display import amount_text
from console.engine.snapshot import LedgerLine, LineKind, SupplyStatus

_FIRST = (LineKind.ON_BOARD, LineKind.PROTECTED, LineKind.ISOLATED, LineKind.RESIDUAL, LineKind.RESERVE)
_COLUMN = 38
_NAME_ROOM = 40
"""Amounts stay near enough to their names to be read across."""


def ledger_lines(view: View, width: int, height: int, hint: str = "") -> list[Text]:
    """The pane of the ledger."""
    supply = view.supply
    if supply is None:
        return scrolled(view, "ledger", [], (width, height), hint)
    title = f"{clipped(supply.name, 24, view.look.glyphs.cut)}: ledger until need"
    if not supply.ledger:
        reason = one_line(supply.why) or "the quantity is not known"
        return scrolled(view, title, [line(f"no ledger: {reason}")], (width, height), hint)
    lines = _ordered(supply)
    count = max(1, width // _COLUMN)
    body = _in_columns(
        [_entry_line(view, entry, supply, width // count - 1) for entry in lines], count, height - 1
    )
    return scrolled(view, title, body, (width, height), hint)


def _ordered(supply: SupplyStatus) -> list[LedgerLine]:
    """What is aboard and set aside, then every use by size, then what is left."""
    aside = [entry for kind in _FIRST for entry in supply.ledger if entry.kind is kind]
    last = [entry for entry in supply.ledger if entry.kind is LineKind.LEFT]
    uses = [entry for entry in supply.ledger if entry not in aside and entry not in last]
    return [*aside, *sorted(uses, key=lambda entry: -abs(entry.amount_si)), *last]


def _entry_line(view: View, entry: LedgerLine, supply: SupplyStatus, width: int) -> Text:
    amount = amount_text(entry.amount_si, supply.unit, signed=True)
    strong = view.look.palette.strong
    name = entry.name if entry.kind in (LineKind.USE, LineKind.LOAD) else f"{entry.kind.value} {entry.name}"
    if entry.kind in (*_FIRST, LineKind.LEFT):
        name = entry.kind.value
    room = max(4, min(_NAME_ROOM, width - 13))
    return line(fit(name, room, view.look.glyphs.cut), " ", (f"{amount:>12}", strong))


def _in_columns(entries: list[Text], count: int, room: int) -> list[Text]:
    """Down the first column, then the next, if one column is not enough."""
    if count == 1 or len(entries) <= room:
        return entries
    rows = max(room, -(-len(entries) // count))
    lines = []
    for row in range(rows):
        text = line()
        for index in range(row, len(entries), rows):
            text.append("  " if index >= rows else "")
            text.append_text(entries[index])
        lines.append(text)
    return lines
