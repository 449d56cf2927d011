"""The hash chain of the journal: which bytes are hashed, in which order. Pure; knows no file.

Every entry's hash is SHA-256 (FIPS 180-4) over a tag and the entry's twelve fields, each written as a
netstring (length in bytes as decimal digits, colon, the bytes, comma), so that no two different entries
have the same bytes. The fields are the very bytes of the columns: text in UTF-8, the sequence in decimal
digits. The twelfth is the hash of the entry before; before the first one stands a hash over format,
scenario and epoch, which binds the whole chain to them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

FORMAT = 1
"""Of the journal's tables and of the hashed bytes."""

FIELDS = (
    "sequence",
    "id",
    "kind",
    "happened_at",
    "written_at",
    "monotonic_s",
    "boot_id",
    "host",
    "operator",
    "position",
    "body",
    "previous_hash",
)
"""The hashed columns, in the order in which they are hashed."""

COLUMNS = (*FIELDS, "hash")
"""All columns of an entry, in the order of the table."""

_ENTRY_TAG = f"endurance journal {FORMAT} entry".encode()
_GENESIS_TAG = f"endurance journal {FORMAT} genesis".encode()


@dataclass(frozen=True, kw_only=True, slots=True)
class Head:
    """Where a journal ends. Noted elsewhere, it shows later that nothing was cut off or rewritten."""

    count: int
    """How many entries there are, which is also the sequence of the last."""
    hash: str
    """Hash of the last entry; of an empty journal, the hash that stands before the first."""


def sha256_hex(message: bytes) -> str:
    """SHA-256 as 64 lower-case hexadecimal digits.

    >>> sha256_hex(b"")[:16]
    'e3b0c44298fc1c14'
    """
    return hashlib.sha256(message).hexdigest()


def netstring(field: bytes) -> bytes:
    r"""A field with its length before it.

    >>> netstring("µ,".encode())
    b'3:\xc2\xb5,,'
    """
    return b"%d:%b," % (len(field), field)


def genesis_hash(scenario: str, epoch: str) -> str:
    """What the first entry has for its previous hash.

    Args:
        scenario: the scenario's slug as the journal holds it.
        epoch: the epoch's text as the journal holds it.
    """
    fields = (_GENESIS_TAG, scenario.encode(), epoch.encode())
    return sha256_hex(b"".join(netstring(field) for field in fields))


def entry_hash(fields: Sequence[bytes]) -> str:
    """The hash of one entry from the bytes of its twelve fields, in the order of ``FIELDS``."""
    if len(fields) != len(FIELDS):
        raise ValueError(f"an entry has {len(FIELDS)} hashed fields, not {len(fields)}")
    return sha256_hex(b"".join(netstring(field) for field in (_ENTRY_TAG, *fields)))
