"""``endurance log add | correct | list | verify``: the journal from the command line."""

from __future__ import annotations

import argparse
import os
import re
import sys

from console.cli import arguments as shared
from console.cli.journals import is_there, journal_path
from console.cli.opening import instant_s, log_session, scenario_of
from console.display import elapsed_text, utc_text
from console.errors import JournalError, UnitsError, UsageError, nearest_words
from console.record.chain import Head
from console.record.entry import Entry
from console.record.verify import verify
from console.report.entries import entries_text
from console.report.export import entry_document, to_text, verification_document
from console.session import Session
from console.units import quantity_to_si


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    add = actions.add_parser(
        "add", help="add an entry", description="Add an entry; done when it is safe on disk."
    )
    what = add.add_mutually_exclusive_group(required=True)
    what.add_argument("--note", metavar="TEXT", help="a note")
    what.add_argument("--step", metavar="PROCEDURE/STEP", help="a step of a procedure that was done")
    what.add_argument("--commit", metavar="OPTION", help="the way home that is committed to from then on")
    what.add_argument(
        "--spend", metavar='"SUPPLY AMOUNT"', help="what is released of a reserve, as 'water 3 kg'"
    )
    add.add_argument(
        "--when", metavar="TIME", help="when it happened, if not now: T+26h10m or 2041-06-03T05:20:00Z"
    )
    add.add_argument(
        "--reason",
        metavar="TEXT",
        default="",
        help="why: of a step out of order, of a commitment, always of what is spent of a reserve",
    )
    shared.add_operator(add)
    correct = actions.add_parser(
        "correct", help="say that an entry is wrong", description="Add an entry that corrects an earlier one."
    )
    correct.add_argument("sequence", metavar="ENTRY", type=_count, help="number of the entry that is wrong")
    correct.add_argument("--note", metavar="TEXT", required=True, help="what is right")
    correct.add_argument("--withdraw", action="store_true", help="it did not happen: a step counts no longer")
    shared.add_operator(correct)
    entries = actions.add_parser(
        "list", help="list entries, newest last", description="List entries, newest last."
    )
    entries.add_argument("--limit", metavar="N", type=_count, help="only the newest N")
    check = actions.add_parser(
        "verify",
        help="check the whole journal",
        description="Check the whole journal; exit code 1 if it is damaged.",
    )
    check.add_argument(
        "--head",
        metavar="COUNT:HASH",
        action="append",
        type=_head,
        default=[],
        help="a head noted elsewhere and earlier: shows a tail that was cut off or rewritten",
    )
    for action in (add, correct, entries, check):
        shared.add_source(action)
        shared.add_journal(action)
        shared.add_json(action)
        shared.add_scenario(action)


def run(arguments: argparse.Namespace) -> int:
    """Run one action on the journal."""
    actions = {"add": _add, "correct": _correct, "list": _list, "verify": _verify}
    return actions[arguments.action](arguments)


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
        for entry in session.entries()
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
            sys.stdout.write(to_text(entry_document(entry)))
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


def _correct(arguments: argparse.Namespace) -> int:
    session = log_session(arguments, writes=True)
    entry = session.log_correction(arguments.sequence, arguments.note, withdraws=arguments.withdraw)
    return _tell(arguments, session, entry)


def _tell(arguments: argparse.Namespace, session: Session, entry: Entry) -> int:
    """Say that an entry is saved, now that it is."""
    session.close()
    sentence = f"saved as #{entry.sequence}, {_moment(entry)}: {entry.sentence}\n"
    try:
        sys.stdout.write(to_text(entry_document(entry)) if arguments.json else sentence)
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


def _list(arguments: argparse.Namespace) -> int:
    session = log_session(arguments, writes=False)
    entries = session.entries(arguments.limit)
    if arguments.json:
        sys.stdout.write(to_text({"format": 1, "entries": [entry_document(entry) for entry in entries]}))
    else:
        sys.stdout.write(entries_text(entries) + "\n")
    return 0


def _verify(arguments: argparse.Namespace) -> int:
    scenario = scenario_of(arguments)
    path = journal_path(arguments.journal, scenario, simulated=arguments.feed == "sim")
    if not is_there(path):
        raise JournalError(
            f"{path}: there is no journal; name one with --journal FILE, or log an entry first"
        )
    found = verify(path, scenario=scenario.slug, epoch=scenario.craft.epoch, heads=arguments.head)
    if arguments.json:
        sys.stdout.write(to_text(verification_document(path, found)))
    else:
        faults = "".join(f"{fault}\n" for fault in found.faults)
        word = "sound" if found.is_sound else "DAMAGED"
        sys.stdout.write(
            f"{faults}{path}: {word}, {found.count} entries, head {found.head.count}:{found.head.hash}\n"
        )
    return 0 if found.is_sound else 1


def _count(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("write a whole number from 1 up")
    return number


def _head(text: str) -> Head:
    count, _, digest = text.partition(":")
    if not count.isdecimal() or not re.fullmatch(r"[0-9a-f]{64}", digest):
        raise argparse.ArgumentTypeError("write COUNT:HASH as 'log verify' prints them")
    return Head(count=int(count), hash=digest)


def _moment(entry: Entry) -> str:
    return f"{elapsed_text(entry.elapsed_s)} ({utc_text(entry.happened_at)})"
