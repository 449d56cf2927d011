"""The brief: what must be said first, then the eight answers in the order in which a lead is asked."""

from __future__ import annotations

from console.display import Rounding, age_text, figure_text
from console.engine.briefing import Briefing
from console.engine.reading import Quality
from console.engine.snapshot import Snapshot
from console.report.brief.ahead import ahead_of
from console.report.brief.answer import Brief
from console.report.brief.aside import set_aside
from console.report.brief.cabin import cabin
from console.report.brief.changing import changing
from console.report.brief.home import ways_home
from console.report.brief.lasting import first, lasting
from console.report.brief.making import making_it
from console.report.brief.unknown import unknown
from console.report.brief.words import counted
from console.report.moments import moment_text

OLD_S = 600.0
"""Readings older than this are said to be so before anything else (common practice, no source)."""


def brief_of(briefing: Briefing) -> Brief:
    """All answers of a situation."""
    snapshot = briefing.snapshot
    return Brief(
        warnings=warnings_of(snapshot),
        title=title_of(snapshot),
        ahead=ahead_of(briefing),
        answers=tuple(
            answer(briefing)
            for answer in (lasting, first, making_it, changing, set_aside, ways_home, cabin, unknown)
        ),
    )


def title_of(snapshot: Snapshot) -> str:
    """Which craft, when, how fresh."""
    age_s = snapshot.feed.age_s(snapshot.at_s)
    age = "no readings" if age_s is None else f"{age_text(age_s)} old"
    at = moment_text(snapshot, snapshot.at_s)
    return f"{snapshot.craft_name}, {at}; feed {snapshot.feed.quality.value}, {age}."


def warnings_of(snapshot: Snapshot) -> tuple[str, ...]:
    """What must be said before any figure."""
    warnings = []
    if snapshot.feed.is_simulated:
        warnings.append("SIMULATED CRAFT: nothing here is of a real one.")
    age_s = snapshot.feed.age_s(snapshot.at_s)
    if age_s is not None and age_s > OLD_S:
        warnings.append(f"READINGS ARE {_age(age_s)} OLD: what follows is reckoned on from them.")
    elif age_s is None:
        warnings.append("THERE ARE NO READINGS.")
    else:
        old = [
            reading.age_s(snapshot.at_s) or 0.0
            for reading in snapshot.feed.readings.values()
            if reading.quality is Quality.STALE
        ]
        if old:
            some = counted(len(old), "reading").upper()
            warnings.append(f"{some} TOO OLD, up to {_age(max(old))}: reckoned on from there.")
    if snapshot.feed.quality is not Quality.GOOD and not warnings:
        warnings.append(f"The feed is {snapshot.feed.quality.value}.")
    return (*warnings, *(f"Note: {notice}." for notice in snapshot.notices if "not live" in notice))


def _age(seconds: float) -> str:
    """Rounded up, in hours where it is hours."""
    if seconds < 7200.0:
        return age_text(seconds)
    return f"{figure_text(seconds / 3600.0, 0, Rounding.UP)} h"
