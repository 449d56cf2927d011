"""The line of freshness: where the readings come from, how far they can be trusted, how old they are."""

from __future__ import annotations

from rich.text import Text

from console.board.cells import fit, line, one_line
from console.board.view import View
from console.display import age_text
from console.engine.reading import FeedState, Quality


def feed_lines(view: View, width: int, _height: int) -> list[Text]:
    """One line."""
    snapshot, palette = view.snapshot, view.look.palette
    if snapshot is None:
        return [line("feed not read yet")]
    feed = snapshot.feed
    age = "no reading yet" if feed.at_s is None else f"newest reading {age_text(view.feed_age_s)} old"
    source = one_line(feed.source)
    if view.not_updated_s is not None:
        text = line((" OLD ", palette.old), f" feed {source}: not looked at since; {age}")
    elif feed.quality is Quality.GOOD:
        text = line("feed ", (source, palette.strong), ": good, ", (age, palette.strong))
    else:
        word = feed.quality.value.upper()
        text = line((f" ! {word}: {age} ", palette.old), f" feed {source}")
    text.append(_faults_text(feed))
    return [text] if text.cell_len <= width else [_cut(text, width, view)]


def _faults_text(feed: FeedState) -> str:
    if not feed.faults:
        return ""
    count = "" if len(feed.faults) == 1 else f"{len(feed.faults)} faults, first: "
    return f"; {count}{one_line(feed.faults[0])}"


def _cut(text: Text, width: int, view: View) -> Text:
    """Mark that the line goes on."""
    if width > 1:
        text.truncate(width - 1)
        text.append(fit(view.look.glyphs.cut, 1))
    return text
