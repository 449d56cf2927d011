"""How a quantity should have run by what a meter or a counter beside it said."""

from __future__ import annotations

import numpy as np

from console.engine.series import Series
from console.engine.validity.context import Course


def course_of_flow(by: str, series: Series, sign: float, rate_sd_si_per_s: float) -> Course:
    """The integral of a meter over time, by trapezoids between its rows.

    Args:
        by: the meter, for people.
        series: what it said.
        sign: -1 where what it meters leaves the quantity.
        rate_sd_si_per_s: how far the meter may be off for good.
    """
    times, flows = series.times_s, series.means_si
    pieces = 0.5 * (flows[1:] + flows[:-1]) * np.diff(times)
    summed = np.concatenate(([0.0], np.cumsum(pieces))) if len(times) else np.empty(0)
    return Course(by=by, times_s=times, values_si=sign * summed, rate_sd_si_per_s=rate_sd_si_per_s)


def course_of_counter(by: str, series: Series, sign: float, rate_sd_si_per_s: float) -> Course:
    """What a counter says: -1 turns what was taken into what is held."""
    return Course(
        by=by,
        times_s=series.times_s,
        values_si=sign * series.means_si,
        rate_sd_si_per_s=rate_sd_si_per_s,
    )
