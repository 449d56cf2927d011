"""What would change the outcome: loads off, single losses, waiting, a late arrival: the fourth question."""

from __future__ import annotations

import math
from typing import Any

from console.display import UNKNOWN, hours_figure, hours_text
from console.engine.briefing import LATE_S, Briefing, LimitGain
from console.engine.first_end import first_end
from console.engine.loss import Loss, LossKind
from console.engine.shed import Buys
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.words import counted, lasting_words, listed, margin_words, sentence
from console.report.json_values import hours, interval, maybe
from console.report.open_words import delay_sentence

_BEST = 3
"""How many single switch-offs are named."""


def changing(briefing: Briefing) -> Answer:
    """What would change that."""
    switching = _switching(briefing)
    losing = _losing(briefing)
    return Answer(
        head="Change",
        question="What would change that?",
        short=" ".join(
            sentence(each)
            for each in (
                "; ".join((*_best_words(briefing, 1), *_price_words(briefing))),
                *_worst_words(briefing),
            )
        ),
        shorter=sentence("; ".join((*_best_words(briefing, 1), *_price_words(briefing)))),
        sentences=tuple(
            sentence(each) for each in (*switching, *losing, *_late(briefing), *_waiting(briefing))
        ),
        assumptions=(
            "each change is reckoned by itself, from this moment on; gains do not quite add up",
            "loads stay off except where a planned phase asks more of them",
            "a lost store gives nothing from now on and nothing else fails with it",
            "nothing is switched or logged by asking",
        ),
        confidence=grounds.confidence(
            briefing.snapshot, grounds.qualities(briefing.snapshot), rests_on_model=True
        ),
        figures=_figures(briefing),
    )


def _best(briefing: Briefing) -> list[tuple[Buys, float]]:
    """The single loads that buy most of the shortest supply: of those proposed, else of all that may go."""
    shed, shortest = briefing.shed.shed, briefing.snapshot.shortest
    if shortest is None:
        return []
    gains = [
        (buys, gained)
        for buys in shed.loads or shed.may_go
        if (gained := buys.margin_gained_s.get(shortest)) is not None and gained > 0.0
    ]
    return sorted(gains, key=lambda each: -each[1])


def _best_words(briefing: Briefing, most: int) -> list[str]:
    limit = _limit_words(briefing, most)
    best = _best(briefing)[:most]
    if limit or not best:
        return limit or ["no load that may go buys time for the shortest supply"]
    named = listed([f"{buys.load.name} buys {_hours(gained)}" for buys, gained in best])
    return [f"off alone, {named} of {briefing.snapshot.shortest}"]


def _price_words(briefing: Briefing) -> list[str]:
    """Which limits of the cabin come earlier with what is proposed: said together with what it buys."""
    earlier = [change.after.limit.name for change in briefing.shed.limits_earlier]
    return [f"but with what is proposed off, {listed(earlier)} comes earlier"] if earlier else []


def _limit_words(briefing: Briefing, most: int) -> list[str]:
    """Where a limit of the cabin comes first: which loads put it off."""
    if not briefing.limit_gains:
        return []
    found = first_end(briefing.snapshot)
    name = "the limit" if found is None else found.name
    best = [gain for gain in briefing.limit_gains if (gain.gained_s or 0.0) > 0.0][:most]
    if not best:
        return [f"no single load that may go puts off {name}"]
    named = listed([f"{gain.load.name} by {_hours(gain.gained_s or 0.0)}" for gain in best])
    return [f"off alone puts off {name}: {named} (central)"]


def _hours(seconds: float) -> str:
    return f"{hours_figure(seconds)} h" if seconds >= 3600.0 else lasting_words(seconds)


def _switching(briefing: Briefing) -> list[str]:
    """The set for the caution margin, then the best of it one by one."""
    shed = briefing.shed.shed
    goal = f"{hours_figure(shed.goal_s)} h"
    said = []
    if shed.has_goal_already:
        said.append(f"every supply has the caution margin of {goal} at the low end with nothing switched off")
    elif shed.loads:
        names = listed([buys.load.name for buys in shed.loads])
        said.append(
            f"switching off {names} brings every supply to the caution margin of {goal} at the low end"
            if shed.is_enough
            else f"all that may go is {names}; with that off, still below the caution margin of {goal} at "
            f"the low end: {_still_short(briefing)}"
        )
    if shed.short and shed.beyond_loads:
        said.append(f"no load helps {listed(shed.beyond_loads)}")
    said += _best_words(briefing, _BEST)
    earlier = [change.after.limit.name for change in briefing.shed.limits_earlier]
    if earlier:
        said.append(
            f"with that set off, these limits of the cabin come earlier or are not known: {listed(earlier)}"
        )
    return said


