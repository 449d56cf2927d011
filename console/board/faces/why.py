"""Why a figure is what it is: its equation, its numbers, every input and its source. Reckons nothing."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import choosable, clipped, fit, line, one_line, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, standing_lines, standing_note
from console.board.look import Look
from console.display import age_text, elapsed_text
from console.engine.explain.explanation import (
    AssumptionSource,
    ConfigSource,
    CountSource,
    DrawSource,
    Explanation,
    FigureSource,
    Input,
    PublishedSource,
    ReadingSource,
    Source,
    StepSource,
    arguments_of,
)
from console.engine.explain.expression import Symbol, parse, substituted, value_of
from console.engine.reading import Quality
from console.engine.snapshot import Snapshot

_CHOOSER = 30


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Why:
    """What is shown of the reasons."""

    look: Look
    subject: str
    """The supply, or what else the figures are of."""
    figures: tuple[tuple[str, Explanation], ...]
    """The figures that can be chosen, by their words; empty before there is an answer."""
    at: int
    trail: tuple[Explanation, ...]
    """From the chosen figure down to the one in hand; empty while one is being chosen."""
    inputs_at: int
    """Which input of the one in hand is in hand."""
    is_waiting: bool
    """Whether a figure behind this one is being looked up."""
    snapshot: Snapshot | None
    standing: Standing
    scroll: int


def why_lines(state: Why, width: int, height: int) -> list[Text]:
    """The chooser beside the figure it is on, or one figure behind it."""
    if state.trail:
        return _inside(state, width, height)
    title = pane_title(state.look, f"why: {one_line(state.subject)}", width, standing_note(state.standing))
    head = [title, *standing_lines(state.look, state.standing, state.snapshot, width)]
    if not state.figures:
        return head[:height]
    room = max(1, height - len(head))
    left = _chooser(state, room)
    right = explanation_lines(state.look, state.figures[state.at][1], max(1, width - _CHOOSER - 2), None)
    right = _windowed(right, state.scroll, room)
    lines = []
    for row in range(min(room, max(len(left), len(right)))):
        text = left[row] if row < len(left) else line(" " * _CHOOSER)
        text.append("  ")
        if row < len(right):
            text.append_text(right[row])
        lines.append(text)
    return [*head, *lines]


def _chooser(state: Why, room: int) -> list[Text]:
    palette, cut = state.look.palette, state.look.glyphs.cut
    first = max(0, min(state.at - room // 2, len(state.figures) - room))
    lines = []
    for index in range(first, min(first + room, len(state.figures))):
        words, one = state.figures[index]
        value = value_text(one)
        room_left = max(4, _CHOOSER - 2 - cell_len(value))
        text = line(">" if index == state.at else " ")
        style = palette.selected if index == state.at else palette.strong
        text.append(fit(words, room_left, cut), choosable(style, str(index)))
        text.append(f" {value}", choosable(palette.plain, str(index)))
        lines.append(line(fit("", 0)) + text if text.cell_len >= _CHOOSER else _to(text, _CHOOSER))
    return lines


def _to(text: Text, width: int) -> Text:
    text.append(" " * (width - text.cell_len))
    return text


def _inside(state: Why, width: int, height: int) -> list[Text]:
    one = state.trail[-1]
    cut = state.look.glyphs.cut
    steps = " > ".join(clipped(each.path, 30, cut) for each in state.trail[-3:])
    dots = f"{cut} > " if len(state.trail) > 3 else ""
    title = pane_title(state.look, clipped(f"why: {dots}{steps}", max(1, width - 6), cut), width)
    note = standing_note(state.standing)
    if state.is_waiting:
        note = "looking it up ..."
    head = [title, line(f"level {len(state.trail)}; {note}")]
    head += standing_lines(state.look, state.standing, None, width)
    body = explanation_lines(state.look, one, width, state.inputs_at)
    room = max(1, height - len(head))
    marked = next((index for index, text in enumerate(body) if text.plain.startswith(">")), 0)
    first = max(0, min(marked - room // 2, len(body) - room)) if marked >= room - 2 else 0
    return [*head, *_windowed(body, first + state.scroll, room)][:height]


def _windowed(lines: list[Text], first: int, room: int) -> list[Text]:
    first = min(first, max(0, len(lines) - room))
    shown = lines[first : first + room]
    if len(lines) - first > room > 1:
        shown[-1] = line(f"{len(lines) - first - room + 1} more lines: page keys")
    return shown


def explanation_lines(look: Look, one: Explanation, width: int, at: int | None) -> list[Text]:
    """One figure; with an input in hand, that one is marked.

    Args:
        look: how the board looks.
        one: the figure.
        width: columns.
        at: which input is in hand; None for none.
    """
    strong = look.palette.strong
    lines = [line((text, strong)) for text in wrap(f"{one.path} = {value_text(one)}", width)]
    lines += [line(text) for text in wrap(one.title, width)]
    for equation in _equations(one):
        lines += [line("  ", (text, strong)) for text in wrap(f"= {equation}", max(1, width - 2))]
    for index, each in enumerate(one.inputs):
        lines += _input(look, each, width, is_chosen=index == at, index=index)
    for remark in one.remarks:
        lines += [line(text) for text in wrap(f"note: {remark}", width)]
    return lines


def _equations(one: Explanation) -> list[str]:
    """The equation, and the same with its numbers where that says more."""
    if one.value is None or not one.equation:
        return []
    values = {each.symbol: each.value for each in one.inputs}
    tree = parse(one.equation)
    if isinstance(tree, Symbol) or not values:
        return [one.equation]
    filled = substituted(
        tree, lambda name: _number(values[name]), lambda part: _number(value_of(part, values))
    )
    return [one.equation] if filled == value_text(one) else [one.equation, filled]


def _input(look: Look, one: Input, width: int, *, is_chosen: bool, index: int) -> list[Text]:
    palette = look.palette
    style = choosable(palette.selected if is_chosen else palette.plain, str(index))
    goes_on = " >>" if behind(one.source) is not None else ""
    words = f"{one.symbol} = {with_unit(one.value, one.unit)}{goes_on}  {one.name}"
    head, *rest = wrap(words, max(1, width - 2))
    lines = [line("> " if is_chosen else "  ", (head, style))]
    lines += [line("    ", text) for text in rest]
    is_bad = isinstance(one.source, ReadingSource) and one.source.quality is not Quality.GOOD
    for text in wrap(source_text(one.source), max(1, width - 6)):
        lines.append(line("      ", (text, palette.old if is_bad else palette.plain)))
    for argument in arguments_of(one.source):
        said = f"{argument.symbol} = {with_unit(argument.value, argument.unit)}  {argument.name}: "
        lines += [
            line("        ", text)
            for text in wrap(f"{said}{source_text(argument.source)}", max(1, width - 8))
        ]
    return lines


def behind(source: Source) -> str | None:
    """The path of the figure behind an input; None where it goes no deeper."""
    if isinstance(source, FigureSource):
        return source.path
    return f"{source.path}.sample-1" if isinstance(source, CountSource) else None


def source_text(source: Source) -> str:
    """Where an input comes from, in words."""
    match source:
        case FigureSource():
            return f"figure {source.path}"
        case ReadingSource():
            why = f": {source.why}" if source.why else ""
            why += f"; {source.stands_in}" if source.stands_in else ""
            return f"reading of {source.channel}, {age_text(source.age_s)} old, {source.quality.value}{why}"
        case ConfigSource():
            return f"{source.file}{'' if source.line is None else f' line {source.line}'}: {source.key}"
        case StepSource():
            entry = "" if source.sequence is None else f", log entry #{source.sequence}"
            return f"logged step {source.label}, {elapsed_text(source.at_s)}{entry}"
        case PublishedSource():
            return f"published: {source.reference}"
        case AssumptionSource():
            return f"assumed: {source.text}"
        case DrawSource():
            return f"draw {source.number} of {source.count}, seed {source.seed}"
        case CountSource():
            return f"counted: of {source.count} samples of {source.path}, those that are {source.which}"
        case _:
            return f"found: {source.how}"


def value_text(one: Explanation) -> str:
    """A figure with its unit; in words where there is none."""
    return "no value" if one.value is None else with_unit(one.value, one.unit)


def with_unit(value: float, unit: str) -> str:
    """A number that can be followed by hand, and its unit."""
    return _number(value) if unit == "1" else f"{_number(value)} {unit.replace('*', '·')}"


def _number(value: float) -> str:
    return f"{value:.6g}"
