"""What readings said of the craft as it is, under a craft that is only supposed.

Readings were taken of the craft that there is: a supposed leak or a lost store changes nothing of what they
said. Only the factor of a use that is itself supposed falls away, since its rate is meant as it is written.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from console.craft.model import Craft
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.modelled import factor_names, prior_sds
from console.engine.evidence.supply_evidence import SupplyEvidence, Way, root_of
from console.engine.planned_rate import use_factor


def carried(evidence: Evidence, real: Craft, supposed: Craft) -> Evidence:
    """The evidence of the real craft for a supposed one.

    Args:
        evidence: what was learnt of the real one.
        real: the craft as it is.
        supposed: the same with uses at another rate, or without some.
    """
    before = {use.name: use for use in real.uses}
    other = [use_factor(use.name) for use in supposed.uses if use != before[use.name]]
    places = [evidence.names.index(name) for name in other]
    if not places:
        return evidence
    sds = dict(zip(factor_names(real), prior_sds(real).tolist(), strict=True))
    mean, covariance = evidence.mean.copy(), evidence.covariance.copy()
    for place, name in zip(places, other, strict=True):
        mean[place] = 0.0
        covariance[place, :] = covariance[:, place] = 0.0
        covariance[place, place] = sds[name] ** 2
    supplies = {name: _without(one, frozenset(places)) for name, one in evidence.supplies.items()}
    return replace(evidence, mean=mean, covariance=covariance, supplies=supplies)


def _without(one: SupplyEvidence, places: frozenset[int]) -> SupplyEvidence:
    """Without some factors: what is known of the rest stays."""
    if not places & set(one.factors):
        return one
    kept = [index for index, place in enumerate(one.factors) if place not in places]
    return replace(
        one,
        factors=tuple(one.factors[index] for index in kept),
        ways=tuple(_kept(way, len(way.mean) - len(one.factors), kept) for way in one.ways),
    )


def _kept(way: Way, head: int, factors: list[int]) -> Way:
    index = np.array([*range(head), *(head + each for each in factors)], dtype=np.intp)
    covariance = way.root @ way.root.T
    return replace(way, mean=way.mean[index], root=root_of(covariance[np.ix_(index, index)]))
