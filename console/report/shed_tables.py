"""What to switch off for a margin as plain text: the advice, what it does, what stays. Reckons nothing."""

from __future__ import annotations

from collections.abc import Sequence

from console.craft.model import Load
from console.display import UNKNOWN, Rounding, hours_figure, hours_text, rate_text, span_text
from console.engine.difference import ClockChange, Verdict
from console.engine.shed import Buys
from console.engine.shed_advice import Running, ShedAdvice
from console.engine.snapshot import Interval, Snapshot
from console.report.bus import over_text
from console.report.columns import folded, wrapped, wrapped_parts
from console.report.options_tables import head_lines
from console.report.whatif_tables import BANDS_NOTE, reached_words

ADVICE_ONLY = "Advice only: nothing is switched or logged by asking. Log each step as it is taken."


def shed_text(advice: ShedAdvice) -> str:
    """Everything ``shed`` says."""
    snapshot = advice.compared.before
    blocks = (
        head_lines(snapshot),
        _answer_lines(advice),
        _load_lines(snapshot, advice.shed.loads, _helped(advice)),
        _margin_lines(advice),
        _warning_lines(advice),
        _others_lines(advice),
        _stay_lines(advice),
        _running_lines(advice),
        [line for notice in snapshot.notices for line in wrapped(f"note: {notice}")],
        [*wrapped(ADVICE_ONLY), *wrapped(BANDS_NOTE)],
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _goal(advice: ShedAdvice) -> str:
    end = "low end" if advice.shed.by_low_end else "central"
    return f"{hours_figure(advice.shed.goal_s, Rounding.UP, signed=True)} h ({end})"


def _answer_lines(advice: ShedAdvice) -> list[str]:
    found = advice.shed
    count = len(found.loads)
    loads = f"{count} load{'s' if count != 1 else ''}"
    asked = f"For a margin of {_goal(advice)} on every supply"
    unknown = [name for name, margin in found.before_s.items() if margin is None]
    lines = []
    if found.is_enough and not count:
        lines += wrapped(f"{asked}: every supply has it already. Nothing has to be switched off.")
    elif found.is_enough:
        lines += wrapped(f"{asked}: switch off {loads}, the least important first.")
    else:
        lines += wrapped(f"{asked}: NOT REACHED by {', '.join(found.short)}.")
        if found.beyond_loads:
            lines += wrapped(f"No load can help {', '.join(found.beyond_loads)}: look for another measure.")
        others = [name for name in found.short if name not in found.beyond_loads]
        if others:
            lines += wrapped(
                f"Even with all {count} loads off that may go, listed below, {', '.join(others)} still falls "
                "short. That list is the most there is, not a proposal."
            )
        elif count:
            lines += wrapped(f"The other supplies reach it with {loads} off, the least important first.")
        else:
            lines += ["The other supplies have it already: nothing has to be switched off for them."]
    if unknown:
        lines += wrapped(f"Not known, and not reckoned with: {', '.join(unknown)}.")
    return lines


def _helped(advice: ShedAdvice) -> list[str]:
    """The supplies on which some load has an effect."""
    return [
        name
        for name in advice.shed.before_s
        if any(_is_gain(each.margin_gained_s[name]) for each in advice.shed.may_go)
    ]


def _is_gain(seconds: float | None) -> bool:
    return seconds is not None and abs(seconds) >= 1.0


def _load_lines(snapshot: Snapshot, loads: Sequence[Buys], helped: Sequence[str]) -> list[str]:
    """What each load draws and what switching it off alone buys, in hours of margin by supply."""
    if not loads:
        return []
    heads = [f"buys h: {name}" if index == 0 else name for index, name in enumerate(helped)]
    rows: list[Sequence[str]] = [("load", "priority", "draws", *heads)]
    rows.extend(
        (
            each.load.name,
            str(each.load.priority),
            _draw(snapshot, each.load),
            *(_gain(each.margin_gained_s[name]) for name in helped),
        )
        for each in loads
    )
    return folded(rows)


def _draw(snapshot: Snapshot, load: Load) -> str:
    unit = snapshot.supplies[load.supply].rate_unit
    draw = next(status.draw_si_per_s for status in snapshot.loads if status.name == load.name)
    return rate_text(draw, unit)


def _gain(seconds: float | None) -> str:
    if seconds is None:
        return "no end"
    return "0" if abs(seconds) < 1.0 else hours_figure(seconds, signed=True)


def _margin_lines(advice: ShedAdvice) -> list[str]:
    """Every supply's margin before and after."""
    found = advice.shed
    word = "low" if found.by_low_end else "central"
    rows: list[Sequence[str]] = [
        ("margin h", f"{word} before", "after", "change", "band", f"{_goal(advice)}?")
    ]
    for change in advice.compared.supplies:
        name = change.after.name
        before, after = (
            _one_end(each, found.by_low_end) for each in (found.before_s[name], found.after_s[name])
        )
        bands = [UNKNOWN if side.band is None else side.band.value for side in (change.before, change.after)]
        rows.append(
            (
                name,
                _shown(before),
                _shown(after),
                _change(before, after),
                bands[0] if bands[0] == bands[1] else f"{bands[0]} -> {bands[1]}",
                UNKNOWN if found.after_s[name] is None else "SHORT" if name in found.short else "yes",
            )
        )
    return folded(rows)


def _one_end(margin: Interval | None, by_low_end: bool) -> float | str | None:
    if margin is None:
        return UNKNOWN
    return margin.p05 if by_low_end else margin.p50


def _shown(end: float | str | None) -> str:
    if isinstance(end, str):
        return end
    return "no end" if end is None else hours_figure(end, signed=True)


def _change(before: float | str | None, after: float | str | None) -> str:
    if isinstance(before, float) and isinstance(after, float):
        return _gain(after - before)
    return "same" if before == after else ""


def _warning_lines(advice: ShedAdvice) -> list[str]:
    """The cabin limits that come earlier with the loads off, and those that stay as they are."""
    lines = []
    for change in advice.limits_earlier:
        word = "comes EARLIER" if change.verdict is Verdict.WORSE else "is NOT KNOWN any more"
        lines += wrapped(f"WARNING: cabin limit {change.after.limit.name} {word}: {_when(change)}")
    if advice.shed.loads and advice.compared.clocks and not lines:
        lines.append("No limit of the cabin comes earlier with these loads off.")
    for peak in advice.compared.peaks_over:
        lines += wrapped(f"WARNING, OVER ITS LIMIT: {over_text(advice.compared.after, peak)}")
    return lines


def _when(change: ClockChange) -> str:
    return f"{reached_words(change.before)} -> {reached_words(change.after)}"


def _others_lines(advice: ShedAdvice) -> list[str]:
    chosen = {each.load.name for each in advice.shed.loads}
    others = [each for each in advice.shed.may_go if each.load.name not in chosen]
    lines = _load_lines(advice.compared.before, others, _helped(advice))
    return ["What else may go, and what each buys alone:", *lines] if lines else []


def _stay_lines(advice: ShedAdvice) -> list[str]:
    if not advice.stays:
        return []
    by_reason: dict[str, list[str]] = {}
    for name, why in advice.stays.items():
        by_reason.setdefault(why, []).append(name)
    groups = [f"{', '.join(names)} ({why})" for why, names in by_reason.items()]
    return wrapped(f"Must stay: {'; '.join(groups)}")


def _running_lines(advice: ShedAdvice) -> list[str]:
    """What may be switched on for the time asked."""
    if advice.run_for_s is None:
        return []
    span = span_text(advice.run_for_s, Rounding.UP)
    may = [one for one in advice.running if one.may_run]
    not_now = [one for one in advice.running if not one.may_run]
    lines = wrapped(f"May be switched on for {span} from now, one at a time, and keep {_goal(advice)}:")
    lines += wrapped_parts("    ", [_run_words(advice, one) for one in may]) if may else ["    none"]
    if not advice.shed.has_goal_already:
        lines += wrapped("The margin asked for is not there as things stand, before anything is switched on.")
    if not_now:
        lines += wrapped_parts("Not: ", [_run_words(advice, one) for one in not_now])
    return lines


def _run_words(advice: ShedAdvice, one: Running) -> str:
    """The load with what would then be least, or with what speaks against it."""
    load, words = one.answer.load, []
    if not one.answer.is_affordable:
        words.append(_least(advice, one))
    if one.lacks:
        words.append(f"needs {', '.join(one.lacks)} on")
    if one.peaks_over:
        words.append("over a current limit")
    return f"{load.name} ({'; '.join(words) if words else _least(advice, one)})"


def _least(advice: ShedAdvice, one: Running) -> str:
    """The supply with the least margin then."""
    ends = {
        name: end
        for name, margin in one.answer.margin_s.items()
        if isinstance(end := _one_end(margin, advice.shed.by_low_end), float)
    }
    if not ends:
        return "no supply runs out"
    name = min(ends, key=lambda each: ends[each])
    return f"{name} {hours_text(ends[name])}"
