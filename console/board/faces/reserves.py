"""What is set aside and for what: reserves, part of which may be released, and protected stores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rich.text import Text

from console.board.cells import choosable, fit, line, one_line, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import caution_lines
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.craft.model import StoreState
from console.display import UNKNOWN, amount_text, elapsed_text, hours_figure
from console.engine.snapshot import Snapshot, SupplyStatus
from console.record.entry import Entry, EntryKind
from console.record.steps import withdrawn_sequences

NO_NOTE = "the files do not say for what"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Reserves:
    """What is shown of them."""

    look: Look
    snapshot: Snapshot | None
    entries: tuple[Entry, ...]
    """Those of the log, for who released what."""
    chosen: str
    not_current: str
    """Why the figures are not those of now; empty where they are."""
    read_only: bool
    scroll: int


def reserved(snapshot: Snapshot | None) -> tuple[SupplyStatus, ...]:
    """The supplies that have a reserve, or had one before it was released."""
    supplies = () if snapshot is None else tuple(snapshot.supplies.values())
    return tuple(each for each in supplies if each.reserve_si > 0.0 or each.released_si > 0.0)


def reserves_lines(state: Reserves, width: int, height: int) -> list[Text]:
    """Each reserve with what it is for; below them what is protected."""
    lines = [pane_title(state.look, "reserves, and what each is for", width)]
    if state.not_current:
        lines += caution_lines(state.look, state.not_current, width)
    snapshot = state.snapshot
    if snapshot is None:
        return [*lines, line("no figures yet")][:height]
    body: list[Text] = []
    found = reserved(snapshot)
    if found:
        head = (
            f" {fit('reserve of', 14)} {'left':>12} {'released':>12} {'usable':>12} {'margin, low':>11}  band"
        )
        body.append(line((fit(head, width, state.look.glyphs.cut), state.look.palette.title)))
    else:
        body.append(line("no supply has a reserve"))
    for supply in found:
        body += _reserve(state, supply, width)
    body += _protected(state, snapshot, width)
    body += [line(text) for text in wrap(_how(state), width)]
    room = max(0, height - len(lines))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*lines, *shown][:height]


def _reserve(state: Reserves, supply: SupplyStatus, width: int) -> list[Text]:
    palette, is_chosen = state.look.palette, supply.name == state.chosen
    low = None if supply.margin_s is None else supply.margin_s.p05
    margin = (
        UNKNOWN if supply.margin_s is None else "no end" if low is None else hours_figure(low, signed=True)
    )
    name = choosable(palette.selected if is_chosen else palette.strong, supply.name)
    text = line(
        ">" if is_chosen else " ",
        (fit(supply.name, 14, state.look.glyphs.cut), name),
        f" {amount_text(supply.reserve_si, supply.unit):>12} {_released(supply):>12}"
        f" {amount_text(supply.usable_si, supply.unit):>12} {margin:>11}  ",
        (f"{BAND_SYMBOLS[supply.band]} {BAND_WORDS[supply.band]}", palette.grounds[supply.band]),
    )
    said = [f"for: {one_line(supply.reserve_note) or NO_NOTE}", *released_words(supply, state.entries)]
    return [text, *(line(f"   {part}") for words in said for part in wrap(words, max(1, width - 3)))]


def released_words(supply: SupplyStatus, entries: tuple[Entry, ...]) -> list[str]:
    """By which entries part of it was released, and how a wrong one is undone; not those withdrawn."""
    gone = withdrawn_sequences(entries)
    said = []
    for entry in entries:
        amount = _amounts(entry).get(supply.name)
        if isinstance(amount, int | float) and entry.sequence not in gone:
            why = one_line(str(entry.body.get("reason", "")))
            said.append(
                f"#{entry.sequence} {elapsed_text(entry.elapsed_s)} {one_line(entry.operator)} released "
                f"{amount_text(amount, supply.unit)}: {why}; if wrong: "
                f"endurance log correct {entry.sequence} --withdraw --note WHY"
            )
    return said


def _amounts(entry: Entry) -> Mapping[str, object]:
    found = entry.body.get("reserves_si")
    return found if entry.kind is EntryKind.STEP and isinstance(found, Mapping) else {}


def _released(supply: SupplyStatus) -> str:
    return amount_text(supply.released_si, supply.unit) if supply.released_si > 0.0 else "nothing"


def _protected(state: Reserves, snapshot: Snapshot, width: int) -> list[Text]:
    """Stores that no release opens."""
    lines: list[Text] = []
    for supply in snapshot.supplies.values():
        for store in supply.stores:
            if store.state is StoreState.PROTECTED:
                held = amount_text(store.on_board_si, supply.unit)
                note = one_line(store.note) or NO_NOTE
                said = f"{one_line(store.name)}, {held} of {one_line(supply.name)}: {note}"
                lines += [line(f" {words}") for words in wrap(said, max(1, width - 1))]
    if not lines:
        return []
    title = "protected: in no margin, and not released here"
    return [line((fit(title, width, state.look.glyphs.cut), state.look.palette.title)), *lines]


def _how(state: Reserves) -> str:
    if state.read_only:
        return "This board only shows: nothing can be released from here."
    return "Releasing is a decision that is logged with its reason; from then on the amount counts as usable."
