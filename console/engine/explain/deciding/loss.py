"""Every margin with one thing lost: figures ``loss.NAME.…``, as ``loss.bat-1.oxygen.margin``.

NAME is the store's, the supply's whose bank is lost, or the line's; one that comes a second time in the
document gets its number behind it. ``loss.NAME.remedies.N`` are what would make the plan survive it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from console.craft.model import StoreState
from console.engine.allowance_profile import free_time
from console.engine.explain.book import NoFigureError, another
from console.engine.explain.deciding.worlds import named, on_the_way, supposed
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import ENDS, Keys, distinct, text_of
from console.engine.loss import Loss, Losses, counted_stores, losses_of, what_can_fail
from console.engine.loss import Lost as LostThing
from console.engine.remedy import Remedy, RemedyKind, lowered_phases
from console.engine.whatif import LoseStore, MoveStore

WITHOUT = "without_loss"
_LESS = ("less", "allowed")


class Lost:
    """The figures of every single loss.

    Args:
        figures: those without a loss.
    """

    def __init__(self, figures: Figures) -> None:
        self._figures = figures
        self._worlds: dict[Keys, Figures] = {}

    def at(self, keys: Keys) -> Explanation:
        """One figure with one thing lost."""
        name, rest = keys[0], keys[1:]
        if not rest or (name != WITHOUT and name not in self.names):
            raise NoFigureError(text_of(("loss", *keys)))
        if name == WITHOUT:
            return named(self._figures.at(rest), "loss", *keys)
        if rest[0] == "remedies":
            return self._remedied(name, rest[1:])
        return self.without(name).at(rest)

    def paths(self) -> list[Keys]:
        """Every figure of the document."""
        supplies = [supply_keys(name) for name in self._figures.grounds.craft.supplies]
        found: list[Keys] = []
        for name in (WITHOUT, *self.names):
            found += [(name, *supply, "margin", end) for supply in supplies for end in ENDS]
            if name == WITHOUT:
                continue
            for number, remedy in enumerate(self._loss(name).remedies, 1):
                place = (name, "remedies", str(number))
                less = remedy.kind is RemedyKind.LESS_DRAW
                found += [(*place, one) for one in _LESS] if less else [(*place, "margin", e) for e in ENDS]
        return [("loss", *keys) for keys in found]

    @cached_property
    def tried(self) -> tuple[LostThing, ...]:
        """What can be lost, in the document's order."""
        grounds = self._figures.grounds
        counted, _ = counted_stores(grounds.craft, grounds.ahead, grounds.at_s)
        return what_can_fail(grounds.craft, counted)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The key of each of them."""
        return loss_names(lost.name for lost in self.tried)

    def without(self, name: str) -> Figures:
        """The figures with one thing lost."""
        if (name,) not in self._worlds:
            lost = self.tried[self.names.index(name)]
            gone = [LoseStore(store=store) for store in lost.stores]
            self._worlds[(name,)] = supposed(self._figures, gone, ("loss", name))
        return self._worlds[(name,)]

    @property
    def found(self) -> Losses:
        """What the engine found, remedies and all."""
        grounds, kept = self._figures.grounds, self._figures.book.kept
        if "losses" not in kept:
            kept["losses"] = losses_of(grounds.situation, None, grounds.draws)
        losses: Losses = kept["losses"]
        return losses

    def _loss(self, name: str) -> Loss:
        return self.found.losses[self.names.index(name)]

    def _remedied(self, name: str, keys: Keys) -> Explanation:
        """``remedies.N.…``: what one remedy leaves, or by how much less must be drawn."""
        path = ("loss", name, "remedies", *keys)
        remedies = self._loss(name).remedies
        number = keys[0] if keys else ""
        if not number.isascii() or not number.isdecimal() or not 1 <= int(number) <= len(remedies):
            raise NoFigureError(text_of(path))
        remedy, rest = remedies[int(number) - 1], keys[1:]
        if remedy.kind is RemedyKind.LESS_DRAW:
            return self._less(name, remedy, rest, path)
        match rest:
            case ("margin", *end) if len(end) < 2:
                place = (*supply_keys(remedy.shortest or ""), "margin", *end)
                return named(self._with(name, number, remedy, place), *path)
            case ("with", *more) if more and remedy.kind is not RemedyKind.OPTION:
                return self._with(name, number, remedy, tuple(more))
        raise NoFigureError(text_of(path))

    def _less(self, name: str, remedy: Remedy, rest: Keys, path: Keys) -> Explanation:
        """Planned in the free phases less what may be drawn in them by the low end."""
        there = self.without(name)
        home = (*supply_keys(remedy.name), "free_phases")
        allowed = there.at((*home, "allowance_low"))
        if rest == ("allowed",):
            return named(allowed, *path)
        if rest != ("less",):
            raise NoFigureError(text_of(path))
        inputs = (another("planned", there.at((*home, "planned"))), another("allowed", allowed))
        return Explanation(
            path=text_of(path),
            title=f"by how much less than planned may be drawn on {remedy.name} in the free phases",
            value=inputs[0].value - inputs[1].value,
            unit=allowed.unit,
            equation="planned - allowed",
            inputs=inputs,
        )

    def _with(self, name: str, number: str, remedy: Remedy, place: Keys) -> Explanation:
        """A figure with one thing lost and one remedy taken."""
        lost, home = self.without(name), ("remedies", number, "with")
        if remedy.kind is RemedyKind.OPTION:
            return lost.at(("options", remedy.name, *place))
        if (name, *home) not in self._worlds:
            self._worlds[name, *home] = _remedied(lost, remedy, home)
        return self._worlds[name, *home].at(place)


def _remedied(lost: Figures, remedy: Remedy, home: Keys) -> Figures:
    """The figures with a store opened now, or with a lower level in the free phases."""
    grounds = lost.grounds
    plan, ahead, at_s = grounds.plan, grounds.ahead, grounds.at_s
    if remedy.kind is RemedyKind.OPEN_STORE:
        opened = MoveStore(store=remedy.name, to=StoreState.FEEDING, at_s=at_s)
        return supposed(lost, (opened,), home)
    committed = plan.options[plan.committed]
    free = free_time(grounds.craft, ahead.use, ahead.phases, at_s, committed.need_s)
    phases = lowered_phases(grounds.craft, ahead.phases, remedy.name, at_s, free.power_ups)
    return on_the_way(lost, plan, replace(committed, phases=phases), home)


def loss_names(names: Iterable[str]) -> tuple[str, ...]:
    """The key of every loss, in the document's order."""
    return tuple(distinct([WITHOUT, *names])[1:])
