"""Single failures, those that the plan does not survive first; the one in hand with what would save it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import choosable, fit, line, one_line, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.faces.ways import margin_pair
from console.board.look import Look
from console.craft.model import Supply
from console.display import UNKNOWN, Rounding, hours_figure, margin_text, rate_text
from console.engine.loss import Loss, Losses, LossKind, low_s
from console.engine.remedy import Remedy, RemedyKind
from console.engine.snapshot import Band, Interval

_VERDICT = 23
_PAIR = 15


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LossState:
    """What is shown of single losses."""

    look: Look
    losses: Losses | None
    standing: Standing
    chosen: str
    """Key of the loss in hand; empty: the first."""
    scroll: int


def key_of(loss: Loss) -> str:
    """What names a loss: two kinds may share a name."""
    return f"{loss.lost.kind.value} {loss.lost.name}"


def ordered(losses: Losses) -> list[Loss]:
    """Those that end the plan first, the worst of them first; then by what is left of what they touch."""
    return sorted(
        losses.losses, key=lambda loss: (not loss.ends_plan, not loss.ends_plan_central, _least_s(loss))
    )


def _least_s(loss: Loss) -> float:
    names = loss.short or (loss.lost.supply,)
    margins = (loss.margins.margins_s.get(name) for name in names)
    return min((low_s(margin) for margin in margins if margin is not None), default=float("inf"))


def losses_lines(state: LossState, width: int, height: int) -> list[Text]:
    """Verdict, list, and the loss in hand."""
    title = pane_title(state.look, "single losses", width, standing_note(state.standing))
    losses = state.losses
    if losses is None:
        return [title, *standing_lines(state.look, state.standing, None, width)][:height]
    head = [
        title,
        *standing_lines(state.look, state.standing, losses.snapshot, width),
        *_verdict(state, losses, width),
    ]
    listed = ordered(losses)
    if not listed:
        return [*head, line("nothing that counts can be lost")][:height]
    at = next((index for index, loss in enumerate(listed) if key_of(loss) == state.chosen), 0)
    detail = _detail(state, losses, listed[at], width)
    room = max(2, height - len(head) - 1)
    below = min(len(detail), max(3, room // 2))
    rows = min(len(listed), room - below)
    below = room - rows
    first = max(0, min(at - rows // 2, len(listed) - rows))
    name = min(20, max(8, *(cell_len(_name(loss)) for loss in listed)))
    supplies = _columns(losses, width - name - _VERDICT - 4)
    out_of_sight = ((first, "above"), (len(listed) - first - rows, "below"))
    hidden = [f"{count} {where}" for count, where in out_of_sight if count]
    notes = ", ".join([*hidden, standing_note(state.standing)])
    head[0] = pane_title(state.look, "single losses", width, notes)
    lines = [*head, _header(supplies, name, state.look)]
    lines += [
        _row(state, loss, index == at, name, supplies, width)
        for index, loss in enumerate(listed[first : first + rows], first)
    ]
    start = min(state.scroll, max(0, len(detail) - below))
    lines += detail[start : start + below]
    if len(detail) - start > below > 0:
        lines[-1] = line(f"{len(detail) - start - below + 1} more lines: page keys")
    return lines[:height]


def _columns(losses: Losses, room: int) -> tuple[str, ...]:
    """The supplies that have a column of their own: all, or none where there is no room for all."""
    names = tuple(losses.supplies)
    return names if len(names) * (_PAIR + 1) <= room else ()


def _verdict(state: LossState, losses: Losses, width: int) -> list[Text]:
    look, before = state.look, losses.without_loss
    short = [
        f"{one_line(name)} {margin_text(margin.p05)}"
        for name, margin in before.margins_s.items()
        if margin is not None and margin.p05 is not None and margin.p05 < 0.0
    ]
    short += ["too little delta-v"] if before.lacks_delta_v else []
    lines = (
        caution_lines(look, f"WITH NOTHING LOST, by the low end: {'; '.join(short)}", width) if short else []
    )
    fatal = [loss for loss in losses.losses if loss.ends_plan]
    central = sum(loss.ends_plan_central for loss in fatal)
    option = one_line(losses.snapshot.need.option)
    words = (
        f"{option}: {len(fatal)} of {len(losses.losses)} single losses NOT SURVIVED by the low end, "
        f"{central} of them not even in the central case"
        if fatal
        else f"{option}: no single loss tried here ends the plan"
    )
    if before.unknown:
        words += f"; not known: {', '.join(one_line(name) for name in before.unknown)}"
    return lines + [line((text, look.palette.strong)) for text in wrap(words, width)]


def _header(supplies: tuple[str, ...], name: int, look: Look) -> Text:
    columns = " ".join(fit(supply, _PAIR, look.glyphs.cut) for supply in supplies)
    head = f"  {fit('lost', name)} {fit('the plan', _VERDICT)} {columns or 'margin h, low / central'}"
    return line((head, look.palette.title))


def _row(
    state: LossState, loss: Loss, is_chosen: bool, name: int, supplies: tuple[str, ...], width: int
) -> Text:
    palette, cut, key = state.look.palette, state.look.glyphs.cut, key_of(loss)
    words, band = _said(loss)
    text = line(
        ">" if is_chosen else " ",
        " ",
        (fit(_name(loss), name, cut), choosable(palette.selected if is_chosen else palette.strong, key)),
        " ",
        (words, choosable(palette.grounds[band], key)),
        " " * max(1, _VERDICT + 1 - len(words)),
    )
    if supplies:
        for supply in supplies:
            margin = loss.margins.margins_s.get(supply)
            style = palette.strong if supply in loss.short else palette.plain
            text.append(f"{fit(margin_pair(margin), _PAIR)} ", choosable(style, key))
        return text
    names = loss.short or (loss.lost.supply,)
    cells = ", ".join(f"{one_line(each)} {_both(loss.margins.margins_s.get(each))}" for each in names)
    if loss.takes_delta_v:
        cells += ", delta-v"
    text.append(fit(cells, max(0, width - text.cell_len), cut), choosable(palette.plain, key))
    return text


def _said(loss: Loss) -> tuple[str, Band | None]:
    """The verdict in words with its symbol, and the ground for it."""
    if loss.ends_plan_central:
        return "X NOT SURVIVED", Band.WARNING
    if loss.ends_plan:
        return "! NOT SURVIVED, low end", Band.CAUTION
    if loss.margins.is_survived_low is None:
        return "? not known", None
    if loss.margins.is_survived_low:
        return ". survived", Band.NOMINAL
    return ". no shorter by it", Band.NOMINAL


def _both(margin: Interval | None) -> str:
    if margin is None:
        return UNKNOWN
    return " / ".join(
        "no end" if end is None else hours_figure(end, signed=True) for end in (margin.p05, margin.p50)
    )


def _name(loss: Loss) -> str:
    name = one_line(loss.lost.name)
    return name if loss.lost.kind is LossKind.STORE else f"{loss.lost.kind.value} {name}"


def _detail(state: LossState, losses: Losses, loss: Loss, width: int) -> list[Text]:
    """What it does to every supply it makes short, and each remedy by itself."""
    lost = loss.lost
    what = f" ({one_line(lost.title)})" if lost.title else ""
    lines = [line((f"if {_name(loss)} is lost{what}", state.look.palette.title))]
    sentences = []
    if lost.kind is not LossKind.STORE:
        stores = ", ".join(one_line(store) for store in lost.stores)
        sentences.append(
            f"with it {stores}" if stores else "every store of it that counts has another line too"
        )
    sentences += [f"{one_line(name)}: {_ends(loss.margins.margins_s.get(name))}" for name in loss.short]
    if loss.takes_delta_v:
        sentences.append("the way home then needs more delta-v than is left")
    if not loss.ends_plan:
        sentences.append(f"{one_line(lost.supply)}: {_ends(loss.margins.margins_s.get(lost.supply))}")
    else:
        reaching = [remedy for remedy in loss.remedies if remedy.kind is not RemedyKind.LESS_DRAW]
        sentences += [_remedy(losses.supplies, remedy) for remedy in loss.remedies]
        if not reaching:
            sentences.append("no store to open, other way home or lower level saves it by itself")
    for one in losses.not_counted:
        if one.supply == lost.supply:
            sentences.append(f"not tried: {one_line(one.store)}: {one.why}")
    return lines + [line("  ", text) for words in sentences for text in wrap(words, max(1, width - 2))]


def _ends(margin: Interval | None) -> str:
    if margin is None:
        return UNKNOWN
    low, central = (
        "does not run out" if end is None else margin_text(end) for end in (margin.p05, margin.p50)
    )
    return f"low end {low}, central {central}"


def _remedy(supplies: Mapping[str, Supply], remedy: Remedy) -> str:
    name = one_line(remedy.name)
    if remedy.kind is RemedyKind.LESS_DRAW:
        unit = supplies[remedy.name].rate_unit
        if remedy.allowed_si_per_s is not None and remedy.allowed_si_per_s <= 0.0:
            return f"{name}: not even with nothing drawn in the free phases"
        less = rate_text(remedy.less_si_per_s, unit)
        allowed = rate_text(remedy.allowed_si_per_s, unit, Rounding.DOWN)
        return f"would save it: {name} {less} less than planned in the free phases, at most {allowed}"
    done = {
        RemedyKind.OPEN_STORE: f"open {name} now",
        RemedyKind.OPTION: f"take {name} now",
        RemedyKind.LEVEL: f"level {name} from now on in the free phases",
    }[remedy.kind]
    low = None if remedy.margin_s is None else remedy.margin_s.p05
    reaches = "does not run out" if low is None else f"{margin_text(low)} by the low end"
    return f"would save it: {done}: {one_line(remedy.shortest or '')} {reaches}"
