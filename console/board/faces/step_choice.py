"""The list of procedures and their steps: which are logged, when, by whom, what each needs first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.faces.pane_title import pane_title
from console.board.look import Look
from console.craft.model import Level
from console.craft.procedures import Action, Procedure, Step
from console.display import time_of_day_text
from console.engine.snapshot import Snapshot
from console.record.entry import Entry
from console.record.steps import StepKey


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Choice:
    """Which step is in hand."""

    look: Look
    procedures: tuple[Procedure, ...]
    done: Mapping[StepKey, Entry]
    so: frozenset[StepKey]
    """The steps that would change nothing: all they set stands so already."""
    chosen: StepKey | None


def is_so(action: Action, snapshot: Snapshot, levels: Mapping[str, Level]) -> bool:
    """Whether all that a step would set stands so already; one that sets nothing is never so."""
    if action.used_si or action.drops or action.confirms_control:
        return False
    wanted = dict(action.loads)
    if action.level is not None:
        if action.level not in levels:
            return False
        wanted = {**levels[action.level].states, **wanted}
    loads = {load.name: load.state for load in snapshot.loads}
    stores = {store.name: store.state for supply in snapshot.supplies.values() for store in supply.stores}
    return bool(wanted or action.stores) and (
        all(loads.get(name) is state for name, state in wanted.items())
        and all(stores.get(name) is state for name, state in action.stores.items())
    )


def choice_lines(choice: Choice, width: int, height: int) -> list[Text]:
    """The list, moved so that the step in hand is seen."""
    title = pane_title(choice.look, "log a step: which?", width)
    if not choice.procedures:
        return [title, line("this scenario has no procedures")]
    lines: list[Text] = []
    at = 0
    for procedure in choice.procedures:
        lines.append(
            line((one_line(procedure.name), choice.look.palette.title), f"  {one_line(procedure.title)}")
        )
        for step in procedure.steps:
            if (procedure.name, step.id) == choice.chosen:
                at = len(lines)
            lines.append(_step_line(choice, procedure, step, width))
    room = max(1, height - 1)
    first = max(0, min(at - room // 2, len(lines) - room))
    return [title, *lines[first : first + room]]


def _step_line(choice: Choice, procedure: Procedure, step: Step, width: int) -> Text:
    palette, cut = choice.look.palette, choice.look.glyphs.cut
    chosen = (procedure.name, step.id) == choice.chosen
    entry = choice.done.get((procedure.name, step.id))
    mark = "done" if entry is not None else "is so" if (procedure.name, step.id) in choice.so else ""
    tail = _tail(choice, procedure, step, entry)
    head = f"{'>' if chosen else ' '} {mark:<5} {fit(step.id, 4, cut)} "
    room = max(8, width - len(head) - min(len(tail), width // 2) - 1)
    text = line(head, (fit(step.do, room, cut), palette.selected if chosen else palette.plain), " ")
    text.append(fit(tail, max(0, width - text.cell_len), cut))
    return text


def _tail(choice: Choice, procedure: Procedure, step: Step, entry: Entry | None) -> str:
    if entry is not None:
        who = f" by {one_line(entry.operator)}" if entry.operator else ""
        return f"{time_of_day_text(entry.happened_at)[:5]} UTC{who} (#{entry.sequence})"
    missing = [one_line(name) for name in step.requires if (procedure.name, name) not in choice.done]
    notes = [f"first {', '.join(missing)}"] if missing else []
    return "; ".join([*notes, "! caution"] if step.caution else notes)
