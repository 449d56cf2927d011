"""Changes of use that nobody logged: when each began, how it goes on, and how probable it is.

Every moment of a row and every shape (steady, falling off, growing) is one candidate, weighed by how much
more probable it makes the readings than no change does, times how probable it was beforehand. What is found
keeps all its likely candidates: a forecast that draws from them leans early by as much as they do.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.fit import Fit, refitted
from console.engine.evidence.regression import Posterior, Whitened, posterior
from console.engine.evidence.shapes import Candidate, taken_until_anchor

EACH_S = 2 * 86400.0
"""How often a change that nobody logs is expected, beforehand (our own choice)."""
SIZE_SD = 3.0
"""How large it is expected to be, as a share of the usual use (our own choice)."""
MOST = 3
LIKELY, FURTHER_LIKELY = 0.5, 0.95
"""From when on the first change is taken for one, and each further one beside it."""
LEAST_WEIGHT = 0.01
MOST_KEPT = 16

VESSEL = {"steady": 0.25, "in proportion": 0.45, "growing": 0.3}
"""How probable the shapes are beforehand of a vessel that may leak (our own choice)."""
OTHER = {"steady": 0.7, "in proportion": 0.0, "growing": 0.3}
"""The same of what holds charge, or is only counted (our own choice)."""
DOUBLES_IN_H = (1.0, 1.5, 2.0, 3.0, 4.5, 7.0, 11.0, 16.0, 24.0)
"""In which a growing loss doubles: from the quickest to the slowest looked for."""

ZOOMS = 3
ZOOM_POINTS = 7
NEAR_LOG = 6.0
"""Candidates less probable than the best by e to this are left out of the next zoom."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Component:
    """One way in which the readings may be explained.

    Coefficients: those of the fit, then each change's rate at the anchor in units of the usual use.
    """

    weight: float
    changes: tuple[Candidate, ...]
    posterior: Posterior


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Odds:
    """Candidates with the log of their odds against no further change."""

    candidates: tuple[Candidate, ...]
    logs: Floats

    @property
    def total_log(self) -> float:
        """Of all of them together."""
        return float(np.logaddexp.reduce(self.logs)) if len(self.logs) else -math.inf

    def best(self) -> Candidate:
        """The likeliest."""
        return self.candidates[int(np.argmax(self.logs))]

    def joined(self, other: _Odds) -> _Odds:
        """Both."""
        return _Odds(
            candidates=(*self.candidates, *other.candidates), logs=np.concatenate((self.logs, other.logs))
        )


def components_of(fit: Fit) -> tuple[Fit, tuple[Component, ...]]:
    """The ways in which one supply's readings may be explained, the likeliest first; weights sum to 1.

    The fit comes back with the size of the wandering that is most probable beside the changes.
    """
    found: tuple[Candidate, ...] = ()
    while True:
        odds = _odds(fit, found)
        likely = FURTHER_LIKELY if found else LIKELY
        if len(found) == MOST or odds.total_log < math.log(likely / (1.0 - likely)):
            break
        found = (*found, odds.best())
        fit = refitted(fit, change_columns(fit, found), SIZE_SD)
    if found:
        # The newest change in all its likely forms, the others as they were found.
        *kept, _ = sorted(found, key=lambda one: one.at_s)
        found = tuple(kept)
        odds = _odds(fit, found)
    return fit, _weighed(fit, found, odds)


def _weighed(fit: Fit, known: tuple[Candidate, ...], odds: _Odds) -> tuple[Component, ...]:
    """What is known, alone and with each further change that is likely enough."""
    logs = np.append(odds.logs, 0.0)
    weights = np.exp(logs - np.logaddexp.reduce(logs))
    order = [int(index) for index in np.argsort(-weights, kind="stable")[:MOST_KEPT]]
    chosen = [index for index in order if weights[index] >= LEAST_WEIGHT] or order[:1]
    whole = float(weights[chosen].sum())
    return tuple(
        _component(fit, (*known, *odds.candidates[index : index + 1]), float(weights[index]) / whole)
        for index in chosen
    )


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
    rows = fit.rows
    return Whitened(
        root=rows.root,
        values=rows.values,
        columns=np.column_stack((rows.columns, rows.of(change_columns(fit, changes)))),
        log_determinant=rows.log_determinant,
    )


