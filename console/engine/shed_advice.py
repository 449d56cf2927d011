"""What to switch off, with all that must be known before it is done: the cabin's limits, what stays and why.

Advice alone: nothing is switched and nothing is logged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Craft, LoadState
from console.engine.assess import assess
from console.engine.difference import ClockChange, Difference, Verdict, difference
from console.engine.forecast import Draws
from console.engine.known import Situation, judged
from console.engine.shed import MayRun, Shed, may_run, shed_for
from console.engine.snapshot import Peak, Snapshot
from console.engine.whatif import Change, SwitchLoad, SwitchOff, suppose

_CENTRAL = Draws(seed=0, count=0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Running:
    """One load that is not on now, and what speaks against running it."""

    answer: MayRun
    lacks: tuple[str, ...]
    """The loads that it needs and that are not on."""
    peaks_over: tuple[Peak, ...]
    """The currents that it would bring above a limit."""

    @property
    def may_run(self) -> bool:
        """Whether it may run as things stand."""
        return self.answer.is_affordable and not self.lacks and not self.peaks_over


@dataclass(frozen=True, kw_only=True, slots=True)
class ShedAdvice:
    """The loads to switch off for a margin, and everything with them off."""

    shed: Shed
    compared: Difference
    """Without and with them off, bands without memory on both sides."""
    stays: Mapping[str, str]
    """Of the loads that draw now and must stay, why."""
    run_for_s: float | None
    """For how long loads are to be switched on; None where that was not asked."""
    running: tuple[Running, ...]
    """Every load that is not on, where it was."""

    @property
    def limits_earlier(self) -> tuple[ClockChange, ...]:
        """The cabin limits that come earlier with the loads off, or of which that is not known any more."""
        worse = (Verdict.WORSE, Verdict.UNKNOWN)
        return tuple(change for change in self.compared.clocks if change.verdict in worse)


def shed_advice(
    situation: Situation,
    goal_s: float,
    draws: Draws,
    *,
    by_low_end: bool = True,
    run_for_s: float | None = None,
) -> ShedAdvice:
    """Advice for one margin.

    Args:
        situation: what is known.
        goal_s: the margin asked of every supply.
        draws: samples and seed.
        by_low_end: whether the low end must reach it, or the central case.
        run_for_s: also say what may be switched on from now for so long; None for not asking.
    """
    situation = judged(situation)
    found = shed_for(situation, goal_s, draws, by_low_end=by_low_end)
    off = SwitchOff(loads=tuple(each.load.name for each in found.loads), from_s=situation.at_s)
    changes: tuple[Change, ...] = (off,) if found.loads else ()
    before, after = (assess(each, None, draws).snapshot for each in (situation, suppose(situation, changes)))
    reasons = stay_reasons(situation.craft)
    running: tuple[MayRun, ...] = ()
    if run_for_s is not None:
        running = may_run(situation, goal_s, run_for_s, draws, by_low_end=by_low_end)
    return ShedAdvice(
        shed=found,
        compared=difference(before, after),
        stays={name: reasons[name] for name in found.kept},
        run_for_s=run_for_s,
        running=tuple(_running(situation, before, answer, run_for_s or 0.0) for answer in running),
    )


def stay_reasons(craft: Craft) -> Mapping[str, str]:
    """Why each load that is never proposed must stay; of several reasons the first."""
    reasons: dict[str, str] = {}
    cabin = craft.cabin
    if cabin is not None:
        services = (
            ("CO2 removal", cabin.removal),
            ("the oxygen feed", cabin.oxygen_feed),
            ("drying", cabin.drying),
        )
        for word, part in services:
            for name in () if part is None else part.needs:
                reasons.setdefault(name, f"{word} needs it")
        for name in () if cabin.thermal is None else cabin.thermal.cooling_needs:
            reasons.setdefault(name, "cooling needs it")
    for load in craft.loads.values():
        if load.stays:
            reasons.setdefault(load.name, "craft.yaml says so")
    waiting = list(reasons)
    while waiting:
        user = waiting.pop()
        for needed in craft.loads[user].needs:
            if needed not in reasons:
                reasons[needed] = f"{user} needs it"
                waiting.append(needed)
    return reasons


def _running(situation: Situation, before: Snapshot, answer: MayRun, lasts_s: float) -> Running:
    load = answer.load
    on = SwitchLoad(load=load.name, to=LoadState.ON, from_s=situation.at_s, until_s=situation.at_s + lasts_s)
    after = assess(suppose(situation, (on,)), None, _CENTRAL).snapshot
    states = {status.name: status.state for status in before.loads}
    return Running(
        answer=answer,
        lacks=tuple(needed for needed in load.needs if states[needed] is not LoadState.ON),
        peaks_over=difference(before, after).peaks_over,
    )
