"""Readings thinned to rows, one for each aligned stretch of time that holds any; pure sums over columns.

Every sum runs from left to right in the order of time, from the first reading of the stretch, and wider rows
are made from narrower ones by one fixed tree: so a row is the same to the bit however its readings came in.
Sums are of offsets from the first reading, whose own is zero: with fewer than some ten million readings in a
minute, rounding is far too small to carry a mean beyond its readings or a mean time out of its stretch.
Boundaries lie at whole multiples of the width, counted from the scenario's epoch.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats

MINUTE_S = 60
"""Width of the stretches that full-rate readings are thinned to."""
TEN_MINUTES_S = 600
"""Width of the stretches that those are thinned to in turn."""
FINE_WIDTHS_S = (1, 2, 5, 10, 20, 30)
"""Widths whose rows are made from full-rate readings."""
MINUTE_WIDTHS_S = (60, 120, 300)
"""Widths whose rows are made from rows of a minute."""
WIDE_WIDTHS_S = (600, 1200, 1800, 3600)
"""Widths whose rows are made from rows of ten minutes; past the last of them they go on by doubling."""

START, TIME, MEAN, LOW, HIGH, COUNT = range(6)
"""The lines of an array of rows, shape (6, n): where the stretch begins, then what a Series is made of."""
ROW_LINES = 6

SUM_START, SUM_COUNT, FIRST_S, TIME_SUM, FIRST_SI, VALUE_SUM, SUM_LOW, SUM_HIGH = range(8)
"""The lines of an array of sums, shape (8, n): times and values are summed as offsets from the first ones."""
SUM_LINES = 8


def floor_to(at_s: float, width_s: int) -> float:
    """Where the stretch that holds a moment begins.

    Whole seconds first: a quotient of a time just short of a boundary may round up to it.

    >>> floor_to(119.99999999999999, 60), floor_to(120.0, 60), floor_to(-0.5, 60)
    (60.0, 120.0, -60.0)
    """
    return float(math.floor(at_s) // width_s * width_s)


def ceil_to(at_s: float, width_s: int) -> float:
    """The first boundary that is no earlier than a moment.

    >>> ceil_to(60.0, 60), ceil_to(60.5, 60)
    (60.0, 120.0)
    """
    return float(-(math.floor(-at_s) // width_s) * width_s)


def starts_of(times_s: Floats, width_s: int) -> Floats:
    """``floor_to`` of every time."""
    starts: Floats = np.floor(np.floor(times_s) / width_s) * width_s
    return starts


def firsts_of(starts_s: Floats) -> NDArray[np.intp]:
    """The index of the first of each run of equal starts."""
    changes = np.flatnonzero(starts_s[1:] != starts_s[:-1]) + 1
    return np.concatenate((np.zeros(1, np.intp), changes))


def sums_of(times_s: Floats, values_si: Floats, width_s: int, begun: list[float] | None = None) -> Floats:
    """The sums of every stretch that holds any of the readings, in order of time.

    Args:
        times_s: rising, at least one.
        values_si: as many.
        width_s: of the stretches.
        begun: the sums of a stretch that earlier readings have begun, which these may go on with.
    """
    starts = starts_of(times_s, width_s)
    firsts = firsts_of(starts)
    group = _groups(firsts, len(starts))
    sums = np.empty((SUM_LINES, len(firsts)))
    sums[SUM_START] = starts[firsts]
    sums[SUM_COUNT] = np.diff(firsts, append=len(starts))
    sums[FIRST_S], sums[FIRST_SI] = times_s[firsts], values_si[firsts]
    sums[SUM_LOW] = np.minimum.reduceat(values_si, firsts)
    sums[SUM_HIGH] = np.maximum.reduceat(values_si, firsts)
    goes_on = begun is not None and begun[SUM_START] == starts[0]
    if begun is not None and goes_on:
        sums[FIRST_S, 0], sums[FIRST_SI, 0] = begun[FIRST_S], begun[FIRST_SI]
        sums[SUM_COUNT, 0] += begun[SUM_COUNT]
        sums[SUM_LOW, 0] = min(begun[SUM_LOW], sums[SUM_LOW, 0])
        sums[SUM_HIGH, 0] = max(begun[SUM_HIGH], sums[SUM_HIGH, 0])
    time_offsets = times_s - sums[FIRST_S][group]
    value_offsets = values_si - sums[FIRST_SI][group]
    if begun is not None and goes_on:
        time_offsets[0] += begun[TIME_SUM]
        value_offsets[0] += begun[VALUE_SUM]
    # bincount adds one by one from the left; sum and add.reduceat add in pairs, which depends on the batch.
    sums[TIME_SUM] = np.bincount(group, weights=time_offsets)
    sums[VALUE_SUM] = np.bincount(group, weights=value_offsets)
    return sums


def add_reading(sums: list[float], at_s: float, value_si: float) -> None:
    """Add one reading to the sums of the stretch that holds it; the same to the bit as ``sums_of``."""
    sums[SUM_COUNT] += 1.0
    sums[TIME_SUM] += at_s - sums[FIRST_S]
    sums[VALUE_SUM] += value_si - sums[FIRST_SI]
    sums[SUM_LOW] = min(sums[SUM_LOW], value_si)
    sums[SUM_HIGH] = max(sums[SUM_HIGH], value_si)


def rows_of(sums: Floats) -> Floats:
    """Rows out of sums, shape (6, n)."""
    rows = np.empty((ROW_LINES, sums.shape[1]))
    rows[START], rows[COUNT] = sums[SUM_START], sums[SUM_COUNT]
    rows[LOW], rows[HIGH] = sums[SUM_LOW], sums[SUM_HIGH]
    rows[TIME] = sums[FIRST_S] + sums[TIME_SUM] / sums[SUM_COUNT]
    rows[MEAN] = sums[FIRST_SI] + sums[VALUE_SUM] / sums[SUM_COUNT]
    return rows


def merged(rows: Floats, width_s: int) -> Floats:
    """Rows of wider stretches out of rows of narrower ones, each of which lies in one of them; any number."""
    if not rows.shape[1]:
        return rows
    starts = starts_of(rows[START], width_s)
    firsts = firsts_of(starts)
    group = _groups(firsts, len(starts))
    out = np.empty((ROW_LINES, len(firsts)))
    out[START] = starts[firsts]
    counts = np.bincount(group, weights=rows[COUNT])
    out[COUNT] = counts
    out[LOW] = np.minimum.reduceat(rows[LOW], firsts)
    out[HIGH] = np.maximum.reduceat(rows[HIGH], firsts)
    for line in (TIME, MEAN):
        first = rows[line, firsts]
        offsets = rows[COUNT] * (rows[line] - first[group])
        out[line] = first + np.bincount(group, weights=offsets) / counts
    return out


def _groups(firsts: NDArray[np.intp], count: int) -> NDArray[np.intp]:
    group = np.zeros(count, np.intp)
    group[firsts[1:]] = 1
    return np.cumsum(group)
