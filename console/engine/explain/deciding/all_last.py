"""The share of the samples in which every supply lasts, and the least margin of one sample."""

from __future__ import annotations

import numpy as np

from console.engine.explain.book import NoFigureError, another, assumed, series
from console.engine.explain.explanation import CountSource, Explanation, Input
from console.engine.explain.figures import Figures
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, text_of


def all_last(figures: Figures, counted: Keys) -> Explanation:
    """How many of the samples, which are those of all supplies alike, have no margin below zero.

    Args:
        figures: those of the supplies.
        counted: the figure whose samples are counted.
    """
    title, book = "share of the samples in which every supply lasts until need", figures.book
    grounds = figures.grounds
    holds = []
    for name, one in grounds.ahead.supplies.items():
        course, need_s = one.outlook.course, one.outlook.need_s
        if course is None or need_s is None:
            return book.explanation((), 0, title, None, "1", "", (), (f"the margin of {name} is not known",))
        holds.append(course.runs_out_s() >= need_s)
    if not holds:
        return book.explanation((), 0, title, None, "1", "", (), ("there is no supply",))
    lasting = np.logical_and.reduce(holds)
    rows = lasting[1:] if len(lasting) > 1 else lasting
    count = float(np.count_nonzero(rows))
    source = CountSource(
        path=text_of(counted), which="0 or more, or without end", count=len(rows), seed=grounds.draws.seed
    )
    name = "samples in which every one lasts"
    found = Input(symbol="lasting", name=name, value=count, unit="1", source=source)
    many = assumed("n", "samples taken", float(len(rows)), "1", "enough for steady ends (engine/assess.py)")
    return book.explanation((), 0, title, count / len(rows), "1", "lasting / n", (found, many))


def least_margin(figures: Figures, sample: Keys) -> Explanation:
    """The least margin of every supply that runs out, in the central case or in one sample."""
    each = [figures.at((*supply_keys(name), "margin", *sample)) for name in figures.grounds.craft.supplies]
    title = "least margin of all supplies"
    if not each:
        raise NoFigureError("least_margin")
    known = series("m", (another("m", one) for one in each if one.value is not None))
    if not known:
        return figures.book.explanation((), 0, title, None, "h", "", (), ("no supply runs out",))
    value = min(one.value for one in known)
    return figures.book.explanation((), 0, title, value, "h", "min(m_i)", known)
