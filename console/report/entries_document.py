"""Journal entries as data: what the ``log`` commands print with ``--json``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from console.record.chain import FIELDS
from console.record.entry import Entry
from console.record.journal_stored import Stored
from console.report.entries import Beside
from console.report.export import FORMAT, entry_document


def entries_document(entries: Sequence[Entry], beside: Beside) -> dict[str, Any]:
    """What ``log list --json`` prints."""
    return {"format": FORMAT, "entries": [listed_document(entry, beside) for entry in entries]}


def listed_document(entry: Entry, beside: Beside) -> dict[str, Any]:
    """An entry with what stands beside it: whose watch it was by the plan, what corrections made of it."""
    standing = beside.standings.get(entry.sequence)
    return {
        **entry_document(entry),
        "watch": beside.watch(entry),
        "withdrawn": standing is not None and standing.is_withdrawn,
        "corrected_by": [] if standing is None else list(standing.by),
        "corrected_text": None if standing is None else standing.text,
    }


def shown_document(stored: Stored, beside: Beside) -> dict[str, Any]:
    """What ``log show --json`` prints."""
    return {
        **listed_document(stored.entry, beside),
        "monotonic_s": stored.entry.monotonic_s,
        "boot_id": stored.entry.boot_id,
        "hashed": dict(zip(FIELDS, stored.fields, strict=True)),
        "fits": not stored.fault,
        "why": stored.fault or None,
    }
