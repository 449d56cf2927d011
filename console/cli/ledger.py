"""``endurance ledger SUPPLY``: where every unit of a supply goes until need."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.errors import UsageError, nearest_words
from console.report.allowance import allowance_lines
from console.report.export import ledger_document, to_text
from console.report.ledger import ledger_text
from console.report.options_export import allowance_document


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
    session = open_session(arguments, writes=False)
    snapshot = session.tick()
    need_readings(snapshot)
    if arguments.supply not in snapshot.supplies:
        hint = nearest_words(arguments.supply, snapshot.supplies)
        raise UsageError(f"SUPPLY: found {arguments.supply!r}; {hint}")
    free_phases = session.allowances()[arguments.supply]
    if arguments.json:
        document = ledger_document(snapshot, arguments.supply)
        sys.stdout.write(to_text({**document, "free_phases": allowance_document(free_phases)}))
    else:
        lines = (ledger_text(snapshot, arguments.supply), "", *allowance_lines(free_phases))
        sys.stdout.write("\n".join(lines) + "\n")
    return 0
