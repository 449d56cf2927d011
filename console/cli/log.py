"""``endurance log add | correct | list | show | verify | export``: the journal from the command line."""

from __future__ import annotations

import argparse
from pathlib import Path

from console.cli import arguments as shared
from console.cli.log_adding import add, correct
from console.cli.log_handing_on import FORMS, export_journal, head, verify_journal
from console.cli.log_reading import add_search, count, list_entries, show_entry

_ACTIONS = {
    "add": add,
    "correct": correct,
    "list": list_entries,
    "show": show_entry,
    "verify": verify_journal,
    "export": export_journal,
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for make in (_adding, _correcting, _listing, _showing, _verifying, _exporting):
        action = make(actions)
        shared.add_source(action)
        shared.add_journal(action)
        shared.add_json(action)
        shared.add_scenario(action)


def run(arguments: argparse.Namespace) -> int:
    """Run one action on the journal."""
    return _ACTIONS[arguments.action](arguments)


_Actions = argparse._SubParsersAction  # the one private name: argparse gives no other for its annotation


def _adding(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    adding = actions.add_parser(
        "add", help="add an entry", description="Add an entry; done when it is safe on disk."
    )
    what = adding.add_mutually_exclusive_group(required=True)
    what.add_argument("--note", metavar="TEXT", help="a note")
    what.add_argument("--step", metavar="PROCEDURE/STEP", help="a step of a procedure that was done")
    what.add_argument("--commit", metavar="OPTION", help="the way home that is committed to from then on")
    what.add_argument(
        "--spend", metavar='"SUPPLY AMOUNT"', help="what is released of a reserve, as 'water 3 kg'"
    )
    adding.add_argument(
        "--when", metavar="TIME", help="when it happened, if not now: T+26h10m or 2041-06-03T05:20:00Z"
    )
    adding.add_argument(
        "--reason",
        metavar="TEXT",
        default="",
        help="why: of a step out of order, of a commitment, always of what is spent of a reserve",
    )
    shared.add_operator(adding)
    return adding


def _correcting(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    correcting = actions.add_parser(
        "correct",
        help="say that an entry is wrong",
        description="Add an entry that corrects an earlier one; both stay, and the lists show both.",
    )
    correcting.add_argument("sequence", metavar="ENTRY", type=count, help="number of the entry that is wrong")
    correcting.add_argument("--note", metavar="TEXT", required=True, help="what is right")
    correcting.add_argument(
        "--withdraw", action="store_true", help="it did not happen: a step counts no longer"
    )
    shared.add_operator(correcting)
    return correcting


def _listing(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    listing = actions.add_parser(
        "list",
        help="list entries, newest last",
        description="List entries, newest last: all, or those that fit every condition.",
    )
    add_search(listing)
    return listing


def _showing(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    showing = actions.add_parser(
        "show", help="all that is known of one entry", description="Show all that is known of one entry."
    )
    showing.add_argument("sequence", metavar="ENTRY", type=count, help="its number")
    return showing


def _verifying(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    verifying = actions.add_parser(
        "verify",
        help="check the whole journal",
        description="Check the whole journal; exit code 1 if it is damaged.",
    )
    verifying.add_argument(
        "--head",
        metavar="COUNT:HASH",
        action="append",
        type=head,
        default=[],
        help="a head noted elsewhere and earlier: shows a tail that was cut off or rewritten",
    )
    return verifying


def _exporting(actions: _Actions[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    exporting = actions.add_parser(
        "export",
        help="write the whole journal for others to read",
        description="Write the whole journal as JSON Lines (with all that its chain is verified by), CSV or "
        "Markdown.",
    )
    exporting.add_argument("--form", choices=list(FORMS), default="jsonl", help="default: %(default)s")
    exporting.add_argument(
        "--out", metavar="FILE", type=Path, help="a new file, for its owner alone (default: print it)"
    )
    return exporting
