"""The line of time: craft, UTC, elapsed time, whose watch. The time is the Snapshot's own, never ours."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import clipped, fitting, line
from console.board.faces.moments import not_updated_text
from console.board.view import View
from console.display import elapsed_text, utc_text
from console.instants import at_epoch_plus


def clock_lines(view: View, width: int, _height: int) -> list[Text]:
    """One line."""
    snapshot, palette = view.snapshot, view.look.palette
    if snapshot is None:
        return [line("first reading: the engine has not answered yet")]
    old, cut = not_updated_text(view), view.look.glyphs.cut
    now = utc_text(at_epoch_plus(snapshot.epoch, snapshot.at_s), with_seconds=True)
    time_style = palette.old if old else palette.strong
    watch = clipped(snapshot.watch, 16, cut) if snapshot.watch is not None else "none by the plan"
    parts = [
        (3, line((clipped(snapshot.craft_name, 16, cut), palette.title))),
        (0, line((now, time_style))),
        (1, line((elapsed_text(snapshot.at_s, with_seconds=True), time_style))),
        (2, line("watch ", (watch, palette.strong))),
    ]
    if old:
        parts.insert(2, (0, line((f" {old} ", palette.old))))
    if view.operator:
        parts.append((4, line("operator ", (clipped(view.operator, 20, cut), palette.strong))))
    return [fitting(parts, width)]
