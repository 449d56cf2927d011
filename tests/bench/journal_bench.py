"""What a journal of a million entries costs against one of ten thousand, as ratios: run it with ``python``.

Prints ratios; judges nothing. Both journals are chained, indexed and sound, of the same entries a day and the
same number of steps; the long one just goes on for longer. Run it on a quiet machine and quote the medians.
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from console.record.chain import COLUMNS, Head, entry_hash
from console.record.entry import EntryKind
from console.record.journal import Journal
from console.record.journal_search import Search, found
from console.record.known_entries import KnownEntries
from console.record.row import Row, body_text, field_bytes, moment_text
from console.record.verify import verify

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
APART_S = 30.0
"""From one entry to the next: 2,880 a day."""
OPERATORS = ("mira", "jonas", "ada")
STEPS = 400
"""Steps and corrections in each of the two, however long it is: a plan has so many and no more."""
_INSERT = f"INSERT INTO entry VALUES ({', '.join('?' * len(COLUMNS))})"


def open_journal(path: Path, *, read_only: bool = False) -> Journal:
    """The journal, on the real clocks."""
    return Journal.open(
        path,
        scenario="tern",
        epoch=EPOCH,
        clock=lambda: datetime.now(UTC),
        monotonic=time.monotonic,
        host="console-1",
        read_only=read_only,
    )


def build(path: Path, count: int, *, steps: int = STEPS) -> Head:
    """Write a chained journal fast, in one transaction that need not be durable; where it ends."""
    with open_journal(path) as journal:
        head = journal.head()
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for setting in ("synchronous=OFF", "journal_mode=MEMORY", "cache_size=-200000"):
            connection.execute(f"PRAGMA {setting}")
        connection.execute("BEGIN")
        connection.executemany(_INSERT, _rows(head.hash, count, steps))
        connection.execute("COMMIT")
        connection.execute("PRAGMA journal_mode=DELETE")
    with open_journal(path, read_only=True) as journal:
        return journal.head()


def _rows(previous: str, count: int, steps: int) -> Iterator[Row]:
    every = max(1, count // steps)
    for sequence in range(1, count + 1):
        happened_at = EPOCH + timedelta(seconds=APART_S * sequence)
        fields: Row = (
            sequence,
            f"bench-{sequence:08d}",
            *_said(sequence, is_step=sequence % every == 0, is_withdrawn=sequence % (10 * every) == 1),
            previous,
        )
        kind, operator, body = fields[2:5]
        fields = (
            *fields[:2],
            kind,
            moment_text(happened_at),
            moment_text(happened_at + timedelta(seconds=sequence % 7)),
            repr(APART_S * sequence),
            "bench-boot",
            f"console-{sequence % 3}",
            operator,
            "lead",
            body,
            previous,
        )
        previous = entry_hash(field_bytes(fields))
        yield (*fields, previous)


def _said(sequence: int, *, is_step: bool, is_withdrawn: bool) -> tuple[str, str, str]:
    """Kind, operator and body of an entry."""
    operator = OPERATORS[sequence // 960 % len(OPERATORS)]  # watches of eight hours
    text = (
        f"entry {sequence}: fan {sequence % 5} runs, cabin at {20 + sequence % 4} degrees, all quiet aboard"
    )
    if is_step:
        loads = {"s-radio": "standby" if sequence % 2 else "on"}
        body = {"text": text, "loads": loads, "stores": {}, "used_si": {}}
        return EntryKind.STEP.value, operator, body_text(body)
    if is_withdrawn and sequence > 1:
        body = {"text": text, "corrects": sequence - 1, "withdrawn": True}
        return EntryKind.CORRECTION.value, operator, body_text(body)
    kind = (EntryKind.NOTE, EntryKind.ALERT, EntryKind.ACKNOWLEDGEMENT)[sequence % 3]
    return kind.value, operator, body_text({"text": text})


def opening(path: Path, _count: int) -> object:
    """What a board does before its first picture: open, the steps, the newest entries."""
    with open_journal(path) as journal:
        known = KnownEntries(journal)
        return known.changes(), known.newest(200)


def newest(path: Path, _count: int) -> object:
    """The last two hundred entries."""
    with open_journal(path, read_only=True) as journal:
        return journal.entries(limit=200)


def operator_and_day(path: Path, count: int) -> object:
    """All that one operator wrote on the middle day, as ``log list`` finds it."""
    since = EPOCH + timedelta(days=int(count * APART_S / 86400.0 / 2))
    search = Search(since=since, until=since + timedelta(days=1), operator="Mira")
    with open_journal(path, read_only=True) as journal:
        entries = found(journal, search)
    assert entries, "a search that finds nothing measures nothing"
    return entries


def kind_limited(path: Path, _count: int) -> object:
    """The newest twenty steps and corrections."""
    kinds = (EntryKind.STEP, EntryKind.CORRECTION)
    with open_journal(path, read_only=True) as journal:
        return found(journal, Search(kinds=kinds, limit=20))


def append(path: Path, _count: int) -> object:
    """One more entry, safe on the disk; taken from the sequence so that it stays in place."""
    from console.record.entry import Draft, new_id

    draft = Draft(
        id=new_id(), kind=EntryKind.NOTE, happened_at=EPOCH, operator="bench", position="", body={"text": "x"}
    )
    with open_journal(path) as journal:
        return journal.append(draft)


def rare_word(path: Path, _count: int) -> object:
    """A word that no entry holds: every entry is looked through."""
    with open_journal(path, read_only=True) as journal:
        return found(journal, Search(words=("xylophone",), limit=20))


ASKED: dict[str, Callable[[Path, int], object]] = {
    "opening": opening,
    "last 200": newest,
    "operator and day": operator_and_day,
    "kind, newest 20": kind_limited,
    "append": append,
    "word in no entry": rare_word,
}


def measured_s(ask: Callable[[Path, int], object], path: Path, count: int, times: int) -> float:
    """The median of some runs."""
    runs = []
    for _ in range(times):
        began = time.perf_counter()
        ask(path, count)
        runs.append(time.perf_counter() - began)
    return statistics.median(runs)


def main() -> int:
    """Build both, print the ratios."""
    arguments = _arguments()
    counts = (arguments.short, arguments.long)
    with tempfile.TemporaryDirectory(prefix="journal-bench-", dir=arguments.folder) as place:
        paths = []
        for count in counts:
            began = time.perf_counter()
            path = Path(place) / f"{count}.journal"
            build(path, count)
            size, took = path.stat().st_size / 1e6, time.perf_counter() - began
            print(f"built {count:,} entries: {size:.0f} MB in {took:.0f} s")
            paths.append(path)
        for name, ask in ASKED.items():
            short_s, long_s = (
                measured_s(ask, path, count, arguments.times)
                for path, count in zip(paths, counts, strict=True)
            )
            print(
                f"{name:<20} {1e3 * short_s:9.1f} ms {1e3 * long_s:9.1f} ms   ratio {long_s / short_s:7.2f}"
            )
        tracemalloc.start()
        opening(paths[1], counts[1])
        print(f"opening the long one holds at most {tracemalloc.get_traced_memory()[1] / 1e6:.1f} MB")
        tracemalloc.stop()
        if arguments.verify:
            began = time.perf_counter()
            result = verify(paths[1])
            print(f"verify: sound {result.is_sound}, {result.count:,} in {time.perf_counter() - began:.1f} s")
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--short", type=int, default=10_000, help="entries of the short journal")
    parser.add_argument("--long", type=int, default=1_000_000, help="entries of the long one")
    parser.add_argument("--times", type=int, default=7, help="runs of which the median is taken")
    parser.add_argument("--folder", type=Path, default=None, help="where to build them")
    parser.add_argument("--verify", action="store_true", help="verify the long one too")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
