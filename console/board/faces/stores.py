"""The stores of the selected supply: state, what each holds, how that is known and how old it is."""

from __future__ import annotations

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import clipped, fit, line, one_line
from console.board.faces.pane_title import scrolled
from console.board.view import View
from console.display import Rounding, age_text, amount_text
from console.engine.reading import Quality
from console.engine.snapshot import StoreStatus
from console.units import Unit

_WITH_RESIDUAL = 72
"""Narrower, the residual is left to the figures of the whole supply."""


def stores_lines(view: View, width: int, height: int, hint: str = "") -> list[Text]:
    """The pane of stores."""
    supply = view.supply
    if supply is None:
        return scrolled(view, "stores", [], (width, height), hint)
    name = min(16, max([5, *(cell_len(one_line(store.name)) for store in supply.stores)]))
    title = f"{clipped(supply.name, 24, view.look.glyphs.cut)}: stores"
    residual = f" {'residual':>11}" if width >= _WITH_RESIDUAL else ""
    header = line(f"{fit('store', name)} {fit('state', 9)} {'on board':>10}{residual} {'age':>6} known by")
    rows = [_store_line(view, store, supply.unit, name, width) for store in supply.stores]
    return scrolled(view, title, [header, *rows], (width, height), hint)


def _store_line(view: View, store: StoreStatus, unit: Unit, name: int, width: int) -> Text:
    palette, cut = view.look.palette, view.look.glyphs.cut
    age = "" if store.age_s is None else age_text(store.age_s + view.waited_s)
    text = line(
        (fit(store.name, name, cut), palette.strong),
        f" {fit(store.state.value, 9)} ",
        (f"{amount_text(store.on_board_si, unit):>10}", palette.strong),
        f" {amount_text(store.residual_si, unit, Rounding.UP):>11}" if width >= _WITH_RESIDUAL else "",
        f" {age:>6} ",
    )
    if store.quality is not Quality.GOOD:
        text.append(f" {store.quality.value.upper()} ", palette.old)
        text.append(" ")
    why = f": {one_line(store.why)}" if store.why else ""
    text.append(fit(f"{store.basis}{why}", max(0, width - text.cell_len), cut))
    return text
