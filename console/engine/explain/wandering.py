"""What wandering use takes more or less in one sample: figures ``SUPPLY.course.K.wander`` and ``….stray``.

One standard deviation of what a use that wanders about its mean has taken by a time t, for an
Ornstein-Uhlenbeck rate of a fraction x that comes back in tau:

    sd = x * pow(2 * tau * q * (1 - (1 - exp(-t / tau)) * tau / t), 0.5)

with q the sum of the squares of the single uses, over time. A sample has one draw for good.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.luck import wander_variance
from console.engine.evidence.wander import tau_of
from console.engine.explain.book import assumed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import H
from console.engine.explain.track import Track
from console.engine.planned_use import PlannedUse


def wander_figure(track: Track, step: int, figure: str, row: int) -> Explanation | None:
    """One of those figures; None for any other, and where no use wanders."""
    if track.home or track.book.grounds.ahead.use.luck is None:
        return None
    if figure == "wander":
        return _wander(track, step)
    return _stray(track, step, row) if row else None


def _wander(track: Track, step: int) -> Explanation:
    book, amounts = track.book, track.amounts
    keys = (*track.keys, "course", str(step + 1), "wander")
    title = f"one standard deviation of what wandering use has taken by step {step + 1}"
    if step == 0:
        return book.explanation(keys, 0, title, 0.0, amounts.unit, "0", (), ("the beginning: nothing yet",))
    tau_h = tau_of(track.supply) / H
    inputs = (
        _fraction(track),
        assumed("tau", "time in which a stray rate comes back", tau_h, "h", "common practice, no source"),
        _squares(track, step),
        track.begins("t_k", step),
        track.begins("t_0", 0),
        *amounts.factor,
    )
    time = "(t_k - t_0)"
    root = f"pow(2 * tau * q * (1 - (1 - exp(-{time} / tau)) * tau / {time}), 0.5)"
    value = amounts.amount(float(_sds(track)[step]))
    return book.explanation(keys, 0, title, value, amounts.unit, f"x * {root}{amounts.times}", inputs)


def _stray(track: Track, step: int, row: int) -> Explanation:
    """The rate by which one sample lies off the plan's in a step, for that alone."""
    book, amounts, times_s = track.book, track.amounts, track.course.times_s
    keys = (*track.keys, "course", str(step + 1), "stray")
    title = f"rate by which wandering use lies off in step {step + 1}"
    name = f"wandering of {track.supply.name}"
    if step + 1 == len(times_s):
        said = ("the last step has no end: its spread is that of its beginning",)
        return book.explanation(keys, row, title, 0.0, amounts.rate_unit, "0", (), said)
    sds, luck = _sds(track), book.draw("z", name, row)
    value = luck.value * float(sds[step + 1] - sds[step]) / float(times_s[step + 1] - times_s[step])
    inputs = (
        book.figure("end", *track.keys, "course", str(step + 2), "wander"),
        book.figure("begin", *track.keys, "course", str(step + 1), "wander"),
        book.figure("d", *track.keys, "course", str(step + 1), "lasts"),
        luck,
        *amounts.factor,
    )
    text = f"z * (end - begin) / d{amounts.over}"
    return book.explanation(keys, row, title, amounts.rate(value), amounts.rate_unit, text, inputs)


def _fraction(track: Track) -> Input:
    luck = track.book.grounds.ahead.use.luck
    value = 0.0 if luck is None else luck.wander_fraction(track.supply.name)
    own = None if luck is None else luck.evidence.supplies.get(track.supply.name)
    name = f"how far each use of {track.supply.name} wanders about its mean"
    if own is None:
        return assumed("x", name, value, "1", "no reading tells it: common practice, no source")
    how = "by its readings and by what is usual, weighed (console/engine/evidence/fit.py)"
    return Input(symbol="x", name=name, value=value, unit="1", source=SolvedSource(how=how))


def _squares(track: Track, step: int) -> Input:
    amounts, integral = track.amounts, float(_integral(track)[step])
    value = integral / (track.supply.rate_unit.factor**2 * H)
    how = (
        "each single use's rate squared times its time, summed from the beginning (they wander by themselves)"
    )
    unit = f"{amounts.rate_unit}^2 h"
    return Input(
        symbol="q", name="squares of uses over time", value=value, unit=unit, source=SolvedSource(how=how)
    )


def _integral(track: Track) -> Floats:
    times_s, use = track.course.times_s, track.book.grounds.ahead.use
    squares = _square_rates(track, use)[:-1]
    return np.concatenate(([0.0], np.cumsum(squares * np.diff(times_s))))


def _square_rates(track: Track, use: PlannedUse) -> Floats:
    index = np.maximum(np.searchsorted(use.starts_s, track.course.times_s, side="right") - 1, 0)
    found: Floats = use.squares(track.supply.name)[index]
    return found


def _sds(track: Track) -> Floats:
    """One standard deviation at the beginning of every step, in SI; made once for each supply."""
    kept = track.book.kept.setdefault("wandering", {})
    name, luck = track.supply.name, track.book.grounds.ahead.use.luck
    if name not in kept and luck is not None:
        times_s = track.course.times_s
        variance = wander_variance(_integral(track), times_s - times_s[0], tau_of(track.supply))
        kept[name] = luck.wander_fraction(name) * np.sqrt(variance)
    found: Floats = kept[name]
    return found
