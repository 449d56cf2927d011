"""The columns of figures beside the gauges, and how the width is shared out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rich.cells import cell_len

from console.board.cells import one_line
from console.board.faces.moments import falls_short_now
from console.display import UNKNOWN, amount_text, hours_figure, margin_text
from console.engine.snapshot import Interval, Snapshot, SupplyStatus

NO_END = "no end"
"""In the place of a figure that the engine says never comes."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """One column of figures."""

    title: str
    figure: Callable[[Snapshot, SupplyStatus], str]
    width: int
    is_strong: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Columns:
    """How a row is divided."""

    name: int
    gauge: int
    figures: tuple[Column, ...]


_ROOMY = 112
_LEAST_GAUGE = 8


def columns_of(snapshot: Snapshot, width: int) -> Columns:
    """Share out a width: figures take what they need, the gauge has the rest."""
    longest = max((cell_len(one_line(name)) for name in snapshot.supplies), default=6)
    name = max(6, min(longest, 20 if width >= _ROOMY else 10))
    kinds = _KINDS if width >= _ROOMY else tuple(kind for kind in _KINDS if kind[3])
    known = [
        supply
        for supply in snapshot.supplies.values()
        if supply.endurance_plan_s is not None and supply.margin_s is not None
    ]
    figures = tuple(
        Column(
            title=title,
            figure=figure,
            width=max(least, len(title), *(cell_len(figure(snapshot, supply)) for supply in known), 0),
            is_strong=title == _MARGIN_LOW,
        )
        for title, figure, least, _ in kinds
    )
    taken = 1 + name + 1 + 10 + 1 + sum(column.width + 1 for column in figures)
    return Columns(name=name, gauge=max(_LEAST_GAUGE, width - taken), figures=figures)


def _plan(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    return _central(supply.endurance_plan_s)


def _now(snapshot: Snapshot, supply: SupplyStatus) -> str:
    """Marked where it is less than the time to need: then only the plan's cuts make it last."""
    return f"{_central(supply.endurance_now_s)}{'<' if falls_short_now(snapshot, supply) else ' '}"


def _central(interval: Interval | None) -> str:
    if interval is None:
        return UNKNOWN
    return NO_END if interval.p50 is None else hours_figure(interval.p50)


def _ends(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    interval = supply.endurance_plan_s
    if interval is None or interval.p05 is None:
        return UNKNOWN if interval is None else NO_END
    high = NO_END if interval.p95 is None else hours_figure(interval.p95)
    return f"{hours_figure(interval.p05)} to {high}"


def _margin_low(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    """A shortfall carries its word, so that it stands out in a column of signs."""
    if supply.margin_s is None or supply.margin_s.p05 is None:
        return UNKNOWN if supply.margin_s is None else NO_END
    return margin_text(supply.margin_s.p05).removesuffix(" h").removeprefix("spare ")


def _margin_central(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    """With its sign alone: where it is short, the low end beside it is short too and has the word."""
    if supply.margin_s is None or supply.margin_s.p50 is None:
        return UNKNOWN if supply.margin_s is None else NO_END
    return hours_figure(supply.margin_s.p50, signed=True)


def _left(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    left = supply.left_at_need_si
    return UNKNOWN if left is None else amount_text(left.p05, supply.unit)


_MARGIN_LOW = "margin low"
_KINDS: tuple[tuple[str, Callable[[Snapshot, SupplyStatus], str], int, bool], ...] = (
    ("plan h", _plan, 6, True),
    ("90 % h", _ends, 13, False),
    ("now h ", _now, 6, True),
    (_MARGIN_LOW, _margin_low, 10, True),
    ("central", _margin_central, 7, True),
    ("left low", _left, 8, True),
)
"""Title, figure, least width, and whether it is shown on a narrow board too."""
