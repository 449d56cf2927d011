"""The ways home side by side: figures ``options.NAME.…``, as in the JSON of ``options``.

What a way home leaves of every supply has the names that it has on the present course, as in
``options.tender.power.margin``, and so has all that stands behind it.
"""

from __future__ import annotations

from console.engine.explain.book import NoFigureError, another
from console.engine.explain.deciding.delay import DELAY_FIGURES, delay_figure
from console.engine.explain.deciding.open_until import OPEN_FIGURES, Opening
from console.engine.explain.deciding.worlds import named, on_the_way
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.figures import Figures
from console.engine.explain.grounds import PLAN, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import ENDS, Keys, text_of
from console.engine.options import WayHome, ways_home
from console.engine.switch import switched_at

_OF_SUPPLY = ("margin", "left_at_need")
_OWN = ("arrival_in", "arrival_spread", "recovery", "hold", "decide_in", "delta_v", "delta_v_left")
_SAME = ("recovery", "hold", "delta_v", "delta_v_left")
"""Those that stand under ``need`` as well."""


class Ways:
    """Every way home of one situation.

    Args:
        figures: those of the present course.
    """

    def __init__(self, figures: Figures) -> None:
        self.figures = figures
        self.plan = figures.grounds.plan
        self._flown: dict[str, Figures] = {}
        self._found: dict[str, WayHome] = {}
        self._openings: dict[tuple[str, str, str], Opening] = {}
        self.kept: dict[Keys, Figures] = {}
        """The figures of switches at other moments, by their keys."""

    def at(self, keys: Keys) -> Explanation:
        """One figure of one way home."""
        name, rest = keys[0], keys[1:]
        if name not in self.plan.options or not rest:
            raise NoFigureError(text_of((*self.figures.home, "options", *keys)))
        match rest:
            case ("open_until", demand, end, *more):
                return self._opening(name, demand, end).at(tuple(more))
            case ("delay_cost", *more):
                return delay_figure(self, name, tuple(more))
        own = self._own(name, rest) if len(rest) == 1 else None
        return own or self.flown(name).at(rest)

    def paths(self) -> list[Keys]:
        """Every figure of the document."""
        found: list[Keys] = []
        for name in self.plan.options:
            home = (*self.figures.home, "options", name)
            found += [(*home, "need", "in"), *((*home, one) for one in _OWN)]
            for supply in self.figures.grounds.craft.supplies:
                place = (*home, *supply_keys(supply))
                found += [(*place, figure, end) for figure in _OF_SUPPLY for end in ENDS]
                found += [(*place, figure) for figure in ("lasts_probability", "runs_out_at")]
            found += [
                (*home, "open_until", demand, end, figure)
                for demand in ("zero", "advisory")
                for end in ("low", "central")
                for figure in OPEN_FIGURES
            ]
            found += [(*home, "delay_cost", figure) for figure in DELAY_FIGURES]
        return found

    def home(self, name: str) -> Keys:
        """The keys of one way home."""
        return (*self.figures.home, "options", name)

    def flown(self, name: str) -> Figures:
        """The figures of one way home, as if it were taken now."""
        if name not in self._flown:
            option, home = self.plan.options[name], ("options", name)
            if name == self.plan.committed:
                grounds = self.figures.grounds
                self._flown[name] = Figures(grounds, (*self.figures.home, *home), is_way=True)
            else:
                option = switched_at(self.plan, option, self.figures.grounds.at_s)
                self._flown[name] = on_the_way(self.figures, self.plan, option, home)
        return self._flown[name]

    def found(self, name: str) -> WayHome:
        """One way home as the engine compares it."""
        if not self._found:
            grounds = self.figures.grounds
            ways = ways_home(grounds.known, self.plan, grounds.draws)
            self._found = {way.option.name: way for way in ways}
        return self._found[name]

    def switched(self, name: str, at_s: float, keys: Keys, turn: Input) -> Figures:
        """The figures if a way home is taken at a moment, kept under some keys behind its own."""
        home = ("options", name, *keys)
        if home not in self.kept:
            option = switched_at(self.plan, self.plan.options[name], at_s)
            self.kept[home] = on_the_way(self.figures, self.plan, option, home, {at_s: turn})
        return self.kept[home]

    def _opening(self, name: str, demand: str, end: str) -> Opening:
        key = (name, demand, end)
        if key not in self._openings:
            self._openings[key] = Opening(self, name, demand, end)
        return self._openings[key]

    def _own(self, name: str, rest: Keys) -> Explanation | None:
        flown, option = self.flown(name), self.plan.options[name]
        book, key = flown.book, f"options.{name}"
        match rest[0]:
            case "arrival_in":
                inputs = (book.figure("arrival", "need", "arrival"), book.figure("now", "elapsed"))
                value = (option.arrival_s - self.figures.grounds.at_s) / H
                return book.explanation(
                    rest, 0, f"time until {name} arrives", value, "h", "arrival - now", inputs
                )
            case "arrival_spread":
                title, value = f"one standard deviation of the arrival of {name}", option.arrival_spread_s / H
                one = book.config("s", title, value, "h", PLAN, f"{key}.arrival_spread", "none is stated")
                return book.leaf(rest, 0, title, one)
            case "decide_in":
                return self._decide_in(name, rest)
            case "delta_v_left" if self.found(name).is_begun:
                left = flown.at(("need", "delta_v_left"))
                said = ("part of what this way home asks for may be spent already",)
                return book.explanation(rest, 0, left.title, None, left.unit, "", (), said)
            case figure if figure in _SAME:
                return named(flown.at(("need", figure)), *self.home(name), figure)
        return None

    def _decide_in(self, name: str, rest: Keys) -> Explanation:
        book, by_s = self.flown(name).book, self.plan.options[name].decide_by_s
        title = f"time until {name} must be decided on"
        if by_s is None:
            return book.explanation(rest, 0, title, None, "h", "", (), ("the plan sets no decide-by",))
        inputs = (decide_by(self, name, "by"), another("now", self.figures.at(("elapsed",))))
        value = (by_s - self.figures.grounds.at_s) / H
        return book.explanation(rest, 0, title, value, "h", "by - now", inputs)


def decide_by(ways: Ways, name: str, symbol: str) -> Input:
    """The moment by which a way home must be decided on, as the plan sets it."""
    by_s = ways.plan.options[name].decide_by_s
    if by_s is None:
        raise NoFigureError(f"{name} has no decide-by")
    key = f"options.{name}.decide_by"
    return ways.figures.book.config(symbol, f"decide-by of {name}", by_s / H, "h", PLAN, key)
