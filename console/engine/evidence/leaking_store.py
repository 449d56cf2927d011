"""From which store a leak comes: stores that feed share the draw, so a hole in one shows against the others.

They are taken to share in proportion to what they hold, as everywhere in the engine; a share that drifted
before the leak may drift on.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.observed import LevelRows

SINGLE = 0.5
"""How probable it is beforehand that a leak is in one store, and not in what all share (our own choice)."""


def sources_of(level: LevelRows) -> dict[str, float]:
    """Where a leak may be, with how probable that is beforehand: in one store, or in all (no name)."""
    if len(level.stores) < 2:
        return {"": 1.0}
    return {"": 1.0 - SINGLE, **dict.fromkeys(level.stores, SINGLE / len(level.stores))}


def store_gains(level: LevelRows, store: str, lost_si: Floats) -> Floats:
    """How much more probable, as a log, the stores' shares are if one alone leaks, for each of some leaks.

    Against shares that go on as they did.

    Args:
        level: the amounts as read.
        store: the one that leaks; where it is empty, all do, and the shares go on as they did.
        lost_si: what each leak has taken by every row, (n, m).
    """
    if not store:
        return np.zeros(lost_si.shape[1])
    index = level.stores.index(store)
    mine, rest = level.by_store_si[index], level.amounts_si - level.by_store_si[index]
    variances = _variances(level)
    var, rest_var = variances[index], variances.sum(axis=0) - variances[index]
    if mine.min() <= 0.0 or rest.min() <= 0.0:
        return np.zeros(lost_si.shape[1])
    roots = 1.0 / np.sqrt(var / mine**2 + rest_var / rest**2)
    # Of what it would hold without: the others have only given their parts of the use.
    bent = -np.log1p(np.maximum(lost_si, 0.0) / mine[:, None]) * roots[:, None]
    line = np.column_stack((np.ones(len(mine)), (level.times_s - level.times_s[-1]) / 3600.0))
    basis, _ = np.linalg.qr(line * roots[:, None])
    values = np.log(mine / rest) * roots
    values = values - basis @ (basis.T @ values)
    bent = bent - basis @ (basis.T @ bent)
    gains: Floats = bent.T @ values - 0.5 * np.einsum("ij,ij->j", bent, bent)
    return gains


def _variances(level: LevelRows) -> Floats:
    """Of each store's rows, (stores, n), as if each row erred by itself.

    While a display stays on one step all its rows have one and the same rounding: as many rows as pass from
    one step to the next tell of it no more than one does.
    """
    moves = np.ptp(level.by_store_si, axis=1) / level.by_store_si.shape[1]
    steps = level.store_step_si
    rows = np.maximum(np.divide(steps, moves, out=np.ones_like(steps), where=moves > 0.0), 1.0)
    found: Floats = level.store_noise_var[:, None] / level.counts + (rows * steps**2 / 12.0)[:, None]
    return found
