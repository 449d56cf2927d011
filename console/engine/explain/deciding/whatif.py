"""Before and after what is supposed: figures ``whatif.…``, and the comparison inside ``shed``.

``whatif.power.margin`` is the figure with the changes, ``whatif.power.margin.before`` that without them and
``whatif.power.margin.change`` the one less the other. All that stands behind a side is found by ``before`` or
``after`` as the first key, as in ``whatif.after.power.segments.3.rate``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from console.engine.difference import Difference, difference
from console.engine.explain.book import NoFigureError
from console.engine.explain.cabin import CLOCK_FIGURES, clock_keys
from console.engine.explain.deciding.worlds import change_of, named, supposed
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.engine.explain.kept import supply_keys
from console.engine.explain.need import NEED_FIGURES
from console.engine.explain.paths import ENDS, Keys, text_of
from console.engine.explain.peaks import PEAK_FIGURES
from console.engine.whatif import Change

_SIDES = ("before", "after")
_INTERVALS = ("margin", "endurance_plan", "left_at_need")
_PLAIN = ("allowance", "lasts_probability")


class Sides:
    """Every figure without and with what is supposed.

    Args:
        before: the figures without.
        after: those with it.
        home: the first keys of the document.
        said: what is supposed, in words.
    """

    def __init__(self, before: Figures, after: Figures, home: Keys, said: str = "") -> None:
        self.before, self.after, self.home, self.said = before, after, home, said

    @cached_property
    def compared(self) -> Difference:
        """Thing by thing."""
        return difference(self.before.grounds.snapshot, self.after.grounds.snapshot)

    def at(self, keys: Keys) -> Explanation:
        """One figure of one side, or the change of it."""
        match keys:
            case ("before" | "after", _, *_):
                return self._side(keys[0], keys[1:], keys)
            case ("new_peaks_over", number, figure):
                return self._new_peak(number, figure, keys)
        places = [place for place, key in enumerate(keys) if place and key in (*_SIDES, "change")]
        if not places:
            return self._side("after", keys, keys)
        rest = (*keys[: places[-1]], *keys[places[-1] + 1 :])
        if keys[places[-1]] == "change":
            return change_of((*self.home, *keys), self.after.at(rest), self.before.at(rest), self.said)
        return self._side(keys[places[-1]], rest, keys)

    def paths(self) -> list[Keys]:
        """Every figure of the comparison."""
        found: list[Keys] = [("need", side, figure) for side in _SIDES for figure in NEED_FIGURES]
        found += [("first", side, "margin", end) for side in _SIDES for end in ENDS]
        for name in self.after.grounds.craft.supplies:
            home, sides = supply_keys(name), (*_SIDES, "change")
            found += [(*home, one, side, end) for one in _INTERVALS for side in sides for end in ENDS]
            found += [(*home, one, side) for one in _PLAIN for side in sides]
        for change in self.compared.clocks:
            for side in _SIDES:
                place = (*clock_keys(change.after), side)
                found += [(*place, one) for one in CLOCK_FIGURES[:2]]
                found += [(*place, one, end) for one in CLOCK_FIGURES[2:] for end in ENDS]
        count = len(self.compared.peaks_over)
        found += [("new_peaks_over", str(n), one) for n in range(1, count + 1) for one in PEAK_FIGURES]
        return [(*self.home, *keys) for keys in found]

    def _side(self, side: str, rest: Keys, keys: Keys) -> Explanation:
        if side == "before":
            return named(self.before.at(rest), *self.home, *keys)
        one = named(self.after.at(rest), *self.home, *keys)
        return replace(one, remarks=tuple(filter(None, (*one.remarks, self.said))))

    def _new_peak(self, number: str, figure: str, keys: Keys) -> Explanation:
        """A current that is above a limit with what is supposed and was not without."""
        over, every = self.compared.peaks_over, self.after.grounds.snapshot.peaks
        if not number.isascii() or not number.isdecimal() or not 1 <= int(number) <= len(over):
            raise NoFigureError(text_of((*self.home, *keys)))
        place = next(place for place, peak in enumerate(every, 1) if peak is over[int(number) - 1])
        return named(self.after.at(("peaks", str(place), figure)), *self.home, *keys)


def changed(figures: Figures, changes: Iterable[Change], words: Iterable[str]) -> Sides:
    """The figures of ``whatif`` for some changes, and those as they were written."""
    said = "; ".join(words)
    after = supposed(figures, changes, ("whatif", "after"))
    return Sides(figures, after, ("whatif",), f"supposed: {said}" if said else "")
