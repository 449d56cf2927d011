"""All that is to be said against the newest words of a craft's channels, by what they said before."""

from __future__ import annotations

from collections.abc import Mapping

from console.engine.reading import Reading
from console.engine.series import Series
from console.engine.validity.context import ChannelContext
from console.engine.validity.disagreement import disagreements
from console.engine.validity.drift import drift_verdicts
from console.engine.validity.grid import grid_of
from console.engine.validity.noise import noise_of
from console.engine.validity.passed_on import passed_on
from console.engine.validity.shifts import bounds_of
from console.engine.validity.steps import shift_verdicts
from console.engine.validity.stuck import stuck_verdicts
from console.engine.validity.swings import swing_verdicts, swings_of
from console.engine.validity.verdict import Doubt, Verdict

_ORDER = {kind: index for index, kind in enumerate(Doubt)}

_HIDDEN_BY: Mapping[Doubt, frozenset[Doubt]] = {
    Doubt.OSCILLATING: frozenset({Doubt.STEP, Doubt.WRONG_UNIT, Doubt.STUCK}),
    Doubt.DRIFT: frozenset({Doubt.STEP, Doubt.WRONG_UNIT, Doubt.STUCK}),
    Doubt.SPIKE: frozenset({Doubt.OSCILLATING}),
}
"""One fault, one finding: what the graver ones beside it explain is not said again."""


def verdicts_of(
    channel_series: Mapping[str, Series],
    contexts: Mapping[str, ChannelContext],
    readings: Mapping[str, Reading],
    at_s: float,
) -> dict[str, tuple[Verdict, ...]]:
    """What is found about each channel's newest word, the gravest first; an empty tuple for nothing.

    Args:
        channel_series: the good readings of each channel over the last hours, thinned.
        contexts: what is known of each channel that is to be judged.
        readings: the feed's newest.
        at_s: the moment; what comes later is not looked at.
    """
    past = {name: _until(channel_series[name], at_s) for name in contexts if name in channel_series}
    grid = grid_of(past, contexts, readings)
    found: dict[str, list[Verdict]] = {name: passed_on(name, readings.get(name)) for name in contexts}
    if len(grid):
        noise, swings = noise_of(grid), swings_of(grid)
        for verdicts in (
            shift_verdicts(grid, noise, bounds_of(grid, noise), swings),
            stuck_verdicts(grid),
            swing_verdicts(grid, swings),
            drift_verdicts(grid),
        ):
            for name, more in verdicts.items():
                found[name] += more
    for name, context in contexts.items():
        if context.pairs:
            found[name] += disagreements(context)
    return {name: _in_order(verdicts) for name, verdicts in found.items()}


def _until(series: Series, at_s: float) -> Series:
    if not len(series) or series.times_s[-1] <= at_s:
        return series
    return series.between(float(series.times_s[0]), at_s)


def _in_order(verdicts: list[Verdict]) -> tuple[Verdict, ...]:
    """The gravest first, without what another explains."""
    if not verdicts:
        return ()
    kinds = {verdict.kind for verdict in verdicts}
    kept = [verdict for verdict in verdicts if not _HIDDEN_BY.get(verdict.kind, frozenset()) & kinds]
    return tuple(sorted(kept, key=lambda verdict: _ORDER[verdict.kind]))
