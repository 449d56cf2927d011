"""An entry as the columns of its row, and back. What is hashed is what stands in the columns.

Every column but the sequence is text, so that a bit that flips in any of them changes hashed bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from console.errors import JournalError
from console.instants import seconds_since
from console.record.entry import Entry, EntryKind

Row = tuple[int | str, ...]
"""The values of ``chain.COLUMNS``."""


def moment_text(moment: datetime) -> str:
    """A moment to the microsecond, in UTC.

    >>> moment_text(datetime(2041, 6, 2, 3, 10, tzinfo=UTC))
    '2041-06-02T03:10:00.000000Z'
    """
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def moment_of(text: str) -> datetime:
    """The moment that ``moment_text`` wrote.

    Raises:
        ValueError: it wrote no such text.
    """
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None or moment_text(moment) != text:
        raise ValueError(f"{text!r} is no moment as the journal writes it")
    return moment


def body_text(body: Mapping[str, Any]) -> str:
    """A body as the one JSON text that stands for it.

    >>> body_text({"text": "valve", "corrects": 3})
    '{"corrects":3,"text":"valve"}'
    """
    return json.dumps(body, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def field_bytes(row: Sequence[int | str]) -> list[bytes]:
    """The bytes of columns as they are hashed."""
    return [str(value).encode() for value in row]


def entry_of(row: Sequence[Any], epoch: datetime, where: str) -> Entry:
    """The entry that a row holds.

    Raises:
        JournalError: the row holds no entry that this program can read; names its place.
    """
    sequence, draft_id, kind, happened, written, monotonic, boot_id, host, operator, position, body = row[:11]
    try:
        happened_at = moment_of(happened)
        return Entry(
            sequence=sequence,
            id=draft_id,
            kind=EntryKind(kind),
            happened_at=happened_at,
            written_at=moment_of(written),
            elapsed_s=seconds_since(epoch, happened_at),
            monotonic_s=float(monotonic),
            boot_id=boot_id,
            host=host,
            operator=operator,
            position=position,
            body=_body_of(body),
            previous_hash=row[11],
            hash=row[12],
        )
    except (ValueError, TypeError, RecursionError) as error:
        raise JournalError(
            f"{where}: entry {sequence} cannot be read ({error}); verify the journal, and go on with a copy "
            "that holds"
        ) from None


def _body_of(text: str) -> Mapping[str, Any]:
    body = json.loads(text)
    if not isinstance(body, dict):
        raise TypeError("its body is no JSON object")
    return body
