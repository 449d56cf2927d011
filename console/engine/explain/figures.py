"""The door to explanations: every figure by its path, one level down at a time.

Paths follow the keys of the JSON, less its units: ``power.margin`` is ``supplies.power.margin_h.p50``. What
is not of ``margins`` and ``ledger`` begins with the name of its document: see ``deciding/``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Protocol

from console.engine.assess import Assessment
from console.engine.explain.asked import DOCUMENTS, NOTHING, Asked
from console.engine.explain.book import Book, NoFigureError, NotAskedError
from console.engine.explain.cabin import cabin, cabin_paths, cabin_samples, clock_at
from console.engine.explain.clocks import trend_end
from console.engine.explain.explanation import Explanation
from console.engine.explain.first import first
from console.engine.explain.grounds import Grounds
from console.engine.explain.luck import end_of, luck
from console.engine.explain.modules import module_paths, modules
from console.engine.explain.need import (
    NEED_FIGURES,
    coming,
    differing,
    elapsed,
    feed,
    load,
    need,
    the_format,
)
from console.engine.explain.paths import ENDS, Keys, keys_of, sample_of, text_of
from console.engine.explain.peaks import peak_paths, peaks
from console.engine.explain.samples import sample_words
from console.engine.explain.supplies import INTERVALS, supply_figure, supply_paths, supply_samples
from console.engine.forecast import Draws
from console.engine.known import Situation, judged

_FAMILIES = {
    "": supply_figure,
    "cabin": cabin,
    "elapsed": elapsed,
    "feed": feed,
    "first": first,
    "format": the_format,
    "loads": load,
    "loads_differing_from_level": differing,
    "luck": luck,
    "modules": modules,
    "need": need,
    "next_event": coming,
    "next_phase": coming,
    "peaks": peaks,
}


_OF_A_WAY = ("", "elapsed", "feed", "loads", "luck", "need")
"""What another way home has figures of; the rest is of the present moment, whichever way is taken."""


class Document(Protocol):
    """The figures of one of the documents beside ``margins`` and ``ledger``, by the keys behind its name."""

    def at(self, keys: Keys) -> Explanation:
        """Why one of them is what it is.

        Raises:
            NoFigureError: there is none.
        """

    def paths(self) -> list[Keys]:
        """Each of them, its own name in front, intervals by their ends."""


class Figures:
    """Every figure of one assessment.

    Args:
        grounds: what the figures came from.
        home: the keys in front of every path, for the figures of another way home or of a supposition.
        is_way: whether it is another way home that is looked at, and nothing else is otherwise.
        asked: what was asked of the commands whose figures go by a question.
    """

    def __init__(
        self, grounds: Grounds, home: Keys = (), *, is_way: bool = False, asked: Asked = NOTHING
    ) -> None:
        self.grounds = grounds
        self.home = home
        families = {key: _FAMILIES[key] for key in _OF_A_WAY} if is_way else _FAMILIES
        self.book = Book(grounds, families, home)
        self.asked = asked
        self._is_way = is_way
        self._documents: dict[str, Document] = {}

    def asking(self, asked: Asked) -> Figures:
        """The same figures, with those that go by a question."""
        return Figures(self.grounds, self.home, is_way=self._is_way, asked=asked)

    def explain(self, path: str) -> Explanation:
        """Why the figure at a path is what it is.

        Raises:
            NoFigureError: there is none of that path.
        """
        keys = keys_of(path.strip())
        if keys is None:
            raise NoFigureError(path)
        return self.at(keys)

    def at(self, keys: Keys) -> Explanation:
        """The same by keys.

        Raises:
            NoFigureError: there is none of them.
        """
        if not keys:
            raise NoFigureError("")
        document = self._document(keys[0])
        if document is not None and len(keys) > 1:
            return document.at(keys[1:])
        sample = sample_of(keys[-1])
        if sample is not None:
            return self.book.at(keys[:-1], sample)
        if keys[-1] in ENDS and len(keys) > 1:
            return self._end(keys[:-1], keys[-1])
        return self.book.at(keys)

    def _document(self, name: str) -> Document | None:
        """The document of a name; of a supposition, the ways home alone."""
        if self._is_way or name not in (DOCUMENTS if not self.home else ("options",)):
            return None
        if name not in self._documents:
            from console.engine.explain.deciding.documents import document  # only who asks pays for it

            self._documents[name] = document(self, name)
        return self._documents[name]

    def paths(self) -> tuple[str, ...]:
        """Every figure that ``margins`` and ``ledger`` show, in their order; intervals by their ends."""
        return tuple(text_of(keys) for keys in self._paths())

    def every_path(self) -> tuple[str, ...]:
        """The same with those of the other documents, as far as their questions were asked."""
        return (*self.paths(), *(path for name in DOCUMENTS for path in self.paths_of(name)))

    def paths_of(self, name: str) -> tuple[str, ...]:
        """Every figure of one of the other documents; none where its question was not asked."""
        return tuple(text_of(keys) for keys in self.document_keys(name))

    def document_keys(self, name: str) -> list[Keys]:
        """The same as keys."""
        try:
            found = self._document(name)
        except NotAskedError:
            return []
        return [] if found is None else found.paths()

    def nearest(self, path: str) -> tuple[str, ...]:
        """The paths most like one that is not known."""
        name = path.partition(".")[0]
        paths = self.paths_of(name) if name in DOCUMENTS else self.paths()
        known = dict.fromkeys(re.sub(r"\.p(05|50|95)$", "", one) for one in paths)
        return tuple(difflib.get_close_matches(path, known, n=3, cutoff=0.5))

    def _paths(self) -> list[Keys]:
        grounds = self.grounds
        fixed: list[Keys] = [("format",), ("elapsed",), ("feed", "age")]
        fixed.extend(("feed", "readings", name, "age") for name in grounds.known.feed.readings)
        fixed.extend(("need", figure) for figure in NEED_FIGURES)
        fixed.extend(("first", "margin", end) for end in ENDS)
        fixed.append(("loads_differing_from_level",))
        fixed.extend((word, "in") for word in ("next_phase", "next_event"))
        for supply in grounds.craft.supplies.values():
            for keys in supply_paths(grounds, supply):
                fixed.extend([(*keys, end) for end in ENDS] if _is_interval(keys) else [keys])
        fixed.extend(("loads", name, "draw") for name in grounds.craft.loads)
        for keys in cabin_paths(grounds):
            is_interval = keys[-1] in ("reached_in", "margin") and len(keys) == 4
            fixed.extend([(*keys, end) for end in ENDS] if is_interval else [keys])
        return [*fixed, *peak_paths(grounds), *module_paths(grounds)]

    def _end(self, keys: Keys, end: str) -> Explanation:
        """One end of an interval: the figure in the sample that is that end."""
        if keys[:1] == ("first",):
            return self.book.at((*keys, end))
        path = text_of((*self.home, *keys, end))
        samples = supply_samples(self.grounds, keys)
        if samples is not None:
            found = end_of(samples, end)
            one = self.book.at(keys, found.row)
            words = sample_words(self.grounds, keys[-2], keys[-1], found.row)
            return replace(one, path=path, remarks=tuple(filter(None, (found.said, words, *one.remarks))))
        if keys[0] == "cabin":
            return self._clock_end((*keys, "reached_in") if len(keys) == 3 else keys, end)
        one = self.book.at(keys)
        if one.value is None and _is_interval(keys):
            return replace(one, path=path)
        raise NoFigureError(path)

    def _clock_end(self, keys: Keys, end: str) -> Explanation:
        """One end of the interval of a cabin clock."""
        clock = clock_at(self.grounds, keys)
        if clock is None or len(keys) != 4 or keys[3] not in ("reached_in", "margin"):
            raise NoFigureError(text_of((*self.home, *keys, end)))
        samples = cabin_samples(self.book, keys)
        if samples is None:
            one = self.book.at(keys)
            has_end = one.value is not None and end != "p50"
            return (
                trend_end(self.book, keys, clock, end)
                if has_end
                else replace(one, path=text_of((*self.home, *keys, end)))
            )
        found = end_of(samples, end)
        one = self.book.at(keys, found.row)
        return replace(one, path=text_of((*self.home, *keys, end)), remarks=(found.said, *one.remarks))


def figures_of(
    situation: Situation,
    assessed: Assessment,
    draws: Draws,
    lines: Mapping[str, Mapping[str, int]] | None = None,
) -> Figures:
    """The figures of an assessment.

    Args:
        situation: what was assessed.
        assessed: what came of it.
        draws: those that it was assessed with.
        lines: by file of the scenario, the line of every key; None where it did not come from files.
    """
    return Figures(
        Grounds(
            situation=judged(situation, assessed.known),
            snapshot=assessed.snapshot,
            known=assessed.known,
            ahead=assessed.ahead,
            plan=situation.plan,
            draws=draws,
            lines=lines or {},
        )
    )


def _is_interval(keys: Keys) -> bool:
    home = 2 if keys[0] == "supplies" else 1
    return len(keys) == home + 1 and keys[home] in INTERVALS
