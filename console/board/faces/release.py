"""Part of one reserve before it is released: what it is for, what is left of it, what releasing would do."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import fit, line, one_line, padded, wrap
from console.board.faces.comparison import comparison_lines
from console.board.faces.pane_title import pane_title
from console.board.faces.reserves import NO_NOTE
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.display import UNKNOWN, amount_text, margin_text
from console.engine.difference import Difference
from console.engine.snapshot import SupplyStatus


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Releasing:
    """What an amount would do."""

    amount: str
    """As it is written."""
    compared: Difference


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Release:
    """A reserve of which a part may be released."""

    look: Look
    supply: SupplyStatus
    effect: Releasing | None
    """What the amount that is written would do; None while that is not known."""
    standing: Standing
    amount_problem: str
    """What is wrong with the amount; empty while nothing is written."""
    can_release: bool
    """Whether this board logs, and anything is left."""
    read_only: bool
    recorded: str
    """The time that will be recorded, or why it will not do."""
    operator: str
    problem: str
    """Why it was not saved."""
    is_writing: bool
    scroll: int


def release_lines(state: Release, width: int, height: int) -> list[Text]:
    """What there is to know before the key is pressed; the verdict of the last try stands at the bottom."""
    supply = state.supply
    name = one_line(supply.name)
    title = f"release part of the reserve of {name}?" if state.can_release else f"reserve of {name}"
    lines = [pane_title(state.look, title, width, standing_note(state.standing))]
    effect = state.effect
    snapshot = None if effect is None else effect.compared.before
    lines += standing_lines(state.look, state.standing, snapshot, width)
    lines += [line((text, state.look.palette.strong)) for text in wrap(_kept(supply), width)]
    if state.amount_problem:
        lines += caution_lines(state.look, state.amount_problem, width)
    foot = _foot(state, width)
    body = _body(state, width)
    room = max(0, height - len(lines) - len(foot))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*lines, *shown, *foot][:height]


def _kept(supply: SupplyStatus) -> str:
    left = amount_text(supply.reserve_si, supply.unit)
    before = (
        f" ({amount_text(supply.released_si, supply.unit)} released before)"
        if supply.released_si > 0.0
        else ""
    )
    return f"{left} left{before}, set aside for: {one_line(supply.reserve_note) or NO_NOTE}"


def _body(state: Release, width: int) -> list[Text]:
    effect = state.effect
    lines: list[Text] = []
    if effect is not None:
        lines += _margin(state, effect, width)
    for words in _does(state):
        lines += [line(text) for text in wrap(words, width)]
    if effect is not None:
        lines.append(
            line((f"with {one_line(effect.amount)} released, against now", state.look.palette.title))
        )
        lines += comparison_lines(state.look, effect.compared, width)
    return lines


def _margin(state: Release, effect: Releasing, width: int) -> list[Text]:
    """What releasing does to the supply's own margin, its band, and what then is left of the reserve."""
    before, after = (
        each.supplies[state.supply.name] for each in (effect.compared.before, effect.compared.after)
    )
    left = amount_text(after.reserve_si, after.unit)
    words = f"{one_line(effect.amount)} released leaves {left} for what it is set aside for"
    lines = [line((text, state.look.palette.strong)) for text in wrap(words, width)]
    for end, word in (("p05", "low end"), ("p50", "central")):
        shown = [_end_text(each, end) for each in (before, after)]
        lines.append(line(f" margin, {word}: ", (f"{shown[0]} -> {shown[1]}", state.look.palette.strong)))
    bands = [f"{BAND_SYMBOLS[each.band]} {BAND_WORDS[each.band]}" for each in (before, after)]
    moved = bands[0] if bands[0] == bands[1] else f"{bands[0]} -> {bands[1]}"
    lines[-1].append("   band ")
    lines[-1].append(moved, state.look.palette.grounds[after.band])
    return lines


def _end_text(supply: SupplyStatus, end: str) -> str:
    if supply.margin_s is None:
        return UNKNOWN
    seconds = getattr(supply.margin_s, end)
    return "no end" if seconds is None else margin_text(seconds)


def _does(state: Release) -> list[str]:
    """What it does, and how it is taken back."""
    if state.read_only:
        return ["This board only shows: nothing can be released from here."]
    if not state.can_release:
        return ["Nothing is left of it to release."]
    operator = f" under {one_line(state.operator)}" if state.operator else ""
    return [
        f"It is logged{operator} with its reason and counts as usable from then on. A wrong entry is undone "
        "by a correction that withdraws it: endurance log correct NUMBER --withdraw --note WHY"
    ]


def _foot(state: Release, width: int) -> list[Text]:
    if not state.can_release:
        return []
    palette = state.look.palette
    foot = [line(fit(f"recorded time: {state.recorded}", width, state.look.glyphs.cut))]
    if state.is_writing:
        foot.append(line(("writing, not saved yet", palette.strong)))
    elif state.problem:
        foot += [
            padded(line(text, style=palette.fault), width)
            for text in wrap(f"! NOT SAVED: {state.problem}", width)
        ]
    return foot
