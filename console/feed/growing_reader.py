"""Read what is added to a file, over its being emptied, written anew or renamed away, in whole lines.

The file is held open: what was renamed away is read to its end before the file that took its name. Raises
nothing but ``FileTroubleError``; after one the next look goes on where this one stopped.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from console.feed.growing_lines import LineCutter, WholeLines
from console.feed.rewritten_file import FileTroubleError, Trouble

LOOKS_AT_A_HALF_LINE = 3
"""So many looks an old file that ends inside a line is given, once another has its name."""

ReadAt = Callable[[int, int, int], bytes]
"""From an open file, at most so many bytes, from a place on: as ``os.pread``."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """One look at the file."""

    added: WholeLines | None = None
    is_end: bool = False
    """Whether there is nothing more for now."""
    is_anew: bool = False
    """Whether what comes next is another file's, or this one's from its start again."""
    notice: str = ""
    """What happened to the file and what was done, completing "growing file x.csv: "."""


class GrowingReader:
    """One path, and the file that is read there.

    Args:
        path: the file; it need not be there yet.
        place: where to read on; the file must hold the same bytes before it, else it is read from its start.
        read_at: reads from an open file.
    """

    def __init__(self, path: Path, place: LineCutter | None = None, *, read_at: ReadAt = os.pread) -> None:
        self._path = path
        self._read_at = read_at
        self._handle: int | None = None
        self._looks_at_half = 0
        self.place = place or LineCutter()
        self.size = 0
        """Of the file, at the last look."""
        self.bytes_read = 0
        """Of what was added, since the start; without what is read again to know the file by."""

    def __del__(self) -> None:
        self.close()

    def close(self) -> None:
        """Let the file go; the next look opens it again and goes on."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def look(self, most_bytes: int) -> Piece:
        """Read on.

        Raises:
            FileTroubleError: there is nothing that can be read.
        """
        try:
            return self._look(most_bytes)
        except OSError as error:
            self.close()
            raise FileTroubleError(Trouble.NOT_THERE, f"cannot be read ({_reason(error)})") from None

    def start_again(self) -> None:
        """Go back to the start of the file."""
        self.place = LineCutter()

    def _look(self, most_bytes: int) -> Piece:
        handle, is_fresh = self._opened()
        self.size = os.fstat(handle).st_size
        if self.size < self.place.read_to:
            return self._anew(_shorter(self.size, self.place.read_to))
        added = self._read_at(handle, most_bytes, self.place.read_to)
        # After the reading: a file that was written anew before it or meanwhile is noticed either way.
        if not self._is_known(handle):
            what = "is not the file that was read before" if is_fresh else "was written anew"
            return self._anew(what)
        if not added:
            return self._at_end(handle)
        self.bytes_read += len(added)
        self._looks_at_half = 0
        return Piece(added=self.place.cut(added))

    def _opened(self) -> tuple[int, bool]:
        if self._handle is not None:
            return self._handle, False
        self._handle = open_plain_file(self._path)
        return self._handle, True

    def _is_known(self, handle: int) -> bool:
        due = self.place.fingerprint
        return self._read_at(handle, len(due), self.place.read_to - len(due)) == due

    def _anew(self, what: str) -> Piece:
        dropped = f"; its unfinished line {self.place.line} was dropped" if self.place.half else ""
        self.place = LineCutter()
        return Piece(is_anew=True, notice=f"{what}{dropped}; it is read from its start")

    def _at_end(self, handle: int) -> Piece:
        """Nothing was added: it may be that another file has the name."""
        if not self._is_replaced(handle):
            return Piece(is_end=True)
        is_inside = bool(self.place.half) or self.place.is_inside
        if is_inside and self._looks_at_half < LOOKS_AT_A_HALF_LINE:
            self._looks_at_half += 1
            return Piece(is_end=True)
        other = open_plain_file(self._path)
        os.close(handle)
        self._handle, self._looks_at_half = other, 0
        but = f" but for its unfinished line {self.place.line}, which was dropped" if is_inside else ""
        self.place = LineCutter()
        what = f"was replaced by another file; the old one was read to its end{but}"
        return Piece(is_anew=True, notice=f"{what}; the new one is read from its start")

    def _is_replaced(self, handle: int) -> bool:
        """Whether another file has the name and holds something.

        As long as it is empty, whoever writes may still have the old one open and add to that.
        """
        try:
            named = self._path.stat()
        except FileNotFoundError:
            raise FileTroubleError(
                Trouble.NOT_THERE, "is not there any more; the open file is still followed"
            ) from None
        except (OSError, ValueError) as error:
            raise FileTroubleError(Trouble.NOT_THERE, f"cannot be looked at ({_reason(error)})") from None
        held = os.fstat(handle)
        return (named.st_dev, named.st_ino) != (held.st_dev, held.st_ino) and named.st_size > 0


def open_plain_file(path: Path) -> int:
    """Open a file, and nothing that is none.

    Raises:
        FileTroubleError: there is no such file.
    """
    try:
        # Without O_NONBLOCK a named pipe in its place would hold the board for ever.
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except FileNotFoundError:
        raise FileTroubleError(Trouble.NOT_THERE, "is not there") from None
    except (OSError, ValueError) as error:  # ValueError: a path with a null byte
        raise FileTroubleError(Trouble.NOT_THERE, f"cannot be opened ({_reason(error)})") from None
    mode = os.fstat(handle).st_mode
    if not stat.S_ISREG(mode):
        os.close(handle)
        what = "a folder" if stat.S_ISDIR(mode) else "no plain file"
        raise FileTroubleError(Trouble.NOT_THERE, f"is {what}; name a file to which readings are added")
    return handle


def _shorter(size: int, read_to: int) -> str:
    return f"became shorter: {size} bytes, of which {read_to} had been read"


def _reason(error: Exception) -> str:
    return (error.strerror or "unknown reason").lower() if isinstance(error, OSError) else str(error)
