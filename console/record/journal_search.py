"""Finding entries in a journal of any length: newest first, in pieces, stopping when enough are found.

Moment, kind and operator are found by the indexes. Words are looked for in every entry that the other
conditions leave, from the newest back, in pieces of so many entries; between two pieces the file is let go,
so that a long search holds up no writer. Reads only.
"""

from __future__ import annotations

import heapq
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import TYPE_CHECKING, Any

from console.record.entry import Entry, EntryKind
from console.record.row import Row, moment_text

if TYPE_CHECKING:
    from console.record.journal import Journal

PIECE = 5000
"""Entries that are looked through at once: some hundredths of a second."""
_FIRST_PIECE = 250
"""The first piece is small, as most searches want a few of the newest."""
_NEWEST = 2**63 - 1
_NEXT_OPERATOR = "SELECT operator FROM entry WHERE operator > ? ORDER BY operator LIMIT 1"
_PLAIN = re.compile(r"[ !#-.0-\[\]-~]{1,100}")
"""Words that SQLite finds as we do: ASCII, which JSON writes as it is, and no slash, which only we put in.
What ``LIKE`` takes for any letter makes it find too much, never too little."""
_MOST_NAMES = 12
"""In a longer group SQLite is no faster."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Search:
    """What is looked for; every condition that is given must hold."""

    since: datetime | None = None
    """Happened at this moment or later."""
    until: datetime | None = None
    """Happened at this moment or earlier."""
    kinds: tuple[EntryKind, ...] = ()
    """One of these; all where empty."""
    operator: str = ""
    """Written by; upper and lower case are one."""
    words: tuple[str, ...] = ()
    """All of them stand somewhere in the entry; upper and lower case are one."""
    names: tuple[tuple[str, ...], ...] = ()
    """Of each group at least one stands in the entry, as a whole word or as the name of something it does."""
    written_until: datetime | None = None
    """Had been written at this moment."""
    limit: int | None = None
    """At most so many, the newest of all."""


def found(journal: Journal, search: Search) -> tuple[Entry, ...]:
    """The entries that are looked for, oldest first.

    Raises:
        JournalError: the journal cannot be read.
    """
    if search.limit is not None and search.limit < 1:
        return ()
    fits = _fitting(search)
    rows: list[Row] = []
    for row in _candidates(journal, search):
        if fits(row):
            rows.append(row)
            if len(rows) == search.limit:
                break
    return journal.entries_of(reversed(rows))


def each_found(journal: Journal, search: Search) -> Iterator[Entry]:
    """The same one by one, of which only a piece is held at a time: for all of a long journal.

    Raises:
        JournalError: the journal cannot be read.
    """
    fits = _fitting(search)
    fitting = (int(row[0]) for row in _candidates(journal, search) if fits(row))
    numbers = list(islice(fitting, search.limit))
    numbers.reverse()
    for at in range(0, len(numbers), PIECE):
        piece = numbers[at : at + PIECE]
        rows = journal.rows(f"WHERE sequence IN ({_marks(piece)}) ORDER BY sequence", *piece)
        yield from journal.entries_of(rows)


def operators(journal: Journal) -> tuple[str, ...]:
    """Everybody who has written in a journal, each spelling by itself, without reading all of it.

    Raises:
        JournalError: the journal cannot be read.
    """
    names: list[str] = []
    last = ""
    while rows := journal.query(_NEXT_OPERATOR, last):
        (last,) = rows[0]
        names.append(last)
    return tuple(names)


def _candidates(journal: Journal, search: Search) -> Iterator[Row]:
    """The rows that moment, kind and operator leave, newest first."""
    who = _spellings(journal, search.operator) if search.operator else ()
    if search.operator and not who:
        return iter(())
    conditions, values = _conditions(search, who)
    if search.since is not None or search.until is not None:
        return _by_moment(journal, search, who, (conditions, values))
    if who:
        firsts = [("operator = ?", name) for name in who]
    elif search.kinds:
        firsts = [("kind = ?", kind.value) for kind in dict.fromkeys(search.kinds)]
    else:
        return _pieces(journal, ("1", None), conditions, values)
    found_by = [_pieces(journal, first, conditions, values) for first in firsts]
    return heapq.merge(*found_by, key=lambda row: row[0], reverse=True)


def _spellings(journal: Journal, operator: str) -> tuple[str, ...]:
    """The ways in which an operator's name stands in the journal; upper and lower case are one."""
    return tuple(name for name in operators(journal) if name.casefold() == operator.casefold())


