"""The line of time: what kind of board this is, UTC, elapsed time, whose watch, who is at it.

The time is the Snapshot's own, never ours. What would make a board be taken for another one stands first.
"""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.cells import clipped, fitting, line, one_line
from console.board.faces.moments import not_updated_text
from console.board.view import View
from console.display import elapsed_text, utc_text
from console.engine.snapshot import Snapshot
from console.instants import at_epoch_plus

_NOT_LIVE = {"the clock is held": "CLOCK HELD", "looking back": "LOOKING BACK"}
"""How the notice of a session begins whose clock does not run."""


def clock_lines(view: View, width: int, _height: int) -> list[Text]:
    """One line."""
    snapshot, palette = view.snapshot, view.look.palette
    if snapshot is None:
        return [line("first reading: the engine has not answered yet")]
    cut = view.look.glyphs.cut
    old = not_updated_text(view)
    now = utc_text(at_epoch_plus(snapshot.epoch, snapshot.at_s), with_seconds=True)
    time_style = palette.old if old else palette.strong
    watch = clipped(snapshot.watch, 16, cut) if snapshot.watch is not None else "none by the plan"
    whole = line()
    for word, style in _kinds_of_board(view, snapshot):
        whole.append(f" {word} ", style).append(" ")
    room = width - whole.cell_len
    kept = [
        (4, line((clipped(snapshot.craft_name, 16, cut), palette.title))),
        (0, line((now, time_style))),
    ]
    if old:
        kept.append((0, line((f" {old} ", palette.old))))
    watch_part = (3, line("watch ", (watch, palette.strong)))
    # Seconds of the elapsed time go first: those of UTC stand beside it. Then the position, then by rank.
    for with_seconds, with_position in ((True, True), (False, True), (False, False)):
        elapsed = (1, line((elapsed_text(snapshot.at_s, with_seconds=with_seconds), time_style)))
        parts = [*kept, elapsed, watch_part, (2, _operator(view, with_position=with_position))]
        if sum(part.cell_len + 2 for _, part in parts) - 2 <= room:
            break
    return [whole.append_text(fitting(parts, room))]


def _kinds_of_board(view: View, snapshot: Snapshot) -> list[tuple[str, Style]]:
    palette = view.look.palette
    kinds = []
    if snapshot.feed.is_simulated:
        kinds.append(("SIMULATION", palette.selected))
    for begins, words in _NOT_LIVE.items():
        if any(notice.startswith(begins) for notice in snapshot.notices):
            kinds.append((words, palette.old))
    if view.read_only:
        kinds.append(("READ ONLY", palette.selected))
    return kinds


def _operator(view: View, *, with_position: bool) -> Text:
    """Who is at it. An account that is itself called operator is not named twice."""
    strong, cut = view.look.palette.strong, view.look.glyphs.cut
    name = one_line(view.operator)
    if not name:
        text = line("operator not named")
    elif name.casefold() == "operator":
        text = line(("operator", strong))
    else:
        text = line("operator ", (clipped(name, 20, cut), strong))
    if with_position and one_line(view.position):
        text.append_text(line(", ", (clipped(view.position, 16, cut), strong)))
    return text
