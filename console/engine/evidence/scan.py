"""Weighs every further change of one supply: all moments and shapes coarsely, the likely ones ever closer."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.change_columns import growing_columns, leak_columns
from console.engine.evidence.fit import Fit
from console.engine.evidence.leaking_store import sources_of, store_gains
from console.engine.evidence.odds import NONE, Odds, joined
from console.engine.evidence.regression import Whitened
from console.engine.evidence.shapes import Candidate

LEAST_WEIGHT = 0.01
"""Where all changes together are less probable than this, none is looked for more closely, or drawn."""

SWITCHED_SDS = (0.4,)
"""How large what is switched, or people do, is expected to be, as a share of the usual use (ours)."""
LEAK_SDS = (0.4, 3.0)
"""And a leak: the first few parts of the use, the second many times it, both as probable (our own choice)."""

DAY_S = 86400.0
LOADS = {"steady": 1.0, "in proportion": 0.0, "growing": 0.0}
"""How many changes that nobody logs are expected a day, by shape (our own choice): of loads switched,"""
VESSEL = {"steady": 0.1, "in proportion": 0.05, "growing": 0.05}
"""of a vessel that may leak, or from which people take more or less,"""
OTHER = {"steady": 0.1, "in proportion": 0.0, "growing": 0.0}
"""and of what is only counted as people use it: none of these grows for hours by itself."""
DOUBLES_IN_H = (1.0, 1.5, 2.0, 3.0, 4.5, 7.0, 11.0, 16.0, 24.0)
"""In which a growing loss doubles: from the quickest to the slowest looked for."""

_SPAN = float(np.gradient(np.log(np.array(DOUBLES_IN_H))).sum())
"""Of the logarithms of those."""

ZOOMS = 3
ZOOM_POINTS = 7
NEAR_LOG = 6.0
"""Candidates less probable than the best by e to this are left out of the next zoom."""
FAR_LOG = 15.0
"""So much less probable than the best, by its course in time, no share of the stores is looked at."""
SPREAD = 1.0 / 3.0
"""Where the likely moments lie over more than this share of the stretch, there is none to zoom in on."""


_DEVIATIONS = np.linspace(-30.0, 30.0, 6001)
_LOGS = np.log([math.erfc(-z / math.sqrt(2.0)) for z in _DEVIATIONS.tolist()])


def odds_of(fit: Fit, rows: Whitened, known: tuple[Candidate, ...], *, of_loads: bool) -> Odds:
    """Every further change beside those known, coarsely, and the likely ones ever closer.

    Args:
        fit: the rows explained without it.
        rows: the same with the columns of the known ones.
        known: these.
        of_loads: whether a change can only be loads that were switched.
    """
    moments = np.unique(fit.ground.times_s)[2:-2]
    if len(moments) < 2:
        return NONE
    scan = _Scan(fit, rows, known, of_loads=of_loads)
    shapes = LOADS if of_loads else VESSEL if fit.ground.may_leak else OTHER
    lengths_s = np.diff(moments, prepend=moments[0] - (moments[1] - moments[0]))
    steady = scan.steady(moments, lengths_s, shapes["steady"])
    leaks: list[Odds] = []
    sources = _sources(fit, known) if shapes["in proportion"] else {}
    for store, share in sources.items():
        leaks.append(scan.leaking(moments, lengths_s, share * shapes["in proportion"], store))
        leaks.append(_growing(scan, moments, lengths_s, share * shapes["growing"], store))
    top = max([steady.total_log, *(each.total_log for each in leaks)])
    if top > math.log(LEAST_WEIGHT):
        step_s = float(np.median(lengths_s))
        steady = _zoomed_moments(
            lambda grid, cells: scan.steady(grid, cells, shapes["steady"]), steady, step_s
        )
        for number, (store, share) in enumerate(sources.items()):
            plain, grown = leaks[2 * number : 2 * number + 2]
            again = partial(_again, scan, share * shapes["in proportion"], store)
            if plain.total_log > top - NEAR_LOG:
                leaks[2 * number] = _zoomed_moments(again, plain, step_s)
            if grown.total_log > top - NEAR_LOG:
                leaks[2 * number + 1] = _zoomed(scan, grown, step_s, share * shapes["growing"], store)
    return joined([steady, *leaks])


def _sources(fit: Fit, known: tuple[Candidate, ...]) -> Mapping[str, float]:
    """Where a further leak may be; what the stores say apart counts once, for the first one found."""
    if fit.ground.level is None or any(one.in_proportion for one in known):
        return {"": 1.0}
    return sources_of(fit.ground.level)


def _again(scan: _Scan, prior: float, store: str, grid_s: Floats, cells_s: Floats) -> Odds:
    return scan.leaking(grid_s, cells_s, prior, store)


def _growing(scan: _Scan, moments_s: Floats, lengths_s: Floats, prior: float, store: str) -> Odds:
    """Growing losses; how probable a growth is beforehand is flat over its logarithm."""
    doubles = np.array(DOUBLES_IN_H)
    growths = math.log(2.0) / (3600.0 * doubles)
    return scan.growing(moments_s, lengths_s, growths, prior * np.gradient(np.log(doubles)) / _SPAN, store)


def _is_narrow(odds: Odds) -> bool:
    """Whether the likely moments lie close together."""
    if not len(odds):
        return False
    near_s = odds.at_s[odds.near(NEAR_LOG)]
    return bool(np.ptp(near_s) <= SPREAD * np.ptp(odds.at_s))


def _zoomed_moments(again: Callable[[Floats, Floats], Odds], odds: Odds, step_s: float) -> Odds:
    """Changes of one shape at moments ever closer about the likely ones."""
    if not _is_narrow(odds):
        return odds
    for _ in range(ZOOMS):
        grid, step_s = _grid(odds.at_s[odds.near(NEAR_LOG)], step_s)
        odds = again(grid, np.full(len(grid), step_s))
    return odds


def _zoomed(scan: _Scan, odds: Odds, step_s: float, prior: float, store: str) -> Odds:
    """Growing changes, moment and growth together, ever closer about the likely ones."""
    if not _is_narrow(odds):
        return odds
    step_log = math.log(1.5)
    for _ in range(ZOOMS):
        near = odds.near(NEAR_LOG)
        grid, step_s = _grid(odds.at_s[near], step_s)
        by_log, step_log = _grid(np.log(odds.growths_per_s[near]), step_log)
        growths: Floats = np.exp(by_log)
        priors = np.full(len(growths), prior * step_log / _SPAN)
        odds = scan.growing(grid, np.full(len(grid), step_s), growths, priors, store)
    return odds


def _grid(values: Floats, step: float) -> tuple[Floats, float]:
    """Middles of equal cells that cover some values and a step more on both sides, and the cells' size."""
    low, span = float(values.min()) - step, float(np.ptp(values)) + 2.0 * step
    size = span / ZOOM_POINTS
    middles = np.linspace(low + 0.5 * size, low + span - 0.5 * size, ZOOM_POINTS)
    return middles.astype(np.float64), size


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Seen:
    """Some candidates' columns, and what the rows say of their rates beside all else that is free."""

    columns: Floats
    power: Floats
    """The inverse of each rate's variance by the rows alone."""
    pull: Floats
    """The rate that the rows make likeliest, times that."""


