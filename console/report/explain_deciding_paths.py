"""Which figure's path each number of the other documents has: keys alike, less units and containers.

What stands before each of them (when, and from what) has the path that it has in ``margins``.
"""

from __future__ import annotations

from console.engine.difference import Difference
from console.engine.explain.cabin import clock_keys
from console.engine.explain.deciding.loss import WITHOUT, loss_names
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, text_of
from console.engine.loss import Losses
from console.engine.reading import cabin_keys
from console.engine.shed_advice import ShedAdvice
from console.engine.snapshot import Snapshot
from console.report.explain_paths import Place, figure_keys

_HEAD = ("format", "elapsed_h", "feed")


def options_path(place: Place) -> str:
    """The path of a number of the ``options`` document."""
    return text_of(_options_keys(place))


def whatif_path(compared: Difference, place: Place) -> str:
    """The path of a number of the ``whatif`` document."""
    return text_of(_behind(("whatif",), _compared(compared, place), place))


def shed_path(advice: ShedAdvice, place: Place) -> str:
    """The path of a number of the ``shed`` document."""
    keys: Keys
    match place:
        case ("switch_off", int(index), "margin_gained_h", str(supply)):
            keys = ("switch_off", advice.shed.loads[index].load.name, "margin_gained", supply)
        case ("may_go", int(index), "margin_gained_h", str(supply)):
            keys = ("may_go", advice.shed.may_go[index].load.name, "margin_gained", supply)
        case ("switch_off", int(index), str(figure)):
            keys = ("switch_off", advice.shed.loads[index].load.name, figure)
        case ("may_go", int(index), str(figure)):
            keys = ("may_go", advice.shed.may_go[index].load.name, figure)
        case ("may_run", int(index), "margin_h", *rest):
            keys = ("may_run", advice.running[index].answer.load.name, "margin", *map(str, rest))
        case ("may_run", int(index), "peaks_over", int(number), str(figure)):
            name = advice.running[index].answer.load.name
            keys = ("may_run", name, "peaks_over", str(number + 1), *figure_keys((figure,)))
        case _:
            keys = _compared(advice.compared, place)
    return text_of(_behind(("shed",), keys, place))


def loss_path(losses: Losses, place: Place) -> str:
    """The path of a number of the ``loss`` document."""
    keys: Keys
    match place:
        case ("without_loss", "margins_h", str(supply), str(end)):
            keys = (WITHOUT, *supply_keys(supply), "margin", end)
        case ("losses", int(index), "margins_h", str(supply), str(end)):
            keys = (_loss_name(losses, index), *supply_keys(supply), "margin", end)
        case ("losses", int(index), "remedies", int(number), *rest):
            keys = (_loss_name(losses, index), "remedies", str(number + 1), *figure_keys(tuple(rest)))
        case _:
            keys = figure_keys(place)
    return text_of(_behind(("loss",), keys, place))


def _loss_name(losses: Losses, index: int) -> str:
    return loss_names(loss.lost.name for loss in losses.losses)[index]


def brief_path(snapshot: Snapshot, place: Place) -> str:
    """The path of a number of the ``brief`` document."""
    match place:
        case ("answers", int(index), "figures", *rest):
            return text_of(("brief", str(index + 1), *_answer_keys(snapshot, tuple(rest))))
    return text_of(figure_keys(place))


_WITH_UNITS = {
    **dict.fromkeys(("margins_h", "gains_h", "limit_gains_h", "margins_if_later_h")),
    "delay_cost_h_per_h": "delay_cost",
}


def _options_keys(place: Place) -> Keys:
    match place:
        case ("options", str(name), "supplies", str(supply), *rest):
            return ("options", name, *supply_keys(supply), *figure_keys(tuple(rest)))
    return figure_keys(place)


def _answer_keys(snapshot: Snapshot, place: Place) -> Keys:
    match place:
        case (str(first), *rest) if first in _WITH_UNITS:
            return (_WITH_UNITS[first] or first.removesuffix("_h"), *map(str, rest))
        case ("options", *_):
            return _options_keys(place)
        case ("readings", str(name), str(figure)):
            # The document has one of several readings of one property: the last.
            keys = [
                key
                for key, reading in zip(cabin_keys(snapshot.cabin), snapshot.cabin, strict=True)
                if reading.name == name
            ]
            return ("readings", keys[-1], *figure_keys((figure,)))
        case ("clocks", int(index), *rest):
            return ("clocks", *clock_keys(snapshot.clocks[index])[1:], *figure_keys(tuple(rest)))
    return figure_keys(place)


def _compared(compared: Difference, place: Place) -> Keys:
    """The keys of a number of the comparison of two sides."""
    match place:
        case ("supplies", str(name), str(figure), *rest):
            return (*supply_keys(name), *figure_keys((figure,)), *map(str, rest))
        case ("cabin_clocks", int(index), str(side), *rest):
            clock = compared.clocks[index].after
            return (*clock_keys(clock), side, *figure_keys(tuple(rest)))
        case ("new_peaks_over", int(index), str(figure)):
            return ("new_peaks_over", str(index + 1), *figure_keys((figure,)))
    return figure_keys(place)


def _behind(home: Keys, keys: Keys, place: Place) -> Keys:
    return keys if place[0] in _HEAD else (*home, *keys)
