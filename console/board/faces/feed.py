"""The line of freshness: how many readings can be trusted, how old they are, where they come from.

What is amiss stands first, on the ground of caution, so that no width can cut it off; the source's name comes
first only while every reading is good.
"""

from __future__ import annotations

from collections import Counter

from rich.text import Text

from console.board.cells import clipped, fit, line, one_line
from console.board.view import View
from console.display import age_text
from console.engine.reading import FeedState, Quality, Reading
from console.engine.snapshot import Snapshot

MOST_FEED_ROWS = 2
"""Where the source's own fault is too long to stand beside the counts, it has the second row."""


def feed_rows_wanted(view: View, width: int) -> int:
    """Rows that the line takes now."""
    return len(feed_lines(view, width, MOST_FEED_ROWS))


def feed_lines(view: View, width: int, height: int) -> list[Text]:
    """One line, or two where a fault would else be cut and there is room."""
    snapshot, palette, cut = view.snapshot, view.look.palette, view.look.glyphs.cut
    if snapshot is None:
        return [line("feed not read yet")]
    feed = snapshot.feed
    source, amiss, reason = one_line(feed.source), feed_amiss_text(view), _reason_text(feed)
    if amiss:
        text = line((f" ! {amiss} ", palette.old), f" feed {source}")
    else:
        text = line("feed ", (source, palette.strong), ": ", (_all_good_text(view, feed), palette.strong))
    if not reason:
        return [_cut(text, width, view)]
    whole = text.copy().append(f": {reason}" if amiss else f"; {reason}")
    if whole.cell_len <= width or height < 2:
        return [_cut(whole, width, view)]
    return [_cut(text, width, view), line(f" {fit(reason, width - 1, cut)}")]


def feed_amiss_text(view: View) -> str:
    """What is not good of the readings now; empty where the source and every reading are."""
    snapshot = view.snapshot
    if snapshot is None:
        return ""
    feed = snapshot.feed
    count = _count_text(view, snapshot)
    newest = "no reading yet" if feed.at_s is None else f"newest reading {age_text(view.feed_age_s)} old"
    if view.not_updated_s is not None:
        # How many were good then is no word about now.
        return f"NOT LOOKED AT for {age_text(view.not_updated_s)}: {newest}"
    if feed.quality is not Quality.GOOD:
        return f"{feed.quality.value.upper()}: {newest}, {_good_text(feed)}"
    return count


def _all_good_text(view: View, feed: FeedState) -> str:
    age = "no reading yet" if feed.at_s is None else f"newest reading {age_text(view.feed_age_s)} old"
    return f"{_good_text(feed)}, {age}"


def _good_text(feed: FeedState) -> str:
    good = sum(reading.quality is Quality.GOOD for reading in feed.readings.values())
    return f"{good} of {len(feed.readings)} good"


def _count_text(view: View, snapshot: Snapshot) -> str:
    """How many readings are not good, by quality, and the worst of them; empty where all are good."""
    feed = snapshot.feed
    bad = [reading for reading in feed.readings.values() if reading.quality is not Quality.GOOD]
    if not bad:
        return "" if feed.readings else "no channel is read"
    counts = Counter(reading.quality for reading in bad)
    kinds = [f"{counts[kind]} {kind.value}" for kind in _WORST_FIRST if counts[kind]]
    return ", ".join((_good_text(feed), *kinds, _worst_text(view, snapshot, bad)))


_WORST_FIRST = (Quality.MISSING, Quality.STALE, Quality.SUSPECT)


def _worst_text(view: View, snapshot: Snapshot, bad: list[Reading]) -> str:
    """The one that was never read, else the oldest."""
    cut = view.look.glyphs.cut
    never = next((reading for reading in bad if reading.at_s is None), None)
    if never is not None:
        return f"never read: {clipped(never.channel, 20, cut)}"
    oldest = max(bad, key=lambda reading: reading.age_s(snapshot.at_s) or 0.0)
    age_s = (oldest.age_s(snapshot.at_s) or 0.0) + view.waited_s
    return f"oldest {age_text(age_s)} ({clipped(oldest.channel, 20, cut)})"


def _reason_text(feed: FeedState) -> str:
    """The source's own first fault, without the source's name that it begins with, and how many more."""
    if not feed.faults:
        return ""
    count = f"1st of {len(feed.faults)}: " if len(feed.faults) > 1 else ""
    return count + one_line(feed.faults[0].removeprefix(f"{feed.source}: "))


def _cut(text: Text, width: int, view: View) -> Text:
    """Mark that the line goes on."""
    if text.cell_len > width > 1:
        text.truncate(width - 1)
        text.append(fit(view.look.glyphs.cut, 1))
    return text
