"""The lines of the plan: the way home and its need, what comes next, how the craft is configured now."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import clipped, fitting, line, one_line
from console.board.faces.moments import utc_at
from console.board.view import View
from console.display import Rounding, countdown_text, elapsed_text, hours_text, rate_text
from console.engine.snapshot import Coming, Snapshot

PLAN_ROWS = 3


def plan_lines(view: View, width: int, _height: int) -> list[Text]:
    """Three lines."""
    snapshot = view.snapshot
    if snapshot is None:
        return []
    return [
        _home_line(view, snapshot, width),
        _next_line(view, snapshot, width),
        _now_line(view, snapshot, width),
    ]


def _home_line(view: View, snapshot: Snapshot, width: int) -> Text:
    strong, need = view.look.palette.strong, snapshot.need
    decide = "no decision due"
    if need.decide_by_s is not None:
        left_s = need.decide_by_s - snapshot.at_s
        decide = (
            f"decide {countdown_text(left_s)}"
            if left_s >= 0
            else f"decision was due {countdown_text(left_s)}"
        )
    return fitting(
        [
            (0, line("option ", (clipped(need.option, 20, view.look.glyphs.cut), strong))),
            (0, line("need ", (_need_text(need.in_s), strong))),
            (1, line(utc_at(snapshot, need.at_s))),
            (3, line(elapsed_text(need.at_s))),
            (2, line((decide, strong))),
        ],
        width,
    )


def _need_text(in_s: float) -> str:
    return f"passed {countdown_text(in_s)}" if in_s < 0.0 else f"in {hours_text(in_s, Rounding.UP)}"


def _next_line(view: View, snapshot: Snapshot, width: int) -> Text:
    parts = [
        (0, _coming(view, "next phase", snapshot.next_phase)),
        (0, _coming(view, "next event", snapshot.next_event)),
    ]
    for rank, coming in ((2, snapshot.next_phase), (1, snapshot.next_event)):
        if coming is not None:
            parts.append(
                (
                    rank,
                    line(
                        f"({clipped(coming.name, 28, view.look.glyphs.cut)}: {utc_at(snapshot, coming.at_s)})"
                    ),
                )
            )
    return fitting(parts, width)


def _coming(view: View, kind: str, coming: Coming | None) -> Text:
    if coming is None:
        return line(f"no {kind}")
    strong = view.look.palette.strong
    return line(
        f"{kind} ",
        (clipped(coming.name, 28, view.look.glyphs.cut), strong),
        " ",
        (countdown_text(coming.in_s), strong),
    )


def _now_line(view: View, snapshot: Snapshot, width: int) -> Text:
    strong = view.look.palette.strong
    differs = snapshot.level_differs
    held = (
        "as the level says"
        if differs == 0
        else f"{differs} load{'s' if differs > 1 else ''} moved by logged steps"
    )
    return fitting(
        [
            (1, line("phase ", (clipped(snapshot.phase, 20, view.look.glyphs.cut), strong))),
            (
                0,
                line(
                    "level ",
                    (clipped(snapshot.level, 20, view.look.glyphs.cut), strong),
                    ", ",
                    (held, strong),
                ),
            ),
            (0, line("draw ", (draw_text(snapshot), strong))),
        ],
        width,
    )


def draw_text(snapshot: Snapshot) -> str:
    """What all loads together draw as commanded, for each electrical supply."""
    totals: dict[str, float] = {}
    for load in snapshot.loads:
        totals[load.supply] = totals.get(load.supply, 0.0) + load.draw_si_per_s
    if not totals:
        return "no loads"
    named = len(totals) > 1
    return ", ".join(
        f"{f'{one_line(name)} ' if named else ''}{rate_text(total, snapshot.supplies[name].rate_unit)}"
        for name, total in totals.items()
        if name in snapshot.supplies
    )
