"""``endurance log list | show``: what stands in the journal, all of it or what is looked for."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Mapping
from datetime import datetime

from console.cli.opening import log_session
from console.cli.sources import instant_s
from console.craft.model import Craft
from console.errors import UsageError, nearest_words
from console.instants import at_epoch_plus
from console.record.entry import Entry, EntryKind
from console.record.journal_search import Search
from console.report.entries import Beside, entry_line, entry_text
from console.report.entries_document import entries_document, shown_document
from console.report.export import to_text
from console.scenario.load import Scenario
from console.session import Session

_NAMED_IN = ("loads", "stores", "used_si", "reserves_si")
"""Parts of a step's body whose keys are names."""


def add_search(parser: argparse.ArgumentParser) -> None:
    """What may be looked for."""
    parser.add_argument("--limit", metavar="N", type=count, help="only the newest N of those that fit")
    parser.add_argument(
        "--since", metavar="TIME", help="happened at this time or later: T+26h10m or 2041-06-03T05:20:00Z"
    )
    parser.add_argument("--until", metavar="TIME", help="happened at this time or earlier")
    parser.add_argument(
        "--kind",
        metavar="KIND,...",
        type=_kinds,
        default=(),
        help=f"of these kinds: {', '.join(_KINDS)}",
    )
    parser.add_argument("--operator", metavar="NAME", default="", help="written by this operator")
    parser.add_argument(
        "--supply", metavar="NAME", help="does something to, or names, this supply, a store or a load of it"
    )
    parser.add_argument("--load", metavar="NAME", help="switches or names this load")
    parser.add_argument(
        "--text", metavar="WORDS", default="", help="all of these words stand in it; capitals do not matter"
    )


def list_entries(arguments: argparse.Namespace) -> int:
    """Print the entries that are looked for."""
    session = log_session(arguments, writes=False)
    search, known, beside = _search(arguments, session), session.known_entries, beside_entries(session)
    if arguments.json:
        sys.stdout.write(to_text(entries_document(known.find(search), beside)))
        return 0
    is_empty = True
    for entry in known.each(search):
        sys.stdout.write(entry_line(entry, beside) + "\n")
        is_empty = False
    if is_empty and known.newest(1):
        sys.stdout.write("no entry fits what was asked for; without conditions, log list shows all\n")
    elif is_empty:
        sys.stdout.write("the journal has no entries\n")
    return 0


def show_entry(arguments: argparse.Namespace) -> int:
    """Print all that is known of one entry."""
    session = log_session(arguments, writes=False)
    stored = session.known_entries.stored(arguments.sequence)
    beside = beside_entries(session)
    if arguments.json:
        sys.stdout.write(to_text({"format": 1, **shown_document(stored, beside)}))
    else:
        sys.stdout.write(entry_text(stored, beside) + "\n")
    return 0


def beside_entries(session: Session) -> Beside:
    """Watches and corrections, to be shown beside a session's entries."""
    return Beside(plan=session.scenario.plan, standings=session.known_entries.standings())


def count(text: str) -> int:
    """A number from 1 up."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"found {text!r}; write a whole number from 1 up")
    return int(text)


def _search(arguments: argparse.Namespace, session: Session) -> Search:
    since = _moment(arguments.since, session.scenario, "--since")
    until = _moment(arguments.until, session.scenario, "--until")
    if since is not None and until is not None and since > until:
        raise UsageError("--since: found a time after that of --until, so nothing can fit; exchange the two")
    search = Search(
        since=since,
        until=until,
        kinds=arguments.kind,
        operator=arguments.operator,
        words=tuple(arguments.text.split()),
        names=tuple(_names(arguments, session)),
        limit=arguments.limit,
    )
    _check_operator(search, session)
    return search


def _check_operator(search: Search, session: Session) -> None:
    """A name mistyped must not look like a watch in which nothing was logged."""
    known = session.known_entries
    if not search.operator or known.find(Search(operator=search.operator, limit=1)):
        return
    names = known.operators()
    hint = nearest_words(search.operator, names) if names else "the journal has no entries"
    raise UsageError(f"--operator: found {search.operator!r}, who has written no entry; {hint}")


def _names(arguments: argparse.Namespace, session: Session) -> Iterable[tuple[str, ...]]:
    """The groups of names of which an entry must hold one each."""
    craft = session.scenario.craft
    if arguments.supply is not None:
        if arguments.supply not in craft.supplies:
            raise UsageError(
                f"--supply: found {arguments.supply!r}; {nearest_words(arguments.supply, craft.supplies)}"
            )
        yield _names_of_supply(craft, arguments.supply)
    if arguments.load is not None:
        known = {**craft.loads, **dict.fromkeys(_logged_names(session.known_entries.steps()))}
        if arguments.load not in known:
            raise UsageError(
                f"--load: found {arguments.load!r}; {nearest_words(arguments.load, craft.loads)}"
            )
        yield (arguments.load,)


def _names_of_supply(craft: Craft, name: str) -> tuple[str, ...]:
    stores = (store.name for store in craft.supplies[name].stores)
    loads = (load.name for load in craft.loads.values() if load.supply == name)
    return (name, *stores, *loads)


def _logged_names(steps: Iterable[Entry]) -> Iterable[str]:
    """Names that logged steps hold: the craft's file may have lost one since."""
    for entry in steps:
        for key in _NAMED_IN:
            named = entry.body.get(key)
            yield from named if isinstance(named, Mapping) else ()


def _moment(text: str | None, scenario: Scenario, option: str) -> datetime | None:
    if text is None:
        return None
    return at_epoch_plus(scenario.craft.epoch, instant_s(text, scenario, option))


_KINDS = {kind.value.replace(" ", "-"): kind for kind in EntryKind}


def _kinds(text: str) -> tuple[EntryKind, ...]:
    """Kinds with commas between them."""
    kinds = []
    for word in text.split(","):
        name = "-".join(word.lower().split())
        if name not in _KINDS:
            raise argparse.ArgumentTypeError(f"found {word.strip()!r}; {nearest_words(name, _KINDS)}")
        kinds.append(_KINDS[name])
    return tuple(kinds)
