"""What is looked for in a journal is found, newest of it first to count, by the indexes and without them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from console.record import journal_search
from console.record.entry import Draft, EntryKind
from console.record.journal import Journal
from console.record.journal_search import Search, each_found, found, operators

Make = Callable[..., Draft]
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)


@pytest.fixture
def watch(journal: Journal, draft: Make) -> Journal:
    """Twelve entries, an hour apart, of three operators and three kinds; the seventh was written late."""
    for number in range(1, 13):
        kind = (EntryKind.NOTE, EntryKind.ALERT, EntryKind.STEP)[number % 3]
        body: dict[str, Any] = {"text": f"entry {number}, fan {number % 4}"}
        if kind is EntryKind.STEP:
            body |= {"procedure": "quiet", "step": str(number), "loads": {"s-radio": "off"}}
        happened = EPOCH + timedelta(hours=2 if number == 7 else number)
        operator = ("Mira", "jonas", "Åse")[number % 3 if number != 10 else 0]
        journal.append(draft(f"n{number}", kind=kind, happened_at=happened, operator=operator, body=body))
    return journal


def _numbers(journal: Journal, **asked: Any) -> list[int]:
    return [entry.sequence for entry in found(journal, Search(**asked))]


@pytest.mark.parametrize("is_indexed", [True, False])
@pytest.mark.parametrize("piece", [1, 3, 5000])
@pytest.mark.parametrize(
    ("asked", "due"),
    [
        ({}, list(range(1, 13))),
        ({"limit": 3}, [10, 11, 12]),
        ({"limit": 0}, []),
        ({"since": EPOCH + timedelta(hours=11)}, [11, 12]),
        ({"until": EPOCH + timedelta(hours=2)}, [1, 2, 7]),
        ({"since": EPOCH + timedelta(hours=2), "until": EPOCH + timedelta(hours=3)}, [2, 3, 7]),
        ({"since": EPOCH + timedelta(hours=2), "until": EPOCH + timedelta(hours=9), "limit": 2}, [8, 9]),
        ({"kinds": (EntryKind.STEP,)}, [2, 5, 8, 11]),
        ({"kinds": (EntryKind.STEP, EntryKind.ALERT), "limit": 3}, [8, 10, 11]),
        ({"kinds": (EntryKind.HANDOVER,)}, []),
        ({"operator": "MIRA"}, [3, 6, 9, 10, 12]),
        ({"operator": "mira", "limit": 2}, [10, 12]),
        ({"operator": "mira", "kinds": (EntryKind.ALERT,)}, [10]),
        ({"operator": "mira", "until": EPOCH + timedelta(hours=9)}, [3, 6, 9]),
        ({"operator": "mir"}, []),
        ({"words": ("FAN", "entry 1,")}, [1]),
        ({"words": ("quiet/5",)}, [5]),
        ({"words": ("fan", "zebra")}, []),
        ({"words": ("fan%3",)}, []),
        ({"words": ("f_n",)}, []),
        ({"names": ((*(f"load-{number}" for number in range(20)), "s-radio"),)}, [2, 5, 8, 11]),
        ({"words": ("1",), "limit": 2}, [11, 12]),
        ({"names": (("s-radio",),)}, [2, 5, 8, 11]),
        ({"names": (("radio",),)}, []),
        ({"names": (("radio", "S-RADIO"), ("quiet",))}, [2, 5, 8, 11]),
        ({"names": (("s-radio",),), "words": ("fan 3",)}, [11]),
    ],
)
def test_a_search_finds_all_that_fits_and_nothing_else(
    watch: Journal,
    opened: Callable[..., Journal],
    raw: Any,
    monkeypatch: pytest.MonkeyPatch,
    asked: dict[str, Any],
    due: list[int],
    piece: int,
    is_indexed: bool,
) -> None:
    monkeypatch.setattr(journal_search, "PIECE", piece)
    monkeypatch.setattr(journal_search, "_FIRST_PIECE", min(piece, 2))
    journal = watch
    if not is_indexed:
        watch.close()
        for name in ("kind", "operator", "moment"):
            raw().execute(f"DROP INDEX entry_by_{name}")
        journal = opened(read_only=True)
    assert _numbers(journal, **asked) == due
    one_by_one = [entry.sequence for entry in each_found(journal, Search(**asked))]
    assert one_by_one == due


def test_a_word_is_found_whatever_letters_it_is_written_in(journal: Journal, draft: Make) -> None:
    for number, text in enumerate(("VÉRIFIÉ par Åse", 'say "ready"\nthen go', "back\\slash", "50% full")):
        journal.append(draft(f"n{number}", body={"text": text}))
    for word, due in (("vérifié", 1), ("åSE", 1), ('"READY"', 2), ("back\\slash", 3), ("50%", 4)):
        assert _numbers(journal, words=(word,)) == [due], word
    assert _numbers(journal, words=("5%full",)) == []


def test_what_was_written_later_than_a_moment_is_left_out(journal: Journal, draft: Make, clock: Any) -> None:
    journal.append(draft("a"))
    before = clock.now
    clock.now += timedelta(minutes=1)
    journal.append(draft("b"))
    assert _numbers(journal, written_until=before) == [1]
    assert _numbers(journal, written_until=clock.now) == [1, 2]


def test_everybody_who_wrote_is_named_once(watch: Journal, draft: Make) -> None:
    watch.append(draft("again", operator="MIRA"))
    assert operators(watch) == ("MIRA", "Mira", "jonas", "Åse")
    assert _numbers(watch, operator="åse") == _numbers(watch, operator="ÅSE") == [2, 5, 8, 11]
    assert _numbers(watch, operator="mira", limit=2) == [12, 13]


@pytest.mark.parametrize(
    ("asked", "index"),
    [
        ({"operator": "mira", "since": EPOCH, "until": EPOCH + timedelta(days=1)}, "entry_by_moment"),
        ({"operator": "mira"}, "entry_by_operator"),
        ({"kinds": (EntryKind.STEP,)}, "entry_by_kind"),
    ],
)
def test_a_search_reads_by_its_index_and_not_every_entry(
    watch: Journal, raw: Any, asked: dict[str, Any], index: str
) -> None:
    statements: list[tuple[str, tuple[object, ...]]] = []
    query = watch.query

    def noting(statement: str, *values: object) -> list[Any]:
        statements.append((statement, values))
        return query(statement, *values)

    watch.query = noting  # type: ignore[method-assign]  # a spy
    assert found(watch, Search(**asked))
    plans = [
        str(row[3])
        for statement, values in statements
        if "sqlite_schema" not in statement
        for row in raw().execute(f"EXPLAIN QUERY PLAN {statement}", values)
    ]
    assert any(index in plan for plan in plans)
    assert not [plan for plan in plans if plan.startswith("SCAN entry")]


def test_a_search_that_needs_a_few_does_not_read_the_rest(
    watch: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(journal_search, "_FIRST_PIECE", 2)
    read: list[int] = []
    rows = watch.rows

    def counting(rest: str, *values: object) -> list[Any]:
        answer = rows(rest, *values)
        read.append(len(answer))
        return answer

    watch.rows = counting  # type: ignore[method-assign]  # a spy
    assert _numbers(watch, limit=2) == [11, 12]
    assert sum(read) == 2
