"""What everything is measured against, and what comes next: said before the answers."""

from __future__ import annotations

from console.display import Rounding, elapsed_text, hours_text
from console.engine.briefing import Briefing
from console.report.brief.words import lasting_words, sentence

DAY_S = 24 * 3600.0
MOST = 4
"""So many are said; the card and plan.yaml have all."""

Item = tuple[float, str]


def ahead_of(briefing: Briefing) -> tuple[str, ...]:
    """Until when everything must last, and the next moments at which something is due."""
    snapshot = briefing.snapshot
    need = snapshot.need
    said = []
    if need.in_s > 0.0:
        in_h = hours_text(need.in_s, Rounding.UP)
        said.append(f"Need: {need.option} until {elapsed_text(need.at_s)}, in {in_h}.")
    if coming := next_items(briefing):
        words = (f"in {lasting_words(at_s - snapshot.at_s)} {name}" for at_s, name in coming)
        said.append(sentence(f"Next: {', '.join(words)}"))
    return tuple(said)


def next_items(briefing: Briefing) -> list[Item]:
    """Deadlines, the next phase, event and watch of the next day, the earliest first."""
    snapshot = briefing.snapshot
    items = [*_deadlines(briefing)]
    for coming, word in ((snapshot.next_phase, "phase "), (snapshot.next_event, "")):
        if coming is not None:
            items.append((coming.at_s, f"{word}{coming.name}"))
    watches = (watch for watch in briefing.situation.plan.watches if watch.start_s > snapshot.at_s)
    watch = min(watches, key=lambda each: each.start_s, default=None)
    if watch is not None:
        items.append((watch.start_s, f"watch {watch.name}"))
    ahead = [item for item in items if snapshot.at_s <= item[0] <= snapshot.at_s + DAY_S]
    return sorted(ahead, key=lambda item: item[0])[:MOST]


def _deadlines(briefing: Briefing) -> list[Item]:
    """By when which way home is to be decided on, the committed one's first."""
    need = briefing.snapshot.need
    items = []
    for way in sorted(briefing.ways, key=lambda each: not each.is_committed):
        is_decided = way.is_committed and need.decided_at_s is not None
        if way.option.decide_by_s is not None and not way.is_begun and not way.is_over and not is_decided:
            is_shut = way.open_until is not None and not way.open_until.zero_low.spans_s
            shut = " (closed by the low end)" if is_shut else ""
            items.append((way.option.decide_by_s, f"decide on {way.option.name}{shut}"))
    return items
