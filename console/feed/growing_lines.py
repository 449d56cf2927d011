"""Bytes as they are added to a file, cut into whole lines; the place up to which lines were handed out. Pure.

A last line without its line break is kept until the break comes. A line too long to be one is passed over as
it comes, so that it does not fill the memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.feed.growing_line import LONGEST_LINE

FINGERPRINT_BYTES = 128
"""So much before a place tells whether it is still the same file: some two or three lines."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WholeLines:
    """What came of cutting."""

    lines: bytes
    """Each with its line break."""
    first_line: int
    """The number of the first of them."""
    too_long: int | None = None
    """The number of a line that has begun and is passed over, since it does not end."""


@dataclass(kw_only=True, slots=True)
class LineCutter:
    """Where one stands in a file.

    ``offset`` and ``line`` are the place: all before it was handed out or passed over.
    """

    offset: int = 0
    line: int = 1
    """The number of the line that begins at the place, or in which the place lies."""
    is_inside: bool = False
    """Whether the place lies inside a line that is too long."""
    before: bytes = b""
    """The last bytes before the place."""
    half: bytes = b""
    """What came of the line behind the place; its break is not there yet."""

    @property
    def read_to(self) -> int:
        """The byte from which to read on."""
        return self.offset + len(self.half)

    @property
    def fingerprint(self) -> bytes:
        """The last bytes before ``read_to``."""
        return (self.before + self.half)[-FINGERPRINT_BYTES:]

    def cut(self, added: bytes) -> WholeLines:
        """The lines that are whole now.

        Args:
            added: what stands in the file behind ``read_to``.
        """
        if self.is_inside:
            end = added.find(b"\n") + 1
            self._pass(added[: end or len(added)], lines=1 if end else 0)
            self.is_inside, added = not end, added[end:] if end else b""
        joined, first_line = self.half + added, self.line
        lines = joined[: joined.rfind(b"\n") + 1]
        self.half = joined[len(lines) :]
        self._pass(lines, lines=_breaks(lines))
        if len(self.half) <= LONGEST_LINE:
            return WholeLines(lines=lines, first_line=first_line)
        self._pass(self.half, lines=0)
        self.half, self.is_inside = b"", True
        return WholeLines(lines=lines, first_line=first_line, too_long=self.line)

    def _pass(self, passed: bytes, lines: int) -> None:
        self.offset += len(passed)
        self.line += lines
        self.before = (self.before + passed[-FINGERPRINT_BYTES:])[-FINGERPRINT_BYTES:]


def _breaks(lines: bytes) -> int:
    # Four times as fast as ``bytes.count``, where lines are as short as these.
    return int(np.count_nonzero(np.frombuffer(lines, np.uint8) == ord("\n")))
