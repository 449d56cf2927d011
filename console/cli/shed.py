"""``endurance shed --margin 12h``: what to switch off for a margin, and what each load buys."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.errors import UnitsError, UsageError
from console.report.export import to_text
from console.report.shed_export import shed_document
from console.report.shed_tables import shed_text
from console.units import Dimension, quantity_to_si


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    parser.add_argument(
        "--margin",
        metavar="TIME",
        required=True,
        help="the margin that every supply is to have, as 12h or '90 min'; --margin=-3h asks to be at most "
        "3 h short",
    )
    parser.add_argument(
        "--central", action="store_true", help="the central margin is to reach it, instead of the low end"
    )
    parser.add_argument(
        "--run-for", metavar="TIME", help="say too what may be switched on for so long and keep the margin"
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the advice."""
    goal_s = seconds_of(arguments.margin, "--margin")
    run_for_s = None if arguments.run_for is None else seconds_of(arguments.run_for, "--run-for")
    if run_for_s is not None and run_for_s <= 0.0:
        raise UsageError(f"--run-for: found {arguments.run_for!r}; write a time above zero, as 2h")
    session = open_session(arguments, writes=False)
    advice = session.shed(goal_s, by_low_end=not arguments.central, run_for_s=run_for_s)
    need_readings(advice.compared.before)
    text = to_text(shed_document(advice)) if arguments.json else shed_text(advice) + "\n"
    sys.stdout.write(text)
    return 0


def seconds_of(text: str, option: str) -> float:
    """A length of time given on the command line.

    Raises:
        UsageError: names the option, what was found and what to write.
    """
    try:
        value_s, _ = quantity_to_si(text, Dimension.TIME)
    except UnitsError as error:
        raise UsageError(f"{option}: {error}") from None
    return value_s
