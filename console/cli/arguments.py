"""Arguments that several commands share, so that each means the same everywhere."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from console.units import UnitSystem


def add_scenario(parser: argparse.ArgumentParser) -> None:
    """The scenario's folder, always the last positional argument."""
    parser.add_argument(
        "scenario",
        metavar="SCENARIO",
        nargs="?",
        type=Path,
        help="the scenario's folder (default: the packaged demo)",
    )


def add_source(parser: argparse.ArgumentParser) -> None:
    """Where readings come from, and what moment is now."""
    source = parser.add_mutually_exclusive_group()
    source.add_argument(
        "--state",
        metavar="FILE",
        type=Path,
        help="read this state file (JSON or YAML), which another program rewrites",
    )
    source.add_argument(
        "--feed",
        choices=["sim"],
        help="'sim': run the simulated craft (what the board does without a source)",
    )
    parser.add_argument(
        "--speed", metavar="N", type=_speed, help="run the simulated craft N times as fast as real time"
    )
    parser.add_argument(
        "--at",
        metavar="TIME",
        help="take this moment as now: T+25h48m, RFC 3339 UTC, or 'state' for the state file's own time",
    )


def add_journal(parser: argparse.ArgumentParser) -> None:
    """Where entries are kept."""
    parser.add_argument(
        "--journal",
        metavar="FILE",
        type=Path,
        help="the journal (default: one per scenario in the user's state folder)",
    )


def add_operator(parser: argparse.ArgumentParser) -> None:
    """Who is at it."""
    parser.add_argument(
        "--operator", metavar="NAME", default=_login_name(), help="who is at it (default: %(default)s)"
    )
    parser.add_argument("--position", metavar="NAME", default="", help="from which position")


def add_json(parser: argparse.ArgumentParser) -> None:
    """JSON instead of text."""
    parser.add_argument("--json", action="store_true", help="print JSON, format 1, instead of text")


def add_units(parser: argparse.ArgumentParser) -> None:
    """In which units figures are read."""
    parser.add_argument(
        "--units",
        choices=[system.value for system in UnitSystem],
        help="read figures as craft.yaml writes them, in metric or in US customary units (default: what "
        "its key 'units' says, else as written)",
    )


def _speed(text: str) -> float:
    speed = float(text)
    if not 0.0 < speed <= 100_000.0:
        raise argparse.ArgumentTypeError("write a number above 0, up to 100000")
    return speed


def _login_name() -> str:
    return os.environ.get("LOGNAME") or os.environ.get("USER") or "operator"
