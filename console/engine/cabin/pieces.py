"""The stretches of time in which nothing that acts on the cabin changes, for each sample its own.

A piece ends where a segment of the plan ends, where a supply runs out (which is another moment in each
sample), at each reading's own moment and at now. Arrays have shape (pieces, rows).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.configuration import Segment
from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pieces:
    """When each piece begins, how long it is, and which segment of the plan it lies in."""

    starts_s: Floats
    spans_s: Floats
    segments: NDArray[np.intp]

    @property
    def rows(self) -> int:
        """How many samples, the central case included."""
        return int(self.starts_s.shape[1])


def pieces_of(
    segments: tuple[Segment, ...],
    moments_s: Iterable[float],
    ends_s: Mapping[str, Floats],
    rows: int,
    until_s: float,
) -> Pieces:
    """Cut the time from the first of some moments until a horizon.

    Args:
        segments: the plan's.
        moments_s: the readings' own moments and now; the first of them is where the course begins.
        ends_s: by supply, when it runs out in each sample.
        rows: how many rows of them to take.
        until_s: the horizon.
    """
    common = set(moments_s)
    from_s = min(common)
    common.update(segment.start_s for segment in segments if from_s < segment.start_s < until_s)
    fixed = np.broadcast_to(np.array(sorted(common))[:, None], (len(common), rows))
    # A supply that never runs out within the horizon leaves a piece of no length at its end.
    own = [np.clip(ends[:rows], from_s, until_s)[None, :] for ends in ends_s.values()]
    starts = np.sort(np.concatenate([fixed, *own]), axis=0)
    spans = np.diff(starts, axis=0, append=until_s)
    begun = np.array([segment.start_s for segment in segments])
    index = np.maximum(np.searchsorted(begun, starts, side="right") - 1, 0)
    return Pieces(starts_s=starts, spans_s=spans, segments=index)
