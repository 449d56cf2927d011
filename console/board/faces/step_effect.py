"""One step before it is logged: what it does, its caution, and what it would change."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line, padded, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.step_cabin import cabin_table, worse_lines
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.craft.procedures import Action, Procedure, Step
from console.display import Rounding, age_text, figure_text, hours_figure, margin_text, rate_text, unit_text
from console.engine.snapshot import Snapshot, SupplyStatus
from console.record.entry import Entry


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Intent:
    """A step that may be logged."""

    look: Look
    procedure: Procedure
    step: Step
    done: Entry | None
    """Its newest entry, where it was logged before."""
    missing: tuple[str, ...]
    before: Snapshot | None
    after: Snapshot | None
    """None while it is reckoned, or where it cannot be."""
    effect_problem: str
    recorded: str
    """The time that will be recorded, or why it will not do."""
    problem: str
    """Why it was not saved; empty where nothing was tried or it is being tried."""
    is_writing: bool
    scroll: int


def intent_lines(intent: Intent, width: int, height: int) -> list[Text]:
    """What there is to know before the key is pressed; the verdict of the last try stands at the bottom."""
    palette = intent.look.palette
    title = pane_title(
        intent.look, f"log this step?  {one_line(intent.procedure.name)}/{one_line(intent.step.id)}", width
    )
    foot = [line(fit(f"recorded time: {intent.recorded}", width, intent.look.glyphs.cut))]
    if intent.is_writing:
        foot.append(line(("writing, not saved yet", palette.strong)))
    elif intent.problem:
        foot += [
            padded(line(text, style=palette.fault), width)
            for text in wrap(f"! NOT SAVED: {intent.problem}", width)
        ]
    head = [title, *_words(intent, width)]
    effect = _effect(intent, width)
    room = max(0, height - len(head) - len(foot))
    first = min(intent.scroll, max(0, len(effect) - room))
    shown = effect[first : first + room]
    if len(effect) - first > room > 0:
        shown[-1] = line(f"{len(effect) - first - room + 1} more lines: page keys")
    return [*head, *shown, *foot][:height]


def _words(intent: Intent, width: int) -> list[Text]:
    step, palette = intent.step, intent.look.palette
    lines = [line((text, palette.strong)) for text in wrap(step.do, width)]
    if step.caution:
        texts = wrap(f"! CAUTION: {step.caution}", width - 2)
        lines += [padded(line(f" {text}", style=palette.old), width) for text in texts]
    if intent.missing:
        names = ", ".join(one_line(name) for name in intent.missing)
        texts = wrap(f"! needs first: {names}, not logged. Say why it is done now:", width - 2)
        lines += [padded(line(f" {text}", style=palette.old), width) for text in texts]
    if intent.done is not None:
        lines.append(line(f"logged before as #{intent.done.sequence}; this adds another entry"))
    lines += [line(text) for text in wrap(step.note, width) if text]
    return lines


def _effect(intent: Intent, width: int) -> list[Text]:
    """What it would change: loads and stores, the cabin where that gets worse, draw, every margin."""
    lines = [line(text) for text in wrap(f"sets {_sets(intent.step.action, intent.before)}", width)]
    if intent.effect_problem:
        return [*lines, *(line(text) for text in wrap(f"effect not known: {intent.effect_problem}", width))]
    if intent.before is None or intent.after is None:
        return [*lines, line("effect on draw and margins: reckoning ...")]
    lines += worse_lines(intent.look, intent.before, intent.after, width)
    lines += [line(text) for text in _draws(intent.before, intent.after)]
    if not intent.after.supplies:
        return lines + cabin_table(intent.look, intent.before, intent.after, width)
    name = min(12, max(6, *(cell_len(one_line(supply)) for supply in intent.after.supplies)))
    titles = f"{'low end now':>13} {'after':>13} {'gain':>8}   {'central':>7} {'after':>7}"
    lines.append(line(f"{fit('margin', name)} {titles}"))
    for supply in intent.after.supplies.values():
        lines.append(_margins(intent.look, intent.before.supplies.get(supply.name), supply, name))
    return lines + cabin_table(intent.look, intent.before, intent.after, width)


def _sets(action: Action, before: Snapshot | None) -> str:
    """What the step sets; what already is so, is said."""
    loads = {load.name: load.state.value for load in before.loads} if before is not None else {}
    stores = (
        {store.name: store.state.value for supply in before.supplies.values() for store in supply.stores}
        if before is not None
        else {}
    )
    parts = [f"level {one_line(action.level)}"] if action.level is not None else []
    parts += [_move(name, loads.get(name), state.value) for name, state in action.loads.items()]
    parts += [_move(name, stores.get(name), state.value) for name, state in action.stores.items()]
    parts += [f"an amount used from {one_line(name)}" for name in action.used_si]
    parts += [f"{one_line(name)} is left behind" for name in action.drops]
    parts += ["control is confirmed with the mass of now"] if action.confirms_control else []
    return ", ".join(parts) or "nothing: it is only logged"


def _move(name: str, old: str | None, new: str) -> str:
    if old == new:
        return f"{one_line(name)} {new} (is so already)"
    return f"{one_line(name)} {f'from {old} ' if old is not None else ''}to {new}"


def _draws(before: Snapshot, after: Snapshot) -> list[str]:
    """The expected change of draw of every electrical supply."""
    lines = []
    for name in dict.fromkeys(load.supply for load in after.loads if load.supply in after.supplies):
        unit = after.supplies[name].rate_unit
        old, new = (
            sum(load.draw_si_per_s for load in snapshot.loads if load.supply == name)
            for snapshot in (before, after)
        )
        change = figure_text(unit.from_si(new - old), 2, Rounding.NEAREST, signed=True)
        same = change in ("+0.00", "-0.00")
        said = "no change" if same else f"{rate_text(new, unit)} after ({change} {unit_text(unit)})"
        lines.append(f"draw on {one_line(name)}: {rate_text(old, unit)} now, {said}")
    return lines


def _margins(look: Look, before: SupplyStatus | None, after: SupplyStatus, name: int) -> Text:
    low_before, central_before = _ends(before)
    low_after, central_after = _ends(after)
    gain = ""
    if low_before is not None and low_after is not None:
        # To the nearest: the two were reckoned a moment apart, and that moment is no loss.
        gain = hours_figure(low_after - low_before, Rounding.NEAREST, signed=True)
        gain = "same" if gain in ("+0.0", "-0.0") else gain
    return line(
        f"{fit(after.name, name)} {_margin(low_before):>13} ",
        (f"{_margin(low_after):>13}", look.palette.strong),
        f" {gain:>8}   {_central(central_before):>7} {_central(central_after):>7}  ",
        (f"{BAND_SYMBOLS[after.band]} {BAND_WORDS[after.band]}", look.palette.grounds[after.band]),
    )


def _ends(supply: SupplyStatus | None) -> tuple[float | None, float | None]:
    if supply is None or supply.margin_s is None:
        return None, None
    return supply.margin_s.p05, supply.margin_s.p50


def _margin(seconds: float | None) -> str:
    """The figures stand under one another, the words before them."""
    if seconds is None:
        return margin_text(None)
    word, _, figure = margin_text(seconds).partition(" ")
    return f"{word} {figure:>7}"


def _central(seconds: float | None) -> str:
    return "?" if seconds is None else hours_figure(seconds, signed=True)


def recorded_text(happened_s: float | None, now_s: float, words: str) -> str:
    """The time that will be recorded, with how long ago that is."""
    if happened_s is None:
        return f"now, {words}"
    return f"{words}, {age_text(now_s - happened_s)} ago"
