"""One way home before it is committed to: what that does, what it changes, what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import fit, line, one_line, padded, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.faces.way_words import delta_v_cell, is_overdue
from console.board.faces.ways import margin_pair, way_of, way_sentences
from console.board.look import Look
from console.display import UNKNOWN, amount_text, elapsed_text, hours_figure, probability_text
from console.engine.options import Options, WayHome
from console.engine.snapshot import Band, Interval


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Commitment:
    """A way home that may be committed to."""

    look: Look
    options: Options
    standing: Standing
    chosen: str
    now_s: float
    can_commit: bool
    """Whether anything can be logged here, and is not logged yet."""
    read_only: bool
    recorded: str
    """The time that will be recorded, or why it will not do."""
    operator: str
    problem: str
    """Why it was not saved."""
    is_writing: bool
    scroll: int


def commitment_lines(state: Commitment, width: int, height: int) -> list[Text]:
    """What there is to know before the key is pressed; the verdict of the last try stands at the bottom."""
    way = way_of(state.options, state.chosen)
    if way is None:
        return [pane_title(state.look, "this way home is no longer in the plan", width)]
    name = one_line(way.option.name)
    title = f"commit to {name}?" if state.can_commit else name
    head = [pane_title(state.look, title, width, standing_note(state.standing))]
    head += standing_lines(state.look, state.standing, state.options.snapshot, width)
    head += _against(state, way, width)
    head += [line(text, style=None) for sentence in _does(state, way) for text in wrap(sentence, width)]
    foot = _foot(state, width)
    body = [*_table(state, way, width)]
    for sentence in way_sentences(state.options, way, state.now_s):
        body += [line(text) for text in wrap(sentence, width)]
    room = max(0, height - len(head) - len(foot))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*head, *shown, *foot][:height]


def _does(state: Commitment, way: WayHome) -> list[str]:
    """What committing does, in words; nothing is undone by it, and it can be changed."""
    need, name = state.options.snapshot.need, one_line(way.option.name)
    if way.is_committed and need.decided_at_s is not None:
        by = f" by {one_line(need.decided_by)}" if need.decided_by else ""
        return [f"{name} is committed to since {elapsed_text(need.decided_at_s)}{by}; it stands in the log."]
    if state.read_only:
        return ["This board only shows: nothing can be committed to from here."]
    operator = f" under {one_line(state.operator)}" if state.operator else ""
    changed = f"It is logged{operator} and stays in the log; another commitment later takes its place."
    if way.is_committed:
        return [f"{name} is in force by the plan alone: this logs the decision, no figure changes.", changed]
    return [
        f"Its phases and events replace those of {one_line(need.option)}: need "
        f"{elapsed_text(way.option.need_s)} instead of {elapsed_text(need.at_s)}, and every margin as below.",
        changed,
    ]


def _against(state: Commitment, way: WayHome, width: int) -> list[Text]:
    """What must be read before: closed, overdue, short."""
    words = []
    found = way.open_until
    if is_overdue(way, state.options.snapshot.need, state.now_s):
        words.append("its decide-by is over")
    if found is not None and not found.zero_low.is_open(state.now_s):
        still = " (open in the central case)" if found.zero_central.is_open(state.now_s) else ""
        words.append(f"CLOSED by the low end{still}")
    short = [
        f"{one_line(name)} {hours_figure(one.margin_s.p05, signed=True)} h"
        for name, one in way.supplies.items()
        if one.margin_s is not None and one.margin_s.p05 is not None and one.margin_s.p05 < 0.0
    ]
    if short:
        words.append(f"SHORT by the low end: {', '.join(short)}")
    delta_v, is_short = delta_v_cell(way, state.options.snapshot.shown_in)
    if is_short:
        words.append(f"delta-v {delta_v}")
    if way.unknown:
        words.append(f"not known: {', '.join(one_line(name) for name in way.unknown)}")
    return caution_lines(state.look, f"CAUTION: {'; '.join(words)}", width) if words else []


def _table(state: Commitment, way: WayHome, width: int) -> list[Text]:
    """Every supply on this way and on the committed one."""
    present = next((each for each in state.options.ways if each.is_committed), None)
    palette = state.look.palette
    compares = present is not None and present is not way
    now = f" {fit(one_line(present.option.name), 15, state.look.glyphs.cut)}" if compares and present else ""
    head = f"{fit('low/central <least', 19)}{fit('this way', 15)}{now} {'lasts':>9} {'left, low end':>16}"
    lines = [line((fit(head, width), palette.title))]
    for name, one in way.supplies.items():
        margin = one.margin_s
        is_short = margin is not None and margin.p05 is not None and margin.p05 < 0.0
        marks = f" {'<' if way.shortest == name else ' '}{'SHORT' if is_short else ''}"
        text = line(
            fit(f"{fit(name, 11, state.look.glyphs.cut)}{marks}", 19),
            (fit(margin_pair(margin), 15), palette.grounds[Band.WARNING] if is_short else palette.strong),
        )
        if compares and present is not None:
            text.append(f" {fit(margin_pair(_margin_of(present, name)), 15)}")
        left = one.left_at_need_si
        low = UNKNOWN if left is None else amount_text(left.p05, one.supply.unit, signed=True)
        text.append(f" {probability_text(one.lasts_probability):>9} {low:>16}")
        lines.append(text)
    return lines


def _margin_of(way: WayHome, name: str) -> Interval | None:
    one = way.supplies.get(name)
    return None if one is None else one.margin_s


def _foot(state: Commitment, width: int) -> list[Text]:
    if not state.can_commit:
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
