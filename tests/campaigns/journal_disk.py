"""A disk that fails when told to, and that remembers what it had safe: SQLite's own file layer, wrapped.

SQLite does all its file work through a table of functions (its VFS). While a ``FaultyDisk`` stands, every
write, sync, truncate, delete and open of this process passes through it; the n-th can be made to fail, and
all can be noted down, so that the states in which a power cut would leave the disk can be made from the note.
It needs the shared library that Python's sqlite3 itself uses; where there is none it says so.
"""

from __future__ import annotations

import ctypes
import random
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_Pointer, _Int, _Int64 = ctypes.c_void_p, ctypes.c_int, ctypes.c_int64
# A name is passed as an address, because SQLite keeps it for as long as the file is open.
_OPEN = ctypes.CFUNCTYPE(_Int, _Pointer, _Pointer, _Pointer, _Int, _Pointer)
_DELETE = ctypes.CFUNCTYPE(_Int, _Pointer, _Pointer, _Int)
_WRITE = ctypes.CFUNCTYPE(_Int, _Pointer, _Pointer, _Int, _Int64)
_TRUNCATE = ctypes.CFUNCTYPE(_Int, _Pointer, _Int64)
_SYNC = ctypes.CFUNCTYPE(_Int, _Pointer, _Int)
_VFS_WORDS, _METHOD_WORDS = 21, 19
"""Machine words in the third version of sqlite3_vfs and sqlite3_io_methods (sqlite.org/c3ref/vfs.html)."""
_SECTOR = 512

_FAILURES = {
    "write": sqlite3.SQLITE_IOERR_WRITE,
    "full": sqlite3.SQLITE_FULL,
    "sync": sqlite3.SQLITE_IOERR_FSYNC,
    "truncate": sqlite3.SQLITE_IOERR_TRUNCATE,
    "delete": sqlite3.SQLITE_IOERR_DELETE,
    "folder": sqlite3.SQLITE_IOERR_DIR_FSYNC,
    "open": sqlite3.SQLITE_CANTOPEN,
}


class NoSharedLibraryError(Exception):
    """Python carries SQLite inside itself, so its file layer cannot be reached."""


@dataclass(frozen=True, kw_only=True)
class Act:
    """One thing that SQLite did to the disk."""

    what: str
    """write, sync, truncate, delete (with its folder made safe) or loose delete (without)."""
    name: str
    offset: int = 0
    data: bytes = b""


class _File(ctypes.Structure):
    _fields_ = (("methods", ctypes.POINTER(_Pointer)),)


class FaultyDisk:
    """Stands in front of every file that SQLite opens from now on in this process, until ``take_away``.

    Acts are counted in ``count``; the one numbered ``fail_at`` fails, and with ``fails_on`` all later ones.
    """

    def __init__(self) -> None:
        self.acts: list[Act] = []
        self.count = 0
        self.fail_at: int | None = None
        self.fails_on = False
        self.failed: list[str] = []
        """What was made to fail."""
        self.runs_full = False
        """Whether a write that fails says that the disk is full."""
        self._names: dict[int, str] = {}
        self._methods: dict[int, ctypes.Array[Any]] = {}
        self._kept: list[object] = []
        self._library = ctypes.CDLL(_shared_library())
        self._library.sqlite3_vfs_find.restype = _Pointer
        self._real = ctypes.cast(self._library.sqlite3_vfs_find(None), ctypes.POINTER(_Pointer))
        self._table = (_Pointer * _VFS_WORDS)(*self._real[:_VFS_WORDS])
        self._table[2] = None  # the registry's own link
        self._name = ctypes.create_string_buffer(b"faulty")
        self._table[3] = ctypes.addressof(self._name)
        self._real_open = _OPEN(self._real[5])
        self._real_delete = _DELETE(self._real[6])
        self._table[5] = self._keep(_OPEN(self._open))
        self._table[6] = self._keep(_DELETE(self._delete))
        self._library.sqlite3_vfs_register(self._table, 1)

    def take_away(self) -> None:
        """SQLite works on the real disk again."""
        self._library.sqlite3_vfs_unregister(self._table)

    def arm(self, fail_at: int | None, *, fails_on: bool = False, runs_full: bool = False) -> None:
        """Count from one again and fail the act of that number; None: fail nothing."""
        self.count, self.fail_at, self.fails_on, self.runs_full = 0, fail_at, fails_on, runs_full
        self.failed = []

    def _keep(self, function: Any) -> int | None:
        self._kept.append(function)
        return ctypes.cast(function, _Pointer).value

    def _fails(self, what: str) -> bool:
        self.count += 1
        at = self.fail_at
        if at is None or self.count < at or (self.count > at and not self.fails_on):
            return False
        self.failed.append(what)
        return True

    def _open(self, _vfs: int, name: int | None, file: int, flags: int, out: int) -> int:
        path = None if name is None else _path(name)
        if path is not None and not path.exists() and self._fails("open"):
            return _FAILURES["open"]
        result = self._real_open(ctypes.cast(self._real, _Pointer), name, file, flags, out)
        handle = _File.from_address(file)
        if result == 0 and handle.methods and path is not None:
            self._names[file] = path.name
            handle.methods = ctypes.cast(self._wrapped(handle.methods), ctypes.POINTER(_Pointer))
        return result

    def _delete(self, _vfs: int, name: int, sync_folder: int) -> int:
        if self._fails("delete"):
            return _FAILURES["delete"]
        result = self._real_delete(ctypes.cast(self._real, _Pointer), name, sync_folder)
        what = "delete" if sync_folder else "loose delete"
        self.acts.append(Act(what=what, name=_path(name).name))
        return _FAILURES["folder"] if sync_folder and self._fails("folder") else result

    def _wrapped(self, methods: Any) -> ctypes.Array[Any]:
        """The table of one kind of file with our functions in the places of those that change the disk."""
        address = ctypes.cast(methods, _Pointer).value or 0
        if address not in self._methods:
            table = (_Pointer * _METHOD_WORDS)(*methods[:_METHOD_WORDS])
            table[0] = 1  # version 1: no memory maps, which would go past us
            table[3] = self._keep(_WRITE(self._changing("write", _WRITE(methods[3]))))
            table[4] = self._keep(_TRUNCATE(self._changing("truncate", _TRUNCATE(methods[4]))))
            table[5] = self._keep(_SYNC(self._changing("sync", _SYNC(methods[5]))))
            self._methods[address] = table
        return self._methods[address]

    def _changing(self, what: str, real: Callable[..., int]) -> Callable[..., int]:
        def act(file: int, *values: int) -> int:
            if self._fails(what):
                return _FAILURES["full" if what == "write" and self.runs_full else what]
            self._note(what, self._names[file], values)
            return real(file, *values)

        return act

    def _note(self, what: str, name: str, values: tuple[int, ...]) -> None:
        if what == "write":
            address, length, offset = values
            data = ctypes.string_at(address, length)
            self.acts.append(Act(what=what, name=name, offset=offset, data=data))
        else:
            self.acts.append(Act(what=what, name=name, offset=values[0] if what == "truncate" else 0))


