"""``endurance log verify | export``: whether the journal still says what was written, and copies of it."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from console.cli.journals import is_there, journal_path, open_journal, wall_clock
from console.cli.opening import scenario_of
from console.errors import JournalError, UsageError
from console.record.chain import Head
from console.record.journal_stored import Stored, all_stored
from console.record.known_entries import KnownEntries
from console.record.verify import FaultKind, Verification, verify
from console.report.entries import Beside
from console.report.entries_export import csv_lines, json_lines, markdown_lines
from console.report.export import to_text, verification_document
from console.scenario.load import Scenario

if TYPE_CHECKING:
    from console.record.journal import Journal

FORMS = {"jsonl": "\n", "csv": "\r\n", "markdown": "\n"}
"""Each with how its lines end."""


def head(text: str) -> Head:
    """A head as ``log verify`` prints it."""
    number, _, digest = text.partition(":")
    if not number.isdecimal() or not re.fullmatch(r"[0-9a-f]{64}", digest):
        raise argparse.ArgumentTypeError(
            f"found {text[:80]!r}; write COUNT:HASH as 'log verify' printed it, 64 digits after the colon"
        )
    return Head(count=int(number), hash=digest)


def verify_journal(arguments: argparse.Namespace) -> int:
    """Print what is wrong with the journal, and where it ends."""
    scenario, path = _journal_of(arguments)
    found = verify(path, scenario=scenario.slug, epoch=scenario.craft.epoch, heads=arguments.head)
    if arguments.json:
        sys.stdout.write(to_text(verification_document(path, found)))
    else:
        faults = "".join(f"{fault}\n" for fault in found.faults)
        count = f"{found.count} {'entry' if found.count == 1 else 'entries'}"
        if found.is_sound:
            word = f"sound, {count}, head {found.head.count}:{found.head.hash}"
        else:
            word = f"DAMAGED, {count} read; {_good_words(found)}; keep a copy of the file as it is"
        sys.stdout.write(f"{faults}{path}: {word}\n")
    return 0 if found.is_sound else 1


def _good_words(found: Verification) -> str:
    """How far a damaged journal can be relied on: a chain that was made anew fits, and proves nothing."""
    good = found.head
    if any(fault.kind is FaultKind.CUT and (fault.sequence or 0) <= good.count for fault in found.faults):
        return "its chain fits, but not the head that was noted: rely on none, compare with another copy"
    if not good.count:
        return "not one of them can be relied on"
    upto = "#1" if good.count == 1 else f"#1 to #{good.count}"
    return f"the chain of {upto} fits (head {good.count}:{good.hash})"


def export_journal(arguments: argparse.Namespace) -> int:
    """Write the whole journal into a file, or print it."""
    if arguments.as_of is not None:
        raise UsageError("--as-of: the whole journal is exported, so that it can be verified; leave it out")
    scenario, path = _journal_of(arguments)
    journal = open_journal(scenario, path, wall_clock, writes=False)
    if journal is None:
        raise JournalError(f"{path}: there is no journal")
    with journal:
        end = journal.head()
        lines = _lines(arguments.form, journal, end, scenario)
        if arguments.out is None:
            sys.stdout.writelines(lines)
            return 0
        _write(arguments.out, lines)
    if arguments.json:
        head_document = {"count": end.count, "hash": end.hash}
        sys.stdout.write(to_text({"format": 1, "out": str(arguments.out), "head": head_document}))
    else:
        number = f"{end.count} {'entry' if end.count == 1 else 'entries'}"
        sys.stdout.write(f"{arguments.out}: {number} exported, head {end.count}:{end.hash}\n")
    return 0


def _lines(form: str, journal: Journal, end: Head, scenario: Scenario) -> Iterable[str]:
    stored: Iterable[Stored] = all_stored(journal, end)
    beside = Beside(plan=scenario.plan, standings=KnownEntries(journal).standings())
    lines = {
        "jsonl": lambda: json_lines(stored, journal.meta, end, beside),
        "csv": lambda: csv_lines(stored, beside),
        "markdown": lambda: markdown_lines(stored, f"Journal of {scenario.craft.name}", end, beside),
    }[form]()
    return (line + FORMS[form] for line in lines)


def _write(path: Path, lines: Iterable[str]) -> None:
    """A new file for the owner alone; what fails leaves none behind.

    Raises:
        JournalError: it cannot be written, or there is one of that name.
    """
    try:
        number = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        raise JournalError(f"--out: found {path}, which is there already; name a new file") from None
    except OSError as error:
        raise _unwritable(path, error) from None
    try:
        with os.fdopen(number, "w", encoding="utf-8", newline="") as file:
            file.writelines(lines)
            file.flush()
            os.fsync(file.fileno())
    except BaseException as error:
        path.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _unwritable(path, error) from None
        raise


def _unwritable(path: Path, error: OSError) -> JournalError:
    return JournalError(
        f"--out: {path} cannot be written ({error.strerror}), so nothing was; name a file elsewhere"
    )


def _journal_of(arguments: argparse.Namespace) -> tuple[Scenario, Path]:
    scenario = scenario_of(arguments)
    path = journal_path(arguments.journal, scenario, simulated=arguments.feed == "sim")
    if not is_there(path):
        raise JournalError(
            f"{path}: there is no journal; name one with --journal FILE, or log an entry first"
        )
    return scenario, path
