"""``endurance explain FIGURE``: the equation, inputs and sources behind one figure."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from console.cli import arguments as shared
from console.cli.opening import open_session
from console.display import clean_text
from console.engine.explain.asked import NOTHING, Asked, KeepAsked, ShedAsked
from console.engine.explain.book import NoFigureError, NotAskedError
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.errors import UsageError, nearest_words
from console.report.explain import explanation_text
from console.report.explain_export import explanation_document
from console.report.export import FORMAT, to_text
from console.session import Session

if TYPE_CHECKING:
    from console.engine.whatif import Change

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
    _add_questions(parser)
    parser.add_argument(
        "figure",
        metavar="FIGURE",
        help=f"path of the figure, as power.margin, power.margin.p05, options.NAME.water.margin, "
        f"loss.STORE.oxygen.margin, whatif.power.margin.change or shed.power.margin; '{ALL}' lists them all",
    )
    shared.add_scenario(parser)


def _add_questions(parser: argparse.ArgumentParser) -> None:
    """What figures of ``whatif`` and ``shed`` go by, in the words of those commands."""
    asked = parser.add_argument_group("what figures of whatif and shed go by, as those commands take it")
    asked.add_argument(
        "--change",
        metavar="CHANGE",
        action="append",
        default=[],
        help="whatif: a change, in one word for the shell ('load com-radio off'); may be repeated",
    )
    asked.add_argument("--keep", metavar="LOAD", help="whatif: leave this load on, or bring it back?")
    asked.add_argument("--until", metavar="TIME", help="whatif, with --keep: when the load is wanted again")
    asked.add_argument(
        "--restart",
        metavar="AMOUNT",
        action="append",
        default=[],
        help="whatif, with --keep: what bringing it back takes; may be repeated",
    )
    asked.add_argument("--margin", metavar="TIME", help="shed: the margin that every supply is to have")
    asked.add_argument("--central", action="store_true", help="shed: by the central margin")
    asked.add_argument("--run-for", metavar="TIME", help="shed: for how long more may be switched on")


def run(arguments: argparse.Namespace) -> int:
    """Print why one figure is what it is."""
    session = open_session(arguments, writes=False)
    figures = session.figures()
    figures = figures.asking(_asked(arguments, session, figures))
    if arguments.figure == ALL:
        sys.stdout.write(_listed(figures, as_json=arguments.json))
        return 0
    one = _found(figures, arguments.figure)
    if arguments.json:
        sys.stdout.write(to_text(explanation_document(figures, one, arguments.depth)))
    else:
        sys.stdout.write(explanation_text(figures, one, arguments.depth) + "\n")
    return 0


def _asked(arguments: argparse.Namespace, session: Session, figures: Figures) -> Asked:
    """What was asked beside the figure.

    Raises:
        UsageError: it is no question, or not one that the figure goes by.
    """
    of_whatif = arguments.change or arguments.keep or arguments.until or arguments.restart
    of_shed = arguments.margin or arguments.central or arguments.run_for
    if not of_whatif and not of_shed:
        return NOTHING
    document = arguments.figure.partition(".")[0]
    for is_asked, name in ((of_whatif, "whatif"), (of_shed, "shed")):
        if is_asked and document not in (name, ALL):
            found = clean_text(arguments.figure)
            raise UsageError(
                f"FIGURE: found {found!r}, which does not go by what is asked; write {name}.{found}"
            )
    keep = _keep(arguments, session) if of_whatif else None
    changes: tuple[Change, ...] = ()
    if arguments.change:
        from console.change_words import read_changes
        from console.cli.whatif import ground_of

        changes = read_changes(arguments.change, ground_of(figures.grounds.situation))
    return Asked(
        changes=changes,
        words=tuple(arguments.change),
        keep=keep,
        shed=_shed(arguments) if of_shed else None,
    )


def _keep(arguments: argparse.Namespace, session: Session) -> KeepAsked | None:
    if arguments.keep is None:
        if arguments.until is not None or arguments.restart:
            raise UsageError("--until and --restart go with --keep LOAD")
        return None
    from console.cli.sources import instant_s
    from console.cli.whatif import restart_si_of

    if arguments.change:
        raise UsageError(f"found --change {arguments.change[0]!r} beside --keep; ask for one or the other")
    if arguments.until is None or not arguments.restart:
        raise UsageError("--keep LOAD needs --until TIME and --restart AMOUNT")
    loads = session.scenario.craft.loads
    if arguments.keep not in loads:
        raise UsageError(f"--keep: found load {arguments.keep!r}; {nearest_words(arguments.keep, loads)}")
    return KeepAsked(
        load=arguments.keep,
        until_s=instant_s(arguments.until, session.scenario, "--until"),
        restart_si=restart_si_of(arguments, session),
    )


def _shed(arguments: argparse.Namespace) -> ShedAsked:
    from console.cli.shed import seconds_of

    if arguments.margin is None:
        raise UsageError("--central and --run-for go with --margin TIME")
    run_for_s = None if arguments.run_for is None else seconds_of(arguments.run_for, "--run-for")
    if run_for_s is not None and run_for_s <= 0.0:
        raise UsageError(f"--run-for: found {arguments.run_for!r}; write a time above zero, as 2h")
    goal_s = seconds_of(arguments.margin, "--margin")
    return ShedAsked(goal_s=goal_s, by_low_end=not arguments.central, run_for_s=run_for_s)


def _found(figures: Figures, path: str) -> Explanation:
    try:
        return figures.explain(path)
    except NotAskedError as error:
        raise UsageError(f"FIGURE: {clean_text(path)!r} goes by a question: {error}") from None
    except NoFigureError:
        near = figures.nearest(path)
        hint = (
            f"did you mean {', '.join(near)}?" if near else f"'endurance explain {ALL}' lists all there are"
        )
        raise UsageError(f"FIGURE: found {clean_text(path)!r}; {hint}") from None


def _listed(figures: Figures, *, as_json: bool) -> str:
    paths = figures.every_path()
    if as_json:
        return to_text({"format": FORMAT, "figures": list(paths)})
    return "".join(f"{clean_text(path)}\n" for path in paths)


def _depth(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or int(text) > 9:
        raise argparse.ArgumentTypeError("write a whole number from 0 to 9")
    return int(text)