def _still_short(briefing: Briefing) -> str:
    """The supplies that do not reach what is asked with all off that may go, with what they then have."""
    shed = briefing.shed.shed
    margins = ((name, shed.after_s[name]) for name in shed.short)
    return listed(
        [f"{name} ({UNKNOWN if margin is None else margin_words(margin.p05)})" for name, margin in margins]
    )


def _worst_words(briefing: Briefing) -> list[str]:
    """The worst loss of a single store; a whole bus is said in the long form."""
    losses = briefing.losses.losses
    stores = [loss for loss in losses if loss.lost.kind is LossKind.STORE]
    worst = min(stores or losses, key=_left_s, default=None)
    if worst is None:
        return ["nothing that counts can be lost"]
    return [f"worst single loss {_loss_words(worst)}"]


def _loss_words(loss: Loss) -> str:
    margin = loss.margins.margins_s[loss.lost.supply]
    name = loss.lost.name if loss.lost.kind is LossKind.STORE else f"{loss.lost.kind.value} {loss.lost.name}"
    if margin is None:
        return f"{name}: the margin then is not known"
    low = "does not run out" if margin.p05 is None else margin_words(margin.p05)
    return f"{name}: {loss.lost.supply} {low} at the low end"


def _left_s(loss: Loss) -> float:
    margin = loss.margins.margins_s[loss.lost.supply]
    return math.inf if margin is None or margin.p05 is None else margin.p05


def _losing(briefing: Briefing) -> list[str]:
    losses = briefing.losses.losses
    if not losses:
        return ["nothing that counts can be lost"]
    ended = [loss for loss in losses if loss.ends_plan]
    central = sum(loss.ends_plan_central for loss in ended)
    tried = counted(len(losses), "single failure")
    before = [
        f"{name} is {margin_words(margin.p05)}"
        for name, margin in briefing.losses.without_loss.margins_s.items()
        if margin is not None and margin.p05 is not None and margin.p05 < 0.0
    ]
    already = f" (with nothing lost, {listed(before)} at the low end already)" if before else ""
    said = [
        f"of {tried} tried, the plan does not survive {len(ended)} by the low end, and {central} of them in "
        f"the central case neither{already}"
    ]
    said += _worst_words(briefing)
    worst = briefing.losses.worst
    if worst is not None and worst.lost.kind is not LossKind.STORE:
        said.append(f"worst of all kinds: {_loss_words(worst)}")
    return said


def _late(briefing: Briefing) -> list[str]:
    """What a late arrival costs the supply that is shortest then."""
    later, name = briefing.later, briefing.later.shortest
    margin = None if name is None else later.supplies[name].margin_s
    if name is None or margin is None or margin.p05 is None:
        return []
    return [
        f"should {later.need.option} arrive {hours_text(LATE_S)} later, {name} is {margin_words(margin.p05)} "
        f"at the low end, {margin_words(margin.p50)} central"
    ]


def _waiting(briefing: Briefing) -> list[str]:
    return [
        f"for {way.option.name}, {delay_sentence(way.delay)}"
        for way in briefing.ways
        if way.delay is not None
    ]


def _figures(briefing: Briefing) -> dict[str, Any]:
    shed = briefing.shed.shed
    worst = min(briefing.losses.losses, key=_left_s, default=None)
    return {
        "caution_margin_h": hours(shed.goal_s),
        "switch_off": [buys.load.name for buys in shed.loads],
        "reaches_caution_margin": shed.is_enough,
        "gains_h": {
            buys.load.name: {name: maybe(hours)(gain) for name, gain in buys.margin_gained_s.items()}
            for buys in shed.may_go
        },
        "limit_gains_h": {gain.load.name: _gain_h(gain) for gain in briefing.limit_gains},
        "losses_tried": len(briefing.losses.losses),
        "losses_not_survived_low": [loss.lost.name for loss in briefing.losses.losses if loss.ends_plan],
        "worst_loss": None
        if worst is None
        else {
            "kind": worst.lost.kind.value,
            "name": worst.lost.name,
            "supply": worst.lost.supply,
            "margin_h": interval(worst.margins.margins_s[worst.lost.supply], hours),
        },
        "arrival_later_by_h": hours(LATE_S),
        "margins_if_later_h": {
            supply.name: interval(supply.margin_s, hours) for supply in briefing.later.supplies.values()
        },
        "delay_cost_h_per_h": {
            way.option.name: {"p05": way.delay.low, "p50": way.delay.central}
            for way in briefing.ways
            if way.delay is not None
        },
    }


def _gain_h(gain: LimitGain) -> float | None:
    return maybe(hours)(gain.gained_s)
