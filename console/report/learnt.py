"""What readings taught of the model and of the channels, as lines and as JSON. Nothing is reckoned here."""

from __future__ import annotations

from typing import Any

from console.engine.snapshot import Snapshot, SupplyStatus
from console.engine.validity.verdict import Verdict
from console.learnt_words import doubt_text, factor_text, unlogged_text
from console.report.json_values import hours, maybe, utc


def learnt_lines(snapshot: Snapshot) -> list[str]:
    """One line for each change that nobody logged, each use that is off its figure, each doubted channel."""
    lines = [
        f"{supply.name}: {unlogged_text(change, supply)}"
        for supply in snapshot.supplies.values()
        for change in supply.unlogged
    ]
    lines.extend(
        f"{supply.name}: measured over modelled use: {', '.join(map(factor_text, supply.factors))}; "
        "the figures under the plan count that"
        for supply in snapshot.supplies.values()
        if supply.factors
    )
    lines.extend(f"channel {doubt_text(doubt)}" for doubt in snapshot.doubts)
    return lines


def factors_document(supply: SupplyStatus) -> dict[str, Any]:
    """Measured over modelled use, by group."""
    return {one.name: {"factor": one.factor, "sd": one.sd} for one in supply.factors}


def unlogged_documents(snapshot: Snapshot, supply: SupplyStatus) -> list[dict[str, Any]]:
    """Changes of a supply's use that nobody logged."""
    rate = supply.rate_unit.from_si
    return [
        {
            "since": utc(snapshot, change.since_s),
            "store": change.store or None,
            "change": rate(change.change_si_per_s),
            "sd": rate(change.sd_si_per_s),
            "unit": supply.rate_unit.text,
            "probability": change.probability,
            "course": change.course.value,
            "doubles_in_h": maybe(hours)(change.doubles_in_s),
            "causes": [
                {
                    "loads": [
                        {"load": load, "commanded": was.value, "would_be": is_.value}
                        for load, was, is_ in cause.loads
                    ],
                    "change": rate(cause.change_si_per_s),
                    "share": cause.share,
                }
                for cause in change.causes
            ],
        }
        for change in supply.unlogged
    ]


def doubt_document(snapshot: Snapshot, doubt: Verdict) -> dict[str, Any]:
    """What is found against one channel."""
    return {
        "channel": doubt.channel,
        "kind": doubt.kind.value,
        "since": utc(snapshot, doubt.since_s),
        "use": doubt.use.value,
        "is_doubt": doubt.is_doubt,
        "why": doubt.why,
    }