class _Scan:
    """Weighs candidates beside what is known already."""

    def __init__(self, fit: Fit, rows: Whitened, known: tuple[Candidate, ...], *, of_loads: bool) -> None:
        self._ground = fit.ground
        self._rows = rows
        self._of_loads = of_loads
        size = len(fit.precision)
        precision = rows.columns.T @ rows.columns
        precision[:size, :size] += fit.precision
        for index, one in enumerate(known, start=size):
            precision[index, index] += one.size_sd**-2.0
        self._precision = precision
        self._pull = rows.columns.T @ rows.values
        self._seen: dict[bytes, _Seen] = {}

    def steady(self, moments_s: Floats, lengths_s: Floats, prior: float) -> Odds:
        """The odds of changes that stay as they began; ``lengths_s`` is how long each moment stands for."""
        form = Candidate(at_s=0.0, of_loads=self._of_loads)
        seen = self._projected(self._columns(moments_s, 0.0))
        return self._weighed(form, moments_s, 0.0 * moments_s, seen, prior * lengths_s, SWITCHED_SDS)

    def growing(
        self, moments_s: Floats, lengths_s: Floats, growths_per_s: Floats, priors: Floats, store: str
    ) -> Odds:
        """The odds of every moment with every growth, each as probable beforehand as ``priors`` says."""
        # From whichever store it comes, the level of all goes the same way.
        key = moments_s.tobytes() + growths_per_s.tobytes()
        if key not in self._seen:
            columns = [self._columns(moments_s, growth) for growth in growths_per_s.tolist()]
            self._seen[key] = self._projected(np.hstack(columns))
        form = Candidate(at_s=0.0, growth_per_s=1.0, store=store)
        at_s, growths = np.tile(moments_s, len(growths_per_s)), np.repeat(growths_per_s, len(moments_s))
        weights = np.outer(priors, lengths_s).ravel()
        return self._weighed(form, at_s, growths, self._seen[key], weights, LEAK_SDS)

    def leaking(self, moments_s: Floats, lengths_s: Floats, prior: float, store: str) -> Odds:
        """The odds of a leak that goes by what is held, in all or in one store, by when it began."""
        ground = self._ground
        if ground.level is None:
            return NONE
        columns = leak_columns(ground.level, ground.meter, ground.anchor_s, moments_s, store)
        form, seen = Candidate(at_s=0.0, in_proportion=True, store=store), self._projected(columns)
        return self._weighed(form, moments_s, 0.0 * moments_s, seen, prior * lengths_s, LEAK_SDS)

    def _columns(self, moments_s: Floats, growth_per_s: float) -> Floats:
        ground = self._ground
        return growing_columns(ground.level, ground.meter, ground.anchor_s, moments_s, growth_per_s)

    def _projected(self, columns: Floats) -> _Seen:
        rows = self._rows
        white = rows.of(columns)
        seen = rows.columns.T @ white
        solved = np.linalg.solve(self._precision, np.column_stack((seen, self._pull)))
        power = np.einsum("ij,ij->j", white, white) - np.einsum("ij,ij->j", seen, solved[:, :-1])
        pull = white.T @ rows.values - seen.T @ solved[:, -1]
        return _Seen(columns=columns, power=np.maximum(power, 0.0), pull=pull)

    def _weighed(
        self,
        form: Candidate,
        at_s: Floats,
        growths_per_s: Floats,
        seen: _Seen,
        priors_s: Floats,
        sizes: tuple[float, ...],
    ) -> Odds:
        priors = np.log(priors_s / DAY_S / len(sizes))
        logs = []
        for size in sizes:
            sure = seen.power + size**-2.0
            log = priors + 0.5 * seen.pull**2 / sure - 0.5 * np.log1p(size**2 * seen.power)
            if form.only_takes:
                log += _log_positive(seen.pull / np.sqrt(sure))
            if form.store:
                log += self._store_gains(form.store, seen, seen.pull / sure, log)
            logs.append(log)
        count, times = len(at_s), len(sizes)
        return Odds(
            forms=(form,),
            which=np.zeros(count * times, dtype=np.intp),
            at_s=np.tile(at_s, times),
            growths_per_s=np.tile(growths_per_s, times),
            sizes_sd=np.repeat(np.array(sizes), count),
            logs=np.concatenate(logs),
        )

    def _store_gains(self, store: str, seen: _Seen, rates: Floats, logs: Floats) -> Floats:
        """What the stores' shares say for one of them; of hopeless candidates nothing is asked."""
        level = self._ground.level
        gains = np.full(len(rates), -FAR_LOG)
        near = logs > float(logs.max()) - FAR_LOG
        if level is not None:
            gains[near] = store_gains(level, store, self._lost_si(seen.columns[:, near], rates[near]))
        return gains

    def _lost_si(self, columns: Floats, rates: Floats) -> Floats:
        """What changes of some rates have taken by every row of the level."""
        ground = self._ground
        count = 0 if ground.level is None else len(ground.level.times_s)
        yet_taken = columns[:count]
        lost: Floats = (yet_taken.max(axis=0) - yet_taken) * rates * 3600.0 * ground.unit_si_per_s
        return lost


def _log_positive(z: Floats) -> Floats:
    """Log of the share above nothing of what lies z deviations above it, over the half it had before."""
    return np.interp(z, _DEVIATIONS, _LOGS)
