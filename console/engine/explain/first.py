"""What comes first under the plan: figures ``first.margin.END``, which are those of a supply or a limit."""

from __future__ import annotations

from console.engine.explain.book import Book
from console.engine.explain.cabin import clock_keys
from console.engine.explain.explanation import Explanation, FigureSource, Input
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import ENDS, Keys, text_of
from console.engine.first_end import EndKind, first_end


def first(book: Book, keys: Keys, _row: int) -> Explanation | None:
    """One end of the margin of what comes first."""
    if keys[:2] != ("first", "margin") or len(keys) > 3 or keys[2:] not in ((), *((end,) for end in ENDS)):
        return None
    end = keys[2] if len(keys) == 3 else "p50"
    found = first_end(book.grounds.snapshot)
    title = "margin of what comes first"
    if found is None:
        return book.explanation(keys, 0, title, None, "h", "", (), ("no margin is known",))
    seconds = {"p05": found.margin_s.p05, "p50": found.margin_s.p50, "p95": found.margin_s.p95}[end]
    if seconds is None:
        return book.explanation(keys, 0, title, None, "h", "", (), ("it has no such end",))
    is_supply = found.kind is EndKind.SUPPLY or found.clock is None
    home = supply_keys(found.name) if is_supply or found.clock is None else clock_keys(found.clock)
    path = text_of((*book.home, *home, "margin", *(() if end == "p50" else (end,))))
    value = seconds / 3600.0
    source = FigureSource(path=path)
    one = Input(symbol="margin", name=f"margin of {found.name}", value=value, unit="h", source=source)
    return book.explanation(keys, 0, f"{title}: {found.name}", value, "h", "margin", (one,))
