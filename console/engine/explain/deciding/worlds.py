"""The same craft under something supposed: another situation or another way home, with figures of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from console.craft.model import Craft
from console.craft.plan import Event, Option, Phase, Plan
from console.engine.ahead import look_ahead
from console.engine.assess import assess
from console.engine.explain.book import another
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.figures import Figures
from console.engine.explain.grounds import CRAFT, PLAN, H, Supposed
from console.engine.explain.paths import Keys, distinct, text_of
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.whatif import Change, suppose

CENTRAL = Draws(seed=0, count=0)
"""For what is asked of the central case alone."""


def supposed(figures: Figures, changes: Iterable[Change], home: Keys, draws: Draws | None = None) -> Figures:
    """The figures with changes laid over the situation.

    Args:
        figures: those without.
        changes: what is supposed.
        home: the keys in front of every path.
        draws: samples and seed; those of the figures by default.
    """
    return in_situation(figures, suppose(figures.grounds.situation, changes), home, draws)


def in_situation(figures: Figures, situation: Situation, home: Keys, draws: Draws | None = None) -> Figures:
    """The figures of another situation of the same moment."""
    before = figures.grounds
    draws = draws or before.draws
    assessed = assess(situation, None, draws)
    grounds = replace(
        before,
        situation=situation,
        snapshot=assessed.snapshot,
        known=assessed.known,
        ahead=assessed.ahead,
        plan=situation.plan,
        draws=draws,
        supposed=(*before.supposed, *_otherwise(before.situation, situation)),
    )
    return Figures(grounds, (*figures.home, *home))


def on_the_way(
    figures: Figures, plan: Plan, option: Option, home: Keys, turns: Mapping[float, Input] | None = None
) -> Figures:
    """The figures if another way home is flown.

    Args:
        figures: those of the present course.
        plan: the plan.
        option: the way home, as it is flown.
        home: the keys in front of every path.
        turns: the moments that are neither the plan's nor the journal's.
    """
    grounds = figures.grounds
    ahead = look_ahead(grounds.known, plan, option, grounds.draws)
    return Figures(replace(grounds, ahead=ahead, turns=turns or {}), (*figures.home, *home), is_way=True)


def named(one: Explanation, *keys: str) -> Explanation:
    """A figure that another path leads to as well."""
    return replace(one, path=text_of(keys))


def change_of(keys: Keys, after: Explanation, before: Explanation, said: str = "") -> Explanation:
    """What a change makes of a figure: after less before, each with an explanation of its own.

    Args:
        keys: its own.
        after: the figure with the change.
        before: the same without.
        said: what the change is, in words.
    """
    path, title = text_of(keys), f"change of {after.title}"
    if after.value is None or before.value is None:
        lacking = [
            f"{side}: no value{': ' if one.remarks else ''}{'; '.join(one.remarks)}"
            for side, one in (("before", before), ("after", after))
            if one.value is None
        ]
        return Explanation(
            path=path,
            title=title,
            value=None,
            unit=after.unit,
            equation="",
            inputs=(),
            remarks=tuple(lacking),
        )
    inputs = (another("after", after), another("before", before))
    value = after.value - before.value
    return Explanation(
        path=path,
        title=title,
        value=value,
        unit=after.unit,
        equation="after - before",
        inputs=inputs,
        remarks=tuple(filter(None, (said,))),
    )


def _otherwise(before: Situation, after: Situation) -> Iterator[Supposed]:
    """Where craft and plan are not as their files have them: a change of either stands in no file."""
    yield from _uses(before.craft, after.craft)
    old, new = before.plan, after.plan
    for name, option in new.options.items():
        if option.arrival_s != old.options[name].arrival_s:
            yield Supposed(
                file=PLAN,
                key=f"options.{name}.arrival",
                words="supposed: plan.yaml has another arrival",
                stated=old.options[name].arrival_s / H,
            )
    yield from _events(old, new)
    yield from _phases(old, new)


def _uses(before: Craft, after: Craft) -> Iterator[Supposed]:
    old = {use.name: use for use in before.uses}
    for use in after.uses:
        if use != old[use.name]:
            for key in ("rate", "leak"):
                words = f"supposed: craft.yaml has another rate of {use.name}"
                yield Supposed(file=CRAFT, key=f"uses.{use.name}.{key}", words=words)


def _placed_events(plan: Plan) -> Iterator[tuple[str, str, Event]]:
    """Every event with its key in plan.yaml, and that key's end."""
    for place, events in (
        ("events", plan.events),
        *((f"options.{name}.events", option.events) for name, option in plan.options.items()),
    ):
        for name, event in zip(distinct(one.name for one in events), events, strict=True):
            yield f"{place}[{name}]", name, event


def _events(old: Plan, new: Plan) -> Iterator[Supposed]:
    """Events that nobody planned, and those at another moment."""
    there: dict[str, list[tuple[str, Event]]] = {}
    for key, name, event in _placed_events(old):
        there.setdefault(name, []).append((key, event))
    for key, name, event in _placed_events(new):
        if name not in there:
            yield Supposed(file=PLAN, key=key, words=f"supposed: plan.yaml has no event {name}")
        for place, one in there.get(name, []):
            if one.at_s != event.at_s:
                words = f"supposed: plan.yaml has {name} at another moment"
                yield Supposed(file=PLAN, key=f"{place}.at", words=words, stated=one.at_s / H)


def _placed_phases(plan: Plan) -> Iterator[tuple[str, Phase]]:
    for place, phases in (
        ("phases", plan.phases),
        *((f"options.{name}.phases", option.phases) for name, option in plan.options.items()),
    ):
        for phase in phases:
            yield f"{place}[{phase.name}]", phase


def _phases(old: Plan, new: Plan) -> Iterator[Supposed]:
    """Phases in which people do something else, or that are parted."""
    flown = new.phases_under(new.options[new.committed])
    for key, phase in _placed_phases(old):
        for one in flown:
            if one.name != phase.name:
                continue
            if one.start_s != phase.start_s:
                words = f"supposed: the people of {phase.name} change over"
                yield Supposed(file=PLAN, key=f"{key}.start", words=words, stated=phase.start_s / H)
            for activity, count in one.crew.items():
                stated = float(phase.crew.get(activity, 0))
                if count != stated:
                    words = f"supposed: plan.yaml has others {activity.value} in {phase.name}"
                    place = f"{key}.crew.{activity.value}"
                    yield Supposed(file=PLAN, key=place, words=words, stated=stated)
