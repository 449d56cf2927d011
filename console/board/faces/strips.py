"""The strips that come and go: standing faults, and what was last done."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import fit, line, padded
from console.board.view import View

MOST_FAULTS = 3
"""Lines of faults at most; the last says how many more there are."""


def fault_lines(view: View, width: int, height: int) -> list[Text]:
    """The standing faults, one line each."""
    palette, cut = view.look.palette, view.look.glyphs.cut
    shown = list(view.faults[:height])
    if len(view.faults) > height > 0:
        shown[-1] = f"and {len(view.faults) - height + 1} more faults, first: {shown[-1]}"
    return [padded(line(fit(f" ! {fault}", width, cut), style=palette.fault), width) for fault in shown]


def notice_lines(view: View, width: int, _height: int) -> list[Text]:
    """What was last done."""
    return (
        [line((fit(view.notice, width, view.look.glyphs.cut), view.look.palette.strong))]
        if view.notice
        else []
    )
