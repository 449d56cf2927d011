"""When a property of the cabin first passes its limit, to better than a second and without missing it.

Carbon dioxide and temperature go one way inside a piece: their time is in closed form. Whatever combines
quantities is searched for: a stretch is cut into parts, a part that bounds exclude is passed over, and the
first that they do not exclude is cut again, until it is short enough for a straight line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from console.craft.cabin import CabinLimit, CabinProperty
from console.engine.cabin.air import Air, Flags, ordered
from console.engine.cabin.course import (
    CARBON_DIOXIDE,
    TEMPERATURE,
    Course,
    Indices,
)
from console.engine.cabin.properties import excess, worst_excess
from console.engine.draws import Floats
from console.physics.first_order import time_to_reach_s

NARROW_S: Final = 128.0
"""A stretch so short is not cut again but read off at its parts, 16 s each and taken as straight: what has a
time constant of 10 min bends by 0.05 s over one."""
PARTS: Final = 8
MOST_ROUNDS: Final = 300
"""After so many cuts a row that only grazes its limit is taken to reach it there: the early side."""

_WITHOUT_GASES: Final = frozenset({CabinProperty.HUMIDITY, CabinProperty.APPARENT_TEMPERATURE})
_QUANTITY_OF: Final = {
    CabinProperty.CARBON_DIOXIDE: CARBON_DIOXIDE,
    CabinProperty.TEMPERATURE: TEMPERATURE,
}


def reached_at_s(course: Course, limit: CabinLimit, suppositions: tuple[int, ...], from_s: float) -> Floats:
    """When a limit is first passed at or after a moment, shape (suppositions, rows); infinite where never.

    Args:
        course: the cabin's.
        limit: the limit.
        suppositions: which of the course's.
        from_s: the moment; a piece begins there.
    """
    if limit.of in _QUANTITY_OF and not limit.is_share:
        return _in_closed_form(course, limit, _QUANTITY_OF[limit.of], suppositions, from_s)
    return _by_search(course, limit, suppositions, from_s)


def _in_closed_form(
    course: Course, limit: CabinLimit, quantity: int, suppositions: tuple[int, ...], from_s: float
) -> Floats:
    pieces, chosen = course.forcing.pieces, list(suppositions)
    shape = course.cools_to_k.shape
    begins = excess(limit, course.begins)[:, chosen] > 0.0
    passes = begins | (excess(limit, course.ends)[:, chosen] > 0.0)
    passes &= (pieces.starts_s >= from_s)[:, None, :] & ((pieces.spans_s > 0.0)[:, None, :] | begins)
    first = np.argmax(passes, axis=0)
    here = (first, np.arange(len(chosen))[:, None], np.arange(pieces.rows)[None, :])
    where = (first, np.array(chosen)[:, None], here[2])
    into = time_to_reach_s(
        course.starts[quantity][where],
        np.broadcast_to(course.forcing.gains[quantity], shape)[where],
        np.broadcast_to(course.forcing.decays[quantity], shape)[where],
        limit.at_si,
    )
    # Rounding may put the crossing of a piece that ends beyond its limit a hair outside it.
    into = np.minimum(np.where(begins[here], 0.0, into), pieces.spans_s[first, here[2]])
    at_s = pieces.starts_s[first, here[2]] + into
    return np.where(passes[here], at_s, np.inf)


def _by_search(course: Course, limit: CabinLimit, suppositions: tuple[int, ...], from_s: float) -> Floats:
    pieces, chosen = course.forcing.pieces, list(suppositions)
    bound = worst_excess(limit, course.lowest, course.highest)[:, chosen]
    possible = (bound > 0.0) & (pieces.starts_s >= from_s)[:, None, :]
    possible = possible.reshape(len(possible), -1)
    found = np.full(possible.shape[1], np.inf)
    columns = np.flatnonzero(possible.any(axis=0))
    piece = np.argmax(possible[:, columns], axis=0)
    begin = np.zeros(len(columns))
    row = columns % pieces.rows
    end = pieces.spans_s[piece, row]
    for _ in range(MOST_ROUNDS):
        if not len(columns):
            break
        supposition = np.array(chosen)[columns // pieces.rows]
        row = columns % pieces.rows
        hit, begin, end = _cut(course, limit, piece, supposition, row, begin, end)
        found[columns] = np.where(np.isfinite(hit), pieces.starts_s[piece, row] + hit, np.inf)
        # What is passed over to its end goes on with the next piece that is not excluded.
        over = ~np.isfinite(hit) & (begin >= pieces.spans_s[piece, row])
        following = _next(possible[:, columns], piece)
        is_left = ~np.isfinite(hit) & (~over | (following >= 0))
        piece = np.where(over, following, piece)
        begin = np.where(over, 0.0, begin)
        end = np.where(over, pieces.spans_s[piece, row], end)
        columns, piece, begin, end = columns[is_left], piece[is_left], begin[is_left], end[is_left]
    if len(columns):
        found[columns] = pieces.starts_s[piece, columns % pieces.rows] + begin
    return found.reshape(len(chosen), -1)


def _cut(
    course: Course,
    limit: CabinLimit,
    piece: Indices,
    supposition: Indices,
    row: Indices,
    begin: Floats,
    end: Floats,
) -> tuple[Floats, Floats, Floats]:
    """One round for stretches of chosen pieces: (time of the crossing or infinite, next begin, next end)."""
    narrow = end - begin <= NARROW_S
    steps = np.linspace(0.0, 1.0, PARTS + 1)[:, None]
    nodes = begin + (end - begin) * steps
    nodes[-1] = end
    air = course.within(piece, supposition, row, nodes, has_gases=limit.of not in _WITHOUT_GASES)
    low, high = ordered(_rows(air, slice(None, -1)), _rows(air, slice(1, None)))
    possible = worst_excess(limit, low, high) > 0.0
    any_possible = possible.any(axis=0)
    part = np.argmax(possible, axis=0)
    column = np.arange(len(piece))
    beyond = excess(limit, air)
    hit = np.where(beyond[0] > 0.0, begin, np.where(narrow, _straight(nodes, beyond), np.inf))
    # Excluded, or too short to matter: go on behind it, to the end of the piece.
    done = ~any_possible | narrow
    whole = course.forcing.pieces.spans_s[piece, row]
    return (
        hit,
        np.where(done, end, nodes[part, column]),
        np.where(done, whole, nodes[part + 1, column]),
    )


def _straight(nodes: Floats, beyond: Floats) -> Floats:
    """Where the excess first passes zero between some moments, by straight lines; else infinite."""
    passes = (beyond[1:] > 0.0) & (beyond[:-1] <= 0.0)
    first = np.argmax(passes, axis=0)
    column = np.arange(nodes.shape[1])
    before, after = beyond[first, column], beyond[first + 1, column]
    begin, end = nodes[first, column], nodes[first + 1, column]
    is_passed = passes.any(axis=0)
    part = -before / np.where(is_passed, after - before, 1.0)
    return np.where(is_passed, begin + (end - begin) * part, np.inf)


def _next(possible: Flags, piece: Indices) -> Indices:
    """The next piece of each column that is not excluded, or -1."""
    later = possible & (np.arange(len(possible))[:, None] > piece)
    return np.where(later.any(axis=0), np.argmax(later, axis=0), -1)


def _rows(air: Air, rows: slice | list[int]) -> Air:
    return _mapped(air, lambda values: values[rows])


def _mapped(air: Air, of: Callable[[NDArray[Any]], NDArray[Any]]) -> Air:
    return Air(**{name.name: of(getattr(air, name.name)) for name in fields(air)})
