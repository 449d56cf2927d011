"""The bounded lines of joined stretches: what the stretches before a knot tell of the level at it is kept."""

from __future__ import annotations

import math

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.bounded import BOUND_SD, BoundedLines, bounded_lines
from console.engine.rates.gauge import Gauge
from console.engine.rates.rounding import fresh_variance
from console.engine.rates.segments import Segments
from console.engine.rates.wander import Wander


def bounded_since(
    gauge: Gauge, segments: Segments, noise_sd_si: float, wander: Wander | None = None
) -> BoundedLines | None:
    """All lines since the last knot that pass within half a step and 3 sd of every reading; None for too few.

    Each stretch is bounded alone and hands the range of its level at the knot to the next, so that the result
    holds all joined lines and a little more. Straying use widens the bounds of each by three sd of what it
    can have strayed by from the stretch's end on.

    Args:
        gauge: in order of time, without spikes; open jumps begin anew.
        segments: knots and jumps.
        noise_sd_si: of a single reading, behind the display.
        wander: how use strays.
    """
    values = gauge.values_si - segments.known_jumps_si(gauge.times_s)
    noise = math.sqrt(fresh_variance(noise_sd_si, gauge.step_si)) if noise_sd_si else 0.0
    own = 0.5 * gauge.step_si + BOUND_SD * min(noise, noise_sd_si) / np.sqrt(gauge.counts)
    jumps = [jump.at_s for jump in segments.open_jumps]
    edges = sorted({*segments.knots_s, *jumps} - {math.inf})
    edges = [edge for edge in edges if gauge.times_s[0] < edge < segments.anchor_s]
    begins, ends = [-math.inf, *edges], [*edges, segments.anchor_s]
    held: tuple[float, float, float] | None = None
    found: BoundedLines | None = None
    for begin_s, end_s in zip(begins, ends, strict=True):
        until_s = math.nextafter(end_s, math.inf) if end_s == segments.anchor_s else end_s
        inside = (gauge.times_s >= begin_s) & (gauge.times_s < until_s)
        times = gauge.times_s[inside]
        bounds = own[inside] + _strayed(wander, segments, end_s, times)
        if begin_s in jumps:
            held = None
        elif held is not None and wander is not None:
            more = float(_strayed(wander, segments, end_s, np.array([held[0]]))[0])
            held = (held[0], held[1] - more, held[2] + more)
        found = bounded_lines(times, values[inside], bounds, end_s, held)
        held = None if found is None else (end_s, *found.levels_si(end_s))
    return found


def _strayed(wander: Wander | None, segments: Segments, end_s: float, times_s: Floats) -> Floats:
    """Three sd of what use can have strayed by between some moments and a stretch's end."""
    if wander is None:
        return np.zeros(len(times_s))
    sds = wander.sds_si_per_s
    sd = sds[0] if len(sds) == 1 else sds[segments.index_at(math.nextafter(end_s, -math.inf))]
    lags = (end_s - times_s) / wander.tau_s
    strayed: Floats = BOUND_SD * sd * wander.tau_s * np.sqrt(2.0 * np.maximum(lags + np.expm1(-lags), 0.0))
    return strayed
