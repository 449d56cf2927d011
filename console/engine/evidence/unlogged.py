"""Changes of use that nobody logged: when each began, how it goes on, and how probable it is.

Every moment of a row and every shape (steady, falling off, growing) is one candidate, weighed by how much
more probable it makes the readings than no change does, times how probable it was beforehand. What is found
keeps all its likely candidates, and what is too small to be found keeps its share: a forecast that draws from
them leans early by as much as they do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.change_columns import growing_columns, leak_columns
from console.engine.evidence.fit import Fit, refitted
from console.engine.evidence.odds import Odds
from console.engine.evidence.regression import Posterior, Whitened, posterior
from console.engine.evidence.scan import LEAST_WEIGHT, odds_of
from console.engine.evidence.shapes import Candidate

MOST = 3
LIKELY, FURTHER_LIKELY = 0.5, 0.95
"""From when on the first change is taken for one, and each further one beside it."""
MOST_KEPT = 16


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Component:
    """One way in which the readings may be explained.

    Coefficients: those of the fit, then each change's rate at the anchor in units of the usual use.
    """

    weight: float
    changes: tuple[Candidate, ...]
    posterior: Posterior


def components_of(fit: Fit, *, of_loads: bool) -> tuple[Fit, tuple[Component, ...]]:
    """The ways in which one supply's readings may be explained, the likeliest first; weights sum to 1.

    The fit comes back with the size of the wandering that is most probable beside the changes. ``of_loads``
    says whether a change can only be loads that were switched.
    """
    found: tuple[Candidate, ...] = ()
    while True:
        odds = odds_of(fit, with_changes(fit, found), found, of_loads=of_loads)
        likely = FURTHER_LIKELY if found else LIKELY
        if len(found) == MOST or odds.total_log < math.log(likely / (1.0 - likely)):
            break
        found = (*found, odds.best())
        sizes = np.array([each.size_sd for each in found])
        fit = refitted(fit, change_columns(fit, found), sizes)
    if found:
        # The newest change in all its likely forms, the others as they were found.
        *kept, _ = sorted(found, key=lambda one: one.at_s)
        found = tuple(kept)
        odds = odds_of(fit, with_changes(fit, found), found, of_loads=of_loads)
    return fit, _weighed(fit, found, odds)


def with_changes(fit: Fit, changes: tuple[Candidate, ...]) -> Whitened:
    """The rows with a column for each change beside those of the fit."""
    return fit.rows.beside(change_columns(fit, changes)) if changes else fit.rows


def change_columns(fit: Fit, changes: tuple[Candidate, ...]) -> Floats:
    """What changes of the usual rate at the anchor do to every row, (n, changes)."""
    return np.hstack([_column(fit, one) for one in changes])


def _column(fit: Fit, one: Candidate) -> Floats:
    ground, moment_s = fit.ground, np.array([one.at_s])
    if one.in_proportion and ground.level is not None:
        return leak_columns(ground.level, ground.meter, ground.anchor_s, moment_s, one.store)
    return growing_columns(ground.level, ground.meter, ground.anchor_s, moment_s, one.growth_per_s)


def _weighed(fit: Fit, known: tuple[Candidate, ...], odds: Odds) -> tuple[Component, ...]:
    """What is known, alone and with each further change that is likely enough."""
    logs = np.append(odds.logs, 0.0)
    weights = np.exp(logs - np.logaddexp.reduce(logs))
    parts = [
        _component(fit, (*known, odds.candidate(index)) if index < len(odds) else known, weight)
        for index, weight in chosen(weights)
    ]
    return _likeliest_first(parts)


_Kind = tuple[tuple[bool, str, bool], ...]


def _kind(part: Component) -> _Kind:
    """The shapes of its changes."""
    return tuple((one.in_proportion, one.store, one.growth_per_s > 0.0) for one in part.changes)


def _likeliest_first(parts: list[Component]) -> tuple[Component, ...]:
    """The likeliest kind first, and of each kind the likeliest: a few stand for all of a kind."""
    kinds = [_kind(part) for part in parts]
    weights: dict[_Kind, float] = {}
    for kind, part in zip(kinds, parts, strict=True):
        weights[kind] = weights.get(kind, 0.0) + part.weight
    order = sorted(range(len(parts)), key=lambda index: (-weights[kinds[index]], -parts[index].weight))
    return tuple(parts[index] for index in order)


def chosen(weights: Floats) -> list[tuple[int, float]]:
    """A few of many candidates that stand for all, with what each stands for; the last one is "no change".

    "No change" keeps its weight. Of the others, many of which may be improbable one by one, every so many
    hundredths of their weight together one is taken, so that the sum of the improbable is not lost.
    """
    change = float(weights[:-1].sum())
    if change < LEAST_WEIGHT:
        return [(len(weights) - 1, 1.0)]
    ends = np.cumsum(weights[:-1])
    places = (np.arange(MOST_KEPT) + 0.5) / MOST_KEPT * change
    found: dict[int, float] = {}
    for index in np.minimum(np.searchsorted(ends, places), len(weights) - 2).tolist():
        found[index] = found.get(index, 0.0) + change / MOST_KEPT
    if weights[-1] >= LEAST_WEIGHT:
        found[len(weights) - 1] = float(weights[-1])
    whole = sum(found.values())
    return [(index, weight / whole) for index, weight in found.items()]


def _component(fit: Fit, changes: tuple[Candidate, ...], weight: float) -> Component:
    precision = np.diag([0.0] * len(fit.precision) + [one.size_sd**-2.0 for one in changes])
    precision[: len(fit.precision), : len(fit.precision)] = fit.precision
    return Component(
        weight=weight, changes=changes, posterior=posterior(with_changes(fit, changes), precision)
    )
