"""``endurance loss``: every margin with each store, bus and line lost in turn."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.report.export import to_text
from console.report.loss_export import losses_document
from console.report.loss_tables import losses_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the losses."""
    losses = open_session(arguments, writes=False).losses()
    need_readings(losses.snapshot)
    text = to_text(losses_document(losses)) if arguments.json else losses_text(losses) + "\n"
    sys.stdout.write(text)
    return 0
