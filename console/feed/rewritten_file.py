"""Read a file that another program rewrites, so that no half of one text comes out joined to half of another.

A read counts only when the open file's bytes, size and time of change are the same again a pause later, or
when the file has stood for long already. That rules out what is still being written, also by a writer that
rests for less than the pause between two parts.
"""

from __future__ import annotations

import os
import stat
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

LIMIT_BYTES = 4 * 2**20
"""No state of a craft is as long; what is longer is some other file, or one that grows without end."""

PAUSE_S = 0.02
"""How long a file must stand still to be believed, and how long until the next try."""

STOOD_S = 10.0
"""A file unchanged for as long needs no pause. A network disk whose clock lags by more never gets one."""


class Trouble(Enum):
    """Why a file gave nothing that can be used."""

    NOT_THERE = "not there"
    """Nothing can be read in its place: no file, a folder, no permission."""
    NOT_USABLE = "not usable"
    """There is a file, but what it holds cannot be taken."""


class FileTroubleError(Exception):
    """One look at a file gave nothing; the text completes "state file x.json: "."""

    def __init__(self, kind: Trouble, why: str) -> None:
        self.kind = kind
        super().__init__(why)


@dataclass(frozen=True, slots=True)
class _Look:
    content: bytes
    size: int
    written_ns: int
    changed_ns: int
    """The later of written and changed in any way: a copier may set the first back, nobody the second."""


def read_settled(path: Path, known: tuple[bytes | None, ...], sleep: Callable[[float], None]) -> bytes:
    """The file's bytes, once they have stood still for ``PAUSE_S``.

    The file is held open over the pause: when a writer renames another one over it, the one that was opened
    is still whole and is taken.

    What cannot be ruled out: a writer that overwrites in place without emptying the file first, and stops
    half-way for longer than the pause, or dies there. Where old and new text join so that they parse, a
    number may be an old one under the new time, or have digits of both. If the writer died, all of it goes
    stale. The cure is the writer's: write a new file beside and rename it over the old one, and every read
    is whole.

    Args:
        path: the file.
        known: contents that were settled before; they are believed at once.
        sleep: waits for some seconds.

    Raises:
        FileTroubleError: it cannot be read, is too long, or changed during the pause.
    """
    handle = _open(path)
    try:
        first = _look(handle)
        if first.content in known or _has_stood(first):
            return first.content
        sleep(PAUSE_S)
        if not _is_same(first, _look(handle)):
            raise FileTroubleError(Trouble.NOT_USABLE, "is being rewritten faster than it can be read")
        return first.content
    except OSError as error:
        raise FileTroubleError(Trouble.NOT_THERE, f"cannot be read ({_reason(error)})") from None
    finally:
        os.close(handle)


def _open(path: Path) -> int:
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
        raise FileTroubleError(Trouble.NOT_THERE, f"is {what}; name a file that is rewritten with the state")
    return handle


def _has_stood(look: _Look) -> bool:
    """Whether the file was last changed so long ago that a further pause could tell nothing more."""
    return time.time_ns() - look.changed_ns > STOOD_S * 1e9


def _is_same(first: _Look, second: _Look) -> bool:
    # Not by every change: that another file is renamed over this one changes it too, but not what it holds.
    return (first.content, first.size, first.written_ns) == (second.content, second.size, second.written_ns)


def _look(handle: int) -> _Look:
    before = os.fstat(handle)
    os.lseek(handle, 0, os.SEEK_SET)
    blocks: list[bytes] = []
    length = 0
    block_bytes = min(before.st_size, LIMIT_BYTES) + 1  # in one call, where the kernel gives it so
    while length <= LIMIT_BYTES and (block := os.read(handle, block_bytes)):
        blocks.append(block)
        length += len(block)
    if max(length, before.st_size) > LIMIT_BYTES:
        raise FileTroubleError(Trouble.NOT_USABLE, f"is longer than {LIMIT_BYTES // 2**20} MiB")
    after = os.fstat(handle)
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise FileTroubleError(Trouble.NOT_USABLE, "is being rewritten faster than it can be read")
    return _Look(
        content=b"".join(blocks),
        size=after.st_size,
        written_ns=after.st_mtime_ns,
        changed_ns=max(after.st_mtime_ns, after.st_ctime_ns),
    )


def _reason(error: Exception) -> str:
    return (error.strerror or "unknown reason").lower() if isinstance(error, OSError) else str(error)
