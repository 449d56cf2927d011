"""Joined straight lines as columns: a level at an anchor, a slope for each stretch between knots, jumps.

All times are counted from the anchor before anything else is done with them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True)
class Jump:
    """A sudden change of the amount: a refill, an event."""

    at_s: float
    amount_si: float | None = None
    """Added to the amount, negative for what is taken; None where it is not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Segments:
    """Stretches between knots, and jumps."""

    anchor_s: float
    """The moment at which the level is asked for; mostly now."""
    knots_s: tuple[float, ...]
    """In order of time."""
    jumps: tuple[Jump, ...] = ()

    @property
    def open_jumps(self) -> tuple[Jump, ...]:
        """Those whose amount is not known."""
        return tuple(jump for jump in self.jumps if jump.amount_si is None and jump.at_s <= self.anchor_s)

    @property
    def edges_s(self) -> Floats:
        """Where the stretches begin and end, counted from the anchor, (stretches + 1,)."""
        knots = [knot - self.anchor_s for knot in self.knots_s]
        return np.array([-math.inf, *knots, math.inf])

    def columns(self, times_s: Floats) -> Floats:
        """What level at the anchor, slopes and open jumps do: (n, 1 + slopes + open jumps)."""
        from_anchor = times_s - self.anchor_s
        edges = self.edges_s
        clipped = np.clip(from_anchor[:, None], edges[:-1], edges[1:])
        at_anchor = np.clip(0.0, edges[:-1], edges[1:])
        opened = [-(from_anchor < jump.at_s - self.anchor_s).astype(float) for jump in self.open_jumps]
        return np.column_stack((np.ones(len(times_s)), clipped - at_anchor, *opened))

    def known_jumps_si(self, times_s: Floats) -> Floats:
        """What rows before the known jumps lie off the line that holds at the anchor, (n,)."""
        found = np.zeros(len(times_s))
        for jump in self.jumps:
            if jump.amount_si is not None and jump.at_s <= self.anchor_s:
                found -= jump.amount_si * (times_s < jump.at_s)
        return found

    def index_at(self, at_s: float) -> int:
        """Which stretch a moment lies in."""
        return int(np.searchsorted(np.array(self.knots_s), at_s, side="right"))
