"""Leave it on until a moment, or off now and pay to bring it back: verdict, both costs, what else moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line, wrap
from console.board.faces.comparison import comparison_lines
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.look import Look
from console.craft.model import LoadState
from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    countdown_text,
    elapsed_text,
    hours_text,
    span_text,
    utc_text,
)
from console.engine.difference import ClockChange, Difference, Verdict
from console.engine.keep_or_off import KeepOrOff, Trade
from console.instants import at_epoch_plus

HINT_ROWS = 2
_NOTHING_SI = 1e-9

Typed = tuple[str, str, str]
"""Load, moment and costs, as they are written."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Kept:
    """What the engine said."""

    asked: Typed
    choice: KeepOrOff
    compared: Difference
    """From leaving it on to switching it off and bringing it back."""
    needed_by: tuple[str, ...]
    """The loads that draw now and are of no use without it."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class KeepState:
    """What is shown of it."""

    look: Look
    answer: Kept | None
    standing: Standing
    problem: str
    """What is wrong with what was asked."""
    is_other: bool
    """Whether the fields ask for something else than was answered."""
    hints: tuple[str, ...]
    """For the field in hand: what it is taken for, or how it can go on."""
    scroll: int


def keep_title_lines(state: KeepState, width: int, _height: int) -> list[Text]:
    """The question, and how old the answer is."""
    title = "leave it on, or off now and pay to bring it back?"
    return [pane_title(state.look, title, width, standing_note(state.standing))]


def keep_hint_lines(state: KeepState, width: int, height: int) -> list[Text]:
    """Under the fields: what is wrong, else what helps to write on."""
    if state.problem:
        return caution_lines(state.look, state.problem, width)[:height]
    cut = state.look.glyphs.cut
    return [line(f"  {text}") for words in state.hints for text in wrap(words, width - 2, height, cut)][
        :height
    ]


def keep_lines(state: KeepState, width: int, height: int) -> list[Text]:
    """The whole answer; what does not fit is reached with the page keys."""
    answer = state.answer
    snapshot = None if answer is None else answer.compared.before
    lines = standing_lines(state.look, state.standing, snapshot, width)
    if answer is None:
        if not lines:
            words = "nothing is logged by asking; enter asks once all three are written"
            lines = [line(text) for text in wrap(words, width)]
        return lines[:height]
    if state.is_other:
        load, until, restart = (one_line(each) for each in answer.asked)
        lines += caution_lines(
            state.look, f"enter asks anew; below: {load} until {until}, {restart}, as asked before", width
        )
    body = _body(state.look, answer, width)
    room = max(0, height - len(lines))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*lines, *shown][:height]


def _body(look: Look, answer: Kept, width: int) -> list[Text]:
    verdict, is_good = verdict_words(answer.choice, answer.compared)
    lines = (
        [line((text, look.palette.strong)) for text in wrap(verdict, width)]
        if is_good
        else caution_lines(look, verdict, width)
    )
    for words in _against(answer):
        lines += caution_lines(look, words, width)
    lines += [line(text) for words in (_break_even(answer.choice),) for text in wrap(words, width)]
    lines += _table(look, answer.choice, width)
    lines += [line(text) for text in wrap(_question(answer.choice), width)]
    lines.append(line(("off and brought back, against leaving it on; nothing is logged", look.palette.title)))
    return lines + comparison_lines(look, answer.compared, width)


def verdict_words(choice: KeepOrOff, compared: Difference) -> tuple[str, bool]:
    """In a sentence whether switching off pays, and whether nothing at all speaks against it."""
    lost = [_net(trade) for trade in choice.trades if (trade.saved_si or 0.0) < -_NOTHING_SI]
    gained = [_net(trade) for trade in choice.trades if (trade.saved_si or 0.0) > _NOTHING_SI]
    unknown = [one_line(trade.supply.name) for trade in choice.trades if trade.keeping_si is None]
    earlier = _earlier(compared)
    saves = f"saves {', '.join(gained)}" if gained else "saves nothing"
    parts = []
    if lost:
        parts.append(f"COSTS {', '.join(lost)}")
    if earlier:
        parts.append(f"brings cabin limits EARLIER: {', '.join(earlier)}")
    if unknown:
        parts.append(f"not known of {', '.join(unknown)}")
    if lost and not gained:
        return f"OFF DOES NOT PAY: it {' and '.join(parts)}", False
    if parts:
        return f"OFF {saves} BUT {' and '.join(parts)}", False
    if not gained:
        return "OFF saves nothing and costs nothing", False
    return f"OFF PAYS: it {saves}, costs no supply anything, brings no cabin limit earlier", True


def _net(trade: Trade) -> str:
    saved = trade.saved_si or 0.0
    rounding = Rounding.DOWN if saved > 0.0 else Rounding.UP
    return f"{one_line(trade.supply.name)} {amount_text(abs(saved), trade.supply.unit, rounding)}"


def _earlier(compared: Difference) -> list[str]:
    """The limits that come earlier under the plan and by how much, or are no longer known."""
    return [
        f"{one_line(change.after.limit.name)}{_by(change)}"
        for change in compared.clocks
        if change.verdict in (Verdict.WORSE, Verdict.UNKNOWN)
    ]


def _by(change: ClockChange) -> str:
    """By how many hours, low end, where both moments are there."""
    ends = [each.reached_in_s for each in (change.before, change.after)]
    before, after = (None if end is None else end.p05 for end in ends)
    if before is None or after is None or after >= before:
        return ""
    return f" by {hours_text(before - after, Rounding.UP)}"


def _against(answer: Kept) -> list[str]:
    load = answer.choice.load
    words = [f"craft.yaml: {one_line(load.name)} stays on"] if load.stays else []
    if answer.needed_by:
        names = ", ".join(one_line(name) for name in answer.needed_by)
        words.append(f"{one_line(load.name)} is needed by {names}, on now: of no use without it")
    return words


def _break_even(choice: KeepOrOff) -> str:
    off_s = choice.until_s - choice.keep.at_s
    pays_s = choice.pays_after_s
    said = (
        "break-even: not on every supply before need"
        if pays_s is None
        else "break-even: at once, it takes nothing to bring it back"
        if pays_s <= 0.0
        else f"break-even: off for {span_text(pays_s, Rounding.UP)} or longer it pays on every supply"
    )
    return f"{said}; it would be off for {span_text(off_s, Rounding.DOWN)}"


def _table(look: Look, choice: KeepOrOff, width: int) -> list[Text]:
    """Both costs of each supply that either way takes anything of."""
    shown = [
        trade
        for trade in choice.trades
        if trade.keeping_si is None or trade.restart_si or abs(trade.keeping_si) > _NOTHING_SI
    ]
    name = min(22, max(10, *(cell_len(one_line(each.supply.name)) for each in shown or choice.trades)))
    head = f"{fit('supply', name)} {'stay on':>12} {'bring back':>12} {'off saves':>13}  {'pays after':<15}"
    lines = [line((fit(head, width, look.glyphs.cut), look.palette.title))]
    for trade in shown:
        unit = trade.supply.unit
        keeping = amount_text(trade.keeping_si, unit, Rounding.NEAREST)
        restart = amount_text(trade.restart_si, unit, Rounding.UP)
        saved = amount_text(trade.saved_si, unit, signed=True)
        lines.append(
            line(
                (fit(trade.supply.name, name, look.glyphs.cut), look.palette.strong),
                f" {keeping:>12} {restart:>12} ",
                (f"{saved:>13}", look.palette.strong),
                f"  {_pays(trade)}",
            )
        )
    return lines


def _pays(trade: Trade) -> str:
    if trade.keeping_si is None:
        return UNKNOWN
    if trade.pays_after_s is None:
        return "not before need"
    return "at once" if trade.pays_after_s <= 0.0 else span_text(trade.pays_after_s, Rounding.UP)


def _question(choice: KeepOrOff) -> str:
    """What was asked, with the moment as it was taken."""
    load, snapshot = choice.load, choice.keep
    title = f" ({one_line(load.title)})" if load.title else ""
    at = utc_text(at_epoch_plus(snapshot.epoch, choice.until_s))
    said = (
        f"{one_line(load.name)}{title} is {choice.state.value}; wanted again {elapsed_text(choice.until_s)}, "
        f"{at}, {countdown_text(choice.until_s - snapshot.at_s)}"
    )
    if choice.state_then is choice.state:
        return said
    is_off = choice.state_then is LoadState.OFF
    beside = ", so nobody need bring it back" if is_off else " either way"
    return f"{said}; from then on it is {choice.state_then.value} by plan and logged steps{beside}"


def listed_hint(words: Sequence[str], width: int, head: str = "") -> str:
    """As many words as there is room for, and how many more there are."""
    said = head
    for index, word in enumerate(words):
        piece = f"{one_line(word)}{', ' if index < len(words) - 1 else ''}"
        if cell_len(said) + cell_len(piece) > width - 10:
            return f"{said}{len(words) - index} more"
        said += piece
    return said
