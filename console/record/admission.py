"""What may enter the journal: text is made harmless here, and what cannot be kept whole is refused.

This is the only border: whatever stands in the journal has passed it, so that readers need not clean again.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from console.display import clean_text
from console.errors import JournalError
from console.record.entry import Draft, EntryKind
from console.record.row import body_text, moment_text
from console.record.steps import check_step_body

MAX_TEXT_CHARACTERS = 100_000
"""Of one text in a body."""
MAX_BODY_CHARACTERS = 1_000_000
"""Of a whole body as JSON: a handover sheet with room to spare."""
MAX_NAME_CHARACTERS = 200
"""Of an id, an operator or a position."""
_MAX_DEPTH = 32
_INTEGER_LIMIT = 2**63


@dataclass(frozen=True, kw_only=True, slots=True)
class Admitted:
    """A draft as the columns that are its own."""

    id: str
    kind: EntryKind
    happened_at: str
    operator: str
    position: str
    body: str
    corrects: int | None
    """The sequence that a correction names."""

    @property
    def columns(self) -> tuple[str, ...]:
        """What a resend of the same draft has in common with the first."""
        return (self.id, self.kind.value, self.happened_at, self.operator, self.position, self.body)


class EntryRefusedError(JournalError):
    """What was to be written cannot be an entry of this journal: to send it again would not help."""


def admit(draft: Draft) -> Admitted:
    """Check a draft and make its texts harmless.

    Raises:
        EntryRefusedError: says which field, what was found, what to write instead.
    """
    try:
        return _admit(draft)
    except JournalError as error:
        raise EntryRefusedError(str(error)) from None


def _admit(draft: Draft) -> Admitted:
    if draft.happened_at.tzinfo is None:
        raise JournalError(f"happened_at: found {draft.happened_at} without a zone; give it in UTC")
    body = _clean(draft.body, "body", 0)
    _check_text(draft.kind, body)
    if draft.kind is EntryKind.STEP:
        check_step_body(body)
    text = body_text(body)
    if len(text) > MAX_BODY_CHARACTERS:
        raise JournalError(
            f"body: found {len(text):,} characters; write at most {MAX_BODY_CHARACTERS:,} in one entry"
        )
    return Admitted(
        id=_id(draft.id),
        kind=draft.kind,
        happened_at=moment_text(draft.happened_at),
        operator=_name(draft.operator, "operator"),
        position=_name(draft.position, "position"),
        body=text,
        corrects=_corrects(body) if draft.kind is EntryKind.CORRECTION else None,
    )


def _id(found: str) -> str:
    if not found or found != clean_text(found) or found != "".join(found.split()):
        raise JournalError(f"id: found {found!r}; write a UUID, without spaces or control characters")
    return _name(found, "id")


def _name(found: str, place: str) -> str:
    if len(found) > MAX_NAME_CHARACTERS:
        raise JournalError(
            f"{place}: found {len(found):,} characters; write at most {MAX_NAME_CHARACTERS} characters"
        )
    return clean_text(found)


def _check_text(kind: EntryKind, body: Mapping[str, Any]) -> None:
    text = body.get("text", "")
    if not isinstance(text, str):
        raise JournalError(f"body.text: found {json.dumps(text)[:40]}; write what the entry says, as text")
    if kind is EntryKind.NOTE and not text.strip():
        raise JournalError("body.text: found nothing; write the note's text")


def _corrects(body: Mapping[str, Any]) -> int:
    sequence = body.get("corrects")
    if not isinstance(sequence, int) or isinstance(sequence, bool):
        raise JournalError(f"body.corrects: found {sequence!r}; write the number of the entry to correct")
    return sequence


def _clean(value: Any, place: str, depth: int) -> Any:
    """The same JSON value with every text made harmless."""
    if depth > _MAX_DEPTH:
        raise JournalError(f"{place}: found more than {_MAX_DEPTH} levels; nest less deeply")
    if isinstance(value, str):
        return _clean_text_at(value, place)
    if isinstance(value, Mapping):
        return {_key(key, place): _clean(item, f"{place}.{key}", depth + 1) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(item, f"{place}[{index}]", depth + 1) for index, item in enumerate(value)]
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, float) and math.isfinite(value):
        return value
    if isinstance(value, int) and abs(value) < _INTEGER_LIMIT:
        return value
    raise JournalError(
        f"{place}: found {str(value)[:40]!r}; write text, a finite number, true, false or null"
    )


def _clean_text_at(text: str, place: str) -> str:
    if len(text) > MAX_TEXT_CHARACTERS:
        raise JournalError(
            f"{place}: found {len(text):,} characters; write at most {MAX_TEXT_CHARACTERS:,}, or two entries"
        )
    return clean_text(text)


def _key(key: Any, place: str) -> str:
    if not isinstance(key, str) or clean_text(key) != key:
        raise JournalError(f"{place}: found the key {key!r}; write keys as plain text")
    return key
