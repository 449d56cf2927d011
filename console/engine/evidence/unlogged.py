"""Changes of use that nobody logged: when each began, how it goes on, and how probable it is.

Every moment of a row and every shape (steady, falling off, growing) is one candidate, weighed by how much
more probable it makes the readings than no change does, times how probable it was beforehand. What is found
keeps all its likely candidates: a forecast that draws from them leans early by as much as they do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.fit import Fit
from console.engine.evidence.regression import Posterior, Whitened, posterior

EACH_S = 2 * 86400.0
"""How often a change that nobody logs is expected, beforehand (our own choice)."""
SIZE_SD = 0.5
"""How large it is expected to be, as a share of the usual use (our own choice)."""
MOST = 3
LIKELY = 0.5
LEAST_WEIGHT = 0.01
MOST_KEPT = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Shape:
    """How a change goes on from its beginning: its rate is multiplied by e in ``1 / growth_per_s``."""

    growth_per_s: float
    prior: float
    """How probable among the shapes, beforehand."""


def _growing(hours: float) -> float:
    return math.log(2.0) / (hours * 3600.0)


SHAPES = (
    Shape(growth_per_s=0.0, prior=0.5),
    Shape(growth_per_s=-1.0 / (12 * 3600.0), prior=0.1),
    Shape(growth_per_s=-1.0 / (48 * 3600.0), prior=0.1),
    Shape(growth_per_s=_growing(1.5), prior=0.06),
    Shape(growth_per_s=_growing(3.0), prior=0.06),
    Shape(growth_per_s=_growing(6.0), prior=0.06),
    Shape(growth_per_s=_growing(12.0), prior=0.06),
    Shape(growth_per_s=_growing(24.0), prior=0.06),
)
"""Steady; a vessel that loses in proportion; a loss that doubles in so many hours."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """One change: its moment and its shape."""

    at_s: float
    growth_per_s: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Component:
    """One way in which the readings may be explained.

    Coefficients: those of the fit, then each change's rate at the anchor in units of the usual use.
    """

    weight: float
    changes: tuple[Candidate, ...]
    posterior: Posterior


def components_of(fit: Fit) -> tuple[Component, ...]:
    """The ways in which one supply's readings may be explained, the likeliest first; weights sum to 1."""
    found: tuple[Candidate, ...] = ()
    while True:
        weights, candidates = _scan(fit, with_changes(fit, found), len(found))
        total = float(weights.sum())
        if len(found) == MOST or total / (1.0 + total) < LIKELY:
            break
        found = (*found, candidates[int(np.argmax(weights))])
    if found:
        # The newest change in all its likely forms, the others as they were found.
        *kept, _ = sorted(found, key=lambda one: one.at_s)
        found = tuple(kept)
        weights, candidates = _scan(fit, with_changes(fit, found), len(found))
    return _weighed(fit, found, weights, candidates)


def _weighed(
    fit: Fit, known: tuple[Candidate, ...], weights: Floats, candidates: list[Candidate]
) -> tuple[Component, ...]:
    """What is known, alone and with each further change that is likely enough."""
    total = 1.0 + float(weights.sum())
    order = np.argsort(-weights, kind="stable")[:MOST_KEPT]
    chosen = [(float(weights[index]) / total, (*known, candidates[index])) for index in order]
    chosen = [one for one in chosen if one[0] >= LEAST_WEIGHT]
    if 1.0 / total >= LEAST_WEIGHT or not chosen:
        chosen.append((1.0 / total, known))
    chosen.sort(key=lambda one: -one[0])
    whole = sum(weight for weight, _ in chosen)
    return tuple(_component(fit, changes, weight / whole) for weight, changes in chosen)


def _component(fit: Fit, changes: tuple[Candidate, ...], weight: float) -> Component:
    rows = with_changes(fit, changes)
    precision = np.zeros((rows.columns.shape[1],) * 2)
    size = len(fit.precision)
    precision[:size, :size] = fit.precision
    precision[range(size, len(precision)), range(size, len(precision))] = SIZE_SD**-2.0
    return Component(weight=weight, changes=changes, posterior=posterior(rows, precision))


def with_changes(fit: Fit, changes: tuple[Candidate, ...]) -> Whitened:
    """The rows with a column for each change beside those of the fit."""
    if not changes:
        return fit.rows
    columns = np.hstack([_columns(fit, np.array([one.at_s]), one.growth_per_s) for one in changes])
    rows = fit.rows
    return Whitened(
        root=rows.root,
        values=rows.values,
        columns=np.column_stack((rows.columns, rows.of(columns))),
        log_determinant=rows.log_determinant,
    )


def _scan(fit: Fit, rows: Whitened, known: int) -> tuple[Floats, list[Candidate]]:
    """The odds of every candidate against no further change, and the candidates."""
    moments = np.unique(fit.ground.times_s)[2:-2]
    if len(moments) < 2:
        return np.zeros(0), []
    lengths_s = np.diff(moments, prepend=moments[0] - 1200.0)
    candidates = [
        Candidate(at_s=at_s, growth_per_s=shape.growth_per_s) for shape in SHAPES for at_s in moments.tolist()
    ]
    priors = np.concatenate([shape.prior * lengths_s / EACH_S for shape in SHAPES])
    white = rows.of(np.hstack([_columns(fit, moments, shape.growth_per_s) for shape in SHAPES]))
    size = len(fit.precision)
    precision = rows.columns.T @ rows.columns
    precision[:size, :size] += fit.precision
    precision[range(size, size + known), range(size, size + known)] += SIZE_SD**-2.0
    seen = rows.columns.T @ white
    solved = np.linalg.solve(precision, np.column_stack((seen, rows.columns.T @ rows.values)))
    power = np.einsum("ij,ij->j", white, white) - np.einsum("ij,ij->j", seen, solved[:, :-1])
    pull = white.T @ rows.values - seen.T @ solved[:, -1]
    gain = 0.5 * pull**2 / (power + SIZE_SD**-2.0) - 0.5 * np.log1p(SIZE_SD**2 * np.maximum(power, 0.0))
    return priors * np.exp(np.minimum(gain, 600.0)), candidates


def _columns(fit: Fit, moments_s: Floats, growth_per_s: float) -> Floats:
    """What changes of the usual rate at the anchor do to every row, by when they began: (n, moments)."""
    ground = fit.ground
    anchor_s, parts = ground.anchor_s, []

    def taken(times_s: Floats) -> Floats:
        return _taken(np.maximum(times_s[:, None], moments_s) - anchor_s, growth_per_s)

    if ground.level is not None:
        parts.append(taken(ground.level.times_s) / 3600.0)
    if ground.meter is not None:
        half = 0.5 * ground.meter.widths_s
        begun, ended = taken(ground.meter.times_s - half), taken(ground.meter.times_s + half)
        parts.append((begun - ended) / ground.meter.widths_s[:, None])
    return np.vstack(parts)


def _taken(from_s: Floats, growth_per_s: float) -> Floats:
    """What is taken from some moments (before the anchor: negative) up to it, at rate 1 at the anchor."""
    if growth_per_s == 0.0:
        return -from_s
    taken: Floats = -np.expm1(growth_per_s * from_s) / growth_per_s
    return taken
