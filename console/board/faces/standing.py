"""How an answer of the engine stands: how old it is, whether a newer one is on its way, what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from console.board.cells import line, one_line, padded, wrap
from console.board.look import Look
from console.display import age_text
from console.engine.reading import Quality
from console.engine.snapshot import Snapshot

OLD_AFTER_S = 60.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """One answer, or the want of it."""

    age_s: float | None
    """Since the question that it answers; None where there is no answer yet."""
    reckoning_s: float | None
    """Since a question that has no answer yet; None where nothing is being reckoned."""
    problem: str
    """Why the last question has no answer."""


def standing_note(standing: Standing) -> str:
    """For the title: how old the answer is, and for how long a newer one has been reckoned."""
    reckoning = ""
    if standing.reckoning_s is not None and (standing.age_s is None or standing.reckoning_s > 1.0):
        since = f" {int(standing.reckoning_s)} s" if standing.reckoning_s >= 1.0 else ""
        reckoning = f"reckoning ...{since}"
    known = "" if standing.age_s is None else f"reckoned {age_text(standing.age_s)} ago"
    return ", ".join(part for part in (known, reckoning) if part)


def standing_lines(look: Look, standing: Standing, snapshot: Snapshot | None, width: int) -> list[Text]:
    """What must be told before the figures: no newer answer, or readings that are not good."""
    words = []
    if standing.problem:
        words.append(f"NOT RECKONED: {standing.problem}")
    if standing.age_s is not None and standing.age_s > OLD_AFTER_S:
        words.append(f"NOT CURRENT: reckoned {age_text(standing.age_s)} ago")
    if snapshot is not None:
        words += _doubts(snapshot)
    return [caution for text in words for caution in caution_lines(look, text, width)]


def caution_lines(look: Look, words: str, width: int) -> list[Text]:
    """Words on a ground of their own."""
    return [
        padded(line(f" {'! ' if index == 0 else '  '}{text}", style=look.palette.old), width)
        for index, text in enumerate(wrap(words, max(1, width - 3)))
    ]


def _doubts(snapshot: Snapshot) -> list[str]:
    feed = snapshot.feed
    bad = [
        f"{one_line(supply.name)} {supply.quality.value}"
        for supply in snapshot.supplies.values()
        if supply.quality is not Quality.GOOD
    ]
    if feed.quality is not Quality.GOOD:
        age_s = feed.age_s(snapshot.at_s)
        age = "" if age_s is None else f", newest reading {age_text(age_s)} old"
        bad.insert(0, f"feed {feed.quality.value}{age}")
    return [f"NOT CURRENT, rests on old or doubtful readings: {', '.join(bad)}"] if bad else []
