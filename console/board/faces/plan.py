"""The lines of the plan: the way home and its need, what comes next, how the craft is configured now."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import clipped, fitting, line, one_line
from console.board.faces.moments import utc_at
from console.board.view import View
from console.display import (
    Rounding,
    countdown_text,
    elapsed_text,
    rate_text,
    span_text,
    time_of_day_text,
    utc_text,
)
from console.engine.snapshot import Band, Coming, RateSource, Snapshot, SupplyStatus
from console.instants import at_epoch_plus

PLAN_ROWS = 3
_DECIDE_SOON_S = 30.0 * 60.0
_SAME_DAY_S = 12.0 * 3600.0
_ABOVE_FRACTION = 0.1
"""By how much the measured draw may be above the commanded one before it is marked: loads cycle."""


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
    """The decision first: it is never dropped, whatever the width, and never ends with its moment."""
    strong, need = view.look.palette.strong, snapshot.need
    return fitting(
        [
            (0, _decision(view, snapshot)),
            (0, line("need ", (_need_text(need.in_s), strong))),
            (1, line(utc_at(snapshot, need.at_s))),
            (2, line(elapsed_text(need.at_s))),
        ],
        width,
    )


def _decision(view: View, snapshot: Snapshot) -> Text:
    palette, need = view.look.palette, snapshot.need
    option = clipped(need.option, 20, view.look.glyphs.cut)
    if need.decided_at_s is not None:
        # What was decided is not overdue, whenever it had to be.
        return line("committed ", (f"{option} {elapsed_text(need.decided_at_s)}", palette.strong))
    if need.decide_by_s is None:
        return line("option ", (option, palette.strong), ", no decision due")
    left_s = need.decide_by_s - snapshot.at_s
    if left_s < 0.0:
        overdue = f" DECISION OVERDUE {span_text(-left_s, Rounding.UP)} "
        return line((overdue, palette.grounds[Band.CAUTION]), " ", (option, palette.strong))
    moment = at_epoch_plus(snapshot.epoch, need.decide_by_s)
    # The day is told where the hour alone could be that of another day.
    by = f"{time_of_day_text(moment)[:5]} UTC" if left_s < _SAME_DAY_S else utc_text(moment)
    words = f"DECIDE {option} by {by}, {countdown_text(left_s)}"
    if left_s <= _DECIDE_SOON_S:
        return line((f" {words} ", palette.grounds[Band.CAUTION]))
    return line((words, palette.strong))


def _need_text(in_s: float) -> str:
    """Up: it is what has to be reached."""
    return f"passed {countdown_text(in_s)}" if in_s < 0.0 else f"in {span_text(in_s, Rounding.UP)}"


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
    strong, cut = view.look.palette.strong, view.look.glyphs.cut
    draws = [(0, _draw(view, draw)) for draw in draws_of(snapshot)]
    phase = (2, line("phase ", (clipped(snapshot.phase, 20, cut), strong)))
    level = clipped(snapshot.level, 20, cut)
    for held in _held_texts(snapshot.level_differs):
        parts = [phase, (1, line("level ", (level, strong), ", ", (held, strong))), *draws]
        if sum(part.cell_len + 2 for _, part in parts) - 2 <= width:
            break
    return fitting(parts, width)


def _held_texts(moved: int) -> tuple[str, ...]:
    """How far the loads stand as the level says, at length and shorter."""
    if moved == 0:
        return ("no load moved",)
    loads = f"{moved} load{'s' if moved > 1 else ''} moved"
    return (f"{loads} by steps", loads)


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """What all loads on one supply draw together."""

    words: str
    is_above: bool
    """Whether much more is measured than was commanded: something is on that should be off."""


def draws_of(snapshot: Snapshot) -> tuple[Draw, ...]:
    """Commanded and, where the supply's meters are good, measured, for every supply that feeds loads."""
    totals: dict[str, float] = {}
    for load in snapshot.loads:
        totals[load.supply] = totals.get(load.supply, 0.0) + load.draw_si_per_s
    known = {name: total for name, total in totals.items() if name in snapshot.supplies}
    if not known:
        return (Draw(words="no loads", is_above=False),)
    return tuple(
        _draw_of(snapshot.supplies[name], total, named=len(known) > 1) for name, total in known.items()
    )


def _draw_of(supply: SupplyStatus, commanded_si_per_s: float, *, named: bool) -> Draw:
    name = f"{one_line(supply.name)} " if named else ""
    commanded = f"{name}commanded {rate_text(commanded_si_per_s, supply.rate_unit)}"
    measured_si_per_s = supply.rate_now_si_per_s
    if supply.rate_now_source is not RateSource.MEASURED or measured_si_per_s is None:
        return Draw(words=f"{commanded}, not measured", is_above=False)
    measured = f"measured {rate_text(measured_si_per_s, supply.rate_unit)}"
    is_above = measured_si_per_s > commanded_si_per_s * (1.0 + _ABOVE_FRACTION)
    if is_above:
        return Draw(words=f"{name}{measured} above {commanded.removeprefix(name)}", is_above=True)
    return Draw(words=f"{commanded}, {measured}", is_above=False)


def _draw(view: View, draw: Draw) -> Text:
    palette = view.look.palette
    if draw.is_above:
        return line((f" {draw.words} ", palette.grounds[Band.CAUTION]))
    return line((draw.words, palette.strong))
