"""The columns of figures beside the gauges, and how the width is shared out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rich.cells import cell_len

from console.board.cells import one_line
from console.board.faces.moments import falls_short_now
from console.board.faces.moments import is_modelled_for_want_of_a_meter as _is_modelled
from console.display import UNKNOWN, amount_text, hours_figure, margin_text, unit_text
from console.engine.snapshot import Interval, Snapshot, SupplyStatus

NO_END = "no end"
"""In the place of a figure that the engine says never comes."""
SHORT_MARK = "<"
"""After the endurance at the present rate, where that is less than the time to need."""
MODEL_MARK = "m"
"""After it, where it is the model's because a meter is not good."""


def legend_of(snapshot: Snapshot) -> tuple[str, ...]:
    """What the marks mean, of those that stand in a row now."""
    words = []
    if any(falls_short_now(snapshot, supply) for supply in snapshot.supplies.values()):
        words.append(f"{SHORT_MARK} ends before need at this rate")
    if any(_is_modelled(supply) for supply in snapshot.supplies.values()):
        words.append(f"{MODEL_MARK} rate by the model")
    return tuple(words)


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
_HALF_ROOMY = 96
"""Narrower, what is left is seen in the figures alone: the gauge needs the cells more."""
_LEAST_GAUGE = 8
_AMPLE_GAUGE = 40
"""More than this the gauge gives to names that would else be cut."""
LONGEST_LIMIT_NAME = 24
"""Of a limit of the cabin, in a row."""


def columns_of(snapshot: Snapshot, width: int) -> Columns:
    """Share out a width: figures take what they need, the gauge has the rest.

    Least widths hold any sign and word, so that the line of need stands still when a margin changes its sign.
    """
    longest = max((cell_len(one_line(name)) for name in snapshot.supplies), default=6)
    name = max(6, min(longest, 20 if width >= _ROOMY else 10))
    known = [
        supply
        for supply in snapshot.supplies.values()
        if supply.endurance_plan_s is not None and supply.margin_s is not None
    ]
    units = max((cell_len(unit_text(supply.unit)) for supply in snapshot.supplies.values()), default=0)
    figures = tuple(
        Column(
            title=title,
            figure=figure,
            width=max(
                least + (units if title == _LEFT_LOW else 0),
                len(title),
                *(cell_len(figure(snapshot, supply)) for supply in known),
                0,
            ),
            is_strong=title == _MARGIN_LOW,
        )
        for title, figure, least, from_width in _KINDS
        if width >= from_width
    )
    taken = 1 + name + 1 + 10 + 1 + sum(column.width + 1 for column in figures)
    gauge = max(_LEAST_GAUGE, width - taken)
    more = _more_name(snapshot, name, gauge)
    return Columns(name=name + more, gauge=gauge - more, figures=figures)


def _more_name(snapshot: Snapshot, name: int, gauge: int) -> int:
    """What the names of the cabin's limits, which stand in the same column, need beyond that of supplies."""
    longest = max((cell_len(one_line(clock.limit.name)) for clock in snapshot.clocks), default=0)
    return max(0, min(min(longest, LONGEST_LIMIT_NAME) - name, gauge - _AMPLE_GAUGE))


def _plan(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    return _central(supply.endurance_plan_s)


def _now(snapshot: Snapshot, supply: SupplyStatus) -> str:
    """With its marks: short of need at this rate, so that only the plan's cuts make it last; by the model."""
    short = SHORT_MARK if falls_short_now(snapshot, supply) else " "
    return f"{_central(supply.endurance_now_s)}{short}{MODEL_MARK if _is_modelled(supply) else ' '}"


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
    """The figures stand under one another, the words before them."""
    if supply.margin_s is None or supply.margin_s.p05 is None:
        return UNKNOWN if supply.margin_s is None else NO_END
    word, _, figure = margin_text(supply.margin_s.p05).removesuffix(" h").partition(" ")
    return f"{word} {figure:>5}"


def _margin_central(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    if supply.margin_s is None or supply.margin_s.p50 is None:
        return UNKNOWN if supply.margin_s is None else NO_END
    return hours_figure(supply.margin_s.p50, signed=True)


def _left(_snapshot: Snapshot, supply: SupplyStatus) -> str:
    left = supply.left_at_need_si
    return UNKNOWN if left is None else amount_text(left.p05, supply.unit)


_MARGIN_LOW = "margin, low"
_LEFT_LOW = "left, low"
_KINDS: tuple[tuple[str, Callable[[Snapshot, SupplyStatus], str], int, int], ...] = (
    ("at plan", _plan, 6, 0),
    ("plan, 90 %", _ends, 13, _ROOMY),
    ("at rate", _now, 8, 0),
    (_MARGIN_LOW, _margin_low, 11, 0),
    ("central", _margin_central, 7, 0),
    (_LEFT_LOW, _left, 7, _HALF_ROOMY),
)
"""Title, figure, least width (without the unit, where there is one), and from which board on it is shown."""
