"""``endurance ledger SUPPLY``: where every unit of a supply goes until need."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import snapshot_of
from console.errors import UsageError, nearest_words
from console.report.export import ledger_document, to_text
from console.report.ledger import ledger_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    parser.add_argument("supply", metavar="SUPPLY", help="name of the supply, as in craft.yaml")
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the ledger of one supply."""
    snapshot = snapshot_of(arguments)
    if arguments.supply not in snapshot.supplies:
        hint = nearest_words(arguments.supply, snapshot.supplies)
        raise UsageError(f"SUPPLY: found {arguments.supply!r}; {hint}")
    if arguments.json:
        sys.stdout.write(to_text(ledger_document(snapshot, arguments.supply)))
    else:
        sys.stdout.write(ledger_text(snapshot, arguments.supply) + "\n")
    return 0