def _path(address: int) -> Path:
    return Path(ctypes.string_at(address).decode())


def _shared_library() -> str:
    with suppress(OSError):
        for line in Path("/proc/self/maps").read_text().splitlines():
            if "libsqlite3" in line:
                return line.split()[-1]
    raise NoSharedLibraryError("Python's sqlite3 does not use a shared library here")


class Remembered:
    """What the disk holds if the power goes: what was made safe, and by chance some of the rest."""

    def __init__(self, safe: dict[str, bytes]) -> None:
        self._safe = dict(safe)
        self._loose: dict[str, list[Act]] = {}
        """By file, the acts since it was last made safe."""
        self._perhaps_back: dict[str, bytes] = {}
        """Files that were deleted without making the folder safe."""

    def take(self, act: Act) -> None:
        """One more act happened."""
        if act.what == "sync":
            # The first sync of a new file also makes its name in the folder safe, and with it older deletes.
            self._safe[act.name] = _applied(self._safe.get(act.name, b""), self._loose.pop(act.name, []))
            self._perhaps_back.clear()
        elif act.what == "delete":
            self._safe.pop(act.name, None)
            self._loose.pop(act.name, None)
            self._perhaps_back.clear()
        elif act.what == "loose delete":
            self._perhaps_back[act.name] = self._safe.pop(act.name, b"")
            self._loose.pop(act.name, None)
        else:
            self._loose.setdefault(act.name, []).append(act)

    def cut(self, chance: random.Random, folder: Path) -> None:
        """Write the files as they could be found after the power came back."""
        share = chance.choice((0.0, 0.5, 1.0))
        for name in {*self._safe, *self._loose}:
            kept = [_torn(act, chance) for act in self._loose.get(name, []) if chance.random() < share]
            if name in self._safe or kept:
                (folder / name).write_bytes(_applied(self._safe.get(name, b""), kept))
        for name, data in self._perhaps_back.items():
            if name not in self._safe and chance.random() < 0.5:
                (folder / name).write_bytes(data)


def _torn(act: Act, chance: random.Random) -> Act:
    """Half the writes arrive whole, the others up to the end of some sector."""
    if act.what != "write" or chance.random() < 0.5:
        return act
    end = chance.randrange(0, len(act.data) + 1) // _SECTOR * _SECTOR
    return Act(what="write", name=act.name, offset=act.offset, data=act.data[:end])


def _applied(data: bytes, acts: list[Act]) -> bytes:
    content = bytearray(data)
    for act in acts:
        if act.what == "truncate":
            del content[act.offset :]
        elif act.data:
            content.extend(bytes(max(0, act.offset - len(content))))
            content[act.offset : act.offset + len(act.data)] = act.data
    return bytes(content)
