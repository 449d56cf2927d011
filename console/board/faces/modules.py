"""The change of velocity that is left, and what leaving a module behind would do for it."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import line, one_line
from console.board.view import View
from console.display import Rounding, amount_text, mass_unit, velocity_unit
from console.engine.snapshot import Drop, Snapshot


def module_items(view: View) -> list[Text]:
    """What is left with everything aboard, what is asked for, and each module."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    need, strong, unit = snapshot.need, view.look.palette.strong, velocity_unit(snapshot.shown_in)
    items = []
    if need.delta_v_left_m_per_s is not None or snapshot.drops:
        items.append(line("delta-v left ", (amount_text(need.delta_v_left_m_per_s, unit), strong)))
    if need.delta_v_m_per_s is not None:
        items.append(line("option asks ", (amount_text(need.delta_v_m_per_s, unit, Rounding.UP), strong)))
    return items + [_module(view, snapshot, drop) for drop in snapshot.drops]


def _module(view: View, snapshot: Snapshot, drop: Drop) -> Text:
    strong, name = view.look.palette.strong, one_line(drop.module)
    if drop.is_dropped:
        return line(f"{name} ", ("is left behind", strong))
    left = amount_text(drop.delta_v_left_m_per_s, velocity_unit(snapshot.shown_in))
    mass = amount_text(drop.mass_kg, mass_unit(snapshot.shown_in), Rounding.NEAREST)
    return line(f"without {name} ({mass}) delta-v left ", (left, strong))
