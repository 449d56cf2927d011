"""The figures of the selected supply: what is there, what is used, until when it lasts, and why."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import clipped, fit, flow, line, one_line, wrap
from console.board.faces.gauge_columns import NO_END
from console.board.faces.modules import module_items
from console.board.faces.moments import both_at, distrust_text, falls_short_now
from console.board.faces.pane_title import scrolled
from console.board.faces.rates import rate_lines
from console.board.look import BAND_WORDS
from console.board.view import View
from console.display import (
    UNKNOWN,
    Rounding,
    amount_interval_text,
    amount_text,
    hours_interval_text,
    hours_text,
    margin_text,
    probability_text,
    rate_text,
)
from console.engine.snapshot import Interval, Snapshot, SupplyStatus

_LABEL = 10
_CELL = 26


def figures_lines(view: View, width: int, height: int, hint: str = "") -> list[Text]:
    """The pane of figures."""
    supply, snapshot = view.supply, view.snapshot
    if supply is None or snapshot is None:
        return scrolled(view, "supply", [], (width, height), hint)
    title = f"{clipped(supply.name, 24, view.look.glyphs.cut)}: figures, {BAND_WORDS[supply.band]}"
    body = [
        *_amounts(view, supply, width),
        *flow(_rates(view, supply), width),
        *flow(_ends(view, snapshot, supply), width),
        *_reasons(view, supply, width),
        *flow(_own(view, supply), width),
        *rate_lines(view, supply, width),
    ]
    return scrolled(view, title, body, (width, height), hint)


def _amounts(view: View, supply: SupplyStatus, width: int) -> list[Text]:
    """What is aboard and what of it counts, in columns."""
    unit, strong = supply.unit, view.look.palette.strong
    pairs = (
        ("on board", amount_text(supply.on_board_si, unit)),
        ("usable", amount_text(supply.usable_si, unit)),
        ("isolated", amount_text(supply.isolated_si, unit, Rounding.UP)),
        ("protected", amount_text(supply.protected_si, unit, Rounding.UP)),
        ("residual", amount_text(supply.residual_si, unit, Rounding.UP)),
        ("reserve", amount_text(supply.reserve_si, unit, Rounding.UP)),
    )
    count = max(1, min(3, width // _CELL))
    lines = []
    for start in range(0, len(pairs), count):
        text = line()
        for label, figure in pairs[start : start + count]:
            text.append(fit(label, _LABEL))
            text.append(fit(figure, _CELL - _LABEL), strong)
        lines.append(text)
    return lines


def _rates(view: View, supply: SupplyStatus) -> list[Text]:
    strong = view.look.palette.strong
    source = f" ({supply.rate_now_source.value})" if supply.rate_now_source is not None else ""
    return [
        line("used now ", (rate_text(supply.rate_now_si_per_s, supply.rate_unit), strong), source),
        line("planned ", (rate_text(supply.rate_plan_si_per_s, supply.rate_unit), strong)),
        line("allowance ", (rate_text(supply.allowance_si_per_s, supply.rate_unit, Rounding.DOWN), strong)),
    ]


def _ends(view: View, snapshot: Snapshot, supply: SupplyStatus) -> list[Text]:
    strong = view.look.palette.strong
    plan = supply.endurance_plan_s
    runs_out = NO_END if plan is not None else UNKNOWN
    if supply.runs_out_at_s is not None:
        runs_out = both_at(snapshot, supply.runs_out_at_s)
    low_s = None if plan is None else plan.p05
    runs_out_low = runs_out if low_s is None else both_at(snapshot, snapshot.at_s + low_s)
    return [
        *_margin(view, supply.margin_s),
        line("runs out, low end ", (runs_out_low, strong)),
        line("lasts until need ", (probability_text(supply.lasts_probability), strong)),
        _interval(view, "under the plan", supply.endurance_plan_s),
        _interval(view, "at the present rate", supply.endurance_now_s),
        *_short_now(snapshot, supply),
        line("runs out, central ", (runs_out, strong)),
        _left(view, supply),
    ]


def _interval(view: View, label: str, interval: Interval | None) -> Text:
    if interval is None:
        return line(f"{label} ", (UNKNOWN, view.look.palette.strong))
    central = "no end" if interval.p50 is None else hours_text(interval.p50)
    return line(
        f"{label} ",
        (central, view.look.palette.strong),
        f" ({hours_interval_text(interval.p05, interval.p95)})",
    )


def _short_now(snapshot: Snapshot, supply: SupplyStatus) -> list[Text]:
    """A warning in words where only the plan's cuts make it last."""
    if not falls_short_now(snapshot, supply):
        return []
    return [line("(ends before need at this rate)")]


def _margin(view: View, margin: Interval | None) -> list[Text]:
    strong = view.look.palette.strong
    if margin is None:
        return [line("margin ", (UNKNOWN, strong))]
    return [
        line("margin low end ", (margin_text(margin.p05), strong)),
        line("margin central ", (margin_text(margin.p50), strong)),
    ]


def _left(view: View, supply: SupplyStatus) -> Text:
    left, strong = supply.left_at_need_si, view.look.palette.strong
    if left is None:
        return line("left at need ", (UNKNOWN, strong))
    ends = amount_interval_text(left.p05, left.p95, supply.unit)
    return line("left at need ", (amount_text(left.p50, supply.unit, signed=True), strong), f" ({ends})")


def _own(view: View, supply: SupplyStatus) -> list[Text]:
    """What only some supplies have: a reserve with a purpose, spare cartridges, modules to leave behind."""
    craft = view.craft
    known = None if craft is None else craft.supplies.get(supply.name)
    items = []
    note = supply.reserve_note or ("" if known is None else known.reserve_note)
    if note:
        items.append(line(f"reserve is for {one_line(note)}"))
    if supply.released_si > 0.0:
        # Down: what was given up of a reserve is not to look more than it is.
        released = amount_text(supply.released_si, supply.unit)
        items.append(line("reserve RELEASED by decision ", (released, view.look.palette.strong)))
    if supply.fitted_lasts_s is not None:
        items.append(_interval(view, "fitted cartridges last", supply.fitted_lasts_s))
    if craft is not None and craft.propulsion is not None and craft.propulsion.supply == supply.name:
        items += module_items(view)
    return items


def _reasons(view: View, supply: SupplyStatus, width: int) -> list[Text]:
    distrust = distrust_text(view, supply)
    lines = [line((f" {distrust} ", view.look.palette.old))] if distrust else []
    return lines + [line(text) for text in wrap(supply.why, width) if text]
