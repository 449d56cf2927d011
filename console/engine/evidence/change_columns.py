"""What a change of use does to the rows of one supply, in the units of the rows (see ``Ground``).

Every column is for a change whose rate at the anchor is the usual use.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.observed import LevelRows, MeterRows
from console.engine.evidence.shapes import taken_until_anchor


def steady_columns(
    level: LevelRows | None, meter: MeterRows | None, anchor_s: float, moments_s: Floats
) -> Floats:
    """Of changes that stay as they began, by when they began: (n, moments)."""
    return growing_columns(level, meter, anchor_s, moments_s, 0.0)


def growing_columns(
    level: LevelRows | None,
    meter: MeterRows | None,
    anchor_s: float,
    moments_s: Floats,
    growth_per_s: float,
) -> Floats:
    """Of changes that grow, by when they began: (n, moments)."""

    def taken(times_s: Floats) -> Floats:
        return taken_until_anchor(np.maximum(times_s[:, None], moments_s) - anchor_s, growth_per_s)

    parts = []
    if level is not None:
        parts.append(taken(level.times_s) / 3600.0)
    if meter is not None:
        half = 0.5 * meter.widths_s
        begun, ended = taken(meter.times_s - half), taken(meter.times_s + half)
        parts.append((begun - ended) / meter.widths_s[:, None])
    return np.vstack(parts)


def leak_columns(
    level: LevelRows, meter: MeterRows | None, anchor_s: float, moments_s: Floats, store: str = ""
) -> Floats:
    """Of leaks that go by what is held, as it was read: in all, or in one store alone."""
    read = level.amounts_si if not store else level.by_store_si[level.stores.index(store)]
    times = np.append(level.times_s, anchor_s)
    held = np.append(read, read[-1]) / read[-1]
    steps = 0.5 * (held[1:] + held[:-1]) * np.diff(times)
    until_anchor = np.append(np.cumsum(steps[::-1])[::-1], 0.0)
    column: Floats = np.interp(np.maximum(level.times_s[:, None], moments_s), times, until_anchor) / 3600.0
    if meter is None:
        return column
    return np.vstack((column, np.zeros((len(meter.times_s), len(moments_s)))))
