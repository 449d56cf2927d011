"""By what all readings of late correct the newest of each store: figure ``SUPPLY.learnt.off``."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.model import Supply
from console.display import elapsed_text
from console.engine.evidence.smoothing import moment_of, smooths
from console.engine.evidence.supply_evidence import SupplyEvidence
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import H
from console.engine.explain.kept import Kept, supply_keys
from console.engine.explain.learnt import span_words


@dataclass(frozen=True, kw_only=True, slots=True)
class Smoothing:
    """A supply whose stores are known by all their readings of late together."""

    one: SupplyEvidence
    amounts: Amounts

    @property
    def shared_words(self) -> str:
        """How the correction is parted."""
        unit = self.amounts.unit
        sds = ", ".join(
            f"{name} {self.amounts.amount(sd):.3g} {unit}" for name, sd in self.one.biases_sd.items()
        )
        return f"standard deviations of those: {sds} (console/engine/evidence/smoothing.py)"

    def share(self, kept: Kept) -> float:
        """The part of one store."""
        whole = sum(sd**2 for sd in self.one.biases_sd.values())
        own = self.one.biases_sd[kept.store.name]
        return own**2 / whole if whole > 0.0 else 1.0 / len(self.one.stores)


def smoothing_of(kept: Kept) -> Smoothing | None:
    """What smooths a store's quantity; None where its newest reading stands as it is."""
    one = _evidence(kept.book, kept.amounts.supply)
    if one is None or kept.store.name not in one.stores:
        return None
    return Smoothing(one=one, amounts=kept.amounts)


def _evidence(book: Book, supply: Supply) -> SupplyEvidence | None:
    """Of a supply whose level was taken in place of its newest readings."""
    known = book.grounds.known
    one = None if known.evidence is None else known.evidence.supplies.get(supply.name)
    if one is None or not smooths(one, known.as_read):
        return None
    return None if moment_of([known.as_read[name] for name in one.stores]) is None else one


def off_input(kept: Kept, smoothing: Smoothing) -> Input:
    """The correction; where a store is only supposed to be gone, as the readings of all of them said it."""
    supply = kept.amounts.supply
    if not _is_supposed(supply, smoothing.one):
        return kept.book.figure("off", *supply_keys(supply.name), "learnt", "off")
    known = kept.book.grounds.known
    share, name = smoothing.share(kept), kept.store.name
    off_si = ((known.quantities[name].held_si or 0.0) - (known.as_read[name].held_si or 0.0)) / (share or 1.0)
    how = f"as the readings of all its stores say it, the supposed loss apart (learnt.off of {supply.name})"
    title = f"by what all readings of late of {supply.name} correct the newest ones"
    return _solved("off", title, kept.amounts.amount(off_si), kept.amounts.unit, how)


def _is_supposed(supply: Supply, one: SupplyEvidence) -> bool:
    """Whether a store whose readings were taken together is only supposed to be gone."""
    return not set(one.stores) <= {store.name for store in supply.stores}


def off_figure(book: Book, supply: Supply) -> Explanation | None:
    """``SUPPLY.learnt.off``: the level by all readings of late, less what the newest say."""
    one = _evidence(book, supply)
    if one is None:
        return None
    amounts, home = Amounts(supply=supply), supply_keys(supply.name)
    if _is_supposed(supply, one):
        return None
    moment_s = moment_of([book.grounds.known.as_read[name] for name in one.stores]) or 0.0
    since_s = moment_s - one.anchor_s
    anchor, told = elapsed_text(one.anchor_s), f"from {span_words(one)}"
    found = "one regression over all readings of late (console/engine/evidence/)"
    level = _solved(
        "level",
        f"level at {anchor}",
        amounts.amount(float(one.ways[0].mean[0])),
        amounts.unit,
        f"{told}, {found}",
    )
    sd = amounts.rate(one.rate_sd_si_per_s)
    rate = _solved(
        "rate",
        "present rate by the same",
        amounts.rate(one.rate_si_per_s),
        amounts.rate_unit,
        f"\u00b1 {sd:.3g}, {told}, {found}",
    )
    since = _solved(
        "since",
        f"mean moment of the newest readings, counted from {anchor}",
        since_s / H,
        "h",
        "the readings' own times, each by what its store holds",
    )
    reads = series("q", (book.figure("q", *home, "stores", name, "level_read") for name in one.stores))
    value = level.value - rate.value * since.value / amounts.hours_of - sum(each.value for each in reads)
    text = f"level - rate * since{amounts.times} - sum(q_i)"
    title = f"by what all readings of late of {supply.name} correct the newest ones"
    inputs = (level, rate, since, *reads, *amounts.factor)
    return book.explanation((*home, "learnt", "off"), 0, title, value, amounts.unit, text, inputs)


def _solved(symbol: str, name: str, value: float, unit: str, how: str) -> Input:
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=SolvedSource(how=how))
