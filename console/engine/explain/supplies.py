"""The figures of one supply: which there are, and who knows each."""

from __future__ import annotations

import numpy as np

from console.craft.model import Supply
from console.engine.draws import Floats
from console.engine.explain.book import Book
from console.engine.explain.explanation import Explanation
from console.engine.explain.findings import finding_figure, finding_paths
from console.engine.explain.fitted import fitted_figure, fitted_lasts, fitted_samples
from console.engine.explain.free_phases import FREE_FIGURES, free_phases_figure
from console.engine.explain.grounds import Grounds
from console.engine.explain.holdings import holding_figure
from console.engine.explain.jumps import jump_figure
from console.engine.explain.kept import supply_keys
from console.engine.explain.learnt import learnt_figure
from console.engine.explain.ledger import ledger_figure, ledger_paths
from console.engine.explain.outcomes import left_figure, outcome_figure
from console.engine.explain.paths import Keys
from console.engine.explain.present import present_figure, rate_paths
from console.engine.explain.share import share_figure, share_paths
from console.engine.explain.smoothing import off_figure
from console.engine.explain.store_errors import store_error_figure
from console.engine.explain.stores import store_figure
from console.engine.explain.track import course_figure, track_of
from console.engine.explain.uses import segment_figure
from console.engine.explain.wandering import wander_figure

AMOUNTS = ("on_board", "protected", "isolated", "residual", "reserve", "released", "usable")
TIMES = ("endurance_now", "endurance_plan", "fitted_lasts", "margin")
INTERVALS = (*TIMES, "left_at_need")


def supply_figure(book: Book, keys: Keys, row: int) -> Explanation | None:
    """``SUPPLY.…``, or ``supplies.SUPPLY.…``."""
    if keys[0] == "supplies":
        keys = keys[1:]
    if len(keys) < 2 or keys[0] not in book.grounds.craft.supplies:
        return None
    supply = book.grounds.craft.supplies[keys[0]]
    match keys[1:]:
        case ("stores", store, "bus", figure):
            return share_figure(book, supply, store, figure)
        case ("stores", store, figure):
            place = (store, figure)
            return store_figure(book, supply, place) or store_error_figure(book, supply, place, row)
        case ("segments", *rest) if rest:
            return segment_figure(book, supply, tuple(rest), row)
        case ("factors" | "unlogged", *_):
            return finding_figure(book, supply, keys[1:])
        case ("learnt", "off"):
            return off_figure(book, supply)
        case ("learnt", *rest):
            return learnt_figure(book, supply, tuple(rest), row)
        case ("ledger", *rest):
            return ledger_figure(book, supply, tuple(rest))
        case ("fitted", *rest):
            return fitted_figure(book, supply, tuple(rest), row)
        case ("fitted_lasts",):
            return fitted_lasts(book, supply, row)
        case ("free_phases", *rest):
            return free_phases_figure(book, supply, track_of(book, supply), tuple(rest), row)
    return _moving(book, supply, keys[1:], row) or present_figure(book, supply, keys[1:], row)


def _moving(book: Book, supply: Supply, keys: Keys, row: int) -> Explanation | None:
    """What goes by the supply's course, and what it holds."""
    track = track_of(book, supply)
    if track is not None:
        match keys:
            case ("course", step, ("wander" | "stray") as figure) if step in map(str, track.steps):
                return wander_figure(track, int(step) - 1, figure, row)
            case ("course", *rest):
                return course_figure(track, tuple(rest), row)
            case ("jumps", *rest):
                return jump_figure(track, tuple(rest), row)
            case ("left_at", text):
                return left_figure(track, text, row)
    return outcome_figure(book, supply, track, keys, row) or holding_figure(book, supply, track, keys, row)


def supply_samples(grounds: Grounds, keys: Keys) -> Floats | None:
    """The samples of an interval of a supply; None where the path is no interval, or it is not known."""
    keys = keys[1:] if keys[0] == "supplies" else keys
    if len(keys) != 2 or keys[0] not in grounds.ahead.supplies:
        return None
    outlook = grounds.ahead.supplies[keys[0]].outlook
    course, need_s, now_s = outlook.course, outlook.need_s, grounds.at_s
    if course is None or need_s is None:
        return None
    match keys[1]:
        case "margin":
            return course.runs_out_s() - need_s
        case "endurance_plan":
            return np.maximum(course.runs_out_s() - now_s, 0.0)
        case "endurance_now":
            return outlook.lasts_now_s
        case "left_at_need":
            return course.left_si(np.maximum(need_s, now_s))
        case "fitted_lasts":
            return fitted_samples(grounds, keys[0])
    return None


def supply_paths(grounds: Grounds, supply: Supply) -> list[Keys]:
    """Every figure of a supply that ``margins`` and ``ledger`` show, intervals without their ends."""
    home = supply_keys(supply.name)
    figures = (
        *AMOUNTS,
        *INTERVALS,
        *("age", "rate_now", "rate_plan", "runs_out_at", "allowance", "lasts_probability"),
    )
    paths: list[Keys] = [(*home, figure) for figure in figures]
    for store in grounds.snapshot.supplies[supply.name].stores:
        place = (*home, "stores", store.name)
        paths.extend((*place, figure) for figure in ("on_board", "residual", "age"))
        paths.extend((*place, "bus", figure) for figure in share_paths(store))
    paths.extend((*home, *rest) for rest in finding_paths(grounds, supply))
    paths.extend((*home, "ledger", name) for name in ledger_paths(grounds, supply))
    paths.extend((*home, "rates", *rest) for rest in rate_paths(grounds, supply))
    paths.extend((*home, "free_phases", figure) for figure in FREE_FIGURES)
    return paths
