"""The ways home as lines of plain text at 80 columns: one line each, then a block each. Reckons nothing."""

from __future__ import annotations

from collections.abc import Sequence

from console.display import (
    UNKNOWN,
    Rounding,
    age_text,
    amount_text,
    elapsed_text,
    hours_figure,
    hours_text,
    margin_text,
    probability_text,
    velocity_unit,
)
from console.engine.options import Options, WayHome, WaySupply
from console.engine.snapshot import Interval, Snapshot
from console.report.columns import aligned, folded, wrapped
from console.report.moments import moment_text, when_text
from console.report.open_words import delay_sentence, is_overdue, open_sentence, open_short
from console.report.tables import committed_text


def options_text(options: Options) -> str:
    """Everything ``options`` says: one line for each way home, then each in full."""
    snapshot = options.snapshot
    blocks: list[list[str]] = [
        head_lines(snapshot),
        [
            *folded(_summary_rows(options)),
            "* committed. Margins: hours, of the shortest supply; open: by the low end",
        ],
        *(_way_lines(snapshot, way) for way in options.ways),
        [line for notice in snapshot.notices for line in wrapped(f"note: {notice}")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def head_lines(snapshot: Snapshot) -> list[str]:
    """When this is, and how fresh."""
    feed = snapshot.feed
    age_s = feed.age_s(snapshot.at_s)
    age = "no readings yet" if age_s is None else f"{age_text(age_s)} old"
    lines = [f"{snapshot.craft_name}   {moment_text(snapshot, snapshot.at_s)}"]
    lines += wrapped(f"feed {feed.quality.value}, {age} ({feed.source})")
    return lines + [line for fault in feed.faults for line in wrapped(f"feed: {fault}")]


def _summary_rows(options: Options) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = [("way home", "shortest", "low h", "central", "decide by", "open until")]
    rows.extend(_summary_row(options.snapshot, way) for way in options.ways)
    return rows


def _summary_row(snapshot: Snapshot, way: WayHome) -> Sequence[str]:
    margin = None if way.shortest is None else way.supplies[way.shortest].margin_s
    low, central, _ = _ends(margin)
    decide_by_s = way.option.decide_by_s
    decide_by = "none" if decide_by_s is None else elapsed_text(decide_by_s)
    if decide_by_s is not None and decide_by_s <= snapshot.at_s:
        decide_by = f"{_late_word(snapshot, way)} {decide_by}"
    if way.is_committed and snapshot.need.decided_at_s is not None:
        decide_by = f"taken {elapsed_text(snapshot.need.decided_at_s)}"
    name = f"{way.option.name} *" if way.is_committed else way.option.name
    return name, way.shortest or UNKNOWN, low, central, decide_by, open_short(way, snapshot.at_s)


def _way_lines(snapshot: Snapshot, way: WayHome) -> list[str]:
    option = way.option
    lines = [f"{option.name.upper()}{'  (committed)' if way.is_committed else ''}"]
    lines += wrapped(_shortest_sentence(way))
    recovery, hold = (hours_text(length_s, Rounding.UP) for length_s in (option.recovery_s, option.hold_s))
    lines += wrapped(f"arrival {when_text(snapshot, option.arrival_s)}; recovery {recovery}, hold {hold}")
    lines += wrapped(f"need until {when_text(snapshot, option.need_s)}")
    lines += [line for sentence in _decision(snapshot, way) for line in wrapped(sentence)]
    lines += [line for sentence in _missed(snapshot, way) for line in wrapped(sentence)]
    lines += aligned(_supply_rows(way))
    lines += [line for sentence in _open_sentences(snapshot, way) for line in wrapped(sentence)]
    if option.note:
        lines += wrapped(f"posture: {option.note}")
    return lines


def _shortest_sentence(way: WayHome) -> str:
    beside = f" (margin not known of: {', '.join(way.unknown)})" if way.unknown else ""
    margin = None if way.shortest is None else way.supplies[way.shortest].margin_s
    if margin is None:
        return f"shortest supply: {UNKNOWN}{beside}"
    if margin.p05 is None:
        return f"shortest supply: {way.shortest}, does not run out under the plan{beside}"
    central = "no end" if margin.p50 is None else margin_text(margin.p50)
    return f"shortest supply: {way.shortest}, low end {margin_text(margin.p05)}, central {central}{beside}"


def _decision(snapshot: Snapshot, way: WayHome) -> list[str]:
    """Decide-by and delta-v."""
    sentences, decide_by_s = [], way.option.decide_by_s
    if way.is_committed and snapshot.need.decided_at_s is not None:
        sentences.append(committed_text(snapshot.need))
    elif decide_by_s is None:
        sentences.append("no decide-by")
    elif decide_by_s > snapshot.at_s:
        sentences.append(f"decide by {when_text(snapshot, decide_by_s)}")
    else:
        when = when_text(snapshot, decide_by_s)
        match _late_word(snapshot, way):
            case "OVERDUE":
                sentences.append(f"DECISION OVERDUE: decide by {when}; nobody has logged one")
            case "MISSED":
                sentences.append(f"DECIDE-BY MISSED: it was {when}, and nobody had logged a decision")
            case _:
                sentences.append(f"decide-by passed: it was {when}")
    unit = velocity_unit(snapshot.shown_in)
    needed, left = way.option.delta_v_m_per_s, way.delta_v_left_m_per_s
    if needed is not None and left is not None:
        word = "spare" if left >= needed else "SHORT"
        # A shortfall goes up, what is spare down, as for margins.
        by = amount_text(left - needed, unit, Rounding.DOWN).removeprefix("-")
        sentences.append(
            f"delta-v {amount_text(needed, unit, Rounding.UP)} of {amount_text(left, unit)} left: {word} {by}"
        )
    elif needed is not None:
        begun = "part of it may be spent" if way.is_begun else f"left: {UNKNOWN}"
        sentences.append(f"delta-v {amount_text(needed, unit, Rounding.UP)}; {begun}")
    return sentences


def _late_word(snapshot: Snapshot, way: WayHome) -> str:
    """What a decide-by is that lies behind: of the way that is flown, of one that is not, or long decided."""
    if not is_overdue(snapshot, way):
        return "past"
    return "OVERDUE" if way.is_committed else "MISSED"


def _missed(snapshot: Snapshot, way: WayHome) -> list[str]:
    """What lies behind of a way that cannot be taken any more: its margins are without it."""
    if not way.is_over:
        return []
    behind = [event for event in way.option.events if event.at_s <= snapshot.at_s]
    if not behind:
        return ["it cannot be taken any more; the margins are what it would take from now on"]
    last = behind[-1]
    return [
        "it cannot be taken any more; the margins are without what lies behind of it "
        f"(last: {last.name}, {elapsed_text(last.at_s)})"
    ]


def _supply_rows(way: WayHome) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = [
        ("  supply", "margin h, low", "central", "high", "lasts", "left at need, low")
    ]
    rows.extend(_supply_row(name, one) for name, one in way.supplies.items())
    return rows


def _supply_row(name: str, one: WaySupply) -> Sequence[str]:
    left = None if one.left_at_need_si is None else one.left_at_need_si.p05
    low, central, high = _ends(one.margin_s)
    short = " SHORT" if one.margin_s is not None and (one.margin_s.p05 or 0.0) < 0.0 else ""
    return (
        f"  {name}{short}",
        low,
        central,
        high,
        probability_text(one.lasts_probability),
        amount_text(left, one.supply.unit),
    )


def _ends(margin: Interval | None) -> tuple[str, str, str]:
    if margin is None:
        return UNKNOWN, UNKNOWN, UNKNOWN
    low, central, high = (
        "no end" if end is None else hours_figure(end, signed=True)
        for end in (margin.p05, margin.p50, margin.p95)
    )
    return low, central, high


def _open_sentences(snapshot: Snapshot, way: WayHome) -> list[str]:
    """Until when it stays open, and what waiting costs."""
    found, now_s = way.open_until, snapshot.at_s
    if found is None:
        return ["begun: carrying on is this way home"] if way.is_begun else [f"open until: {UNKNOWN}"]
    if way.is_over:
        return [f"open: {open_sentence(found.zero_low, 'a margin of zero', now_s)}"]
    best = f" (at best: {', '.join(way.unknown)} not known)" if way.unknown else ""
    sentences = [
        f"open{best}, low end: {open_sentence(found.zero_low, 'a margin of zero', now_s)}",
        f"open{best}, central: {open_sentence(found.zero_central, 'a margin of zero', now_s)}",
        f"with the advisory margin, low end: {open_sentence(found.advisory_low, 'it', now_s)}",
        f"with the advisory margin, central: {open_sentence(found.advisory_central, 'it', now_s)}",
    ]
    if way.is_committed:
        sentences.append("waiting changes nothing: carrying on is this way home")
    elif way.delay is not None:
        sentences.append(delay_sentence(way.delay))
    return sentences
