"""Currents of a Snapshot as JSON: peaks of phases and events, batteries' shares of their bus."""

from __future__ import annotations

from typing import Any

from console.engine.snapshot import BusShare, Peak, Snapshot
from console.report.json_values import hours, maybe, utc


def peak_document(snapshot: Snapshot, peak: Peak) -> dict[str, Any]:
    """The current of one phase or event against the limits of its bus and batteries."""
    return {
        "supply": peak.supply,
        "name": peak.name,
        "at": utc(snapshot, peak.at_s),
        "mean_a": peak.mean_a,
        "peak_a": peak.peak_a,
        "bus_limit_a": peak.bus_limit_a,
        "store": peak.store,
        "store_peak_a": peak.store_peak_a,
        "store_limit_a": peak.store_limit_a,
        "over": peak.is_over,
        "why": peak.why,
    }


def share_document(share: BusShare) -> dict[str, Any]:
    """One battery's part of its bus."""
    return {
        "fraction": share.fraction,
        "by": share.by.value,
        "planned_a": share.planned_a,
        "limit_a": share.limit_a,
        "reaches_residual_in_h": maybe(hours)(share.reaches_residual_in_s),
    }
