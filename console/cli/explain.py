"""``endurance explain FIGURE``: the equation, inputs and sources behind one figure."""

from __future__ import annotations

import argparse
import sys

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.display import clean_text
from console.engine.explain.book import NoFigureError
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.errors import UsageError
from console.report.explain import explanation_text
from console.report.explain_export import explanation_document
from console.report.export import FORMAT, to_text

ALL = "figures"
"""In place of a figure's path: list them all."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    parser.add_argument(
        "--depth",
        metavar="N",
        type=_depth,
        default=0,
        help="also unfold the figures behind it, N levels down (0 to 9; default 0)",
    )
    parser.add_argument(
        "figure",
        metavar="FIGURE",
        help=f"path of the figure, as power.margin or power.margin.p05; '{ALL}' lists them all",
    )
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print why one figure is what it is."""
    figures = open_session(arguments, writes=False).figures()
    if arguments.figure == ALL:
        sys.stdout.write(_listed(figures, as_json=arguments.json))
        return 0
    one = _found(figures, arguments.figure)
    if arguments.json:
        sys.stdout.write(to_text(explanation_document(figures, one, arguments.depth)))
    else:
        sys.stdout.write(explanation_text(figures, one, arguments.depth) + "\n")
    return 0


def _found(figures: Figures, path: str) -> Explanation:
    try:
        return figures.explain(path)
    except NoFigureError:
        near = figures.nearest(path)
        hint = (
            f"did you mean {', '.join(near)}?" if near else f"'endurance explain {ALL}' lists all there are"
        )
        raise UsageError(f"FIGURE: found {clean_text(path)!r}; {hint}") from None


def _listed(figures: Figures, *, as_json: bool) -> str:
    paths = figures.paths()
    if as_json:
        return to_text({"format": FORMAT, "figures": list(paths)})
    return "".join(f"{clean_text(path)}\n" for path in paths)


def _depth(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or int(text) > 9:
        raise argparse.ArgumentTypeError("write a whole number from 0 to 9")
    return int(text)
