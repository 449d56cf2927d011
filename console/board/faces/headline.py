"""The headline: what comes first, when, by how much that makes or misses need, with which interval.

The low end of the margin stands biggest. The ground takes the band's colour, except where the numbers are
old: then it stays plain and the words NOT CURRENT stand in front.
"""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from console.board.big_figures import big_figure
from console.board.cells import fit, line, one_line, padded
from console.board.faces.cabin_words import grace_sentence, limits_by_urgency
from console.board.faces.first import First, first_of
from console.board.faces.moments import not_current_text, unknown_reason
from console.board.look import BAND_SYMBOLS, BAND_WORDS
from console.board.view import View
from console.display import UNKNOWN, hours_figure
from console.engine.first_end import unknown_ends
from console.engine.reading import Quality
from console.engine.snapshot import Band, ClockState, Snapshot, Supposition

HEADLINE_ROWS = 5
_WIDE = 110
_LEAST_LEFT = 46


def headline_lines(view: View, width: int, height: int) -> list[Text]:
    """Five lines, or as many as there is room for."""
    snapshot = view.snapshot
    if snapshot is None:
        return [line(), line((" FIRST READING ...", view.look.palette.strong))]
    first = first_of(view)
    if first is None:
        return _without_end(view, snapshot, width)[:height]
    left = [
        _title(view, first),
        line(" ", (first.when, view.look.palette.strong)),
        line(f" {first.others}"),
        line(f" {first.margin}"),
        line(f" {unknown_text(snapshot) or first.last}"),
    ]
    ground = Style() if first.old else view.look.palette.grounds[first.band]
    # The figures in words must be read whole; the big one gives way to them.
    needed = max(_LEAST_LEFT, *(words.cell_len for words in left[1:4]))
    right = _figure_column(view, first, wide=width >= _WIDE)
    if right and width - len(right[0]) - 2 < needed:
        right = _figure_column(view, first, wide=False)
    if right and width - len(right[0]) - 2 < needed:
        right = []
    return _beside(view, left, right, width, ground)[:height]


def _beside(view: View, left: list[Text], right: list[str], width: int, ground: Style) -> list[Text]:
    """The words, and the big figure at the right edge."""
    room = width - (len(right[0]) + 1 if right else 0)
    lines = []
    for row, words in enumerate(left):
        # The title is worth more than the word over the big figure.
        has_figure = bool(right) and not (row == 0 and words.cell_len > room)
        space = room if has_figure else width
        if words.cell_len > space > 1:
            words.truncate(space - 1)
            words.append(view.look.glyphs.cut)
        whole = line(style=ground)
        whole.append_text(padded(words, space))
        if has_figure:
            whole.append(f"{right[row]} ", Style(bold=True))
        lines.append(whole)
    return lines


def _title(view: View, first: First) -> Text:
    palette = view.look.palette
    text = line(style=palette.strong)
    if first.old:
        text.append(f" {first.old} ", palette.old)
    mark = f" {BAND_SYMBOLS[first.band]} {BAND_WORDS[first.band]} "
    text.append(mark, palette.grounds[first.band] if first.old else Style())
    return text.append(f" {first.title}")


def unknown_text(snapshot: Snapshot) -> str:
    """What could come before what is named, as nobody knows."""
    names = ", ".join(one_line(name) for name in unknown_ends(snapshot))
    return f"? {UNKNOWN}, could be shorter: {names}" if names else ""


def _figure_column(view: View, first: First, *, wide: bool) -> list[str]:
    """The low end of the margin, three rows high between what it is and what it means."""
    margin = first.margin_s
    if margin is None or margin.p05 is None:
        return []
    figure = hours_figure(margin.p05, signed=True)
    rows = big_figure(figure, ascii_only=view.look.ascii_only, wide=wide)
    # A figure with its sign: the words beside it say what the sign means, and no second sign.
    meaning = f"h, {first.misses if margin.p05 < 0.0 else first.makes}"
    column = ["margin, low end", *rows, meaning]
    width = max(len(row) for row in column)
    return [row.rjust(width) for row in column]


def _without_end(view: View, snapshot: Snapshot, width: int) -> list[Text]:
    """Where nothing is known to come: either nothing is known, or no limit of the cabin comes at all."""
    palette, cut = view.look.palette, view.look.glyphs.cut
    old = not_current_text(view, Quality.GOOD, None)
    if is_only_held(snapshot):
        said = f"{BAND_SYMBOLS[Band.NOMINAL]} NO LIMIT OF THE CABIN IS REACHED UNDER THE PLAN"
        mark, style = f" {said} ", palette.strong
        graces = [(row.limit.name, grace_sentence(row)) for row in limits_by_urgency(snapshot)]
        reasons = [f"{name}: {grace}" for name, grace in graces if grace]
    else:
        mark, style = f" {BAND_SYMBOLS[None]} NO MARGIN IS KNOWN ", palette.grounds[None]
        why = {
            clock.limit.name: one_line(clock.why)
            for clock in snapshot.clocks
            if clock.supposition is Supposition.PLAN
        }
        why |= {name: unknown_reason(snapshot.supplies[name]) for name in snapshot.unknown}
        reasons = [f"{name}: {why.get(name, '')}" for name in unknown_ends(snapshot)]
    lines = [line((mark, style)) if not old else line((f" {old} ", palette.old), " ", (mark, style))]
    lines += [line(f" {fit(reason, width - 1, cut)}") for reason in reasons]
    return lines


def is_only_held(snapshot: Snapshot) -> bool:
    """Whether there are limits and no supplies, and none of the limits comes."""
    plans = [clock for clock in snapshot.clocks if clock.supposition is Supposition.PLAN]
    return bool(plans) and not snapshot.supplies and all(clock.state is ClockState.HELD for clock in plans)
