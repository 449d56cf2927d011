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
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.report.brief.words import listed

NOT_CALIBRATED = (
    "the ends of the intervals are not calibrated yet: they follow from the accuracies and spreads in "
    "craft.yaml, not from how such cases went"
)
PLAN_IS_FOLLOWED = "phases, levels and events come as planned, and only logged steps differ from the plan"
LEAK_STAYS = "leaks go on as they are, and no new one opens"
GOOD_GROUND = "on these figures"
NOT_IN_CLOCKS = "the clocks of the cabin leave out events that vent or fill it, and people who come and go"


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
    return (f"the present rate of {listed(names)} is the model's, not measured",) if names else ()


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
    if reasons:
        return f"low: {'; '.join(reasons)}"
    model = ", some rates are the model's" if rests_on_model else ""
    return f"fair: readings good{model}; intervals not calibrated"


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
