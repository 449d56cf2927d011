"""``endurance log add | correct``: what is written into the journal, told once it is safe on the disk."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from console.cli.opening import log_session
from console.cli.sources import instant_s
from console.display import elapsed_text, utc_text
from console.errors import JournalError, UnitsError, UsageError, nearest_words
from console.record.admission import EntryRefusedError
from console.record.entry import Entry
from console.report.entries import Beside
from console.report.entries_document import listed_document
from console.report.export import to_text
from console.session import Session
from console.units import quantity_to_si

_NOT_SAVED = (
    "NOT SAVED. Once that is mended, look with 'endurance log list --limit 5' whether it stands there "
    "all the same; if not, log it again"
)
"""A disk may fail at the very last act of a write; who logs it anew, with a new id, must not log it twice."""


def add(arguments: argparse.Namespace) -> int:
    """Log a note, a step, a commitment or a release."""
    with _failure_told():
        return _add(arguments)


def correct(arguments: argparse.Namespace) -> int:
    """Log that an earlier entry is wrong."""
    with _failure_told():
        session = log_session(arguments, writes=True)
        entry = session.log_correction(arguments.sequence, arguments.note, withdraws=arguments.withdraw)
        return _tell(arguments, session, entry)


@contextmanager
def _failure_told() -> Iterator[None]:
    """Say behind the reason that nothing was saved, and what to do.

    Raises:
        JournalError: in place of every one that is no refusal.
    """
    try:
        yield
    except EntryRefusedError:
        raise
    except JournalError as error:
        raise JournalError(f"{error}\n{_NOT_SAVED}") from error


def _add(arguments: argparse.Namespace) -> int:
    session = log_session(arguments, writes=True)
    happened_s = None if arguments.when is None else instant_s(arguments.when, session.scenario, "--when")
    if arguments.note is not None:
        entry = session.log_note(arguments.note, happened_s=happened_s)
    elif arguments.commit is not None:
        return _commit(arguments, session, happened_s)
    elif arguments.spend is not None:
        entry = _spend(arguments, session, happened_s)
    else:
        entry = _add_step(arguments, session, happened_s)
    return _tell(arguments, session, entry)


def _commit(arguments: argparse.Namespace, session: Session, happened_s: float | None) -> int:
    """Log a decision for a way home; where it stands already, say so and show the entry by which it does."""
    name = arguments.commit
    entry = session.log_commitment(name, happened_s=happened_s, reason=arguments.reason)
    if entry is None:
        return _tell_standing(arguments, session)
    decide_by_s = session.scenario.plan.options[name].decide_by_s
    if decide_by_s is not None and decide_by_s < entry.elapsed_s:
        sys.stderr.write(f"caution: {name} was to be decided by {elapsed_text(decide_by_s)}\n")
    decision = session.in_force().decision
    if decision is not None and decision.option != name:
        since = elapsed_text(decision.at_s)
        sys.stderr.write(
            f"caution: {decision.option}, committed to at {since}, is later and stays in force\n"
        )
    return _tell(arguments, session, entry)


def _tell_standing(arguments: argparse.Namespace, session: Session) -> int:
    decision = session.in_force().decision
    standing = [
        entry
        for entry in session.known_entries.steps()
        if decision is not None
        and entry.body.get("option") == decision.option
        and entry.elapsed_s == decision.at_s
    ]
    session.close()
    for entry in standing[-1:]:
        said = (
            f"nothing logged: {entry.text} already, #{entry.sequence}, {_moment(entry)}, {entry.operator}\n"
        )
        (sys.stderr if arguments.json else sys.stdout).write(said)
        if arguments.json:
            sys.stdout.write(to_text(_document(entry, session)))
    return 0


def _spend(arguments: argparse.Namespace, session: Session, happened_s: float | None) -> Entry:
    """Log that part of a reserve is released."""
    supplies = session.scenario.craft.supplies
    match = re.fullmatch(r"\s*(.*?)\s+([+-]?[\d.].*?)\s*", arguments.spend)
    if match is None:
        raise UsageError(f"--spend: found {arguments.spend!r}; write a supply and an amount, as 'water 3 kg'")
    name, amount = match.groups()
    if name not in supplies:
        raise UsageError(f"--spend: found supply {name!r}; {nearest_words(name, supplies)}")
    try:
        amount_si, _ = quantity_to_si(amount, supplies[name].dimension)
    except UnitsError as error:
        raise UsageError(f"--spend: {error}") from None
    return session.log_release(name, amount_si, amount, arguments.reason, happened_s=happened_s)


def _tell(arguments: argparse.Namespace, session: Session, entry: Entry) -> int:
    """Say that an entry is saved, now that it is."""
    session.close()
    sentence = f"saved as #{entry.sequence}, {_moment(entry)}: {entry.sentence}\n"
    try:
        sys.stdout.write(to_text(_document(entry, session)) if arguments.json else sentence)
        sys.stdout.flush()
    except OSError as error:
        # It is saved: a failure here must not make anybody enter it again.
        sys.stderr.write(f"{sentence}(the output could not be written: {error.strerror})\n")
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _add_step(arguments: argparse.Namespace, session: Session, happened_s: float | None) -> Entry:
    procedure, step = session.find_step(arguments.step)
    if step.caution:
        sys.stderr.write(f"caution: {step.caution}\n")
    return session.log_step(procedure.name, step.id, happened_s=happened_s, reason=arguments.reason)


def _document(entry: Entry, session: Session) -> dict[str, Any]:
    return listed_document(entry, Beside(plan=session.scenario.plan))


def _moment(entry: Entry) -> str:
    return f"{elapsed_text(entry.elapsed_s)} ({utc_text(entry.happened_at)})"
