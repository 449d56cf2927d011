"""What readings over time say of the model: figures ``SUPPLY.learnt.…``, in the central case and in a sample.

``factors.NAME`` is measured over modelled use, ``level`` how far a sample's level lies off, ``changes.N`` the
rate of a change that nobody logged, ``off`` by what the stores' newest readings are corrected. A sample is
the mean of its way plus the root of its covariance times its draws: ``m + sum(a_i * z_i)``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from console.craft.model import Supply
from console.display import elapsed_text
from console.engine.draws import standard_draws
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.luck import Luck
from console.engine.evidence.modelled import factor_names, prior_sds
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.supply_evidence import SupplyEvidence, Way, root_of
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, assumed, series
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import Grounds, H
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys
from console.engine.planned_rate import LOADS_FACTOR

_REGRESSION = "one regression over all readings of late (console/engine/evidence/)"


@dataclass(frozen=True, kw_only=True, slots=True)
class Learnt:
    """What was learnt of one supply, with the book that tells it."""

    book: Book
    supply: Supply
    luck: Luck

    @property
    def evidence(self) -> Evidence:
        """Of the whole craft."""
        return self.luck.evidence

    @property
    def own(self) -> SupplyEvidence | None:
        """Of this supply; None where no reading of it was compared."""
        return self.evidence.supplies.get(self.supply.name)

    @property
    def keys(self) -> Keys:
        """Down to what was learnt."""
        return (*supply_keys(self.supply.name), "learnt")

    @property
    def amounts(self) -> Amounts:
        """The supply's units."""
        return Amounts(supply=self.supply)

    def way_of(self, row: int) -> Way | None:
        """The way in which one sample explains the readings; the likeliest in the central case."""
        if self.own is None:
            return None
        return self.own.ways[way_number(self.book, self.own, row)]


def learnt_of(book: Book, supply: Supply) -> Learnt | None:
    """What was learnt; None where there is no history, or it says nothing."""
    luck = book.grounds.ahead.use.luck
    return None if luck is None else Learnt(book=book, supply=supply, luck=luck)


def way_number(book: Book, own: SupplyEvidence, row: int) -> int:
    """Which way a sample is of, from 0: by its draw, with the ways' weights as probabilities."""
    if row == 0:
        return 0
    draws = book.grounds.draws
    z = float(standard_draws(f"way of {own.supply}", draws.seed, draws.count)[row])
    below = 0.5 * math.erfc(-z / math.sqrt(2.0))
    ends = np.cumsum([way.weight for way in own.ways])
    return min(int(np.searchsorted(ends, below, side="right")), len(own.ways) - 1)


def learnt_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.learnt.FIGURE``; ``keys`` are those behind ``learnt``."""
    learnt = learnt_of(book, supply)
    if learnt is None:
        return None
    match keys:
        case ("factors", name) if name in learnt.evidence.names:
            return _factor(learnt, name, row)
        case ("level",) if row:
            return _level(learnt, row)
        case ("changes", text):
            return _change(learnt, text, row)
    return None


def factor(learnt: Learnt, symbol: str, name: str, row: int = 0) -> Input:
    """One factor: measured over modelled use."""
    return learnt.book.figure(symbol, *learnt.keys, "factors", name, row=row)


def _factor(learnt: Learnt, name: str, row: int) -> Explanation:
    evidence = learnt.evidence
    place = evidence.names.index(name)
    keys, title = (*learnt.keys, "factors", name), f"measured over modelled use of {_words(name)}"
    central = 1.0 + float(evidence.mean[place])
    if not row:
        one = _solved("x", title, central, "1", _taught(learnt, place))
        return learnt.book.leaf(keys, 0, title, one)
    own, way = learnt.own, learnt.way_of(row)
    if own is None or way is None or place not in own.factors:
        names = (f"learnt {each}" for each in evidence.names)
        mean, root = central, _root_row(learnt.book, evidence, place)
        said = f"the mean over all supplies, {_REGRESSION}"
    else:
        index = len(way.mean) - len(own.factors) + own.factors.index(place)
        names = (f"readings of {own.supply} {each}" for each in range(len(way.mean)))
        mean, root = 1.0 + float(way.mean[index]), way.root[index].tolist()
        said = _way_words(learnt, row)
    return _drawn(learnt, keys, row, title, (mean, root, names), "1", said)


def _root_row(book: Book, evidence: Evidence, place: int) -> list[float]:
    """One row of the root of the craft's covariance, which is reckoned once."""
    if "root of what was learnt" not in book.kept:
        book.kept["root of what was learnt"] = root_of(evidence.covariance)
    row: list[float] = book.kept["root of what was learnt"][place].tolist()
    return row


