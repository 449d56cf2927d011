"""The simulated craft's luck: streams of draws by name, so that one thing more draws nothing from others.

Every stream is a child of the one seed by a hash of its name that is the same on every machine and in every
run. It must not know what is drawn.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]

AHEAD = 256
"""How many draws of one name are made at once: one call instead of many."""


class Normals(Protocol):
    """Where a fixed number of standard normal draws comes from, again and again."""

    def standard_normal(self, size: int, /) -> Floats:
        """The next draws, one for each of ``size`` things."""
        ...


class Streams:
    """Generators by name, all from one seed.

    Args:
        seed: the same seed gives the same streams.
    """

    def __init__(self, seed: int) -> None:
        self._seed = seed

    def named(self, name: str) -> np.random.Generator:
        """A generator of its own, at its beginning."""
        digest = hashlib.sha256(name.encode("utf-8")).digest()
        words = [int.from_bytes(digest[at : at + 4], "big") for at in range(0, 16, 4)]
        return np.random.default_rng(np.random.SeedSequence(self._seed, spawn_key=tuple(words)))

    def normal(self, name: str) -> float:
        """One standard normal draw."""
        return float(self.named(name).standard_normal())

    def normals(self, names: Sequence[str]) -> NamedNormals:
        """Draws for several things at once, each from the stream of its own name."""
        return NamedNormals([self.named(name) for name in names])


class NamedNormals:
    """Standard normal draws for several things at once, each from its own generator.

    Args:
        generators: one for each thing.
    """

    def __init__(self, generators: Sequence[np.random.Generator]) -> None:
        self._generators = tuple(generators)
        self._block: Floats = np.empty((AHEAD, len(self._generators)))
        self._next = AHEAD

    def standard_normal(self, size: int, /) -> Floats:
        """The next draw of each.

        Raises:
            ValueError: another number of draws is asked for than there are things.
        """
        if size != len(self._generators):
            raise ValueError(f"{size} draws asked for, where there are {len(self._generators)} streams")
        if self._next == AHEAD:
            self._block = np.empty((AHEAD, size))
            for place, generator in enumerate(self._generators):
                self._block[:, place] = generator.standard_normal(AHEAD)
            self._next = 0
        row: Floats = self._block[self._next]
        self._next += 1
        return row

    def rows(self, count: int) -> Floats:
        """The next draws of each, ``count`` times over: shape (count, things)."""
        size = len(self._generators)
        return np.array([self.standard_normal(size) for _ in range(count)]).reshape(count, size)
