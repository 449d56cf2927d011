"""A growing file as a command's source, read on from where the history remembers it."""

from __future__ import annotations

from pathlib import Path

from console.craft.model import Craft
from console.errors import FeedError
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_resume import Resume, resume_from
from console.intake import PLACE_MARK
from console.record.history import History


def growing_source(path: Path, craft: Craft, history: History) -> GrowingFileSource:
    """A growing file, read from its start where nothing fitting is remembered of it."""
    return GrowingFileSource(path, craft.channels, craft.epoch, resume=_left_at(path, history))


def _left_at(path: Path, history: History) -> Resume | None:
    kept = history.marked(PLACE_MARK)
    if kept is None:
        return None
    try:
        resume = resume_from(kept)
    except FeedError:
        return None  # of another version: it is read anew, and the history passes over what it holds
    return resume if resume.name == path.name else None