def _words(name: str) -> str:
    """What a factor is of: the key of a load's own is its name after "load", of a use after "use"."""
    if name == LOADS_FACTOR:
        return "all loads together"
    kind, _, own = name.partition(" ")
    return f"{own}, beside that of all loads" if kind == "load" else own


def _taught(learnt: Learnt, place: int) -> str:
    """How sure a factor is, which readings say it, and how sure it was before."""
    evidence, craft = learnt.evidence, learnt.book.grounds.craft
    sd = math.sqrt(max(float(evidence.covariance[place, place]), 0.0))
    value = f"{1.0 + float(evidence.mean[place]):.3f} ± {sd:.3f}"
    sds = dict(zip(factor_names(craft), prior_sds(craft).tolist(), strict=True))
    before = f"1 ± {sds.get(evidence.names[place], 0.0):.3f} before anything was read"
    teachers = [one for one in evidence.supplies.values() if place in one.factors]
    if not teachers:
        return f"{value}: no reading tells it by itself; {before}"
    told = ", ".join(f"{one.supply} ({span_words(one)})" for one in teachers)
    return f"{value}, from readings of {told}; {before}; {_REGRESSION}"


def span_words(one: SupplyEvidence) -> str:
    """From how long a time and how many rows of readings something is known."""
    aside = f", {one.set_aside} set aside" if one.set_aside else ""
    return f"{one.count} rows of the last {one.window_s / H:.1f} h{aside}"


def _way_words(learnt: Learnt, row: int) -> str:
    """Which way a sample is of."""
    own = learnt.own
    if own is None or len(own.ways) == 1:
        return _REGRESSION
    number = way_number(learnt.book, own, row)
    share = percent(own.ways[number].weight)
    return f"way {number + 1} of {len(own.ways)} in which the readings can be ({share})"


def _level(learnt: Learnt, row: int) -> Explanation | None:
    """How far a sample's level lies off the likeliest one."""
    own, way = learnt.own, learnt.way_of(row)
    if own is None or way is None or not own.has_level:
        return None
    amounts = learnt.amounts
    keys, title = (*learnt.keys, "level"), f"how far the level of {own.supply} lies off in this sample"
    names = (f"readings of {own.supply} {each}" for each in range(len(way.mean)))
    mean = amounts.amount(float(way.mean[0]) - float(own.ways[0].mean[0]))
    root = [amounts.amount(each) for each in way.root[0].tolist()]
    return _drawn(learnt, keys, row, title, (mean, root, names), amounts.unit, _way_words(learnt, row))


def changes_of(learnt: Learnt, row: int) -> tuple[Candidate, ...]:
    """The changes that nobody logged, as one sample has them."""
    way = learnt.way_of(row)
    return () if way is None else way.changes


def _change(learnt: Learnt, text: str, row: int) -> Explanation | None:
    """The rate of one change at the moment of the newest readings."""
    own, way = learnt.own, learnt.way_of(row)
    if own is None or way is None or text not in {str(each + 1) for each in range(len(way.changes))}:
        return None
    number, amounts = int(text), learnt.amounts
    title = change_words(way.changes[number - 1])
    keys, mean = (*learnt.keys, "changes", text), amounts.rate(float(way.mean[number]))
    if row:
        names = (f"readings of {own.supply} {each}" for each in range(len(way.mean)))
        root = [amounts.rate(each) for each in way.root[number].tolist()]
        said = _way_words(learnt, row)
        return _drawn(learnt, keys, row, title, (mean, root, names), amounts.rate_unit, said)
    one = _solved("r", title, mean, amounts.rate_unit, _found(learnt, own, way, number))
    return learnt.book.leaf(keys, 0, title, one, (probability(own),))


def change_words(change: Candidate) -> str:
    """What one change is: since when, and how it goes on."""
    course = "steady"
    if change.in_proportion:
        place = f" in {change.store}" if change.store else ""
        course = f"in proportion to what is held{place}, as a leak is"
    elif change.growth_per_s:
        place = f" in {change.store}" if change.store else ""
        course = f"doubling every {math.log(2.0) / change.growth_per_s / H:.1f} h{place}"
    return f"change that nobody logged, since {elapsed_text(change.at_s)}, {course}"


def _found(learnt: Learnt, own: SupplyEvidence, way: Way, number: int) -> str:
    sd = learnt.amounts.rate(math.sqrt(max(float(way.root[number] @ way.root[number]), 0.0)))
    value = learnt.amounts.rate(float(way.mean[number]))
    at = elapsed_text(own.anchor_s)
    return f"{value:.3g} ± {sd:.2g} at {at}, from {span_words(own)}; {_REGRESSION}"


def probability(own: SupplyEvidence) -> str:
    """How probable it is that there is any change at all, and how it may be otherwise."""
    share = sum(way.weight for way in own.ways if way.changes)
    kinds: dict[str, float] = {}
    for way in own.ways:
        kind = "none" if not way.changes else _kind(way.changes[-1])
        kinds[kind] = kinds.get(kind, 0.0) + way.weight
    parts = ", ".join(f"{kind} {percent(weight)}" for kind, weight in kinds.items())
    return f"a change that nobody logged is {percent(share)} probable; the newest one: {parts}"


