"""Made-up rows of one vessel whose use is a plain figure, for tests of ``engine/evidence``."""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.fit import Fit, fitted
from console.engine.evidence.ground import ground_of
from console.engine.evidence.modelled import Modelled
from console.engine.evidence.observed import LevelRows

HOUR = 3600.0
ROW_S = 600.0


def level_rows(
    times_s: Floats, by_store: Floats, noise_sd: float, *, is_vessel: bool = True, step: float = 0.0
) -> LevelRows:
    """Levels as read, one reading a row, of stores whose gauges are equally good."""
    stores = tuple(f"tank-{number + 1}" for number in range(len(by_store)))
    return LevelRows(
        stores=stores,
        times_s=times_s,
        widths_s=np.full(len(times_s), ROW_S),
        amounts_si=by_store.sum(axis=0),
        by_store_si=by_store,
        store_noise_var=np.full(len(by_store), noise_sd**2 / len(by_store)),
        store_step_si=np.full(len(by_store), step),
        counts=np.ones(len(times_s)),
        noise_var=np.full(len(times_s), noise_sd**2),
        step_var=len(by_store) * step**2 / 12.0,
        step_si=step,
        biases_sd=dict.fromkeys(stores, 0.0),
        by_counter=not is_vessel,
        is_vessel=is_vessel,
    )


def modelled(rate_si_per_s: float, start_s: float = 0.0, wandering_si_per_s: float = 0.0) -> Modelled:
    """One use of one factor at one rate for ever."""
    return Modelled(
        starts_s=np.array([start_s]),
        totals_si_per_s=np.array([rate_si_per_s]),
        rates_si_per_s=np.array([[rate_si_per_s]]),
        squares=np.array([wandering_si_per_s**2]),
        cycling=np.zeros(1),
    )


def fit_of(level: LevelRows, rate_si_per_s: float, factor_sd: float, wandering_si_per_s: float = 0.0) -> Fit:
    """The rows explained by that use, its factor known to ``factor_sd``."""
    model = modelled(rate_si_per_s, 0.0, wandering_si_per_s)
    ground = ground_of(level, None, model, model, (), HOUR)
    assert ground is not None
    return fitted(ground, np.zeros(1), np.array([[factor_sd**2]]))


def times(hours: float, row_s: float = ROW_S) -> Floats:
    """The middles of rows over some hours."""
    return np.arange(0.5 * row_s, hours * HOUR, row_s)
