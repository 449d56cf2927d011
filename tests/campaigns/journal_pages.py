"""Which bytes of an SQLite file mean something, after "Database File Format" (sqlite.org/fileformat2.html).

Walks the file by itself, without SQLite, and marks every byte that belongs to a page's header, to a cell
pointer, to a cell or to an overflow chain. What is left over is free space and says nothing.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

_INTERIOR = {2, 5}
_TABLE_LEAF, _TABLE_INTERIOR = 13, 5

_IDLE_HEADER = (
    18,  # lowest version that may write: another one makes the file read-only, which the next append says
    19,  # lowest version that may read: 0 reads like 1, and a higher one is refused
    *range(24, 28),  # file change counter: tells caches to read again, whatever it is
    *range(28, 32),  # size in pages: believed only while bytes 92 to 95 fit the change counter
    *range(40, 44),  # schema cookie: tells prepared statements to read the schema again
    *range(44, 48),  # schema format: our tables have nothing that formats 1 to 4 tell apart
    *range(48, 52),  # suggested cache size
    *range(56, 60),  # text encoding: two of its bits are looked at, and a change in those changes all text
    *range(72, 92),  # reserved
    *range(92, 96),  # change counter for which the size in pages is valid
    *range(96, 100),  # version of the SQLite that wrote last
)
"""Bytes of the file's header out of which no entry and no table comes."""


def used_bytes(path: Path) -> bytearray:
    """One flag a byte of the file: 1 where something is stored, 0 where space is free or the byte idle."""
    with closing(sqlite3.connect(path)) as connection:
        roots = [
            row[0] for row in connection.execute("SELECT rootpage FROM sqlite_schema WHERE rootpage > 0")
        ]
        (page_size,) = connection.execute("PRAGMA page_size").fetchone()
    walk = _Walk(path.read_bytes(), page_size)
    walk.mark(0, 100)
    for root in (1, *roots):
        walk.page(root)
    for at in (*_IDLE_HEADER, *walk.placeholders):
        walk.used[at] = 0
    return walk.used


class _Walk:
    def __init__(self, data: bytes, page_size: int) -> None:
        self.used = bytearray(len(data))
        self.placeholders: list[int] = []
        """In each row of a table, the type of its first column, which SQLite passes over where that is the
        INTEGER PRIMARY KEY, kept in the cell's key instead."""
        self._data = data
        self._size = page_size
        self._index_most = (page_size - 12) * 64 // 255 - 23
        self._least = (page_size - 12) * 32 // 255 - 23

    def mark(self, start: int, end: int) -> None:
        self.used[start:end] = b"\x01" * (end - start)

    def page(self, number: int) -> None:
        start = (number - 1) * self._size
        header = start + (100 if number == 1 else 0)
        kind = self._data[header]
        cells = self._integer(header + 3, 2)
        pointers = header + (12 if kind in _INTERIOR else 8)
        self.mark(header, pointers + 2 * cells)
        for index in range(cells):
            self._cell(start + self._integer(pointers + 2 * index, 2), kind)
        if kind in _INTERIOR:
            self.page(self._integer(header + 8, 4))

    def _cell(self, at: int, kind: int) -> None:
        position = at
        if kind in _INTERIOR:
            self.page(self._integer(position, 4))
            position += 4
        if kind == _TABLE_INTERIOR:
            _, position = self._varint(position)
            self.mark(at, position)
            return
        payload, position = self._varint(position)
        most = self._index_most
        if kind == _TABLE_LEAF:
            _, position = self._varint(position)
            most = self._size - 35
            if self._data[position + 1] == 0:
                self.placeholders.append(position + 1)
        local = self._local(payload, most)
        self.mark(at, position + local + (4 if local < payload else 0))
        if local < payload:
            self._overflow(self._integer(position + local, 4), payload - local)

    def _local(self, payload: int, most: int) -> int:
        if payload <= most:
            return payload
        kept = self._least + (payload - self._least) % (self._size - 4)
        return kept if kept <= most else self._least

    def _overflow(self, number: int, left: int) -> None:
        while number and left > 0:
            start = (number - 1) * self._size
            here = min(left, self._size - 4)
            self.mark(start, start + 4 + here)
            number, left = self._integer(start, 4), left - here

    def _integer(self, at: int, length: int) -> int:
        return int.from_bytes(self._data[at : at + length], "big")

    def _varint(self, at: int) -> tuple[int, int]:
        value = 0
        for offset in range(8):
            byte = self._data[at + offset]
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value, at + offset + 1
        return value << 8 | self._data[at + 8], at + 9


def content(path: Path) -> list[list[tuple[object, ...]]]:
    """Everything that a reader can get from a journal's tables, byte for byte."""
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = bytes
        queries = (
            "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name",
            "SELECT * FROM meta ORDER BY key",
            "SELECT * FROM entry ORDER BY sequence",
        )
        return [connection.execute(query).fetchall() for query in queries]
