"""``endurance board``: the full-screen board."""

from __future__ import annotations

import argparse
import gc
import sys
from typing import TextIO

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.errors import UsageError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_operator(parser)
    parser.add_argument("--ascii", action="store_true", help="draw with plain ASCII characters only")
    parser.add_argument(
        "--read-only", action="store_true", help="show only: nothing can be logged from this board"
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Run the board until it is quit."""
    if not (_is_terminal(sys.__stdin__) and _is_terminal(sys.__stderr__)):
        raise UsageError("the board needs a terminal to draw on; for text, use 'endurance margins'")
    read_only = arguments.read_only or arguments.as_of is not None
    session = open_session(arguments, writes=not read_only, live=True)
    from console.board.app import run_board  # Textual is paid for only by those who see it

    gc.enable()  # it lives for days
    try:
        return run_board(session, ascii_only=arguments.ascii, read_only=read_only)
    finally:
        session.close()


def _is_terminal(stream: TextIO | None) -> bool:
    """Whether a stream leads to a terminal: the board reads standard input and draws on standard error."""
    return stream is not None and not stream.closed and stream.isatty()
