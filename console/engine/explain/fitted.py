"""How long the fitted absorbent cartridges last: figures ``SUPPLY.fitted_lasts`` and ``SUPPLY.fitted.…``."""

from __future__ import annotations

import math

import numpy as np

from console.craft.model import Supply
from console.engine.absorbent_use import fitted_course
from console.engine.draws import Floats
from console.engine.explain.book import Book, series, summed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import Grounds
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys
from console.engine.explain.track import Track, course_figure, level_si, runs_out
from console.engine.forecast import Course
from console.engine.snapshot import LineKind

_FITTED = ("fitted",)
_START = ("fitted", "gives")


def fitted_samples(grounds: Grounds, name: str) -> Floats | None:
    """How long they last in every sample; None where none is spare or it is not known."""
    course = _course(grounds, name)
    return None if course is None else np.maximum(course.runs_out_s() - grounds.at_s, 0.0)


def fitted_lasts(book: Book, supply: Supply, row: int) -> Explanation:
    """From now until they are full."""
    keys = (*supply_keys(supply.name), "fitted_lasts")
    title = f"time for which the fitted part of {supply.name} lasts"
    track = _track(book, supply)
    if track is None:
        said = ("none is spare, or what the fitted ones can take is not known",)
        return book.explanation(keys, row, title, None, "h", "", (), said)
    out_s = float(track.course.runs_out_s()[row])
    if not math.isfinite(out_s):
        return book.explanation(keys, row, title, None, "h", "", (), ("it does not run out",))
    inputs = (
        book.figure("runs_out", *track.keys, "fitted", "runs_out_at", row=row),
        book.figure("now", "elapsed"),
    )
    value = max(out_s - book.grounds.at_s, 0.0) / 3600.0
    return book.explanation(keys, row, title, value, "h", "max(0, runs_out - now)", inputs)


def fitted_figure(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.fitted.…``; ``keys`` are those behind ``fitted``."""
    track = _track(book, supply)
    if track is None:
        return None
    place = (*track.keys, "fitted", *keys)
    match keys:
        case ("runs_out_at",):
            return runs_out(track, row, place, f"moment at which the fitted part of {supply.name} is used up")
        case ("gives",):
            return _gives(track, place, row)
        case ("course", *rest):
            return course_figure(track, tuple(rest), row)
    return None


def _gives(track: Track, keys: Keys, row: int) -> Explanation:
    """What the fitted ones can still take now."""
    book, supply = track.book, track.supply
    grounds = book.grounds
    title = f"what the fitted part of {supply.name} can still take"
    states = grounds.ahead.configuration.stores_at(grounds.at_s)
    giving = [one.name for one in grounds.ahead.supplies[supply.name].giving if states[one.name].is_counted]
    value = track.amounts.amount(level_si(track.course, row, 0))
    unit = track.amounts.unit
    if row:
        errors = series(
            "e",
            (
                book.figure("e", *track.keys, "stores", name, "error", row=row)
                for name in giving
                if grounds.known.quantities[name].sd_si
            ),
        )
        text = f"gives + {summed('e', errors)}" if errors else "gives"
        return book.explanation(keys, row, title, value, unit, text, (book.figure("gives", *keys), *errors))
    gives = series("g", (book.figure("g", *track.keys, "stores", name, "gives") for name in giving))
    given = sum(one.value for one in gives) - value
    if abs(given) <= 1e-12 * max(abs(value), 1.0):
        return book.explanation(keys, 0, title, value, unit, summed("g", gives), gives)
    how = "followed through the plan from their readings to now (console/engine/contents.py)"
    taken = Input(
        symbol="given",
        name="what they have taken up since their readings",
        value=given,
        unit=unit,
        source=SolvedSource(how=how, arguments=gives),
    )
    text = f"{summed('g', gives)} - given"
    return book.explanation(keys, 0, title, value, unit, text, (*gives, taken))


def _course(grounds: Grounds, name: str) -> Course | None:
    supply = grounds.craft.supplies[name]
    return fitted_course(
        supply,
        grounds.known.quantities,
        grounds.ahead.configuration,
        grounds.ahead.use,
        grounds.ahead.supplies[name].outlook.jumps,
        grounds.draws,
        grounds.at_s,
    )


def _track(book: Book, supply: Supply) -> Track | None:
    course = _course(book.grounds, supply.name)
    if course is None:
        return None
    jumps = book.grounds.ahead.supplies[supply.name].outlook.jumps
    taken = tuple(jump for jump in jumps if jump.kind is LineKind.EVENT)
    return Track(book=book, supply=supply, course=course, jumps=taken, home=_FITTED, start=_START)