def change_columns(fit: Fit, changes: tuple[Candidate, ...]) -> Floats:
    """What changes of the usual rate at the anchor do to every row, (n, changes)."""
    return np.hstack(
        [
            _columns_in_proportion(fit, np.array([one.at_s]))
            if one.in_proportion
            else _columns(fit, np.array([one.at_s]), one.growth_per_s)
            for one in changes
        ]
    )


def _odds(fit: Fit, known: tuple[Candidate, ...]) -> _Odds:
    """Every further change, coarsely, and the likely ones ever closer."""
    moments = np.unique(fit.ground.times_s)[2:-2]
    if len(moments) < 2:
        return _Odds(candidates=(), logs=np.zeros(0))
    scan = _Scan(fit, known)
    shapes = VESSEL if fit.ground.may_leak else OTHER
    lengths_s = np.diff(moments, prepend=moments[0] - (moments[1] - moments[0]))
    one = np.ones(1)
    steady = scan.odds(moments, lengths_s, 0.0 * one, shapes["steady"] * one)
    doubles = np.array(DOUBLES_IN_H)
    growths = math.log(2.0) / (3600.0 * doubles)
    # Flat over the logarithm of the time of doubling.
    cells = np.gradient(np.log(doubles))
    density = shapes["growing"] / float(cells.sum())
    growing = scan.odds(moments, lengths_s, growths, density * cells)
    leaking = scan.odds_in_proportion(moments, lengths_s, shapes["in proportion"])
    if max(steady.total_log, growing.total_log, leaking.total_log) > math.log(LEAST_WEIGHT):
        step_s = float(np.median(lengths_s))
        steady = _zoomed_moments(
            lambda grid, cells: scan.odds(grid, cells, 0.0 * one, shapes["steady"] * one), steady, step_s
        )
        leaking = _zoomed_moments(
            lambda grid, cells: scan.odds_in_proportion(grid, cells, shapes["in proportion"]), leaking, step_s
        )
        growing = _zoomed(scan, growing, step_s, density)
    return steady.joined(leaking).joined(growing)


def _near(odds: _Odds) -> list[Candidate]:
    best = float(np.max(odds.logs))
    return [
        one for one, log in zip(odds.candidates, odds.logs.tolist(), strict=True) if log > best - NEAR_LOG
    ]


def _zoomed_moments(again: Callable[[Floats, Floats], _Odds], odds: _Odds, step_s: float) -> _Odds:
    """Changes of one shape at moments ever closer about the likely ones."""
    if not len(odds.logs):
        return odds
    for _ in range(ZOOMS):
        grid, step_s = _grid([one.at_s for one in _near(odds)], step_s)
        odds = again(grid, np.full(len(grid), step_s))
    return odds


def _zoomed(scan: _Scan, odds: _Odds, step_s: float, density: float) -> _Odds:
    """Growing changes, moment and growth together, ever closer about the likely ones.

    ``density`` is how probable a growth is beforehand, by the logarithm of it.
    """
    step_log = math.log(1.5)
    for _ in range(ZOOMS):
        near = _near(odds)
        moments, logs = [one.at_s for one in near], [math.log(one.growth_per_s) for one in near]
        grid, step_s = _grid(moments, step_s)
        by_log, step_log = _grid(logs, step_log)
        growths: Floats = np.exp(by_log)
        odds = scan.odds(
            grid,
            np.full(len(grid), step_s),
            growths,
            np.full(len(growths), density * step_log),
        )
    return odds


def _grid(values: list[float], step: float) -> tuple[Floats, float]:
    """Middles of equal cells that cover some values and a step more on both sides, and the cells' size."""
    low, span = min(values) - step, max(values) - min(values) + 2.0 * step
    size = span / ZOOM_POINTS
    middles = np.linspace(low + 0.5 * size, low + span - 0.5 * size, ZOOM_POINTS)
    return middles.astype(np.float64), size


