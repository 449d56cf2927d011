"""``endurance brief``: plain answers to read aloud, and with ``--card`` the page to print each watch."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.engine.briefing import briefing_of, hand_sums_of
from console.engine.known import Situation
from console.errors import UsageError
from console.report.brief.answers import brief_of
from console.report.brief.card import MOST_PHASES, card_lines
from console.report.brief.document import brief_document
from console.report.brief.markdown import markdown_lines
from console.report.brief.text import long_lines, short_lines
from console.report.export import to_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    parser.add_argument("--long", action="store_true", help="everything, instead of what fits one screen")
    parser.add_argument(
        "--card",
        action="store_true",
        help="one page to print each watch, to carry on from with a pencil if every screen goes dark",
    )
    parser.add_argument(
        "--form", choices=["text", "markdown", "json"], default=None, help="how it is printed (default: text)"
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the brief or the card."""
    form = _form(arguments)
    situation = open_session(arguments, writes=False).situation()
    if arguments.card:
        sys.stdout.write("\n".join(_card(situation)) + "\n")
        return 0
    briefing = briefing_of(situation)
    need_readings(briefing.snapshot)
    brief = brief_of(briefing)
    if form == "json":
        sys.stdout.write(to_text(brief_document(briefing.snapshot, brief)))
        return 0
    if form == "markdown":
        lines = markdown_lines(brief, is_long=arguments.long)
    else:
        lines = long_lines(brief) if arguments.long else short_lines(brief)
    sys.stdout.write("\n".join(lines) + "\n")
    return 0


def _form(arguments: argparse.Namespace) -> str:
    """The form that is meant.

    Raises:
        UsageError: two are asked for, or one that the card does not have.
    """
    if arguments.json and arguments.form not in (None, "json"):
        raise UsageError(f"--json with --form {arguments.form}: write one of the two")
    form = "json" if arguments.json else arguments.form or "text"
    if arguments.card and (form != "text" or arguments.long):
        raise UsageError("--card is one page of plain text: leave out --form, --json and --long")
    return form


def _card(situation: Situation) -> list[str]:
    sums = hand_sums_of(situation, MOST_PHASES)
    need_readings(sums.snapshot)
    return card_lines(sums)
