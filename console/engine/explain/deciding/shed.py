"""What to switch off for a margin: figures ``shed.…``.

``shed.after`` is with the loads of the advice off, ``shed.without.LOAD`` with one of them off alone and
``shed.with.LOAD`` with one more on for the time that is asked.
"""

from __future__ import annotations

from functools import cached_property

from console.craft.model import LoadState
from console.engine.difference import difference
from console.engine.explain.asked import ShedAsked
from console.engine.explain.book import NoFigureError, assumed
from console.engine.explain.deciding.whatif import Sides
from console.engine.explain.deciding.worlds import CENTRAL, change_of, named, supposed
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.engine.explain.grounds import CRAFT, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import ENDS, Keys, text_of
from console.engine.explain.peaks import PEAK_FIGURES
from console.engine.shed_advice import ShedAdvice, shed_advice
from console.engine.whatif import Change, SwitchLoad, SwitchOff

_BUYS = ("switch_off", "may_go")


class Gains:
    """What switching single loads off does, each alone, in the central case.

    Args:
        figures: those without.
        home: the first keys of the document.
    """

    def __init__(self, figures: Figures, home: Keys) -> None:
        self.figures, self.home = figures, home
        self._without: dict[str, Figures] = {}

    def without(self, load: str) -> Figures:
        """The figures with one load off."""
        grounds = self.figures.grounds
        if load not in grounds.craft.loads:
            raise NoFigureError(text_of((*self.home, "without", load)))
        if load not in self._without:
            off = SwitchOff(loads=(load,), from_s=grounds.at_s)
            self._without[load] = supposed(self.figures, (off,), (*self.home, "without", load), CENTRAL)
        return self._without[load]

    def gain(self, load: str, keys: Keys, place: Keys) -> Explanation:
        """By how much that moves one figure; ``place`` is behind the document's own keys."""
        after, before = self.without(load).at(keys), self.figures.at(keys)
        return change_of((*self.home, *place), after, before, f"supposed: {load} off, and nothing else")

    def margin(self, load: str, supply: str, place: Keys) -> Explanation:
        """The margin that it gains one supply."""
        if supply not in self.figures.grounds.craft.supplies:
            raise NoFigureError(text_of((*self.home, *place)))
        return self.gain(load, (*supply_keys(supply), "margin"), place)


