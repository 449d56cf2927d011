"""What a step would do to the limits of the cabin: what gets worse stands first and cannot be missed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rich.text import Text

from console.board.cells import fit, line, one_line, padded, wrap
from console.board.faces.cabin_words import reach_text
from console.board.look import BAND_SYMBOLS, BAND_WORDS, Look
from console.display import UNKNOWN, Rounding, hours_figure, margin_text
from console.engine.snapshot import Band, CabinClock, ClockState, Snapshot, Supposition

_SAME_S, _SAME_FRACTION = 360.0, 0.05
"""Two clocks that differ by less than either say the same."""
_MOMENT_S = 36.0
"""They are reckoned a moment apart, and that moment is no loss."""
_BAND_RANK = {None: 0, Band.NOMINAL: 1, Band.ADVISORY: 2, Band.CAUTION: 3, Band.WARNING: 4}


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitChange:
    """One limit under the plan, without the step and with it."""

    before: CabinClock
    after: CabinClock

    @property
    def gain_s(self) -> float:
        """By how much later it is reached at the low end; negative where the step makes it worse."""
        before_s, after_s = _low_s(self.before), _low_s(self.after)
        return 0.0 if before_s == after_s else after_s - before_s

    @property
    def is_worse(self) -> bool:
        """Whether it comes earlier, in a worse band, or is no longer known."""
        lost = self.after.state is ClockState.UNKNOWN and self.before.state is not ClockState.UNKNOWN
        # A band may still be waiting for its delay: alone, without a loss of time, it is no worse.
        fell = _BAND_RANK[self.after.band] > _BAND_RANK[self.before.band] > 0 and self.gain_s <= -_MOMENT_S
        return lost or fell or self.gain_s <= -self._same_s

    @property
    def is_better(self) -> bool:
        """Whether it comes later."""
        return not self.is_worse and self.gain_s >= self._same_s

    @property
    def _same_s(self) -> float:
        sooner_s = min(_low_s(self.before), _low_s(self.after))
        return max(_MOMENT_S, min(_SAME_S, _SAME_FRACTION * sooner_s))


def _low_s(clock: CabinClock) -> float:
    """The moment at which it is reached at the low end; without end where it is not."""
    if clock.state is ClockState.REACHED:
        return 0.0
    low_s = None if clock.reached_in_s is None else clock.reached_in_s.p05
    return math.inf if low_s is None or clock.state is ClockState.HELD else low_s


def limit_changes(before: Snapshot, after: Snapshot) -> tuple[LimitChange, ...]:
    """Every limit under the plan, those that come earlier first."""
    known = {clock.key: clock for clock in before.clocks}
    changes = (
        LimitChange(before=known[clock.key], after=clock)
        for clock in after.clocks
        if clock.supposition is Supposition.PLAN and clock.key in known
    )
    return tuple(sorted(changes, key=lambda change: (not change.is_worse, _low_s(change.after))))


def worse_lines(look: Look, before: Snapshot, after: Snapshot, width: int) -> list[Text]:
    """A line for every limit that the step makes worse, low ends, on the ground of the band it comes to."""
    lines = []
    for change in limit_changes(before, after):
        if change.is_worse:
            clock = change.after
            band = Band.WARNING if clock.state is ClockState.REACHED else clock.band
            words = (
                f"{BAND_SYMBOLS[band]} {BAND_WORDS[band]}, CABIN WORSE: {one_line(clock.limit.name)} "
                f"{_when(clock)}, was {_when(change.before)}{_against_need(clock)}"
            )
            texts = wrap(words, width - 2)
            style = look.palette.grounds[band if band is not Band.NOMINAL else Band.CAUTION]
            lines += [padded(line(f" {text}", style=style), width) for text in texts]
    return lines


def _against_need(clock: CabinClock) -> str:
    margin = clock.margin_s
    return "" if margin is None or margin.p05 is None else f": {margin_text(margin.p05)}"


def _when(clock: CabinClock) -> str:
    said = reach_text(clock)
    return said.lower() if clock.state is ClockState.REACHED else said


def cabin_table(look: Look, before: Snapshot, after: Snapshot, width: int) -> list[Text]:
    """Every limit that changes, before and after; those that do not are counted."""
    changes = limit_changes(before, after)
    if not changes:
        return []
    changed = [change for change in changes if change.is_worse or change.is_better]
    same = len(changes) - len(changed)
    if not changed:
        return [line(f"cabin, under the plan: none of {same} limits changes")]
    words = "1 stays as it is" if same == 1 else f"{same} stay as they are"
    rest = f"; {words}" if same else ", low end"
    name = max(12, width - 48)
    lines = [line(fit(f"cabin limits{rest}", name), f" {'now':>11} {'after':>11} {'gain':>8}")]
    return lines + [_row(look, change, name) for change in changed]


def _row(look: Look, change: LimitChange, name: int) -> Text:
    gain = hours_figure(change.gain_s, Rounding.NEAREST, signed=True) if math.isfinite(change.gain_s) else ""
    band = Band.WARNING if change.after.state is ClockState.REACHED else change.after.band
    return line(
        fit(change.after.limit.name, name, look.glyphs.cut),
        f" {reach_text(change.before):>11} ",
        (f"{reach_text(change.after):>11}", look.palette.strong),
        f" {gain if gain != UNKNOWN else '':>8}  ",
        (f"{BAND_SYMBOLS[band]} {BAND_WORDS[band]}", look.palette.grounds[band]),
    )
