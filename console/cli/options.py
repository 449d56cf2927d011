"""``endurance options``: the ways home side by side, and until when each stays open."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.report.export import to_text
from console.report.options_export import options_document
from console.report.options_tables import options_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the ways home."""
    options = open_session(arguments, writes=False).options()
    need_readings(options.snapshot)
    text = to_text(options_document(options)) if arguments.json else options_text(options) + "\n"
    sys.stdout.write(text)
    return 0
