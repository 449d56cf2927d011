"""A growing file to which some other program adds readings, as a source: CSV with a header, or JSON Lines.

Only what was added is read, a bad line costs itself, and nothing that is in the file or happens to it is
raised out of ``poll``. Ages come from the times in the lines, so that a producer that stands still looks
stale. What cannot be noticed: lines changed in place further back than ``FINGERPRINT_BYTES`` before the place
that was read to, and a file that came and was renamed away between two polls. For one thread at a time.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import numpy as np

from console.craft.channels import Channel
from console.display import age_text
from console.engine.reading import FeedState, Quality, Reading
from console.engine.series import Arrived
from console.feed.growing_beginning import Beginning
from console.feed.growing_judged import Judged, LastValue, arrived, judged, newest_said
from console.feed.growing_layout import Layout, NoLayoutError
from console.feed.growing_line import too_long_text
from console.feed.growing_lines import WholeLines
from console.feed.growing_reader import GrowingReader, Piece, ReadAt
from console.feed.growing_resume import Resume
from console.feed.growing_taking import LineTaker, Takings, joined
from console.feed.growing_told import Told
from console.feed.last_good import LastGood
from console.feed.raw_value import shown_name
from console.feed.rewritten_file import FileTroubleError, Trouble
from console.feed.validity import Said, not_said
from console.feed.word import Word

BLOCK_BYTES = 2**21
"""Read at once where lines are plain."""
SMALL_BLOCK_BYTES = 2**16
"""Read at once where the first line is not known, or many lines were read one by one, which takes longer."""
MOST_BYTES_PER_POLL = 32 * 2**20
"""Some 800,000 readings; a poll of that many takes a fraction of a second where lines are plain."""
ONE_BY_ONE_BYTES = 512
"""What a line that is read one by one counts beside its length, so that polls of such lines are shorter."""
LOOK_LINES = 16
"""What a look that gives nothing counts, in such lines, so that a poll always ends."""


NOT_NAMED = not_said("not in the growing file so far")
FROM_START = "it is read from its start"


class GrowingFileSource:
    """Readings from a growing file.

    Args:
        path: the file; it need not be there yet.
        channels: the craft's instruments.
        epoch: the scenario's.
        resume: where an earlier run left it; the last good values are taken over even where the file is
            another one by now.
        most_bytes_per_poll: after so many a poll ends, and the next one goes on; see ``is_caught_up``.
        read_at: reads from an open file.
        is_plain_fast: whether plain lines are taken many at once; it changes nothing but how long it takes.
    """

    def __init__(
        self,
        path: Path,
        channels: Mapping[str, Channel],
        epoch: datetime,
        *,
        resume: Resume | None = None,
        most_bytes_per_poll: int = MOST_BYTES_PER_POLL,
        read_at: ReadAt = os.pread,
        is_plain_fast: bool = True,
    ) -> None:
        self._path = path
        self._channels = channels
        self._epoch = epoch
        self._most_bytes = most_bytes_per_poll
        self._taker = LineTaker(channels, epoch, is_plain_fast=is_plain_fast)
        self._told = Told(channels)
        self._memory = LastGood(channels, "no growing file could be read yet")
        self._last: dict[str, LastValue] = {}
        self._said: dict[str, Said] = {}
        self._beginning = Beginning(path.suffix, channels, epoch)
        self._layout: Layout | None = None
        """Of the file that is read; None before its first line."""
        self._layout_before: Layout | None = None
        """Of what was read under this name before."""
        self._trouble: FileTroubleError | None = None
        """What was wrong at the last poll."""
        self._is_usable = True
        """Whether any of the newest lines that came could be used."""
        self._is_slow = True
        """Whether many of the newest lines had to be read one by one."""
        self._untold = ""
        """What happened before the first poll."""
        self.is_caught_up = False
        """Whether the last poll read all that there was."""
        self._reader = self._resumed(resume, read_at)

    @property
    def bytes_read(self) -> int:
        """Of what was added to the file, since this source was made."""
        return self._reader.bytes_read

    @property
    def refused_lines(self) -> int:
        """Lines that were refused, over restarts too."""
        return self._told.refused

    def close(self) -> None:
        """Let the file go; the next poll opens it again and goes on."""
        self._reader.close()

    def poll(self, now_s: float) -> FeedState:
        """Read what was added and say what is known at a moment."""
        found = _Found()
        self._read(found, now_s)
        self._take_newest(found, now_s)
        name = source_name(self._path)
        faults = (*self._state_faults(now_s), *self._memory.faults, *self._told.faults(now_s))
        return FeedState(
            source=name,
            at_s=self._memory.at_s,
            quality=self._quality(now_s),
            faults=tuple(f"{name}: {fault}" for fault in faults),
            readings=dict(self._memory.readings),
            arrived=found.arrived(self._channels),
        )

    def place(self) -> Resume:
        """Where the file was left at the last poll."""
        place = self._reader.place
        return Resume(
            name=self._path.name,
            epoch=self._epoch,
            offset=place.offset,
            line=place.line,
            is_inside=place.is_inside,
            fingerprint=place.before,
            layout=self._layout,
            refused=self._told.refused,
            last=dict(self._last),
            said=dict(self._said),
        )

    def _resumed(self, resume: Resume | None, read_at: ReadAt) -> GrowingReader:
        if resume is None:
            return GrowingReader(self._path, read_at=read_at)
        resume = resume.at_epoch(self._epoch)
        self._last = {name: last for name, last in resume.last.items() if name in self._channels}
        self._said = {name: said for name, said in resume.said.items() if name in self._channels}
        self._told.refused = resume.refused
        if resume.name != self._path.name:
            self._untold = f"the place that was kept is one in {shown_name(resume.name)}; {FROM_START}"
            return GrowingReader(self._path, read_at=read_at)
        self._layout = resume.layout
        return GrowingReader(self._path, resume.cutter(), read_at=read_at)

    def _read(self, found: _Found, now_s: float) -> None:
        """Read until the end, or until it is enough for one poll."""
        if self._untold:
            self._told.happened(self._untold, now_s)
            self._untold = ""
        self._trouble, takings, spent, is_end = None, Takings(), 0, False
        while spent < self._most_bytes and not is_end:
            block_bytes = SMALL_BLOCK_BYTES if self._is_slow else BLOCK_BYTES
            before = self._reader.bytes_read
            try:
                piece = self._reader.look(min(block_bytes, self._most_bytes - spent))
                if piece.is_anew:
                    self._judge(takings, found, now_s)
                    takings = Takings()
                    self._begin_anew(piece, now_s)
                one_by_one = self._take(piece.added, takings, now_s) if piece.added else LOOK_LINES
                spent += self._reader.bytes_read - before + one_by_one * ONE_BY_ONE_BYTES
                is_end = piece.is_end
            except FileTroubleError as trouble:
                self._trouble, is_end = trouble, True
        self._judge(takings, found, now_s)
        self.is_caught_up = is_end

    def _begin_anew(self, piece: Piece, now_s: float) -> None:
        self._told.happened(piece.notice, now_s)
        self._layout_before = self._layout or self._layout_before
        self._layout, self._is_slow = None, True

    def _take(self, added: WholeLines, takings: Takings, now_s: float) -> int:
        """Take what was added; gives how many lines had to be read one by one."""
        lines_before, one_by_one_before = takings.lines, takings.one_by_one
        whole = added if self._layout is not None else self._begun(added, now_s)
        if self._layout is not None:
            self._taker.take(whole, self._layout, takings)
            if whole.too_long is not None:
                takings.lines += 1
                takings.refused.add(whole.too_long, too_long_text())
        one_by_one = takings.one_by_one - one_by_one_before
        self._is_slow = one_by_one * 4 > takings.lines - lines_before or self._layout is None
        return one_by_one

    def _begun(self, whole: WholeLines, now_s: float) -> WholeLines:
        """Find out the layout; gives the lines that hold readings."""
        try:
            begun = self._beginning.begin(whole, self._layout_before)
        except NoLayoutError as error:
            self._reader.start_again()  # it is looked at again at every poll: the file may be mended
            raise FileTroubleError(Trouble.NOT_USABLE, str(error)) from None
        self._layout = begun.layout
        if begun.is_as_before and begun.layout is not None:
            what = "JSON Lines" if begun.layout.is_json else begun.layout.header_text
            self._told.happened(f"has no header any more; its lines are read as before: {what}", now_s)
        return begun.rest

    def _judge(self, takings: Takings, found: _Found, now_s: float) -> None:
        """Compare what was taken from one file with what was good before and with now."""
        if not takings.lines:
            return
        outcome = Judged()
        if takings.good:
            good = joined(takings.good, is_sorted=True)
            outcome = judged(good, self._channels, self._last, now_s)
        for name, one in outcome.arrived.items():
            self._last[name] = found.add(name, one)
        self._said.update(newest_said(outcome.newest, takings.not_good))
        refused = takings.refused
        refused.add_all(outcome.ahead)
        self._told.take(refused, outcome.not_risen, takings.others, now_s)
        self._is_usable = refused.count + takings.others.total() < takings.lines

    def _take_newest(self, found: _Found, now_s: float) -> None:
        """Judge the newest words at this moment, which also makes them old."""
        for name, last in self._last.items():
            self._memory.readings[name] = Reading(
                channel=name, quality=Quality.GOOD, value_si=last.value_si, at_s=last.at_s
            )
        self._memory.take(self._word(), now_s)
        for name, reading in self._memory.readings.items():
            before = self._last.get(name)
            if reading.at_s is None or reading.value_si is None:
                continue
            if before is None or reading.at_s > before.at_s:  # it lay too far ahead until now
                one = arrived(np.array([reading.at_s]), np.array([reading.value_si]))
                self._last[name] = found.add(name, one)

    def _word(self) -> Word | None:
        if self._layout is None and not self._said:
            return None
        said = {name: self._said.get(name, NOT_NAMED) for name in self._channels}
        at_s = max((last.at_s for last in self._last.values()), default=None)
        return Word(at_s=at_s, said=said, faults=())

    def _quality(self, now_s: float) -> Quality:
        if self._trouble is not None:
            return Quality.MISSING if self._trouble.kind is Trouble.NOT_THERE else Quality.SUSPECT
        if not self.is_caught_up or not self._is_usable:
            return Quality.SUSPECT
        if self._memory.at_s is None:
            return Quality.MISSING
        if not self._memory.time_is_believed:
            return Quality.SUSPECT
        return Quality.STALE if self._memory.is_stale(now_s) else Quality.GOOD

    def _state_faults(self, now_s: float) -> tuple[str, ...]:
        """What is wrong with the file as a whole at this moment."""
        if self._trouble is not None:
            return (f"{self._trouble}; {_shown_words(self._memory.at_s, now_s)}",)
        if not self.is_caught_up:
            size = self._reader.size / 2**20
            percent = min(99, 100 * self._reader.place.read_to // max(1, self._reader.size))
            return (f"still reading: {percent} % of {size:.1f} MiB; what it says last is not known yet",)
        if not self._is_usable:
            return (
                f"none of the lines that came last could be used; {_shown_words(self._memory.at_s, now_s)}",
            )
        return ("holds no readings of the craft yet",) if self._memory.at_s is None else ()


class _Found:
    """What arrived in one poll."""

    def __init__(self) -> None:
        self._parts: dict[str, list[Arrived]] = {}

    def add(self, name: str, one: Arrived) -> LastValue:
        """Add readings of a channel; gives the newest of them."""
        self._parts.setdefault(name, []).append(one)
        return LastValue(value_si=float(one.values_si[-1]), at_s=float(one.times_s[-1]))

    def arrived(self, channels: Mapping[str, Channel]) -> dict[str, Arrived]:
        """All by channel, in the craft's order."""
        return {name: _together(self._parts[name]) for name in channels if name in self._parts}


def _together(parts: list[Arrived]) -> Arrived:
    if len(parts) == 1:
        return parts[0]
    return arrived(
        np.concatenate([part.times_s for part in parts]), np.concatenate([part.values_si for part in parts])
    )


def _shown_words(at_s: float | None, now_s: float) -> str:
    if at_s is None:
        return "nothing good was read from it yet"
    if at_s > now_s:
        return f"showing the last good readings, whose time lies {age_text(at_s - now_s)} ahead of now"
    return f"showing the last good readings, {age_text(now_s - at_s)} old"


def source_name(path: Path) -> str:
    """What a person calls this source."""
    return f"growing file {shown_name(path.name)}"
