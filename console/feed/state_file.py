"""A state file that some other program rewrites, as a source of readings.

Nothing that is in the file or happens to it is raised out of ``poll``: the last good document is kept, judged
anew at every poll, and what is wrong is told with the age of what is shown. Ages come from the times inside
the file, never from the file system, so that a producer that stands still looks stale.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from console.craft.channels import Channel
from console.display import age_text
from console.engine.reading import FeedState, Quality
from console.errors import FeedError
from console.feed.last_good import LastGood
from console.feed.raw_value import shown_name
from console.feed.rewritten_file import PAUSE_S, FileTroubleError, Trouble, read_settled
from console.feed.state_document import RefusedError, StateDocument, parse_state_document
from console.feed.word import Word, document_time_s, reading_times_s, word_of

TRIES = 4
"""How often a file that could not be used is tried, ``PAUSE_S`` apart, before that is told."""


class StateFileSource:
    """Readings from a state file in JSON, or in YAML by its suffix.

    Args:
        path: the file; it need not be there yet.
        channels: the craft's instruments.
        epoch: the scenario's.
        sleep: waits for some seconds between two looks at a file that is being written.
    """

    def __init__(
        self,
        path: Path,
        channels: Mapping[str, Channel],
        epoch: datetime,
        *,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._path = path
        self._channels = channels
        self._epoch = epoch
        self._sleep = sleep
        self._memory = LastGood(channels, "no state file could be read yet")
        self._word: Word | None = None
        self._accepted: bytes | None = None
        self._refused: bytes | None = None
        self._refusal: FileTroubleError | None = None
        """Why ``_refused`` was refused."""
        self._trouble: FileTroubleError | None = None
        """What was wrong at the last poll."""

    def poll(self, now_s: float) -> FeedState:
        """Look at the file and say what is known at a moment."""
        self._refresh()
        self._memory.take(self._word, now_s)
        name = source_name(self._path)
        faults = (
            *self._trouble_faults(now_s),
            *self._memory.faults,
            *(() if self._word is None else self._word.faults),
        )
        return FeedState(
            source=name,
            at_s=self._memory.at_s,
            quality=self._quality(now_s),
            faults=tuple(f"{name}: {fault}" for fault in faults),
            readings=dict(self._memory.readings),
        )

    def _refresh(self) -> None:
        """Take the newest document if there is one that can be used; try a few times if there is not."""
        before, self._trouble = self._trouble, None
        for attempt in range(TRIES):
            if attempt:
                self._sleep(PAUSE_S)
            try:
                self._look()
            except FileTroubleError as trouble:
                self._trouble = trouble
                if before is not None and _is_old(trouble, before):
                    return
            else:
                self._trouble = None
                return

    def _look(self) -> None:
        content = read_settled(self._path, (self._accepted, self._refused), self._sleep)
        if content == self._accepted:
            return
        if content == self._refused and self._refusal is not None:
            raise self._refusal
        try:
            document = parse_state_document(content, is_yaml=is_yaml(self._path))
        except RefusedError as error:
            self._refused, self._refusal = content, FileTroubleError(Trouble.NOT_USABLE, str(error))
            raise self._refusal from None
        self._accepted, self._word = content, word_of(document, self._channels, self._epoch)

    def _quality(self, now_s: float) -> Quality:
        if self._trouble is not None:
            return Quality.MISSING if self._trouble.kind is Trouble.NOT_THERE else Quality.SUSPECT
        if not self._memory.time_is_believed:
            return Quality.SUSPECT
        return Quality.STALE if self._memory.is_stale(now_s) else Quality.GOOD

    def _trouble_faults(self, now_s: float) -> tuple[str, ...]:
        if self._trouble is None:
            return ()
        if self._word is None:
            return (f"{self._trouble}; nothing good was read from it yet",)
        return (f"{self._trouble}; showing the last good one, {_age_words(self._memory.at_s, now_s)}",)


def _age_words(at_s: float | None, now_s: float) -> str:
    if at_s is None:
        return "whose time is not known"
    if at_s > now_s:
        return f"whose time lies {age_text(at_s - now_s)} ahead of now"
    return f"{age_text(now_s - at_s)} old"


def _is_old(trouble: FileTroubleError, before: FileTroubleError) -> bool:
    """Whether this was so at the last poll, and waited for then: the same refused bytes, or still no file."""
    if trouble.kind is Trouble.NOT_THERE:
        return before.kind is Trouble.NOT_THERE and str(trouble) == str(before)
    return trouble is before


def source_name(path: Path) -> str:
    """What a person calls this source."""
    return f"state file {shown_name(path.name)}"


def is_yaml(path: Path) -> bool:
    """Whether the file's suffix says YAML; all else is read as JSON."""
    return path.suffix.lower() in (".yaml", ".yml")


def state_file_time_s(path: Path, epoch: datetime, *, sleep: Callable[[float], None] = time.sleep) -> float:
    """The document's own time, in seconds since the epoch: what ``--at state`` takes as now.

    It is the document's ``at``; where that is missing or no time, the newest time among its readings.

    Raises:
        FeedError: the file cannot be used or has no time.
    """
    name = source_name(path)
    try:
        document = _settled_document(path, sleep)
    except (FileTroubleError, RefusedError) as trouble:
        raise FeedError(f"{name}: {trouble}") from None
    at_s, fault = document_time_s(document, epoch)
    times_s = [at_s] if at_s is not None else reading_times_s(document, epoch)
    if not times_s:
        raise FeedError(f"{name}: {fault[0]}, or name the moment with --at TIME")
    return max(times_s)


def _settled_document(path: Path, sleep: Callable[[float], None]) -> StateDocument:
    for _ in range(TRIES - 1):
        try:
            return parse_state_document(read_settled(path, (), sleep), is_yaml=is_yaml(path))
        except (FileTroubleError, RefusedError):
            sleep(PAUSE_S)
    return parse_state_document(read_settled(path, (), sleep), is_yaml=is_yaml(path))