class _Scan:
    """Weighs candidates beside what is known already."""

    def __init__(self, fit: Fit, known: tuple[Candidate, ...]) -> None:
        self._fit = fit
        self._rows = rows = with_changes(fit, known)
        size, count = len(fit.precision), len(known)
        precision = rows.columns.T @ rows.columns
        precision[:size, :size] += fit.precision
        precision[range(size, size + count), range(size, size + count)] += SIZE_SD**-2.0
        self._precision = precision
        self._pull = rows.columns.T @ rows.values

    def odds(self, moments_s: Floats, lengths_s: Floats, growths_per_s: Floats, priors: Floats) -> _Odds:
        """The odds of every moment with every growth.

        Args:
            moments_s: when the change began, (m,).
            lengths_s: how long a time each of them stands for, (m,).
            growths_per_s: how its rate grows, (g,).
            priors: how probable each growth is, beforehand, (g,).
        """
        candidates = tuple(
            Candidate(at_s=at_s, growth_per_s=growth)
            for growth in growths_per_s.tolist()
            for at_s in moments_s.tolist()
        )
        columns = np.hstack([_columns(self._fit, moments_s, growth) for growth in growths_per_s.tolist()])
        return self._weighed(candidates, columns, np.outer(priors, lengths_s).ravel())

    def odds_in_proportion(self, moments_s: Floats, lengths_s: Floats, prior: float) -> _Odds:
        """The odds of a leak that goes by what is held, by when it began."""
        if not prior:
            return _Odds(candidates=(), logs=np.zeros(0))
        candidates = tuple(Candidate(at_s=at_s, in_proportion=True) for at_s in moments_s.tolist())
        return self._weighed(candidates, _columns_in_proportion(self._fit, moments_s), prior * lengths_s)

    def _weighed(self, candidates: tuple[Candidate, ...], columns: Floats, priors_s: Floats) -> _Odds:
        rows = self._rows
        white = rows.of(columns)
        seen = rows.columns.T @ white
        solved = np.linalg.solve(self._precision, np.column_stack((seen, self._pull)))
        power = np.einsum("ij,ij->j", white, white) - np.einsum("ij,ij->j", seen, solved[:, :-1])
        pull = white.T @ rows.values - seen.T @ solved[:, -1]
        power = np.maximum(power, 0.0)
        gain = 0.5 * pull**2 / (power + SIZE_SD**-2.0) - 0.5 * np.log1p(SIZE_SD**2 * power)
        return _Odds(candidates=candidates, logs=gain + np.log(priors_s / EACH_S))


def _columns(fit: Fit, moments_s: Floats, growth_per_s: float) -> Floats:
    """What changes of the usual rate at the anchor do to every row, by when they began: (n, moments)."""
    ground = fit.ground
    anchor_s, parts = ground.anchor_s, []

    def taken(times_s: Floats) -> Floats:
        return taken_until_anchor(np.maximum(times_s[:, None], moments_s) - anchor_s, growth_per_s)

    if ground.level is not None:
        parts.append(taken(ground.level.times_s) / 3600.0)
    if ground.meter is not None:
        half = 0.5 * ground.meter.widths_s
        begun, ended = taken(ground.meter.times_s - half), taken(ground.meter.times_s + half)
        parts.append((begun - ended) / ground.meter.widths_s[:, None])
    return np.vstack(parts)


def _columns_in_proportion(fit: Fit, moments_s: Floats) -> Floats:
    """The same of leaks that go by what is held, as it was read."""
    level, anchor_s = fit.ground.level, fit.ground.anchor_s
    if level is None:
        raise ValueError("nothing tells what the vessel holds")
    times = np.append(level.times_s, anchor_s)
    held = np.append(level.amounts_si, level.amounts_si[-1]) / level.amounts_si[-1]
    steps = 0.5 * (held[1:] + held[:-1]) * np.diff(times)
    until_anchor = np.append(np.cumsum(steps[::-1])[::-1], 0.0)
    column: Floats = np.interp(np.maximum(level.times_s[:, None], moments_s), times, until_anchor) / 3600.0
    if fit.ground.meter is None:
        return column
    return np.vstack((column, np.zeros((len(fit.ground.meter.times_s), len(moments_s)))))
