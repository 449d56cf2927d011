"""Where a course can only fall, and how high it stands at the ends of every such stretch, in every sample."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.course_rates import SampledRates, product_table
from console.engine.draws import Floats

Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Stretches:
    """Steps of a course taken together: all in one stretch fall in every sample, or it is a single step.

    The last step, which does not end, is not among them but stands apart.
    """

    firsts: Indices
    lasts: Indices
    """Of each stretch, its first step and its last."""
    begin_si: Floats
    """Levels when it begins, what is added at that moment included, shape (stretches, samples)."""
    end_si: Floats
    """Levels when it ends, before what is added at that moment, shape (stretches, samples)."""
    endless_si: Floats
    """When the last step of all begins, shape (samples,)."""
    falls_for_good: Flags
    """Whether it falls in that one."""

    def first_end(self, from_step: int, more_si: Floats, level_si: Floats) -> tuple[Indices, Flags]:
        """The first stretch in which each sample reaches zero, and whether there is one.

        The number of stretches stands for the step that does not end.

        Args:
            from_step: the step in progress; what lies before does not count.
            more_si: what there is beside the levels, by sample.
            level_si: what there is now, that included, by sample.
        """
        now = self.number_of(from_step)
        is_in_last = now == len(self.firsts)
        least = np.minimum(self.begin_si[now:], self.end_si[now:])
        if not is_in_last:
            least[0] = np.minimum(self.end_si[now], level_si - more_si)
        ends = np.empty((len(least) + 1, len(level_si)), dtype=np.bool_)
        ends[:-1] = least + more_si <= 0.0
        endless = level_si if is_in_last else self.endless_si + more_si
        ends[-1] = (endless <= 0.0) | self.falls_for_good
        number: Indices = np.argmax(ends, axis=0) + now
        is_end: Flags = ends[number - now, np.arange(len(level_si))]
        return number, is_end

    def number_of(self, step: int) -> int:
        """The stretch of a step."""
        return int(np.searchsorted(self.lasts, step))

    def bounds(self, number: Indices) -> tuple[Indices, Indices]:
        """The first and the last step of one stretch for each sample."""
        last = len(self.lasts) and int(self.lasts[-1]) + 1
        return np.append(self.firsts, last)[number], np.append(self.lasts, last)[number]


def stretches_of(
    begin_si: Floats, rates: SampledRates, taken_si: Floats, added_si: Floats, jumps_by: Indices
) -> Stretches:
    """The stretches of a course; the arguments are its fields."""
    firsts, lasts = _edges(rates, added_si, jumps_by)
    level = begin_si + added_si[jumps_by[firsts]] - product_table(rates.factors, taken_si[:, firsts]).T
    end = begin_si + added_si[jumps_by[lasts]] - product_table(rates.factors, taken_si[:, lasts + 1]).T
    last = begin_si + added_si[-1] - product_table(rates.factors, taken_si[:, -1:])[:, 0]
    return Stretches(
        firsts=firsts,
        lasts=lasts,
        begin_si=level,
        end_si=end,
        endless_si=last,
        falls_for_good=rates.at(-1) > 0.0,
    )


def _edges(rates: SampledRates, added_si: Floats, jumps_by: Indices) -> tuple[Indices, Indices]:
    """The first and last step of every stretch: cut where something is added, and around what may rise."""
    steps = len(jumps_by) - 1
    may_rise = rates.lowest()[:steps] < 0.0
    gains = np.cumsum((np.diff(added_si, axis=0) > 0.0).any(axis=1), dtype=np.intp)
    gained = np.diff(np.append(0, gains)[jumps_by], prepend=0)[:steps] > 0
    cut = gained | may_rise
    cut[1:] |= may_rise[:-1]
    if steps:
        cut[0] = True
    firsts = np.flatnonzero(cut)
    lasts = np.append(firsts[1:] - 1, steps - 1)[: len(firsts)]
    return firsts, lasts.astype(np.intp)
