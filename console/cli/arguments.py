"""Arguments that several commands share, so that each means the same everywhere."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from console.errors import UnitsError
from console.units import Dimension, UnitSystem, quantity_to_si


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
        metavar="FILE",
        help="follow this file, to which another program adds readings (CSV or JSON Lines); 'sim': run the "
        "simulated craft (what the board does without a source)",
    )
    parser.add_argument(
        "--seed", metavar="N", type=seed, help="of the simulated craft: another run than simulation.yaml's"
    )
    parser.add_argument(
        "--speed",
        metavar="N",
        type=speed,
        help="run the simulated craft, or the board from --as-of on, N times as fast as real time",
    )
    moment = parser.add_mutually_exclusive_group()
    moment.add_argument(
        "--at",
        metavar="TIME",
        help="take this moment as now: T+25h48m, RFC 3339 UTC, or 'state' for the source's own last time",
    )
    moment.add_argument(
        "--as-of",
        metavar="TIME",
        help="show what was known at this moment: readings and entries that came later are left out; "
        "nothing can be logged",
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


def seed(text: str) -> int:
    """A seed of random numbers."""
    if not text.isdecimal() or int(text) > 2**63 - 1:
        raise argparse.ArgumentTypeError("write a whole number from 0 on")
    return int(text)


def speed(text: str) -> float:
    """How many times as fast as real time."""
    speed = float(text)
    if not 0.0 < speed <= 100_000.0:
        raise argparse.ArgumentTypeError("write a number above 0, up to 100000")
    return speed


def stretch_s(text: str) -> float:
    """A length of time, such as 60s."""
    try:
        value_s, _ = quantity_to_si(text, Dimension.TIME)
    except UnitsError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if not 0.1 <= value_s <= 86400.0:
        raise argparse.ArgumentTypeError("write a time from 0.1 s to a day, as 60s")
    return value_s


def _login_name() -> str:
    return os.environ.get("LOGNAME") or os.environ.get("USER") or "operator"
