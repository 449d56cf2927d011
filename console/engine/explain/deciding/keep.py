"""Leave a load on, or switch it off and bring it back: figures ``whatif.trades.SUPPLY.…`` and the comparison.

``before`` is leaving it on, ``after`` switching it off, what bringing it back takes included, and
``switched_off`` the latter without that. ``for_good.on`` and ``for_good.off`` never bring it back: they tell
after how long it pays.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from console.craft.model import LoadState
from console.engine.draws import Floats
from console.engine.explain.asked import KeepAsked
from console.engine.explain.book import NoFigureError, another, assumed, series
from console.engine.explain.deciding.whatif import Sides
from console.engine.explain.deciding.worlds import CENTRAL, in_situation, supposed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.figures import Figures
from console.engine.explain.grounds import H
from console.engine.explain.kept import supply_keys
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys, text_of
from console.engine.keep_or_off import (
    KeepOrOff,
    Trade,
    brought_back,
    held_until,
    keep_or_off,
    moments_s,
)
from console.engine.known import Situation
from console.engine.whatif import AddEvent, SwitchLoad, suppose

TRADE_FIGURES = ("keeping", "restart", "saved", "pays_after")
_HOME = ("whatif",)


class Kept:
    """The figures of one choice.

    Args:
        figures: those of now.
        asked: the load, when it is wanted again and what bringing it back takes.
    """

    def __init__(self, figures: Figures, asked: KeepAsked) -> None:
        self._figures, self._asked = figures, asked

    def at(self, keys: Keys) -> Explanation:
        """One figure."""
        match keys:
            case ("off",):
                return self._off()
            case ("pays_after",):
                return self._pays_after()
            case ("trades", name, figure) if figure in TRADE_FIGURES:
                return self._trade(name, figure)
            case ("switched_off", *rest) if rest:
                return self._switched_off.at(tuple(rest))
            case ("for_good", "on" | "off", *rest) if rest:
                return self._for_good(keys[1]).at(tuple(rest))
        return self._sides.at(keys)

    def paths(self) -> list[Keys]:
        """Every figure of the document."""
        names = self._figures.grounds.craft.supplies
        trades = [(*_HOME, "trades", name, figure) for name in names for figure in TRADE_FIGURES]
        return [(*_HOME, "off"), (*_HOME, "pays_after"), *trades, *self._sides.paths()]

    @cached_property
    def _choice(self) -> KeepOrOff:
        asked, grounds = self._asked, self._figures.grounds
        return keep_or_off(grounds.situation, asked.load, asked.until_s, asked.restart_si, grounds.draws)

    def _held(self, state: LoadState) -> Situation:
        """The load in a state until it is wanted again."""
        asked, situation = self._asked, self._figures.grounds.situation
        return held_until(situation, asked.load, state, asked.until_s, self._choice.state_then)

    @cached_property
    def _sides(self) -> Sides:
        """Leaving it on, and switching it off with what bringing it back takes."""
        asked = self._asked
        back = AddEvent(event=brought_back(asked.load, asked.until_s, asked.restart_si))
        paid = suppose(self._held(LoadState.OFF), (back,))
        return Sides(
            in_situation(self._figures, self._held(self._choice.state), (*_HOME, "before")),
            in_situation(self._figures, paid, (*_HOME, "after")),
            _HOME,
            f"before: {asked.load} stays on; after: it is off and is brought back",
        )

    @cached_property
    def _switched_off(self) -> Figures:
        return in_situation(self._figures, self._held(LoadState.OFF), (*_HOME, "switched_off"), CENTRAL)

    @cached_property
    def _on_for_good(self) -> Figures:
        return self._always(self._choice.state, "on")

    @cached_property
    def _off_for_good(self) -> Figures:
        return self._always(LoadState.OFF, "off")

    def _for_good(self, word: str) -> Figures:
        return self._on_for_good if word == "on" else self._off_for_good

    def _always(self, state: LoadState, word: str) -> Figures:
        switch = SwitchLoad(load=self._asked.load, to=state, from_s=self._figures.grounds.at_s)
        return supposed(self._figures, (switch,), (*_HOME, "for_good", word), CENTRAL)

    def _off(self) -> Explanation:
        until_s = self._choice.until_s
        name, asked = "when it is wanted again", "asked, with --until"
        until = assumed("until", name, until_s / H, "h", asked)
        inputs = (until, another("now", self._figures.at(("elapsed",))))
        value = (until_s - self._figures.grounds.at_s) / H
        return _made(("off",), f"time for which {self._asked.load} is off", value, "h", "until - now", inputs)

    def _pays_after(self) -> Explanation:
        """The longest of those of the supplies on which anything is paid or saved."""
        title = "how long it must be off to pay on every supply"
        trades = [trade for trade in self._choice.trades if trade.restart_si or trade.keeping_si]
        each = [self._trade(trade.supply.name, "pays_after") for trade in trades]
        if not each or any(one.value is None for one in each):
            both = zip(trades, each, strict=True)
            lacking = [trade.supply.name for trade, one in both if one.value is None]
            why = f"on {', '.join(lacking)} it does not pay before need" if lacking else "nothing is saved"
            return _made(("pays_after",), title, None, "h", "", (), (why,))
        spans = series("p", (another("p", one) for one in each))
        value = max(one.value for one in spans)
        return _made(("pays_after",), title, value, "h", "max(p_i)", spans)

    def _trade(self, name: str, figure: str) -> Explanation:
        """One supply in this choice."""
        trade = next((one for one in self._choice.trades if one.supply.name == name), None)
        if trade is None:
            raise NoFigureError(text_of((*_HOME, "trades", name, figure)))
        keys, unit = ("trades", name, figure), trade.supply.unit.text
        match figure:
            case "restart":
                title = f"{name} that bringing it back takes"
                value = trade.supply.unit.from_si(trade.restart_si)
                one = assumed("restart", title, value, unit, "asked, with --restart; 0 where it is not named")
                return _made(keys, title, value, unit, "restart", (one,))
            case "keeping":
                return self._keeping(trade, keys)
            case "saved":
                return self._saved(trade, keys)
        return self._pays(trade, keys)

    def _keeping(self, trade: Trade, keys: Keys) -> Explanation:
        """What switching it off leaves more at need than leaving it on, before it is brought back."""
        name, unit = trade.supply.name, trade.supply.unit
        title = f"{name} that leaving it on takes until it is wanted again"
        if trade.keeping_si is None:
            return _made(keys, title, None, unit.text, "", (), ("what is usable is not known",))
        place = (*supply_keys(name), "left_at_need")
        inputs = (
            another("off", self._switched_off.at(place)),
            another("on", self._sides.before.at(place)),
        )
        return _made(keys, title, unit.from_si(trade.keeping_si), unit.text, "off - on", inputs)

    def _saved(self, trade: Trade, keys: Keys) -> Explanation:
        name, unit = trade.supply.name, trade.supply.unit
        title = f"{name} that switching it off saves"
        keeping = self._trade(name, "keeping")
        if trade.saved_si is None or keeping.value is None:
            return _made(keys, title, None, unit.text, "", (), keeping.remarks)
        inputs = (another("keeping", keeping), another("restart", self._trade(name, "restart")))
        return _made(keys, title, unit.from_si(trade.saved_si), unit.text, "keeping - restart", inputs)

    def _pays(self, trade: Trade, keys: Keys) -> Explanation:
        """In the stretch in which it does, what is saved grows evenly: the time has a closed form."""
        name = trade.supply.name
        title = f"how long it must be off for that to pay on {name}"
        if trade.pays_after_s is None:
            why = "what is usable is not known" if trade.keeping_si is None else "it does not pay before need"
            return _made(keys, title, None, "h", "", (), (why,))
        restart = another("restart", self._trade(name, "restart"))
        if trade.restart_si <= 0.0:
            said = ("bringing it back takes nothing of this supply",)
            return _made(keys, title, 0.0, "h", "max(0, restart)", (restart,), said)
        begin_s, end_s = self._stretch_s(trade)
        sides = [
            another(f"{word}_{side}", self._left_at(name, word, at_s))
            for side, at_s in (("a", begin_s), ("b", end_s))
            for word in ("off", "on")
        ]
        inputs = (
            self._moment("begin", begin_s),
            self._moment("end", end_s),
            restart,
            *sides,
            another("now", self._figures.at(("elapsed",))),
        )
        saved = "(off_a - on_a)"
        text = f"begin - now + (restart - {saved}) / (off_b - on_b - {saved}) * (end - begin)"
        return _made(keys, title, trade.pays_after_s / H, "h", text, inputs)

    def _moments_s(self, name: str) -> Floats:
        """Between two of them what is saved grows evenly."""
        courses = [self._for_good(word).grounds.ahead.supplies[name].outlook.course for word in ("on", "off")]
        grounds = self._figures.grounds
        if courses[0] is None or courses[1] is None:
            raise NoFigureError(name)
        return moments_s(courses[0], courses[1], grounds.at_s, grounds.ahead.option.need_s)

    def _stretch_s(self, trade: Trade) -> tuple[float, float]:
        """The two moments between which what is saved has grown to what bringing it back takes."""
        moments = self._moments_s(trade.supply.name)
        at_s = self._figures.grounds.at_s + (trade.pays_after_s or 0.0)
        place = int(np.clip(np.searchsorted(moments, at_s), 1, len(moments) - 1))
        return float(moments[place - 1]), float(moments[place])

    def _left_at(self, name: str, word: str, at_s: float) -> Explanation:
        return self._for_good(word).at((*supply_keys(name), "left_at", repr(at_s)))

    def _moment(self, symbol: str, at_s: float) -> Input:
        """One of those moments, with what sets it."""
        if at_s == self._figures.grounds.ahead.option.need_s:
            return another(symbol, self._figures.at(("need", "at")))
        return moment(self._off_for_good.book, symbol, at_s)


def _made(
    keys: Keys, title: str, value: float | None, unit: str, text: str, inputs: tuple[Input, ...],
    remarks: tuple[str, ...] = (),
) -> Explanation:  # fmt: skip
    return Explanation(
        path=text_of((*_HOME, *keys)), title=title, value=value, unit=unit, equation=text, inputs=inputs,
        remarks=remarks,
    )  # fmt: skip
