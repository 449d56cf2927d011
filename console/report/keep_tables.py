"""Leave it on, or switch it off and pay to bring it back: both costs in plain text. Reckons nothing."""

from __future__ import annotations

from collections.abc import Sequence

from console.craft.model import LoadState
from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    elapsed_text,
    hours_text,
    span_text,
)
from console.engine.difference import ClockChange, Difference, Verdict
from console.engine.keep_or_off import KeepOrOff, Trade
from console.report.columns import aligned, wrapped
from console.report.moments import when_text
from console.report.options_tables import head_lines
from console.report.whatif_tables import difference_blocks

_BAD = (Verdict.WORSE, Verdict.UNKNOWN)


def keep_text(choice: KeepOrOff, compared: Difference) -> str:
    """Everything ``whatif --keep`` says; the comparison is from leaving it on to switching it off."""
    blocks = (
        head_lines(choice.keep),
        _question_lines(choice),
        aligned(_trade_rows(choice)),
        _verdict_lines(choice, compared),
        ["If it is switched off and brought back, against leaving it on:"],
        *difference_blocks(compared),
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _question_lines(choice: KeepOrOff) -> list[str]:
    load, snapshot = choice.load, choice.keep
    title = f" ({load.title})" if load.title else ""
    lines = wrapped(
        f"{load.name}{title}: leave it {choice.state.value} until {when_text(snapshot, choice.until_s)}, "
        "or switch it off now and bring it back then?"
    )
    if choice.state_then is not choice.state:
        is_off = choice.state_then is LoadState.OFF
        beside = "so nobody need bring it back then" if is_off else "either way"
        then = f"From {elapsed_text(choice.until_s)} on it is {choice.state_then.value}"
        lines += wrapped(f"{then} by plan and logged steps, {beside}.")
    return lines


def _trade_rows(choice: KeepOrOff) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = [("supply", "leaving it on", "bringing it back", "off saves", "pays after")]
    rows.extend(_trade_row(trade) for trade in choice.trades if _differs(trade))
    return rows


def _differs(trade: Trade) -> bool:
    return trade.keeping_si is None or bool(trade.restart_si) or abs(trade.keeping_si) > 1e-9


def _trade_row(trade: Trade) -> Sequence[str]:
    unit = trade.supply.unit
    return (
        trade.supply.name,
        amount_text(trade.keeping_si, unit, Rounding.NEAREST),
        amount_text(trade.restart_si, unit, Rounding.UP),
        amount_text(trade.saved_si, unit, signed=True),
        _pays(trade),
    )


def _pays(trade: Trade) -> str:
    if trade.keeping_si is None:
        return UNKNOWN
    if trade.pays_after_s is None:
        return "not before need"
    return "at once" if trade.pays_after_s <= 0.0 else span_text(trade.pays_after_s, Rounding.UP)


def _verdict_lines(choice: KeepOrOff, compared: Difference) -> list[str]:
    """Whether switching off pays; it does not merely pay where it brings a limit of the cabin nearer."""
    off_s = choice.until_s - choice.keep.at_s
    lost = [trade.supply.name for trade in choice.trades if (trade.saved_si or 0.0) < 0.0]
    gained = [trade.supply.name for trade in choice.trades if (trade.saved_si or 0.0) > 0.0]
    earlier = [_earlier_words(change) for change in compared.clocks if change.verdict in _BAD]
    unknown = [trade.supply.name for trade in choice.trades if trade.keeping_si is None]
    against = [f"COSTS {', '.join(lost)}"] if lost else []
    against += [f"brings limits of the cabin EARLIER: {', '.join(earlier)}"] if earlier else []
    against += [f"is NOT KNOWN of {', '.join(unknown)}"] if unknown else []
    if not against:
        said = f"Switching off PAYS: it saves {', '.join(gained) or 'nothing'} and costs no supply anything."
    elif lost and not gained:
        said = f"Switching off DOES NOT PAY: it {' and '.join(against)}."
    else:
        said = f"Switching off saves {', '.join(gained) or 'nothing'} but {' and '.join(against)}."
    pays = choice.pays_after_s
    after = (
        "Break-even: not on every supply before need."
        if pays is None
        else f"Break-even: off for {span_text(pays, Rounding.UP)} or longer it pays on every supply."
    )
    stays = f"CAUTION: craft.yaml says that {choice.load.name} stays on." if choice.load.stays else ""
    said = f"{said} {after} It would be off for {span_text(off_s, Rounding.DOWN)}."
    return [*wrapped(said), *wrapped(stays)] if stays else wrapped(said)


def _earlier_words(change: ClockChange) -> str:
    """A limit, and by how many hours it comes earlier at the low end where both moments are there."""
    ends = [each.reached_in_s for each in (change.before, change.after)]
    before, after = (None if end is None else end.p05 for end in ends)
    if before is None or after is None or after >= before:
        return change.after.limit.name
    return f"{change.after.limit.name} by {hours_text(before - after, Rounding.UP)}"
