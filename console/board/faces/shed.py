"""What to switch off next for a margin: which loads, in which order, what each buys; advice alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from console.board.cells import fit, line, one_line, wrap
from console.board.faces.pane_title import pane_title
from console.board.faces.standing import Standing, caution_lines, standing_lines, standing_note
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.craft.model import Load
from console.display import UNKNOWN, Rounding, hours_figure, hours_text, rate_text, span_text
from console.engine.allowance_profile import AllowanceProfile
from console.engine.difference import SupplyChange
from console.engine.shed import Buys
from console.engine.shed_advice import Running, ShedAdvice
from console.engine.snapshot import Band, Interval, Snapshot

_SAME_S = 1.0
ADVICE_ONLY = "advice only: nothing is switched or logged by asking; log each step as it is taken"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Answer:
    """What the engine said."""

    asked: tuple[str, str]
    """The fields as they were when it was asked."""
    advice: ShedAdvice
    allowances: Mapping[str, AllowanceProfile]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShedState:
    """What is shown of it."""

    look: Look
    answer: Answer | None
    standing: Standing
    problem: str
    """What is wrong with a field."""
    is_other: bool
    """Whether the fields ask for something else than was answered."""
    scroll: int


def shed_lines(state: ShedState, width: int, height: int) -> list[Text]:
    """The whole answer; what does not fit is reached with the page keys."""
    lines = [pane_title(state.look, "what to switch off next", width, standing_note(state.standing))]
    if state.problem:
        lines += caution_lines(state.look, state.problem, width)
    answer = state.answer
    snapshot = None if answer is None else answer.advice.compared.before
    lines += standing_lines(state.look, state.standing, snapshot, width)
    if state.is_other and answer is not None:
        lines += caution_lines(
            state.look, f"enter asks anew; below: margin {answer.asked[0]}, as it was asked before", width
        )
    if answer is None:
        return lines[:height]
    body = _body(state.look, answer, width)
    room = max(0, height - len(lines))
    first = min(state.scroll, max(0, len(body) - room))
    shown = body[first : first + room]
    if len(body) - first > room > 0:
        shown[-1] = line(f"{len(body) - first - room + 1} more lines: page keys")
    return [*lines, *shown][:height]


def _body(look: Look, answer: Answer, width: int) -> list[Text]:
    advice, snapshot = answer.advice, answer.advice.compared.before
    chosen = {each.load.name for each in advice.shed.loads}
    others = [each for each in advice.shed.may_go if each.load.name not in chosen]
    return [
        *_verdict(look, advice, width),
        *_loads(look, snapshot, advice, advice.shed.loads, "switch off, in this order", width),
        *_margins(look, advice),
        *_warnings(look, advice, width),
        *_loads(look, snapshot, advice, others, "what else may go", width),
        *_text(_stays(advice), width),
        *_text(_running(advice), width),
        *_allowances(look, answer, width),
        *_text([ADVICE_ONLY], width),
    ]


def _text(sentences: Sequence[str], width: int) -> list[Text]:
    return [line(text) for words in sentences for text in wrap(words, width)]


def _verdict(look: Look, advice: ShedAdvice, width: int) -> list[Text]:
    """In a sentence: how many have to go, or that it is not reached, and by what."""
    found = advice.shed
    end = "low end" if found.by_low_end else "central"
    goal = f"margin {hours_figure(found.goal_s, Rounding.UP, signed=True)} h, {end}"
    count = f"{len(found.loads)} load{'s' if len(found.loads) != 1 else ''}"
    lines: list[Text] = []
    if found.has_goal_already:
        words = f"{goal}: every supply has it already, nothing has to go"
        lines += [line((text, look.palette.strong)) for text in wrap(words, width)]
    elif found.is_enough:
        words = f"{goal}: reached with {count} off"
        lines += [line((text, look.palette.strong)) for text in wrap(words, width)]
    else:
        short = ", ".join(one_line(name) for name in found.short)
        lines += caution_lines(look, f"{goal}: NOT REACHED by {short}", width)
        others = [one_line(name) for name in found.short if name not in found.beyond_loads]
        if found.beyond_loads:
            names = ", ".join(one_line(name) for name in found.beyond_loads)
            lines += _text([f"no load can help {names}: look for another measure"], width)
        if others:
            lines += _text(
                [f"{', '.join(others)}: not even with all that may go off; the list is the most"], width
            )
    if unknown := [one_line(name) for name, margin in found.before_s.items() if margin is None]:
        lines += _text([f"not known, and not reckoned with: {', '.join(unknown)}"], width)
    return lines


def _loads(
    look: Look, snapshot: Snapshot, advice: ShedAdvice, loads: Sequence[Buys], title: str, width: int
) -> list[Text]:
    """Each with what it draws and the hours of margin that switching it off alone buys on each supply."""
    if not loads:
        return []
    helped = [
        name
        for name in advice.shed.before_s
        if any(_is_felt(each.margin_gained_s[name]) for each in advice.shed.may_go)
    ]
    name = min(16, max(8, *(cell_len(one_line(each.load.name)) for each in loads)))
    head = f"{title}; buys h of margin, central"
    heads = "".join(f" {fit(supply, 10, look.glyphs.cut, right=True)}" for supply in helped)
    lines = [line((text, look.palette.title)) for text in wrap(head, width)]
    lines.append(line(fit(f"   {fit('load', name)} prio {'draws':>9}{heads}", width, look.glyphs.cut)))
    for index, each in enumerate(loads):
        cells = "".join(f" {_gain(each.margin_gained_s[supply]):>10}" for supply in helped)
        text = line(
            f"{index + 1:>2} ",
            (fit(each.load.name, name, look.glyphs.cut), look.palette.strong),
            f" {each.load.priority:>4} {_draw(snapshot, each.load):>9}{cells}",
        )
        title_room = width - text.cell_len - 2
        if title_room > 8 and each.load.title:
            text.append(f"  {fit(each.load.title, title_room, look.glyphs.cut)}")
        lines.append(text)
    return lines


def _is_felt(seconds: float | None) -> bool:
    return seconds is not None and abs(seconds) >= _SAME_S


def _gain(seconds: float | None) -> str:
    if seconds is None:
        return "no end"
    return "0" if abs(seconds) < _SAME_S else hours_figure(seconds, signed=True)


def _draw(snapshot: Snapshot, load: Load) -> str:
    unit = snapshot.supplies[load.supply].rate_unit
    return rate_text(next(each.draw_si_per_s for each in snapshot.loads if each.name == load.name), unit)


def _margins(look: Look, advice: ShedAdvice) -> list[Text]:
    """Every supply before and after, and whether it has what is asked."""
    found = advice.shed
    word = "low" if found.by_low_end else "central"
    name = min(14, max(8, *(cell_len(one_line(each)) for each in found.before_s)))
    lines = [
        line(
            (
                f"{fit('margin h', name)} {word:>8} {'after':>8} {'change':>8}  reached  band",
                look.palette.title,
            )
        )
    ]
    lines += [_margin(look, advice, change, name) for change in advice.compared.supplies]
    return lines


def _margin(look: Look, advice: ShedAdvice, change: SupplyChange, name: int) -> Text:
    found, supply = advice.shed, change.after.name
    before, after = (_end(each, found.by_low_end) for each in (found.before_s[supply], found.after_s[supply]))
    is_short = supply in found.short
    gained = ""
    if isinstance(before, float) and isinstance(after, float):
        gained = _gain(after - before)
    reached = UNKNOWN if found.after_s[supply] is None else "NO" if is_short else "yes"
    text = line(
        (fit(supply, name, look.glyphs.cut), look.palette.strong),
        f" {_shown(before):>8} ",
        (f"{_shown(after):>8}", look.palette.strong),
        f" {gained:>8}  ",
        (reached, look.palette.grounds[Band.CAUTION] if is_short else look.palette.plain),
        " " * max(1, 9 - len(reached)),
    )
    bands = [f"{BAND_SYMBOLS[each]} {BAND_WORDS[each]}" for each in (change.before.band, change.after.band)]
    if bands[0] != bands[1]:
        text.append(f"{bands[0]} -> ")
    text.append(bands[1], look.palette.grounds[change.after.band])
    return text


def _end(margin: Interval | None, by_low_end: bool) -> float | str | None:
    if margin is None:
        return "?"
    return margin.p05 if by_low_end else margin.p50


def _shown(end: float | str | None) -> str:
    if isinstance(end, str):
        return end
    return "no end" if end is None else hours_figure(end, signed=True)


def _warnings(look: Look, advice: ShedAdvice, width: int) -> list[Text]:
    """What gets worse with the loads off."""
    lines: list[Text] = []
    if advice.limits_earlier:
        names = ", ".join(one_line(change.after.limit.name) for change in advice.limits_earlier)
        lines += caution_lines(look, f"WARNING: limits of the cabin that come EARLIER then: {names}", width)
    elif advice.shed.loads and advice.compared.clocks:
        lines += _text(["no limit of the cabin comes earlier with these off"], width)
    for peak in advice.compared.peaks_over:
        words = f"WARNING, OVER ITS LIMIT: current of {one_line(peak.supply)} in {one_line(peak.name)}"
        lines += caution_lines(look, words, width)
    return lines


def _stays(advice: ShedAdvice) -> list[str]:
    groups: dict[str, list[str]] = {}
    for name, why in advice.stays.items():
        groups.setdefault(one_line(why), []).append(one_line(name))
    if not groups:
        return []
    said = [f"{', '.join(names)} ({why})" for why, names in groups.items()]
    return [f"must stay: {'; '.join(said)}"]


def _running(advice: ShedAdvice) -> list[str]:
    """What may be switched on for the time asked and keep the margin."""
    if advice.run_for_s is None:
        return []
    span = span_text(advice.run_for_s, Rounding.UP)
    may = ", ".join(_least(advice, one) for one in advice.running if one.may_run)
    others = "; ".join(_against(advice, one) for one in advice.running if not one.may_run)
    sentences = [f"may be switched on for {span}, one at a time, and keep the margin: {may or 'none'}"]
    return [*sentences, f"not: {others}"] if others else sentences


def _against(advice: ShedAdvice, one: Running) -> str:
    words = [] if one.answer.is_affordable else [_least(advice, one)]
    if one.lacks:
        words.append(f"needs {', '.join(one_line(name) for name in one.lacks)} on")
    if one.peaks_over:
        words.append("over a limit of current")
    name = one_line(one.answer.load.name)
    return words[0] if not one.answer.is_affordable and len(words) == 1 else f"{name} ({'; '.join(words)})"


def _least(advice: ShedAdvice, one: Running) -> str:
    """The load, and the supply with the least margin then."""
    ends = {
        name: end
        for name, margin in one.answer.margin_s.items()
        if isinstance(end := _end(margin, advice.shed.by_low_end), float)
    }
    load = one_line(one.answer.load.name)
    if not ends:
        return load
    name = min(ends, key=lambda each: ends[each])
    return f"{load} (then {one_line(name)} {hours_text(ends[name])})"


def _allowances(look: Look, answer: Answer, width: int) -> list[Text]:
    """The steady draw that can be afforded in the free phases, once planned power-ups are paid for."""
    profiles = [one for one in answer.allowances.values() if one.allowance_si_per_s is not None]
    if not profiles:
        return []
    heads = " ".join(f"{words:>11}" for words in ("allowed", "low end", "planned", "present"))
    head = f"{fit('steady draw in free phases', 27)} {heads}"
    lines = [line((fit(head, width, look.glyphs.cut), look.palette.title))]
    for one in profiles:
        unit = one.supply.rate_unit
        allowed = [
            rate_text(each, unit, Rounding.DOWN)
            for each in (one.allowance_si_per_s, one.allowance_low_si_per_s)
        ]
        used = [rate_text(each, unit) for each in (one.planned_si_per_s, one.present_si_per_s)]
        cells = " ".join(f"{each:>11}" for each in (*allowed, *used))
        lines.append(
            line(fit(f"{fit(one.supply.name, 27, look.glyphs.cut)} {cells}", width, look.glyphs.cut))
        )
    return lines
