"""Single losses as JSON, format 1. Nothing is reckoned here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from console.craft.model import Supply
from console.engine.loss import Loss, Losses, LossMargins
from console.engine.remedy import Remedy, RemedyKind
from console.report.json_values import hours, interval, maybe
from console.report.options_export import head_document


def losses_document(losses: Losses) -> dict[str, Any]:
    """What ``loss --json`` prints."""
    worst = losses.worst
    return {
        **head_document(losses.snapshot),
        "option": losses.snapshot.need.option,
        "without_loss": _margins(losses.without_loss),
        "not_survived": [_key(loss) for loss in losses.losses if loss.ends_plan],
        "worst": None if worst is None else _key(worst),
        "losses": [_loss(losses.supplies, loss) for loss in losses.losses],
        "not_counted": [
            {"store": one.store, "supply": one.supply, "why": one.why} for one in losses.not_counted
        ],
    }


def _key(loss: Loss) -> dict[str, str]:
    return {"kind": loss.lost.kind.value, "name": loss.lost.name}


def _loss(supplies: Mapping[str, Supply], loss: Loss) -> dict[str, Any]:
    return {
        **_key(loss),
        "title": loss.lost.title,
        "supply": loss.lost.supply,
        "stores": list(loss.lost.stores),
        "ends_plan": loss.ends_plan,
        "ends_plan_central": loss.ends_plan_central,
        "made_short": list(loss.short),
        "takes_needed_delta_v": loss.takes_delta_v,
        **_margins(loss.margins),
        "remedies": [_remedy(supplies, remedy) for remedy in loss.remedies],
    }


def _margins(margins: LossMargins) -> dict[str, Any]:
    return {
        "margins_h": {name: interval(margin, hours) for name, margin in margins.margins_s.items()},
        "shortest": margins.shortest,
        "unknown": list(margins.unknown),
        "lacks_delta_v": margins.lacks_delta_v,
        "survived": {"low": margins.is_survived_low, "central": margins.is_survived_central},
    }


def _remedy(supplies: Mapping[str, Supply], remedy: Remedy) -> dict[str, Any]:
    document: dict[str, Any] = {"kind": remedy.kind.value, "name": remedy.name}
    if remedy.kind is RemedyKind.LESS_DRAW:
        rate_unit = supplies[remedy.name].rate_unit
        rate = maybe(rate_unit.from_si)
        return {
            **document,
            "less": rate(remedy.less_si_per_s),
            "allowed": rate(remedy.allowed_si_per_s),
            "rate_unit": rate_unit.text,
        }
    return {**document, "shortest": remedy.shortest, "margin_h": interval(remedy.margin_s, hours)}
