"""What who watched all the while remembers of batteries, made again from the history after a new start."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from console.craft.model import Craft
from console.engine.charge import ChargeMemory, next_charges
from console.engine.reading import Quality, Reading
from console.engine.series import Series


def recalled_charges(craft: Craft, history: Mapping[str, Series], at_s: float) -> dict[str, ChargeMemory]:
    """The memory of counted charge and gauges, row after row of the history.

    Args:
        craft: the craft.
        history: by channel, its good readings.
        at_s: the moment; rows after it are not looked at.
    """
    memories: dict[str, ChargeMemory] = {}
    for moment_s, readings in _looks(_followed(craft, history), at_s):
        memories = {**memories, **next_charges(memories, craft, readings, moment_s)}
    return memories


def _followed(craft: Craft, history: Mapping[str, Series]) -> dict[str, Series]:
    """Of the channels of stores with a meter: nothing else is asked for."""
    names = {
        measured.channel
        for supply in craft.supplies.values()
        for store in supply.stores
        for measured in (store.quantity, store.current, store.used)
        if measured is not None and measured.channel is not None
    }
    return {name: series for name, series in history.items() if name in names and len(series)}


def _looks(history: Mapping[str, Series], at_s: float) -> Iterator[tuple[float, dict[str, Reading]]]:
    """Each moment at which a row ended, with the newest readings of then."""
    if not history:
        return
    moments = np.unique(np.concatenate([series.times_s for series in history.values()]))
    readings: dict[str, Reading] = {}
    rows = {
        name: np.searchsorted(series.times_s, moments, side="right") - 1 for name, series in history.items()
    }
    for index, moment_s in enumerate(moments[moments <= at_s].tolist()):
        for name, series in history.items():
            row = int(rows[name][index])
            if row >= 0:
                readings[name] = Reading(
                    channel=name,
                    quality=Quality.GOOD,
                    value_si=float(series.means_si[row]),
                    at_s=float(series.times_s[row]),
                )
        yield moment_s, readings
