"""Currents of a Snapshot as lines of plain text: peaks against limits, batteries' shares of their bus."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import Rounding, amount_text, elapsed_text, figure_text, hours_text, rate_text
from console.engine.snapshot import Peak, Snapshot, SupplyStatus
from console.report.columns import folded, wrapped
from console.report.moments import moment_text
from console.units import Dimension, Unit

_AMPERE = Unit(text="A", dimension=Dimension.CURRENT, factor=1.0)


def over_lines(snapshot: Snapshot) -> list[str]:
    """The currents that are above a limit, each named."""
    return [
        line
        for peak in snapshot.peaks
        if peak.is_over
        for line in wrapped(f"OVER ITS LIMIT: {over_text(snapshot, peak)}")
    ]


def over_text(snapshot: Snapshot, peak: Peak) -> str:
    """What is above which limit, where and when."""
    parts = []
    if peak.bus_limit_a is not None and peak.peak_a > peak.bus_limit_a:
        parts.append(f"{_up(peak.peak_a)} on the bus, which may carry {_down(peak.bus_limit_a)}")
    store_a, limit_a = peak.store_peak_a, peak.store_limit_a
    if peak.store is not None and store_a is not None and limit_a is not None and store_a > limit_a:
        parts.append(f"{_up(store_a)} from {peak.store}, limit {_down(limit_a)}")
    over = "; ".join(parts) or _up(peak.peak_a)
    why = f" ({peak.why})" if peak.why else ""
    return f"{peak.supply} in {peak.name}, {moment_text(snapshot, peak.at_s)}: {over}{why}"


def peak_lines(snapshot: Snapshot, name: str) -> list[str]:
    """The current of every phase and event ahead on one supply, in order of time."""
    peaks = [peak for peak in snapshot.peaks if peak.supply == name]
    if not peaks:
        return []
    rows: list[Sequence[str]] = [
        ("currents, A", "from", "mean", "peak", "bus limit", "battery", "peak", "limit")
    ]
    for peak in peaks:
        rows.append(
            (
                f"{peak.name}{' OVER' if peak.is_over else ''}",
                elapsed_text(peak.at_s),
                figure_text(peak.mean_a, 1, Rounding.UP),
                figure_text(peak.peak_a, 1, Rounding.UP),
                _limit(peak.bus_limit_a),
                peak.store or "",
                "" if peak.store_peak_a is None else figure_text(peak.store_peak_a, 1, Rounding.UP),
                "" if peak.store is None else _limit(peak.store_limit_a),
            )
        )
    whys = dict.fromkeys(peak.why for peak in peaks if peak.why)
    return [*folded(rows), *(line for why in whys for line in wrapped(why))]


def share_lines(supply: SupplyStatus) -> list[str]:
    """What part of its bus each battery gives, and when that part alone would empty it."""
    shares = [(store.name, store.bus) for store in supply.stores if store.bus is not None]
    if not shares:
        return []
    rows: list[Sequence[str]] = [
        ("battery", "share of the bus", "by", "of the plan's draw", "limit", "to residual")
    ]
    for name, bus in shares:
        rows.append(
            (
                name,
                f"{figure_text(bus.fraction * 100.0, 1, Rounding.NEAREST)} %",
                bus.by.value,
                rate_text(bus.planned_a, _AMPERE),
                "none" if bus.limit_a is None else _down(bus.limit_a),
                "no end" if bus.reaches_residual_in_s is None else hours_text(bus.reaches_residual_in_s),
            )
        )
    return folded(rows)


def _limit(limit_a: float | None) -> str:
    return "none" if limit_a is None else figure_text(limit_a, 1)


def _up(current_a: float) -> str:
    return amount_text(current_a, _AMPERE, Rounding.UP)


def _down(current_a: float) -> str:
    return amount_text(current_a, _AMPERE, Rounding.DOWN)
