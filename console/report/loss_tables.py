"""Single losses as lines of plain text: first what the plan does not survive. Reckons nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from console.craft.model import Supply
from console.display import UNKNOWN, Rounding, hours_figure, margin_text, rate_text
from console.engine.loss import Loss, Losses, LossKind, low_s
from console.engine.remedy import Remedy, RemedyKind
from console.engine.snapshot import Interval
from console.report.columns import folded, wrapped
from console.report.options_tables import head_lines


def losses_text(losses: Losses) -> str:
    """Everything ``loss`` says: what ends the plan and what would save it, then every margin."""
    blocks: list[list[str]] = [
        head_lines(losses.snapshot),
        _verdict_lines(losses),
        *(_failure_lines(losses.supplies, loss) for loss in _worst_first(losses)),
        folded(_margin_rows(losses)),
        _not_counted_lines(losses),
        [line for notice in losses.snapshot.notices for line in wrapped(f"note: {notice}")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _verdict_lines(losses: Losses) -> list[str]:
    """The single failures that the plan does not survive, named, the worst first."""
    option = losses.snapshot.need.option
    fatal = _worst_first(losses)
    lines = _without_loss_lines(losses)
    if not losses.losses:
        return [*lines, "Nothing that counts can be lost."]
    if not fatal:
        unsure = losses.without_loss.unknown
        beside = f", as far as is known (not of {', '.join(unsure)})" if unsure else ""
        return [*lines, *wrapped(f"No single failure tried here ends the plan ({option}){beside}.")]
    central = [loss for loss in fatal if loss.ends_plan_central]
    low_only = [loss for loss in fatal if loss not in central]
    for group, which in ((central, "even in the central case"), (low_only, "by the low end alone")):
        if group:
            names = "; ".join(_name(loss) for loss in group)
            count = f"{len(group)} of {len(losses.losses)} single failures"
            lines += wrapped(f"NOT SURVIVED ({option}) {which}, {count}, worst first: {names}")
    return lines


def _without_loss_lines(losses: Losses) -> list[str]:
    """Said first where the plan does not reach even with nothing lost."""
    before = losses.without_loss
    short = [
        f"{name} {margin_text(margin.p05)}"
        for name, margin in before.margins_s.items()
        if margin is not None and margin.p05 is not None and margin.p05 < 0.0
    ]
    short += ["too little delta-v"] if before.lacks_delta_v else []
    lines = wrapped(f"WITH NOTHING LOST, by the low end: {'; '.join(short)}") if short else []
    if before.unknown:
        lines += wrapped(f"margin not known even with nothing lost: {', '.join(before.unknown)}")
    return lines


def _worst_first(losses: Losses) -> list[Loss]:
    return sorted((loss for loss in losses.losses if loss.ends_plan), key=_least_low_s)


def _least_low_s(loss: Loss) -> float:
    margins = (loss.margins.margins_s[name] for name in loss.short)
    return min((low_s(margin) for margin in margins if margin is not None), default=0.0)


def _name(loss: Loss) -> str:
    return loss.lost.name if loss.lost.kind is LossKind.STORE else f"{loss.lost.kind.value} {loss.lost.name}"


def _failure_lines(supplies: Mapping[str, Supply], loss: Loss) -> list[str]:
    """One loss that ends the plan, and what would make it survive."""
    parts = [_short_words(name, loss.margins.margins_s[name]) for name in loss.short]
    parts += ["the way home then needs more delta-v than is left"] if loss.takes_delta_v else []
    head = f"{_name(loss)} lost: {'; '.join(parts)}"
    if loss.lost.kind is not LossKind.STORE:
        head += f" (with it {', '.join(loss.lost.stores)})"
    lines = wrapped(head)
    for remedy in loss.remedies:
        lines += wrapped(f"- {_remedy_words(supplies, remedy)}")
    if not any(remedy.kind is not RemedyKind.LESS_DRAW for remedy in loss.remedies):
        lines.append("- no store to open, other way home or lower level reaches by itself")
    return lines


def _short_words(name: str, margin: Interval | None) -> str:
    if margin is None or margin.p05 is None:
        return name
    central = "no end" if margin.p50 is None else margin_text(margin.p50)
    return f"{name} {margin_text(margin.p05)} at the low end, central {central}"


def _remedy_words(supplies: Mapping[str, Supply], remedy: Remedy) -> str:
    if remedy.kind is RemedyKind.LESS_DRAW:
        unit = supplies[remedy.name].rate_unit
        less = rate_text(remedy.less_si_per_s, unit)
        if remedy.allowed_si_per_s is not None and remedy.allowed_si_per_s <= 0.0:
            return f"{remedy.name}: not reached even with nothing drawn in the free phases"
        allowed = rate_text(remedy.allowed_si_per_s, unit, Rounding.DOWN)
        return f"{remedy.name}: {less} less than planned in the free phases, at most {allowed}, reaches"
    done = {
        RemedyKind.OPEN_STORE: f"open {remedy.name} now",
        RemedyKind.OPTION: f"take {remedy.name} now",
        RemedyKind.LEVEL: f"level {remedy.name} from now on in the free phases",
    }[remedy.kind]
    low = None if remedy.margin_s is None else remedy.margin_s.p05
    reaches = "does not run out" if low is None else f"{margin_text(low)} at the low end"
    return f"{done}: reaches, {remedy.shortest} {reaches}"


def _margin_rows(losses: Losses) -> list[Sequence[str]]:
    names = list(losses.supplies)
    rows: list[Sequence[str]] = [("low/central h", *names)]
    rows.append(("nothing lost", *(_cell(losses.without_loss.margins_s[name]) for name in names)))
    rows.extend(
        (_row_name(loss), *(_cell(loss.margins.margins_s[name]) for name in names)) for loss in losses.losses
    )
    return rows


def _row_name(loss: Loss) -> str:
    return f"{_name(loss)}{' X' if loss.ends_plan else ''}"


def _cell(margin: Interval | None) -> str:
    if margin is None:
        return UNKNOWN
    return "/".join(
        "no end" if end is None else hours_figure(end, signed=True) for end in (margin.p05, margin.p50)
    )


def _not_counted_lines(losses: Losses) -> list[str]:
    lines = ["X: not survived by the low end"] if any(loss.ends_plan for loss in losses.losses) else []
    for loss in losses.losses:
        if loss.lost.kind is LossKind.LINE and not loss.lost.stores:
            lines += wrapped(f"line {loss.lost.name}: every store of it that counts has another line too")
    for one in losses.not_counted:
        lines += wrapped(f"not tried: {one.store} of {one.supply}: {one.why}")
    return lines
