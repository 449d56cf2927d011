"""The readings as they are to be used: doubted ones marked, and replaced by what stands in for them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from console.engine.reading import Quality, Reading
from console.engine.series import Series
from console.engine.validity.verdict import OF_THE_FEED, Use, Verdict


def believed(
    readings: Mapping[str, Reading],
    verdicts: Mapping[str, Sequence[Verdict]],
    series: Mapping[str, Series],
) -> dict[str, Reading]:
    """The same readings, with what the verdicts say of them.

    A doubted reading is suspect and says why; where it is left out, averaged or the lower of two is taken,
    its value and time are those of the verdict. A word that is left out with nothing named in its place gives
    way to the last row before the doubt began, or to none. What the feed itself found changes nothing more.

    Args:
        readings: the feed's newest.
        verdicts: by channel.
        series: by channel, as the verdicts were made of.
    """
    return {
        name: _believed(reading, verdicts.get(name, ()), series.get(name))
        for name, reading in readings.items()
    }


def _believed(reading: Reading, verdicts: Sequence[Verdict], series: Series | None) -> Reading:
    own = [verdict for verdict in verdicts if verdict.kind not in OF_THE_FEED]
    if not own or reading.value_si is None:
        return reading
    reading = _replaced(reading, own, series)
    whys = [verdict.why for verdict in own if verdict.is_doubt]
    if not whys:
        return reading
    quality = Quality.SUSPECT if reading.quality is Quality.GOOD else reading.quality
    return replace(reading, quality=quality, why="; ".join(filter(None, [reading.why, *whys])))


def _replaced(reading: Reading, verdicts: Sequence[Verdict], series: Series | None) -> Reading:
    """The reading with what stands in for its value: left out before the lower before an average."""
    left_out = [verdict for verdict in verdicts if verdict.use is Use.LEFT_OUT]
    if left_out:
        # Of several, what was said before the first of them began.
        first = min(left_out, key=_speaks_for_s)
        if first.value_si is None:
            return _before(reading, first, series)
        return replace(reading, value_si=first.value_si, at_s=first.value_at_s)
    for use in (Use.LOWER, Use.AVERAGED):
        for verdict in verdicts:
            if verdict.use is use and verdict.value_si is not None:
                return replace(reading, value_si=verdict.value_si, at_s=verdict.value_at_s)
    return reading


def _speaks_for_s(verdict: Verdict) -> float:
    """The moment up to which a verdict speaks against nothing."""
    times = (verdict.value_at_s, verdict.since_s)
    return next((at_s for at_s in times if at_s is not None), math.inf)


def _before(reading: Reading, verdict: Verdict, series: Series | None) -> Reading:
    """The last row before a doubt began, or no value."""
    rows = 0
    if series is not None and verdict.since_s is not None:
        rows = int(np.searchsorted(series.times_s, verdict.since_s))
    if series is None or not rows:
        return replace(reading, value_si=None, at_s=None)
    return replace(reading, value_si=float(series.means_si[rows - 1]), at_s=float(series.times_s[rows - 1]))
