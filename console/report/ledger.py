"""The ledger of one supply as lines of plain text: where it goes, at what rates, by which currents."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import Rounding, amount_text, figure_text, probability_text, rate_text, unit_text
from console.engine.snapshot import LineKind, Snapshot, SupplyStatus, UseRate
from console.report.bus import peak_lines, share_lines
from console.report.columns import aligned, folded
from console.report.moments import moment_text
from console.report.set_aside import supply_aside_lines
from console.units import Dimension

DAY_S = 86400.0

_PLAIN = (
    LineKind.ON_BOARD,
    LineKind.PROTECTED,
    LineKind.ISOLATED,
    LineKind.RESIDUAL,
    LineKind.RESERVE,
    LineKind.CARRIED,
    LineKind.LEFT,
)


def ledger_text(snapshot: Snapshot, name: str) -> str:
    """Where every unit of one supply goes until need, and what each use takes by the hour and the day."""
    supply = snapshot.supplies[name]
    blocks = (
        _way_lines(snapshot, supply),
        rate_lines(supply),
        share_lines(supply),
        peak_lines(snapshot, name),
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _way_lines(snapshot: Snapshot, supply: SupplyStatus) -> list[str]:
    """From on board to what is left at need."""
    if not supply.ledger:
        return [f"{supply.name}: {supply.why}"]
    rows: list[Sequence[str]] = [("", unit_text(supply.unit), "share")]
    on_board = supply.ledger[0].amount_si
    for line in supply.ledger:
        share = (
            ""
            if on_board == 0.0
            else f"{figure_text(100 * line.amount_si / on_board, 1, Rounding.NEAREST)} %"
        )
        label = line.name if line.kind in _PLAIN else f"{line.kind.value}: {line.name}"
        rows.append((label, figure_text(supply.unit.from_si(line.amount_si), 3, Rounding.NEAREST), share))
    probability = probability_text(supply.lasts_probability)
    return [
        f"{supply.name} until {moment_text(snapshot, snapshot.need.at_s)} ({snapshot.need.option})",
        *aligned(rows),
        f"lasts until need: {probability}" + (f"; {supply.why}" if supply.why else ""),
        *supply_aside_lines(supply),
    ]


def rate_lines(supply: SupplyStatus) -> list[str]:
    """Every use at the present configuration, for all and for one person, by the hour and by the day.

    All four forms stand side by side, so that nobody takes one for another.
    """
    if not supply.rates:
        return []
    if supply.unit.dimension in (Dimension.CHARGE, Dimension.ENERGY):
        head = ("use now, by the model", unit_text(supply.rate_unit), f"{unit_text(supply.unit)} per day")
    else:
        head = (f"use now, by the model: {unit_text(supply.unit)}", "per hour", "per day")
    rows: list[Sequence[str]] = [head, *(_all_cells(supply, rate) for rate in supply.rates)]
    rows.append(("together", *_hour_and_day(supply, sum(rate.rate_si_per_s for rate in supply.rates))))
    if any(rate.people for rate in supply.rates):
        beside = [
            ("per person-hour", "per person-day"),
            *(_person_cells(supply, rate) for rate in supply.rates),
        ]
        rows = [(*row, *cells) for row, cells in zip(rows, [*beside, ("", "")], strict=True)]
    return folded(rows)


def _all_cells(supply: SupplyStatus, rate: UseRate) -> tuple[str, str, str]:
    people = f", {rate.people} people" if rate.people else ""
    return (f"{rate.name}{people}", *_hour_and_day(supply, rate.rate_si_per_s))


def _person_cells(supply: SupplyStatus, rate: UseRate) -> tuple[str, str]:
    return _hour_and_day(supply, rate.rate_si_per_s / rate.people) if rate.people else ("", "")


def _hour_and_day(supply: SupplyStatus, rate_si_per_s: float) -> tuple[str, str]:
    """Bare figures: their unit stands above them."""
    hour = rate_text(rate_si_per_s, supply.rate_unit)
    day = amount_text(rate_si_per_s * DAY_S, supply.unit, Rounding.UP)
    return hour.removesuffix(f" {unit_text(supply.rate_unit)}"), day.removesuffix(
        f" {unit_text(supply.unit)}"
    )