def percent(share: float) -> str:
    """A probability; never surer than 99 %, since the ways looked at are not all there are."""
    return f"{min(int(100.0 * share), 99)} %" if share > 0.5 else f"{100.0 * share:.0f} %"


def evidence_remarks(book: Book, supply: Supply) -> tuple[str, ...]:
    """What the figures of a supply under the plan count of its readings over time, one sentence each."""
    learnt = learnt_of(book, supply)
    if learnt is None:
        return ()
    said = [_factors_sentence(learnt)]
    own, way = learnt.own, learnt.way_of(0)
    if own is not None and way is not None:
        said += [
            f"counted: {change_words(change)}, {_found(learnt, own, way, number)}; {probability(own)}"
            for number, change in enumerate(way.changes, 1)
        ]
    return tuple(filter(None, said))


def _factors_sentence(learnt: Learnt) -> str:
    status = learnt.book.grounds.snapshot.supplies[learnt.supply.name]
    if not status.factors:
        return ""
    told = "" if learnt.own is None else f", from {span_words(learnt.own)}"
    parts = ", ".join(f"{one.name} {one.factor:.3f} ± {one.sd:.3f}" for one in status.factors)
    return f"counted: measured over modelled use of {parts}{told}"


def _kind(change: Candidate) -> str:
    if change.in_proportion:
        return "in proportion"
    return "growing" if change.growth_per_s else "steady"


def _drawn(
    learnt: Learnt,
    keys: Keys,
    row: int,
    title: str,
    of: tuple[float, list[float], Iterable[str]],
    unit: str,
    said: str,
) -> Explanation:
    """Mean plus a row of the root of the covariance times the draws."""
    mean, root, names = of
    book, draws = learnt.book, learnt.book.grounds.draws
    pairs = [(share, name) for share, name in zip(root, names, strict=True) if share]
    how = f"a row of the root of the covariance that the readings leave, {_REGRESSION}"
    parts = series("a", (_solved("a", "share of a draw", share, unit, how) for share, _ in pairs))
    luck = series("z", (book.draw("z", name, row) for _, name in pairs))
    value = mean + math.fsum(
        share * float(standard_draws(name, draws.seed, draws.count)[row]) for share, name in pairs
    )
    text = "m + sum(a_i * z_i)" if pairs else "m"
    middle = _solved("m", f"mean of {title}", mean, unit, said)
    return book.explanation(keys, row, title, value, unit, text, (middle, *parts, *luck))


def _solved(symbol: str, name: str, value: float, unit: str, how: str) -> Input:
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=SolvedSource(how=how))


def least_factor(symbol: str, value: float) -> Input:
    """The bound below which no factor is taken."""
    why = "a use is never taken for less than this share of its figure (console/engine/evidence/)"
    return assumed(symbol, "least factor", value, "1", why)


def learnt_words(grounds: Grounds, name: str, row: int) -> list[tuple[float, str]]:
    """What a sample of a supply takes for true of level, factors and changes; each with how far off it is."""
    luck = grounds.ahead.use.luck
    own = None if luck is None else luck.evidence.supplies.get(name)
    if own is None or row == 0:
        return []
    book = Book(grounds, {})
    number = way_number(book, own, row)
    way = own.ways[number]
    changes = "; ".join(change_words(change) for change in way.changes) or "no unlogged change"
    words = [(10.0, f"way {number + 1} of {len(own.ways)}: {changes}")]
    z = [
        float(standard_draws(f"readings of {name} {each}", grounds.draws.seed, grounds.draws.count)[row])
        for each in range(len(way.mean))
    ]
    drawn = way.root @ np.array(z)
    sds = np.sqrt((way.root**2).sum(axis=1))
    amounts = Amounts(supply=grounds.craft.supplies[name])
    heads = [f"level {amounts.amount(float(drawn[0])):+.4g} {amounts.unit}"] if own.has_level else [""]
    heads += [
        f"change {place} {amounts.rate(float(way.mean[place] + drawn[place])):+.4g} {amounts.rate_unit}"
        for place in range(1, 1 + len(way.changes))
    ]
    heads += [
        f"{luck.evidence.names[place]} x {1.0 + float(way.mean[index] + drawn[index]):.4g}"
        for index, place in enumerate(own.factors, start=1 + len(way.changes))
        if luck is not None and not luck.evidence.names[place].startswith("load ")
    ]
    return [
        *words,
        *(
            (float(off / sd) if sd > 0.0 else 0.0, text)
            for off, sd, text in zip(drawn, sds, heads, strict=False)
            if text
        ),
    ]
