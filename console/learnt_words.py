"""What readings taught, in words that board and commands share: changes nobody logged, factors, doubts."""

from __future__ import annotations

from console.display import Rounding, elapsed_text, figure_text, hours_text, rate_text
from console.engine.learnt import Cause, ChangeCourse, UnloggedChange, UseFactor
from console.engine.snapshot import SupplyStatus
from console.engine.validity.verdict import Use, Verdict

USE_WORDS = {
    Use.AS_IT_IS: "used as it is",
    Use.AVERAGED: "its average is used",
    Use.LEFT_OUT: "left out; what was known before it stands in",
    Use.LOWER: "the lower of two ways of knowing is used",
}


def factor_text(one: UseFactor) -> str:
    """Such as "loads 1.08 +- 0.03"; the spread is one standard deviation."""
    spread = figure_text(one.sd, 2, Rounding.UP)
    return f"{one.name} {figure_text(one.factor, 2, Rounding.NEAREST)} +- {spread}"


def unlogged_text(change: UnloggedChange, supply: SupplyStatus) -> str:
    """A change that nobody logged: since when, by how much, how sure, what would explain it."""
    size = rate_text(abs(change.change_si_per_s), supply.rate_unit, Rounding.NEAREST)
    sd = rate_text(change.sd_si_per_s, supply.rate_unit, Rounding.NEAREST)
    words = "more" if change.change_si_per_s >= 0.0 else "less"
    place = f" from {change.store}" if change.store else ""
    text = (
        f"UNLOGGED CHANGE{place}: {size} {words} than all that is known, +- {sd}, since about "
        f"{elapsed_text(change.since_s)} ({_percent(change.probability)} sure)"
    )
    if change.course is ChangeCourse.GROWING:
        doubles = "" if change.doubles_in_s is None else f", doubling in {hours_text(change.doubles_in_s)}"
        text += f"; it grows{doubles}"
    elif change.course is ChangeCourse.IN_PROPORTION:
        text += f"; it goes {change.course.value}, as a leak does"
    if change.causes:
        text += f"; would be explained by {' or '.join(map(_cause_text, change.causes))}"
    return text


def _cause_text(cause: Cause) -> str:
    switched = " with ".join(f"{load} {is_.value} instead of {was.value}" for load, was, is_ in cause.loads)
    return f"{switched} ({_percent(cause.share)})"


def _percent(share: float) -> str:
    """Never surer than the figure: 99 % at most."""
    return f"{min(int(100.0 * share), 99)} %"


def doubt_text(doubt: Verdict) -> str:
    """What is found against a channel, and what is done about it."""
    told = USE_WORDS[doubt.use] if doubt.is_doubt else "told only"
    return f"{doubt.channel}: {doubt.kind.value}: {doubt.why}; {told}"