class Advice:
    """The figures of one advice.

    Args:
        figures: those of now.
        asked: the margin that is to be reached.
    """

    def __init__(self, figures: Figures, asked: ShedAsked) -> None:
        self._figures, self._asked = figures, asked
        self._home: Keys = ("shed",)
        self._gains = Gains(figures, self._home)
        self._with: dict[str, Figures] = {}

    def at(self, keys: Keys) -> Explanation:
        """One figure."""
        match keys:
            case ("goal",):
                return self._echo(keys, "margin that every supply is to have", self._asked.goal_s, "--margin")
            case ("run_for",):
                title = "for how long something may be switched on"
                return self._echo(keys, title, self._asked.run_for_s, "--run-for")
            case ("switch_off" | "may_go", load, figure) if load in self._figures.grounds.craft.loads:
                return self._load(load, figure, keys)
            case ("switch_off" | "may_go", load, "margin_gained", supply):
                return self._gains.margin(load, supply, keys)
            case ("without", load, *rest) if rest:
                return self._gains.without(load).at(tuple(rest))
            case ("with", load, *rest) if rest:
                return self._running(load, keys).at(tuple(rest))
            case ("may_run", load, "margin", supply, *end) if len(end) < 2:
                place = (*supply_keys(supply), "margin", *end)
                return named(self._running(load, keys).at(place), *self._home, *keys)
            case ("may_run", load, "peaks_over", number, figure):
                return self._peak(load, number, figure, keys)
        return self._sides.at(keys)

    def paths(self) -> list[Keys]:
        """Every figure of the document."""
        supplies = list(self._figures.grounds.craft.supplies)
        found: list[Keys] = [("goal",), ("run_for",)]
        for word, every in (("switch_off", self._advice.shed.loads), ("may_go", self._advice.shed.may_go)):
            for each in every:
                found += [(word, each.load.name, figure) for figure in ("priority", "draw")]
                found += [(word, each.load.name, "margin_gained", supply) for supply in supplies]
        for one in self._advice.running:
            place = ("may_run", one.answer.load.name)
            found += [(*place, "margin", supply, end) for supply in supplies for end in ENDS]
            found += [
                (*place, "peaks_over", str(number), figure)
                for number in range(1, len(one.peaks_over) + 1)
                for figure in PEAK_FIGURES
            ]
        return [*((*self._home, *keys) for keys in found), *self._sides.paths()]

    @cached_property
    def _advice(self) -> ShedAdvice:
        asked, grounds = self._asked, self._figures.grounds
        return shed_advice(
            grounds.situation,
            asked.goal_s,
            grounds.draws,
            by_low_end=asked.by_low_end,
            run_for_s=asked.run_for_s,
        )

    @cached_property
    def _sides(self) -> Sides:
        """Without and with the loads of the advice off."""
        names = tuple(each.load.name for each in self._advice.shed.loads)
        off = SwitchOff(loads=names, from_s=self._figures.grounds.at_s)
        changes: tuple[Change, ...] = (off,) if names else ()
        after = supposed(self._figures, changes, (*self._home, "after"))
        said = f"supposed: {', '.join(names)} off" if names else "nothing has to be switched off"
        return Sides(self._figures, after, self._home, said)

    def _echo(self, keys: Keys, title: str, seconds: float | None, word: str) -> Explanation:
        """What was asked."""
        path = text_of((*self._home, *keys))
        if seconds is None:
            said = (f"not asked: {word} TIME",)
            return Explanation(
                path=path, title=title, value=None, unit="h", equation="", inputs=(), remarks=said
            )
        one = assumed("asked", title, seconds / H, "h", f"as it is asked, with {word}")
        return Explanation(
            path=path, title=title, value=seconds / H, unit="h", equation="asked", inputs=(one,)
        )

    def _load(self, load: str, figure: str, keys: Keys) -> Explanation:
        """How important a load is, and what it draws now."""
        if figure == "draw":
            return named(self._figures.at(("loads", load, "draw")), *self._home, *keys)
        if figure != "priority":
            raise NoFigureError(text_of((*self._home, *keys)))
        title = f"priority of {load}: 1 is the last to go"
        value = float(self._figures.grounds.craft.loads[load].priority)
        one = self._figures.book.config("p", title, value, "1", CRAFT, f"loads.{load}.priority", "the middle")
        return self._figures.book.leaf((*self._home, *keys), 0, title, one)

    def _running(self, load: str, keys: Keys) -> Figures:
        """The figures with one more load on for the time that is asked."""
        grounds, run_for_s = self._figures.grounds, self._asked.run_for_s
        if run_for_s is None or load not in grounds.craft.loads:
            raise NoFigureError(text_of((*self._home, *keys)))
        if load not in self._with:
            until_s = grounds.at_s + run_for_s
            on = SwitchLoad(load=load, to=LoadState.ON, from_s=grounds.at_s, until_s=until_s)
            self._with[load] = supposed(self._figures, (on,), (*self._home, "with", load))
        return self._with[load]

    def _peak(self, load: str, number: str, figure: str, keys: Keys) -> Explanation:
        """A current that one more load would bring above a limit."""
        there = self._running(load, keys)
        over = difference(self._figures.grounds.snapshot, there.grounds.snapshot).peaks_over
        if not number.isascii() or not number.isdecimal() or not 1 <= int(number) <= len(over):
            raise NoFigureError(text_of((*self._home, *keys)))
        every = there.grounds.snapshot.peaks
        place = next(place for place, peak in enumerate(every, 1) if peak is over[int(number) - 1])
        return named(there.at(("peaks", str(place), figure)), *self._home, *keys)
