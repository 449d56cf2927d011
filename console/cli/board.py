"""``endurance board``: the full-screen board."""

from __future__ import annotations

import argparse

from console.cli import arguments as shared
from console.cli.opening import open_session


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_operator(parser)
    parser.add_argument("--ascii", action="store_true", help="draw with plain ASCII characters only")
    parser.add_argument(
        "--read-only", action="store_true", help="show only: nothing can be logged from this board"
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Run the board until it is quit."""
    session = open_session(arguments, writes=not arguments.read_only, live=True)
    from console.board.app import run_board  # Textual is paid for only by those who see it

    try:
        return run_board(session, ascii_only=arguments.ascii, read_only=arguments.read_only)
    finally:
        session.close()
