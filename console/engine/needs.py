"""What a supposed switching takes away that other loads or people need: said, since no figure shows it.

A load that needs another is reckoned as running on without it, so figures alone may look better for it.
"""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import Craft, LoadState
from console.display import elapsed_text
from console.engine.configuration import Configuration, ConfigurationChange, Segment
from console.engine.known import Situation


def need_cautions(before: Situation, after: Situation) -> tuple[str, ...]:
    """One sentence for each load that must stay on and is switched down, or that others on need.

    Only what the supposed steps bring about, from now on: what the plan itself does is the plan's business.

    Args:
        before: without what is supposed.
        after: with it.
    """
    if before.supposed == after.supposed:
        return ()
    segments = _configuration(after).segments(after.at_s, float("inf"))
    plain = _configuration(before)
    lost: dict[str, float] = {}
    users: dict[str, dict[str, None]] = {}
    off: set[str] = set()
    for segment in segments:
        states = plain.load_states_at(segment.start_s)
        for name in _lowered(segment, states):
            using = _users(after.craft, name, segment.loads)
            is_missed = after.craft.loads[name].stays and segment.loads[name] is LoadState.OFF
            if using or is_missed:
                lost.setdefault(name, segment.start_s)
                users.setdefault(name, {}).update(dict.fromkeys(using))
                off |= {name} if is_missed else set()
    return tuple(
        _sentence(after, name, since_s, tuple(users[name]), must_stay=name in off)
        for name, since_s in lost.items()
    )


def _configuration(situation: Situation) -> Configuration:
    plan = situation.plan
    option = plan.options[plan.committed]
    logged: tuple[ConfigurationChange, ...] = tuple(
        change for change in situation.changes if change.at_s <= situation.at_s
    )
    return Configuration(
        situation.craft,
        plan.phases_under(option),
        plan.events_under(option),
        (*logged, *situation.supposed),
    )


def _lowered(segment: Segment, before: Mapping[str, LoadState]) -> list[str]:
    """The loads that are on without what is supposed, and not with it."""
    return [
        name
        for name, state in segment.loads.items()
        if before[name] is LoadState.ON and state is not LoadState.ON
    ]


def _users(craft: Craft, needed: str, states: Mapping[str, LoadState]) -> list[str]:
    """The loads that are on and need another."""
    return [
        load.name
        for load in craft.loads.values()
        if needed in load.needs and states[load.name] is LoadState.ON
    ]


def _sentence(
    situation: Situation, name: str, since_s: float, users: tuple[str, ...], *, must_stay: bool
) -> str:
    said = []
    if must_stay:
        said.append("craft.yaml says that it must stay on")
    if users:
        verb = "needs" if len(users) == 1 else "need"
        runs = "it runs" if len(users) == 1 else "they run"
        said.append(f"{', '.join(users)} {verb} it, and the figures take it that {runs} on all the same")
    when = "" if since_s <= situation.at_s else f" from {elapsed_text(since_s)} on"
    return f"{name} is not on{when}: {'; '.join(said)}"