def _conditions(search: Search, who: Sequence[str]) -> tuple[str, tuple[object, ...]]:
    """The conditions that no index is used for: all but the moment, each with its value."""
    parts: list[str] = []
    values: list[object] = []
    for column, due in (("kind", [kind.value for kind in search.kinds]), ("operator", who)):
        if due:
            parts.append(f"{column} IN ({_marks(due)})")
            values += due
    if search.written_until is not None:
        parts.append("written_at <= ?")
        values.append(moment_text(search.written_until))
    # A quick first look for words; the last word has ``_fitting``.
    for group in (*((word,) for word in search.words), *search.names):
        if len(group) <= _MOST_NAMES and all(_PLAIN.fullmatch(name) for name in group):
            parts.append(f"({' OR '.join(['body LIKE ?'] * len(group))})")
            values += [f"%{name}%" for name in group]
    return " AND ".join(parts) or "1", tuple(values)


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))


def _pieces(
    journal: Journal, first: tuple[str, str | None], conditions: str, values: Sequence[object]
) -> Iterator[Row]:
    """Rows from the newest back, a piece at a time.

    Args:
        journal: where they are.
        first: the condition that an index serves, with its value.
        conditions: what must hold besides.
        values: of those conditions.
    """
    condition, value = first
    own = () if value is None else (value,)
    below, size = _NEWEST, _FIRST_PIECE
    while True:
        # The bounds of the piece come from the index alone, so that a piece is short whatever it holds.
        ends = journal.query(
            f"SELECT sequence FROM entry WHERE {condition} AND sequence <= ? "  # noqa: S608  our own words
            "ORDER BY sequence DESC LIMIT 1 OFFSET ?",
            *own,
            below,
            size - 1,
        )
        least = ends[0][0] if ends else -_NEWEST
        yield from journal.rows(
            f"WHERE {condition} AND sequence BETWEEN ? AND ? AND ({conditions}) ORDER BY sequence DESC",
            *own,
            least,
            below,
            *values,
        )
        if not ends:
            return
        below, size = least - 1, PIECE


def _by_moment(
    journal: Journal, search: Search, who: Sequence[str], conditions: tuple[str, Sequence[object]]
) -> Iterator[Row]:
    """Rows of a stretch of time, newest first: an index says which they are, and they come in pieces."""
    since = "" if search.since is None else moment_text(search.since)
    until = "~" if search.until is None else moment_text(search.until)  # behind every digit
    by = f" AND operator IN ({_marks(who)})" if who else ""
    index = "INDEXED BY entry_by_moment " if _is_indexed(journal) else ""
    sequences = journal.query(
        f"SELECT sequence FROM entry {index}WHERE happened_at BETWEEN ? AND ?{by}",  # noqa: S608  our own words
        since,
        until,
        *who,
    )
    wanted = sorted((sequence for (sequence,) in sequences), reverse=True)
    rest, values = conditions
    at, size = 0, _FIRST_PIECE
    while at < len(wanted):
        piece = wanted[at : at + size]
        fitting = f"WHERE sequence IN ({_marks(piece)}) AND ({rest}) ORDER BY sequence DESC"
        yield from journal.rows(fitting, *piece, *values)
        at, size = at + size, PIECE


def _is_indexed(journal: Journal) -> bool:
    """Whether this journal has the index: one from before there were any may have been only read since."""
    return bool(journal.query("SELECT 1 FROM sqlite_schema WHERE name = 'entry_by_moment'"))


def _fitting(search: Search) -> Callable[[Row], bool]:
    """Whether words and names stand in a row's body."""
    words = tuple(word.casefold() for word in search.words)
    patterns = tuple(_name_pattern(group) for group in search.names)

    def fits(row: Row) -> bool:
        body = str(row[10])
        if patterns and not all(pattern.search(body) for pattern in patterns):
            return False
        return not words or _holds(words, body)

    return fits


def _holds(words: Sequence[str], body: str) -> bool:
    try:
        said = "\n".join(_texts(json.loads(body))).casefold()
    except (ValueError, RecursionError):
        said = body.casefold()  # damaged: still found by what can be seen of it
    return all(word in said for word in words)


def _texts(value: Any) -> Iterator[str]:
    """Every text and name in a body, a step's place in one."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        if "procedure" in value and "step" in value:
            yield f"{value['procedure']}/{value['step']}"
        for key, item in value.items():
            yield str(key)
            yield from _texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item)


def _name_pattern(group: Sequence[str]) -> re.Pattern[str]:
    """A whole word of the group, as it stands in a body's JSON."""
    written = (re.escape(json.dumps(name, ensure_ascii=False)[1:-1]) for name in group)
    # A hyphen belongs to the word: bat-1 is not in bat-10, and radio not in s-radio.
    return re.compile(rf"(?<![\w-])(?:{'|'.join(written)})(?![\w-])", re.IGNORECASE)
