"""The door to explanations: every figure by its path, one level down at a time.

Paths follow the keys of the JSON, less its units: ``power.margin`` is ``supplies.power.margin_h.p50``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import replace

from console.engine.ahead import look_ahead
from console.engine.assess import Assessment
from console.engine.explain.book import Book, NoFigureError
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
from console.engine.known import Situation
from console.engine.switch import switched_at

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


class Figures:
    """Every figure of one assessment.

    Args:
        grounds: what the figures came from.
        home: the keys in front of every path, for the figures of another way home.
    """

    def __init__(self, grounds: Grounds, home: Keys = ()) -> None:
        self._grounds = grounds
        self._home = home
        families = {key: _FAMILIES[key] for key in _OF_A_WAY} if home else _FAMILIES
        self._book = Book(grounds, families, home)
        self._ways: dict[str, Figures] = {}

    def explain(self, path: str) -> Explanation:
        """Why the figure at a path is what it is.

        Raises:
            NoFigureError: there is none of that path.
        """
        keys = keys_of(path.strip())
        if keys is None:
            raise NoFigureError(path)
        if keys[0] == "options" and len(keys) > 2 and not self._home:
            return self._way(keys[1]).explain(text_of(keys[2:]))
        sample = sample_of(keys[-1])
        if sample is not None:
            return self._book.at(keys[:-1], sample)
        if keys[-1] in ENDS and len(keys) > 1:
            return self._end(keys[:-1], keys[-1])
        return self._book.at(keys)

    def _way(self, name: str) -> Figures:
        """The figures of one way home, as if it were taken now."""
        grounds = self._grounds
        if name not in grounds.plan.options:
            raise NoFigureError(f"options.{name}")
        if name not in self._ways:
            option, ahead = grounds.plan.options[name], grounds.ahead
            if name != grounds.plan.committed:
                switched = switched_at(grounds.plan, option, grounds.at_s)
                ahead = look_ahead(grounds.known, grounds.plan, switched, grounds.draws)
            self._ways[name] = Figures(replace(grounds, ahead=ahead), ("options", name))
        return self._ways[name]

    def paths(self) -> tuple[str, ...]:
        """Every figure that ``margins`` and ``ledger`` show, in their order; intervals by their ends."""
        return tuple(text_of(keys) for keys in self._paths())

    def nearest(self, path: str) -> tuple[str, ...]:
        """The paths most like one that is not known."""
        known = dict.fromkeys(re.sub(r"\.p(05|50|95)$", "", one) for one in self.paths())
        return tuple(difflib.get_close_matches(path, known, n=3, cutoff=0.5))

    def _paths(self) -> list[Keys]:
        grounds = self._grounds
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
            return self._book.at((*keys, end))
        path = text_of((*self._home, *keys, end))
        samples = supply_samples(self._grounds, keys)
        if samples is not None:
            found = end_of(samples, end)
            one = self._book.at(keys, found.row)
            words = sample_words(self._grounds, keys[-2], keys[-1], found.row)
            return replace(one, path=path, remarks=tuple(filter(None, (found.said, words, *one.remarks))))
        if keys[0] == "cabin":
            return self._clock_end((*keys, "reached_in") if len(keys) == 3 else keys, end)
        one = self._book.at(keys)
        if one.value is None and _is_interval(keys):
            return replace(one, path=path)
        raise NoFigureError(path)

    def _clock_end(self, keys: Keys, end: str) -> Explanation:
        """One end of the interval of a cabin clock."""
        clock = clock_at(self._grounds, keys)
        if clock is None or len(keys) != 4 or keys[3] not in ("reached_in", "margin"):
            raise NoFigureError(text_of((*keys, end)))
        samples = cabin_samples(self._book, keys)
        if samples is None:
            one = self._book.at(keys)
            has_end = one.value is not None and end != "p50"
            return (
                trend_end(self._book, keys, clock, end)
                if has_end
                else replace(one, path=text_of((*keys, end)))
            )
        found = end_of(samples, end)
        one = self._book.at(keys, found.row)
        return replace(one, path=text_of((*keys, end)), remarks=(found.said, *one.remarks))


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
