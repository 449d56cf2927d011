"""What answers rest on and how far they can be trusted, by rules that are the same for all of them.

Confidence is never above fair: the intervals have not been compared yet with how such cases truly went. It is
low where anything behind an answer is old, suspect, missing or not known.
"""

from __future__ import annotations

from collections.abc import Iterable

from console.craft.model import Activity, StoreState
from console.display import age_text
from console.engine.briefing import Briefing
from console.engine.first_end import unknown_ends
from console.engine.reading import Quality
from console.engine.snapshot import RateSource, Snapshot, SupplyStatus
from console.learnt_words import factor_text, unlogged_text
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.report.brief.words import listed

LEAK_STAYS = "leaks go on as they are, and no new one opens"
GOOD_GROUND = "on these figures"
NOT_IN_CLOCKS = "the clocks of the cabin leave out events that vent or fill it, and people who come and go"


def how_judged(snapshot: Snapshot) -> str:
    """What the ends of the intervals follow from, and by what they were tried."""
    if _is_learnt(snapshot):
        return (
            "the ends of the intervals follow from accuracies and spreads in craft.yaml and from readings of "
            "late; of simulated contingencies some nine in ten fell between them, fewer soon after a change "
            "that nobody logged; no real craft has tried them"
        )
    return (
        "the ends of the intervals are not calibrated: they follow from the accuracies and spreads in "
        "craft.yaml, not from how such cases went"
    )


def plan_is_followed(snapshot: Snapshot) -> str:
    """What of the plan is taken to come true."""
    beside = " and the changes that nobody logged" if changed(snapshot) else ""
    return f"phases, levels and events come as planned, and only logged steps{beside} differ from the plan"


def changed(snapshot: Snapshot) -> tuple[str, ...]:
    """The supplies of whose use something was changed that nobody logged."""
    return tuple(supply.name for supply in snapshot.supplies.values() if supply.unlogged)


def learnt_words(snapshot: Snapshot) -> tuple[str, ...]:
    """What readings over time say against the model: changes that nobody logged, and factors."""
    changes = [
        f"{supply.name}: {unlogged_text(change, supply)}"
        for supply in snapshot.supplies.values()
        for change in supply.unlogged
    ]
    factors = [
        f"{supply.name}: by readings of late, measured over modelled use is "
        f"{', '.join(map(factor_text, supply.factors))}; the figures under the plan count that"
        for supply in snapshot.supplies.values()
        if supply.factors
    ]
    return (*changes, *factors)


def _is_learnt(snapshot: Snapshot) -> bool:
    return any(supply.factors or supply.unlogged for supply in snapshot.supplies.values())


def by_model(snapshot: Snapshot) -> tuple[str, ...]:
    """The supplies whose present rate nobody measures."""
    return tuple(
        supply.name
        for supply in snapshot.supplies.values()
        if supply.rate_now_source is RateSource.MODEL and supply.rate_now_si_per_s
    )


def by_model_words(snapshot: Snapshot) -> tuple[str, ...]:
    """The same as an assumption."""
    names = by_model(snapshot)
    corrected = ", as readings of late correct it" if _is_learnt(snapshot) else ""
    return (f"the present rate of {listed(names)} is the model's{corrected}, not measured",) if names else ()


def pooled_words(snapshot: Snapshot) -> tuple[str, ...]:
    """That batteries on one bus are reckoned as one pool."""
    return tuple(
        f"the batteries of {supply.name} are reckoned as one pool"
        for supply in snapshot.supplies.values()
        if sum(store.bus is not None for store in supply.stores) > 1
    )


def people_words(briefing: Briefing) -> tuple[str, ...]:
    """Where the rates of people come from."""
    rates = briefing.situation.craft.person_rates
    plain = [activity.value for activity in Activity if rates.get(activity) == DEFAULT_PERSON_RATES[activity]]
    if not plain:
        return ("people breathe, drink and give off heat at the rates in craft.yaml",)
    remembered = [word for word in plain if word != Activity.REST.value]
    memory = f" (of {listed(remembered)} from memory)" if remembered else ""
    return (f"people take and give off what published tables say{memory}, not what was measured on them",)


def ungauged(supply: SupplyStatus) -> tuple[str, ...]:
    """The stores that count and that no gauge reads: taken as full, less what was logged."""
    return tuple(
        store.name
        for store in supply.stores
        if store.basis == "capacity" and store.state is not StoreState.PROTECTED
    )


def confidence(snapshot: Snapshot, qualities: Iterable[Quality], *, rests_on_model: bool = False) -> str:
    """Low or fair, and why."""
    bad = sorted({quality.value for quality in qualities if quality is not Quality.GOOD})
    unknown = unknown_ends(snapshot)
    reasons = [f"readings behind it are {listed(bad)}"] if bad else []
    reasons += [f"{listed(unknown)} not known"] if unknown else []
    if names := changed(snapshot):
        reasons.append(f"something of {listed(names)} was changed and not logged")
    if reasons:
        return f"low: {'; '.join(reasons)}"
    model = ", some rates are the model's" if rests_on_model else ""
    tried = "tried on simulated craft alone" if _is_learnt(snapshot) else "not calibrated"
    return f"fair: readings good{model}; intervals {tried}"


def on_these_figures(snapshot: Snapshot) -> str:
    """What a yes or a no rests on; figures carried on from old or doubtful readings are said to be so."""
    bad = sorted({each.value for each in qualities(snapshot) if each is not Quality.GOOD})
    if not bad:
        return GOOD_GROUND
    age_s = max(
        (supply.age_s or 0.0 for supply in snapshot.supplies.values() if supply.quality is not Quality.GOOD),
        default=snapshot.feed.age_s(snapshot.at_s) or 0.0,
    )
    old = f", up to {age_text(age_s)} old" if Quality.STALE.value in bad and age_s > 0.0 else ""
    return f"on readings that are {listed(bad)}{old}, if all went as planned since"


def qualities(snapshot: Snapshot) -> tuple[Quality, ...]:
    """Of the feed and of everything behind the supplies."""
    return (snapshot.feed.quality, *(supply.quality for supply in snapshot.supplies.values()))
