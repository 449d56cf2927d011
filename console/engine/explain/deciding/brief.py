"""The figures of the brief: ``brief.N.…``, N being the number of the answer; then the keys of its figures.

Most are figures of other documents, under the name that they have here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from console.craft.model import StoreState
from console.engine.briefing import LATE_S, caution_s
from console.engine.explain.book import NoFigureError, another, assumed, series
from console.engine.explain.cabin import CLOCK_FIGURES, clock_keys
from console.engine.explain.deciding.all_last import all_last, least_margin
from console.engine.explain.deciding.loss import Lost
from console.engine.explain.deciding.shed import Gains
from console.engine.explain.deciding.worlds import named, supposed
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.engine.explain.grounds import CRAFT, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import ENDS, Keys, text_of
from console.engine.first_end import EndKind, first_end
from console.engine.loss import LossKind
from console.engine.reading import cabin_keys
from console.engine.shed import must_stay
from console.engine.whatif import MoveArrival

_LASTING = ("usable", "rate_now", "rate_plan")
_ENDURING = ("endurance_now", "endurance_plan", "fitted_lasts")
_ASIDE = ("reserve", "released", "protected", "isolated")
_SHUT = {StoreState.PROTECTED: "protected_stores", StoreState.ISOLATED: "isolated_stores"}
_NEED = {"need_in": "in", "delta_v": "delta_v", "delta_v_left": "delta_v_left"}


class Brief:
    """The figures of the eight answers.

    Args:
        figures: those of now.
    """

    def __init__(self, figures: Figures) -> None:
        self._figures = figures
        self._gains = Gains(figures, ("brief", "4"))
        self._answers: Mapping[str, Callable[[Keys], Explanation | None]] = {
            "1": self._lasting,
            "2": self._first,
            "3": self._making,
            "4": self._changing,
            "5": self._aside,
            "6": self._home,
            "7": self._cabin,
        }

    def at(self, keys: Keys) -> Explanation:
        """One figure of one answer."""
        answer, rest = self._answers.get(keys[0]), keys[1:]
        found = answer(rest) if answer is not None and rest else None
        if found is None:
            raise NoFigureError(text_of(("brief", *keys)))
        return named(found, "brief", *keys)

    def paths(self) -> list[Keys]:
        """Every figure of the document."""
        snapshot = self._figures.grounds.snapshot
        supplies = list(snapshot.supplies)
        margins = [(name, end) for name in supplies for end in ENDS]
        found: list[Keys] = [("1", "supplies", name, one) for name in supplies for one in _LASTING]
        found += [("1", "supplies", name, one, e) for name in supplies for one in _ENDURING for e in ENDS]
        found += [("2", one, end) for one in ("margin", "comes_in") for end in ENDS]
        found += [("3", one) for one in (*_NEED, "all_last_probability")]
        found += [("3", "lasts_probability", name) for name in supplies]
        found += [("3", "left_at_need", end) for end in ENDS if snapshot.shortest is not None]
        found += [("3", "margins", *one) for one in margins]
        found += [("4", one) for one in ("caution_margin", "losses_tried", "arrival_later_by")]
        found += [("4", "worst_loss", "margin", end) for end in ENDS]
        found += [("4", "margins_if_later", *one) for one in margins]
        found += self._gain_paths(supplies)
        found += [("5", name, one) for name in supplies for one in _ASIDE]
        for name, supply in snapshot.supplies.items():
            found += [
                ("5", name, _SHUT[store.state], store.name) for store in supply.stores if store.state in _SHUT
            ]
        found += [("6", *keys) for keys in self._figures.document_keys("options")]
        keys = cabin_keys(snapshot.cabin)
        found += [("7", "readings", key, one) for key in keys for one in ("value", "age")]
        for clock in snapshot.clocks:
            place = ("7", "clocks", *clock_keys(clock)[1:])
            found += [(*place, one) for one in CLOCK_FIGURES[:2]]
            found += [(*place, one, end) for one in CLOCK_FIGURES[2:] for end in ENDS]
        return [("brief", *keys) for keys in found]

    def _gain_paths(self, supplies: list[str]) -> list[Keys]:
        """What switching off each load that may go gains, and what waiting costs."""
        grounds = self._figures.grounds
        stays = must_stay(grounds.craft)
        going = [one.name for one in grounds.snapshot.loads if one.draw_si_per_s and one.name not in stays]
        found: list[Keys] = [("4", "gains", load, name) for load in going for name in supplies]
        if self._first_limit is not None:
            found += [("4", "limit_gains", load) for load in going]
        others = [name for name in grounds.plan.options if name != grounds.plan.committed]
        return found + [("4", "delay_cost", name, end) for name in others for end in ("p05", "p50")]

    def _of(self, supply: str, *keys: str) -> Explanation:
        """A figure of a supply."""
        if supply not in self._figures.grounds.craft.supplies:
            raise NoFigureError(text_of((supply, *keys)))
        return self._figures.at((*supply_keys(supply), *keys))

    def _lasting(self, keys: Keys) -> Explanation | None:
        match keys:
            case ("supplies", supply, figure, *end) if figure in (*_LASTING, *_ENDURING) and len(end) < 2:
                return self._of(supply, figure, *end)
        return None

    def _first(self, keys: Keys) -> Explanation | None:
        """What comes first, and when."""
        if keys[0] == "margin" and len(keys) < 3:
            return self._figures.at(("first", *keys))
        if keys[0] != "comes_in" or len(keys) > 2:
            return None
        found = first_end(self._figures.grounds.snapshot)
        if found is None:
            return Explanation(
                path="", title="when what comes first comes", value=None, unit="h", equation="", inputs=(),
                remarks=("no margin is known",),
            )  # fmt: skip
        if found.kind is EndKind.SUPPLY or found.clock is None:
            return self._of(found.name, "endurance_plan", *keys[1:])
        return self._figures.at((*clock_keys(found.clock), "reached_in", *keys[1:]))

    def _making(self, keys: Keys) -> Explanation | None:
        shortest = self._figures.grounds.snapshot.shortest
        match keys:
            case (figure,) if figure in _NEED:
                return self._figures.at(("need", _NEED[figure]))
            case ("margins", supply, *end) if len(end) < 2:
                return self._of(supply, "margin", *end)
            case ("lasts_probability", supply):
                return self._of(supply, "lasts_probability")
            case ("left_at_need", *end) if shortest is not None and len(end) < 2:
                return self._of(shortest, "left_at_need", *end)
            case ("all_last_probability",):
                return all_last(self._figures, ("brief", "3", "least_margin"))
            case ("least_margin", *sample) if len(sample) < 2:
                return least_margin(self._figures, tuple(sample))
        return None

    def _changing(self, keys: Keys) -> Explanation | None:
        match keys:
            case ("caution_margin",):
                return self._caution()
            case ("gains", load, supply):
                return self._gains.margin(load, supply, keys)
            case ("limit_gains", load) if self._first_limit is not None:
                return self._gains.gain(load, (*self._first_limit, "reached_in"), keys)
            case ("without", load, *rest) if rest:
                return self._gains.without(load).at(tuple(rest))
            case ("losses_tried",):
                return self._tried()
            case ("worst_loss", "margin", *end) if len(end) < 2:
                return self._worst(tuple(end))
            case ("arrival_later_by",):
                title, why = "by how much the arrival is supposed to slip", "console/engine/briefing.py"
                return self._figures.book.leaf(keys, 0, title, assumed("late", title, LATE_S / H, "h", why))
            case ("margins_if_later", supply, *end) if len(end) < 2:
                return self._later.at((*supply_keys(supply), "margin", *end))
            case ("later", *rest) if rest:
                return self._later.at(tuple(rest))
            case ("delay_cost", name, "p05" | "p50"):
                cost = "low" if keys[2] == "p05" else "central"
                return self._figures.at(("options", name, "delay_cost", cost))
        return None

    @cached_property
    def _later(self) -> Figures:
        """The figures with a later arrival."""
        return supposed(self._figures, (MoveArrival(by_s=LATE_S),), ("brief", "4", "later"))

    @property
    def _first_limit(self) -> Keys | None:
        """The keys of the cabin limit that comes first; None where a supply does."""
        found = first_end(self._figures.grounds.snapshot)
        is_limit = found is not None and found.kind is EndKind.CABIN_LIMIT
        return clock_keys(found.clock) if found is not None and is_limit and found.clock is not None else None

    @cached_property
    def _lost(self) -> Lost:
        return Lost(self._figures)

    def _caution(self) -> Explanation:
        """The margin for which switching off is asked: the shortest supply's caution."""
        grounds, book = self._figures.grounds, self._figures.book
        seconds, shortest = caution_s(grounds.situation, grounds.snapshot), grounds.snapshot.shortest
        title = "margin below which caution begins"
        own = f"bands.{shortest}.caution"
        key = own if own in grounds.lines.get(CRAFT, {}) else "bands.default.caution"
        one = book.config("caution", title, seconds / H, "h", CRAFT, key)
        return book.leaf(("caution_margin",), 0, title, one)

    def _tried(self) -> Explanation:
        """What can be lost, counted."""
        counted = []
        for kind in LossKind:
            names = [lost.name for lost in self._lost.tried if lost.kind is kind]
            why = f"those whose loss is tried (console/engine/loss.py): {', '.join(names) or 'none'}"
            counted.append(assumed("n", f"losses of a {kind.value}", float(len(names)), "1", why))
        inputs = series("n", counted)
        value = sum(one.value for one in inputs)
        return self._figures.book.explanation((), 0, "single losses tried", value, "1", "sum(n_i)", inputs)

    def _worst(self, end: Keys) -> Explanation:
        """The margin of what the worst loss takes from."""
        losses = self._lost.found
        if losses.worst is None:
            said = ("nothing that counts can be lost",)
            title = "margin with the worst loss"
            return self._figures.book.explanation((), 0, title, None, "h", "", (), said)
        name = self._lost.names[losses.losses.index(losses.worst)]
        supply = losses.worst.lost.supply
        one = self._figures.at(("loss", name, *supply_keys(supply), "margin", *end))
        which = f"the loss of {losses.worst.lost.kind.value} {losses.worst.lost.name} leaves least"
        if one.value is None:
            return one
        title = f"margin of {supply} with the worst loss"
        inputs = (another("margin", one),)
        return self._figures.book.explanation((), 0, title, one.value, "h", "margin", inputs, (which,))

    def _aside(self, keys: Keys) -> Explanation | None:
        match keys:
            case (supply, figure) if figure in _ASIDE:
                return self._of(supply, figure)
            case (supply, "protected_stores" | "isolated_stores", store):
                return self._of(supply, "stores", store, "on_board")
        return None

    def _home(self, keys: Keys) -> Explanation | None:
        return self._figures.at(keys) if keys[0] == "options" and len(keys) > 1 else None

    def _cabin(self, keys: Keys) -> Explanation | None:
        match keys:
            case ("readings", name, "value"):
                return self._figures.at(("cabin", name))
            case ("readings", name, "age"):
                return self._figures.at(("cabin", name, "age"))
            case ("clocks", *rest) if rest:
                return self._figures.at(("cabin", *rest))
        return None
