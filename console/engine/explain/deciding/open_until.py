"""Until when a way home stays open: figures ``options.NAME.open_until.DEMAND.END.…``.

The moment is searched, not summed. What explains it is what holds at it: the margin of the supply that closes
it, were the switch made just then, is still what is asked, and a moment later (``past``) no longer. Both
margins are figures of their own, down to the readings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from console.display import elapsed_text
from console.engine.explain.book import NoFigureError, another, assumed
from console.engine.explain.deciding.worlds import named
from console.engine.explain.explanation import AssumptionSource, Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT, PLAN, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, text_of
from console.engine.open_until import TOLERANCE_S, Closing, Open, Stop

if TYPE_CHECKING:
    from console.engine.explain.deciding.ways import Ways
    from console.engine.explain.figures import Figures

OPEN_FIGURES = ("in", "until", "margin", "asked", "residual", "past")

_ENDS = {"low": "p05", "central": "p50"}
_HOW = (
    "the last moment at which a switch still leaves that margin: scanned stretch by stretch from now on and "
    "then halved, to {tolerance:g} s on the early side (console/engine/open_until.py); beside it the margin "
    "of {name} for a switch at it, what is asked, and the margin for a switch at {past}"
)


class Opening:
    """One demand of one way home, by the low end or the central case.

    Args:
        ways: every way home.
        name: of this one.
        demand: ``zero`` or ``advisory``, the margin that is asked.
        end: ``low`` or ``central``.

    Raises:
        NoFigureError: there is no such demand or end.
    """

    def __init__(self, ways: Ways, name: str, demand: str, end: str) -> None:
        self.ways, self.name, self.demand, self.end = ways, name, demand, end
        self._made: dict[str, Explanation] = {}
        if demand not in ("zero", "advisory") or end not in _ENDS:
            raise NoFigureError(text_of(self.keys))

    @property
    def keys(self) -> Keys:
        """Down to it."""
        return (*self.ways.home(self.name), *self._below)

    @property
    def _below(self) -> Keys:
        """Behind the way home's name."""
        return ("open_until", self.demand, self.end)

    def at(self, keys: Keys) -> Explanation:
        """One of its figures."""
        match keys:
            case ("at", *rest) if rest and self.until_s is not None:
                return self.switch(self.until_s, "at").at(tuple(rest))
            case ("past", *rest) if rest and self.is_by_supply:
                return self.switch(self.past_s, "past").at(tuple(rest))
            case (figure,) if figure in OPEN_FIGURES:
                if figure not in self._made:
                    self._made[figure] = self._figure(figure)
                return self._made[figure]
        raise NoFigureError(text_of((*self.keys, *keys)))

    @property
    def found(self) -> Open | None:
        """What the engine found; None where the question does not arise."""
        every = self.ways.found(self.name).open_until
        return None if every is None else getattr(every, f"{self.demand}_{self.end}")

    @property
    def until_s(self) -> float | None:
        """The last moment; None where there is none."""
        return None if self.found is None else self.found.until_s

    @property
    def is_by_supply(self) -> bool:
        """Whether a supply closes it, at some moment from now on."""
        found = self.found
        return found is not None and found.until_s is not None and found.closed_by.by is Closing.SUPPLY

    @property
    def supply(self) -> str:
        """The supply that closes it."""
        if self.found is None:
            raise NoFigureError(text_of(self.keys))
        return self.found.closed_by.name

    @property
    def past_s(self) -> float:
        """A moment at which it is closed: just behind what happens there, or a tolerance later."""
        found, until_s = self.found, self.until_s
        if found is None or until_s is None:
            raise NoFigureError(text_of(self.keys))
        return found.closed_by.at_s if found.closed_by.at_s > until_s else until_s + TOLERANCE_S

    def switch(self, at_s: float, word: str) -> Figures:
        """The figures if the way home is taken at one of the two moments."""
        if at_s == self.ways.figures.grounds.at_s:
            return self.ways.flown(self.name)
        where = "the last moment at which it is open" if word == "at" else "a moment at which it is closed"
        source = AssumptionSource(text=f"{where}, as found: see {text_of((*self.keys, 'until'))}")
        turn = Input(symbol="t", name="moment of the switch", value=at_s / H, unit="h", source=source)
        return self.ways.switched(self.name, at_s, (*self._below, word), turn)

    def margin(self, at_s: float, word: str) -> Explanation:
        """The margin of the supply that closes it, for a switch at one of the two moments."""
        return self.switch(at_s, word).at((*supply_keys(self.supply), "margin", _ENDS[self.end]))

    def _figure(self, figure: str) -> Explanation:
        match figure:
            case "in":
                return self._in()
            case "until":
                return self._until()
        title = {
            "margin": "margin of what closes it, for a switch at the last open moment",
            "asked": "margin that is asked of it",
            "residual": "what is left at the last open moment of the margin beyond what is asked",
            "past": "the same margin for a switch a moment later",
        }[figure]
        if not self.is_by_supply or self.until_s is None:
            return self._none(figure, title, "no supply closes it from now on")
        if figure == "margin":
            return named(self.margin(self.until_s, "at"), *self.keys, figure)
        if figure == "past":
            return named(self.margin(self.past_s, "past"), *self.keys, figure)
        if figure == "asked":
            one = self._asked("asked")
            return self._made_of(figure, f"{title}, of {self.supply}", one.value, "asked", (one,))
        inputs = (another("margin", self.at(("margin",))), another("asked", self.at(("asked",))))
        return self._made_of(figure, title, inputs[0].value - inputs[1].value, "margin - asked", inputs)

    def _asked(self, symbol: str) -> Input:
        name = f"margin asked of {self.supply}"
        if self.demand == "zero":
            return assumed(symbol, name, 0.0, "h", "a way home is open while every supply lasts until need")
        grounds = self.ways.figures.grounds
        value = grounds.craft.supplies[self.supply].bands.advisory_s / H
        own = f"bands.{self.supply}.advisory"
        key = own if own in grounds.lines.get(CRAFT, {}) else "bands.default.advisory"
        return self.ways.figures.book.config(symbol, name, value, "h", CRAFT, key)

    def _in(self) -> Explanation:
        title = f"time for which {self.name} stays open"
        until = self.at(("until",))
        if until.value is None:
            return self._none("in", title, *until.remarks)
        inputs = (another("until", until), another("now", self.ways.figures.at(("elapsed",))))
        value = ((self.until_s or 0.0) - self.ways.figures.grounds.at_s) / H
        return self._made_of("in", title, value, "until - now", inputs, until.remarks)

    def _until(self) -> Explanation:
        title = f"last moment at which {self.name} may be taken"
        found, until_s = self.found, self.until_s
        if found is None:
            way = self.ways.found(self.name)
            why = "it has begun: carrying on is this way home" if way.is_begun else "no margin is known"
            return self._none("until", title, why)
        if until_s is None:
            return self._none("until", title, _closed(found.closed_by))
        now_s = self.ways.figures.grounds.at_s
        spans = [f"open from {elapsed_text(since)} until {elapsed_text(end)}" for since, end in found.spans_s]
        said = ("; ".join(spans),) if len(spans) > 1 or not found.is_open(now_s) else ()
        if found.closed_by.by is not Closing.SUPPLY:
            one = self._limit(found.closed_by)
            said = ("no supply closes it before", *said)
            return self._made_of("until", title, until_s / H, "limit", (one,), said)
        arguments = (
            another("margin", self.at(("margin",))),
            another("asked", self.at(("asked",))),
            another("residual", self.at(("residual",))),
            *self._past(),
        )
        how = _HOW.format(tolerance=TOLERANCE_S, name=self.supply, past=elapsed_text(self.past_s))
        source = SolvedSource(how=how, arguments=arguments)
        one = Input(symbol="t", name="the moment, as found", value=until_s / H, unit="h", source=source)
        holds = f"at it the margin of {self.supply} less what is asked is {arguments[2].value * H:.3g} s"
        if found.closed_by.at_s > until_s:
            holds += "; it closes at once with what happens just then"
        return self._made_of("until", title, until_s / H, "t", (one,), (holds, *said))

    def _past(self) -> tuple[Input, ...]:
        """The margin a moment later; none where the way home then has no margin any more."""
        past = self.at(("past",))
        return () if past.value is None else (another("past", past),)

    def _limit(self, stop: Stop) -> Input:
        """The moment after which it cannot be taken whatever the supplies, as the plan sets it."""
        figures, plan = self.ways.figures, self.ways.plan
        if stop.by is Closing.DECIDE_BY:
            name, key = f"decide-by of {self.name}", f"options.{self.name}.decide_by"
        elif stop.by is Closing.ARRIVAL:
            name, key = f"arrival of {stop.name}", f"options.{stop.name}.arrival"
        else:
            way = self.name if stop.by is Closing.OWN_EVENT else plan.committed
            name, key = f"moment of {stop.name}", f"options.{way}.events[{stop.name}].at"
        return figures.book.config("limit", name, stop.at_s / H, "h", PLAN, key)

    def _none(self, figure: str, title: str, *why: str) -> Explanation:
        return Explanation(
            path=text_of((*self.keys, figure)), title=title, value=None, unit="h", equation="", inputs=(),
            remarks=why,
        )  # fmt: skip

    def _made_of(
        self, figure: str, title: str, value: float, text: str, inputs: tuple[Input, ...],
        remarks: tuple[str, ...] = (),
    ) -> Explanation:  # fmt: skip
        return Explanation(
            path=text_of((*self.keys, figure)), title=title, value=value, unit="h", equation=text,
            inputs=inputs, remarks=remarks,
        )  # fmt: skip


def _closed(stop: Stop) -> str:
    """Why it is open at no moment from now on."""
    match stop.by:
        case Closing.SUPPLY:
            return f"closed already: {stop.name} does not reach what is asked, now or at any later moment"
        case Closing.DELTA_V:
            return "closed: it needs more delta-v than is left"
        case Closing.DECIDE_BY:
            return f"closed since its decide-by, {elapsed_text(stop.at_s)}"
        case Closing.ARRIVAL:
            return f"closed since the arrival of {stop.name}, {elapsed_text(stop.at_s)}"
    return f"closed since {stop.name}, {elapsed_text(stop.at_s)}"
