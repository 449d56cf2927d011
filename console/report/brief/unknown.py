"""What we do not know: readings, rates, sources and simplifications, the worst first: the eighth question."""

from __future__ import annotations

from console.craft.model import StoreState
from console.engine.briefing import Briefing
from console.engine.cabin.matters import UNCOUNTED_HEAT_REMARK
from console.engine.first_end import unknown_ends
from console.engine.reading import Quality
from console.engine.snapshot import Snapshot
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.lasting import plan_clocks
from console.report.brief.words import counted, listed, sentence

_DOUBTFUL_SOURCES = ("from memory", "second hand", "no source")
"""What a source says of itself when nobody has seen it."""


def unknown(briefing: Briefing) -> Answer:
    """What we do not know."""
    snapshot = briefing.snapshot
    bad = bad_readings(snapshot)
    return Answer(
        head="Not known",
        question="What do we not know?",
        short=sentence("; ".join(_short(snapshot, bad))),
        shorter=sentence("; ".join(_shorter(snapshot, bad))),
        sentences=tuple(
            sentence(each)
            for each in (
                *_missing(snapshot),
                *grounds.learnt_words(snapshot),
                *_readings(snapshot, bad),
                *grounds.by_model_words(snapshot),
                *_gauges(snapshot),
                *(f"{supply.name}: {supply.why}" for supply in snapshot.supplies.values() if supply.why),
                *_decision(snapshot),
                *_limits(snapshot),
                *_heat(snapshot),
                *grounds.pooled_words(snapshot),
                *grounds.people_words(briefing),
                grounds.NOT_IN_CLOCKS,
                grounds.how_judged(snapshot),
                _in_no_figure(snapshot),
                *snapshot.notices,
            )
        ),
        assumptions=("what no instrument reads and no entry says cannot be in this list",),
        confidence=grounds.confidence(snapshot, grounds.qualities(snapshot)),
        figures={
            "unknown": list(unknown_ends(snapshot)),
            "readings": {quality: list(names) for quality, names in bad.items()},
            "rates_by_model": list(grounds.by_model(snapshot)),
            "ungauged_stores": [
                store for supply in snapshot.supplies.values() for store in grounds.ungauged(supply)
            ],
            "notices": list(snapshot.notices),
        },
    )


def _in_no_figure(snapshot: Snapshot) -> str:
    beside = ", but for the changes named above," if grounds.changed(snapshot) else ""
    return f"failures, new leaks and orders that nobody has logged{beside} are in no figure"


def bad_readings(snapshot: Snapshot) -> dict[str, tuple[str, ...]]:
    """The channels that are not good, by quality."""
    found = {}
    for quality in (Quality.MISSING, Quality.SUSPECT, Quality.STALE):
        names = tuple(
            reading.channel for reading in snapshot.feed.readings.values() if reading.quality is quality
        )
        if names:
            found[quality.value] = names
    return found


def _short(snapshot: Snapshot, bad: dict[str, tuple[str, ...]]) -> list[str]:
    said = []
    if ends := unknown_ends(snapshot):
        said.append(f"the end of {listed(ends, 3)}")
    if names := grounds.changed(snapshot):
        said.append(f"what was changed of {listed(names, 3)} that nobody logged")
    said += [f"{counted(len(names), f'{word} reading')}" for word, names in bad.items()]
    if names := grounds.by_model(snapshot):
        said.append(f"the true rates of {listed(names, 4)}")
    said.append("how good the low ends are")
    return said


def _shorter(snapshot: Snapshot, bad: dict[str, tuple[str, ...]]) -> list[str]:
    """Counts alone."""
    ends, names = unknown_ends(snapshot), grounds.by_model(snapshot)
    said = [f"{counted(len(ends), 'end')}"] if ends else []
    said += ["a change nobody logged"] if grounds.changed(snapshot) else []
    said += [f"{counted(sum(map(len, bad.values())), 'bad reading')}"] if bad else []
    said += [f"the true rates of {len(names)} supplies"] if names else []
    return [*said, "how good the low ends are"]


def _missing(snapshot: Snapshot) -> list[str]:
    said = [f"the margin of {name} is not known, and it could be the shortest" for name in snapshot.unknown]
    said += [
        f"cabin limit {clock.limit.name}: {clock.why}"
        for clock in plan_clocks(snapshot)
        if clock.limit.name in unknown_ends(snapshot)
    ]
    blind = [
        store.name
        for supply in snapshot.supplies.values()
        for store in supply.stores
        if store.on_board_si is None
    ]
    return [*said, f"what is in {listed(blind)} is not known"] if blind else said


def _readings(snapshot: Snapshot, bad: dict[str, tuple[str, ...]]) -> list[str]:
    said = [f"feed: {fault}" for fault in snapshot.feed.faults]
    said += [f"{counted(len(names), f'{word} reading')}: {listed(names)}" for word, names in bad.items()]
    return said or ["every reading is good by its own checks, which is not to say that it is right"]


def _gauges(snapshot: Snapshot) -> list[str]:
    return [
        f"no gauge reads {listed(names)} of {supply.name}: taken at capacity, less what was logged as used"
        for supply in snapshot.supplies.values()
        if (names := grounds.ungauged(supply))
    ] + [
        f"{store.name} of {supply.name} is protected and read by no gauge: taken at capacity"
        for supply in snapshot.supplies.values()
        for store in supply.stores
        if store.basis == "capacity" and store.state is StoreState.PROTECTED
    ]


def _decision(snapshot: Snapshot) -> list[str]:
    need = snapshot.need
    if need.decided_at_s is not None:
        return []
    return [f"nobody has logged committing to {need.option}; it is in force by the plan alone"]


def _limits(snapshot: Snapshot) -> list[str]:
    limits = {clock.limit.name: clock.limit for clock in snapshot.clocks}.values()
    average = [limit.name for limit in limits if limit.is_average]
    doubtful = [limit.name for limit in limits if any(word in limit.source for word in _DOUBTFUL_SOURCES)]
    said = []
    if average:
        said.append(
            f"{listed(average)}: the document means an average over hours; here the moment counts, "
            "which is early"
        )
    if doubtful:
        said.append(
            f"{listed(doubtful)}: by their own words from memory, read at second hand or without a source"
        )
    return said


def _heat(snapshot: Snapshot) -> list[str]:
    """The warm limits whose clocks leave out what an absorbent gives off."""
    warm = [clock.limit.name for clock in plan_clocks(snapshot) if UNCOUNTED_HEAT_REMARK in clock.why]
    return [f"{listed(warm)}: {UNCOUNTED_HEAT_REMARK}"] if warm else []
