"""``endurance margins``: every supply now."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import snapshot_of
from console.report.export import margins_document, to_text
from console.report.tables import margins_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the margins."""
    snapshot = snapshot_of(arguments)
    text = to_text(margins_document(snapshot)) if arguments.json else margins_text(snapshot) + "\n"
    sys.stdout.write(text)
    return 0
