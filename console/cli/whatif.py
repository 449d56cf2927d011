"""``endurance whatif CHANGE...``: every figure before and after changes that nobody has made."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from console.change_words import FORMS, Ground, read_changes
from console.cli import arguments as shared
from console.cli.opening import open_session
from console.cli.readings import need_readings
from console.cli.sources import instant_s
from console.display import CAUTIONS
from console.engine.difference import difference
from console.engine.known import Situation
from console.errors import UsageError, nearest_words
from console.report.columns import wrapped
from console.report.export import to_text
from console.report.keep_tables import keep_text
from console.report.whatif_export import keep_document, whatif_document
from console.report.whatif_tables import whatif_text
from console.restart_words import restart_si
from console.session import Session


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_source(parser)
    shared.add_journal(parser)
    shared.add_units(parser)
    shared.add_json(parser)
    parser.add_argument(
        "--keep", metavar="LOAD", help="leave this load on, or switch it off and bring it back?"
    )
    parser.add_argument("--until", metavar="TIME", help="with --keep: when the load is wanted again")
    parser.add_argument(
        "--restart",
        metavar="AMOUNT",
        action="append",
        default=[],
        help="with --keep: what bringing it back takes, as '2.3 A*h' of the load's own supply or "
        "'oxygen 0.2 kg'; may be repeated",
    )
    parser.add_argument(
        "words",
        metavar="CHANGE",
        nargs="*",
        help="a change, in one word for the shell ('load com-radio off'); several hold together. The last "
        "word is the scenario where it is a folder (default: the packaged demo)",
    )
    parser.set_defaults(scenario=None)
    parser.usage = (
        "endurance whatif [OPTION ...] CHANGE [CHANGE ...] [SCENARIO]\n"
        "       endurance whatif [OPTION ...] --keep LOAD --until TIME --restart AMOUNT [SCENARIO]"
    )
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    forms = "\n".join(f"  {form}" for form in FORMS.values())
    cautions = "\n".join(line for caution in CAUTIONS for line in wrapped(caution))
    parser.epilog = f"how a change is written (TIME from now on, now where left out):\n{forms}\n\n{cautions}"


def run(arguments: argparse.Namespace) -> int:
    """Print before, after and difference."""
    _part_scenario(arguments)
    session = open_session(arguments, writes=False)
    if arguments.keep is not None:
        return _keep(arguments, session)
    if arguments.until is not None or arguments.restart:
        raise UsageError("--until and --restart go with --keep LOAD")
    if not arguments.words:
        raise UsageError(f"found no change; write at least one, as '{FORMS['load']}' (see --help)")
    situation = session.situation()
    changes = read_changes(arguments.words, ground_of(situation))
    before, after = session.whatif(changes, situation)
    need_readings(before)
    compared = difference(before, after)
    if arguments.json:
        sys.stdout.write(to_text(whatif_document(arguments.words, compared)))
    else:
        sys.stdout.write(whatif_text(arguments.words, compared) + "\n")
    return 0


def _part_scenario(arguments: argparse.Namespace) -> None:
    """The last word is the scenario where it is a folder; no change is a single word: others are refused."""
    words = arguments.words
    if arguments.scenario is None and words and _is_folder(words[-1]):
        arguments.scenario = Path(words.pop())
    for word in words:
        if " " not in word.strip():
            last = ", which is no folder of a scenario and no change" if word is words[-1] else ""
            raise UsageError(f"found {word!r}{last}; write each change in quotes, as '{FORMS['load']}'")


def _is_folder(word: str) -> bool:
    try:
        return Path(word).is_dir()
    except (OSError, ValueError):
        return False


def ground_of(situation: Situation) -> Ground:
    """What the words of a change are about."""
    return Ground(craft=situation.craft, plan=situation.plan, now_s=situation.at_s)


def _keep(arguments: argparse.Namespace, session: Session) -> int:
    if arguments.words:
        raise UsageError(f"found {arguments.words[0]!r} beside --keep; ask for one or the other")
    if arguments.until is None or not arguments.restart:
        raise UsageError("--keep LOAD needs --until TIME and --restart AMOUNT")
    loads = session.scenario.craft.loads
    if arguments.keep not in loads:
        raise UsageError(f"--keep: found load {arguments.keep!r}; {nearest_words(arguments.keep, loads)}")
    restart_si = restart_si_of(arguments, session)
    until_s = instant_s(arguments.until, session.scenario, "--until")
    choice = session.keep_or_off(arguments.keep, until_s, restart_si)
    need_readings(choice.keep)
    compared = difference(choice.keep, choice.off)
    if arguments.json:
        sys.stdout.write(to_text(keep_document(choice, compared)))
    else:
        sys.stdout.write(keep_text(choice, compared) + "\n")
    return 0


def restart_si_of(arguments: argparse.Namespace, session: Session) -> dict[str, float]:
    """By supply, what bringing the load back takes; without a name, of the load's own supply."""
    return restart_si(arguments.restart, arguments.keep, session.scenario.craft, "--restart")
