"""Which loads to switch off so that every supply gains what it lacks, giving up as little as can be.

Exact. A set is better than another if it gives up fewer loads of priority 1 (the last to go), then fewer of
priority 2, and so on to the least important. Nothing here knows of hours or of a plan: what each load saves
of each supply, and what each supply lacks, are numbers that ``shed.py`` brings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats

_ROUNDING = 1e-9
"""Of what a supply lacks: sums of savings that differ by less are one."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """One load that may be switched off."""

    name: str
    priority: int
    """1 is the last to go."""
    saves: tuple[float, ...]
    """What switching it off saves of each supply; never below zero."""
    needs: tuple[str, ...] = ()
    """The loads without which it is of no use: where one of them goes off, it goes off with it."""


def least_important(candidates: Sequence[Candidate], lacking: Sequence[float]) -> tuple[str, ...] | None:
    """The best set of loads to switch off, in the order given; None where not even all of them suffice.

    Args:
        candidates: at most some sixty; names that a load ``needs`` and that are no candidates stay on.
        lacking: what each supply lacks; zero or less asks nothing of it.

    The search settles one priority after the other, from 1 on: the smallest count for which some set exists.
    Whether one exists is found by choosing loads in turn, given up as soon as the best that could still be
    added falls short, on any supply or on a weighted sum of them (each such sum is implied by the supplies).
    """
    search = _Search(candidates, lacking)
    if not search.all_suffice():
        return None
    limits: dict[int, int] = {}
    chosen = search.with_limits(limits)
    for priority in sorted({candidate.priority for candidate in candidates}):
        # What was found for the limits so far is one answer: fewer of this priority are tried from none up.
        most = search.count(chosen, priority)
        for count in range(most + 1):
            found = chosen if count == most else search.with_limits({**limits, priority: count})
            if found is not None:
                limits[priority], chosen = count, found
                break
    return tuple(candidates[index].name for index in sorted(chosen or ()))


class _Search:
    """One question's arrays: what is saved (loads, sums), what is lacking (sums,), who goes with whom."""

    def __init__(self, candidates: Sequence[Candidate], lacking: Sequence[float]) -> None:
        asked = [column for column, lack in enumerate(lacking) if lack > 0.0]
        saves = np.array([[each.saves[column] for column in asked] for each in candidates]).reshape(
            len(candidates), len(asked)
        )
        # Each supply on its own scale, so that what is lacking is 1.
        scaled = saves / np.array([lacking[column] for column in asked])
        weights = _weights(scaled)
        self._saves: Floats = scaled @ weights.T
        self._lacking: Floats = weights.sum(axis=1) * (1.0 - _ROUNDING)
        self._supplies = len(asked)
        self._priorities = [each.priority for each in candidates]
        self._with = _companions(candidates)

    def all_suffice(self) -> bool:
        """Whether switching off every candidate gives what is lacking."""
        return bool(np.all(self._saves.sum(axis=0) >= self._lacking))

    def count(self, chosen: Iterable[int] | None, priority: int) -> int:
        """How many of a set have a priority."""
        return sum(self._priorities[index] == priority for index in chosen or ())

    def with_limits(self, limits: dict[int, int]) -> frozenset[int] | None:
        """A set with at most so many loads of each priority named, any number of the others; None if none."""
        limited = [index for index in range(len(self._priorities)) if self._priorities[index] in limits]
        # The largest savings first: what they reach soonest is found soonest.
        limited.sort(key=lambda index: (self._priorities[index], -float(self._saves[index].sum())))
        return self._choose(limited, 0, frozenset(), frozenset(), dict(limits))

    def _choose(
        self,
        order: list[int],
        at: int,
        chosen: frozenset[int],
        kept: frozenset[int],
        left: dict[int, int],
    ) -> frozenset[int] | None:
        """A set with ``chosen`` and none of ``kept``; ``order[at:]`` are the limited loads still open."""
        free = self._free(chosen, kept, left)
        if np.any(self._most(order[at:], chosen | free, kept, left) < self._lacking):
            return None
        whole = chosen | free
        if np.all(self._saves[sorted(whole)].sum(axis=0) >= self._lacking):
            return whole
        while at < len(order) and order[at] in chosen | kept:
            at += 1
        if at == len(order):
            return None
        index = order[at]
        more = self._added(index, chosen, kept, left)
        if more is not None:
            found = self._choose(order, at + 1, *more)
            if found is not None:
                return found
        return self._choose(order, at + 1, chosen, kept | {index}, left)

    def _fits(self, index: int, taken: frozenset[int], kept: frozenset[int], left: dict[int, int]) -> bool:
        """Whether a load and all that goes with it can still be added."""
        news = self._with[index] - taken
        if news & kept:
            return False
        if len(news) == 1:
            return left.get(self._priorities[index], 1) > 0
        counts = Counter(self._priorities[new] for new in news)
        return all(count <= left.get(priority, count) for priority, count in counts.items())

    def _added(
        self, index: int, chosen: frozenset[int], kept: frozenset[int], left: dict[int, int]
    ) -> tuple[frozenset[int], frozenset[int], dict[int, int]] | None:
        """The set with one more load and all that goes with it; None where a limit or a kept one forbids."""
        if not self._fits(index, chosen, kept, left):
            return None
        news = self._with[index] - chosen
        remaining = dict(left)
        for new in news:
            if self._priorities[new] in remaining:
                remaining[self._priorities[new]] -= 1
        return chosen | news, kept, remaining

    def _free(self, chosen: frozenset[int], kept: frozenset[int], left: dict[int, int]) -> frozenset[int]:
        """Every load without a limit that takes no limited load with it beyond those chosen."""
        free = []
        for index, priority in enumerate(self._priorities):
            if priority in left or index in kept:
                continue
            news = self._with[index] - chosen
            if not news & kept and all(self._priorities[new] not in left for new in news):
                free.append(index)
        return frozenset(free)

    def _most(
        self, open_loads: list[int], taken: frozenset[int], kept: frozenset[int], left: dict[int, int]
    ) -> Floats:
        """The most that each sum can still come to: of each priority its best loads, as many as are left."""
        most: Floats = self._saves[sorted(taken)].sum(axis=0)
        limited: dict[int, list[int]] = {}
        for index in open_loads:
            if index not in taken and self._fits(index, taken, kept, left):
                limited.setdefault(self._priorities[index], []).append(index)
        for priority, indices in limited.items():
            if left[priority] > 0:
                best = np.sort(self._saves[indices], axis=0)[::-1][: left[priority]]
                most += best.sum(axis=0)
        # Loads without a limit that a limited one would take with it.
        others = [
            index
            for index, priority in enumerate(self._priorities)
            if priority not in left and index not in taken and self._fits(index, taken, kept, left)
        ]
        most += self._saves[others].sum(axis=0)
        return most


def _companions(candidates: Sequence[Candidate]) -> list[frozenset[int]]:
    """For each load, itself and all that must go off with it."""
    users: dict[str, list[int]] = {}
    for index, candidate in enumerate(candidates):
        for needed in candidate.needs:
            users.setdefault(needed, []).append(index)
    companions = []
    for index in range(len(candidates)):
        found, waiting = {index}, [index]
        while waiting:
            for user in users.get(candidates[waiting.pop()].name, []):
                if user not in found:
                    found.add(user)
                    waiting.append(user)
        companions.append(frozenset(found))
    return companions


def _weights(scaled: Floats) -> Floats:
    """The supplies themselves and some weighted sums of them, shape (sums, supplies).

    One supply alone bounds the search badly where two are lacking alike: a load that is best for one is then
    taken as best for the other too. Sums close that gap.
    """
    supplies = scaled.shape[1]
    if supplies < 2:
        return np.eye(supplies)
    steps = 8 if supplies == 2 else 4
    grid = np.stack(np.meshgrid(*[np.arange(steps + 1)] * supplies, indexing="ij"), axis=-1).reshape(
        -1, supplies
    )
    return np.asarray(grid[grid.sum(axis=1) == steps] / steps)
