"""The people of a phase and what each takes and gives, as series of an equation."""

from __future__ import annotations

from dataclasses import replace

from console.craft.model import Activity
from console.craft.plan import Phase
from console.engine.explain.book import Book, published, series
from console.engine.explain.explanation import AssumptionSource, Input
from console.engine.explain.grounds import CRAFT, PLAN
from console.engine.explain.moments import phase_key

_FIELDS = {
    "oxygen": "oxygen_kg_per_s",
    "carbon_dioxide": "carbon_dioxide_kg_per_s",
    "water_vapour": "water_vapour_kg_per_s",
    "heat": "heat_w",
}
_TABLE = "NASA/SP-2010-3407, table of crew-induced metabolic loads (from memory)"
_REFERENCES = {
    Activity.ASLEEP: _TABLE,
    Activity.REST: "Bernard et al., Min. Eng. 70(8), 2018 (abstract)",
    Activity.NOMINAL: _TABLE,
    Activity.HEAVY: _TABLE,
}
_BY_SIZE = "person_rates_for: ISO 8996 and ASHRAE 55 by body surface (from memory)"
_HEAT = "heat from oxygen, NASA/TP-2015-218570 Rev 2 (2022) table 3-31"


def people(book: Book, phase: Phase) -> tuple[Input, ...]:
    """How many people do what, as n_1, n_2 and so on."""
    return series("n", (_people(book, phase, activity) for activity in _activities(phase)))


def rates(book: Book, phase: Phase, what: str, factor: float, unit: str) -> tuple[Input, ...]:
    """What one person takes or gives in each of those activities, as r_1, r_2 and so on.

    Args:
        book: the book.
        phase: whose activities.
        what: a key of ``crew.rates`` in craft.yaml.
        factor: the unit in SI.
        unit: its name.
    """
    return series("r", (_rate(book, activity, what, factor, unit) for activity in _activities(phase)))


def _activities(phase: Phase) -> list[Activity]:
    return [activity for activity, count in phase.crew.items() if count]


def _people(book: Book, phase: Phase, activity: Activity) -> Input:
    lines = book.grounds.lines.get(PLAN)
    key = f"{phase_key(book.grounds, phase)}.crew.{activity.value}"
    name = f"people {activity.value} in phase {phase.name}"
    count = float(phase.crew[activity])
    is_supposed = bool(book.grounds.supposed_words(PLAN, key, count))
    if lines is not None and key not in lines and not is_supposed:
        return book.config(
            "n", f"{name} (all aboard: the phase says nothing)", count, "1", CRAFT, "crew.count"
        )
    return book.config("n", name, count, "1", PLAN, key)


def _rate(book: Book, activity: Activity, what: str, factor: float, unit: str) -> Input:
    grounds = book.grounds
    value = getattr(grounds.craft.person_rates[activity], _FIELDS[what]) / factor
    name = f"{what.replace('_', ' ')} of a person {activity.value}"
    key = f"crew.rates.{activity.value}.{what}"
    one = book.config("r", name, value, unit, CRAFT, key)
    if not isinstance(one.source, AssumptionSource):
        return one
    if "crew.body_mass" in grounds.lines.get(CRAFT, {}):
        reference = _BY_SIZE
    else:
        reference = f"{_REFERENCES[activity]}; {_HEAT}" if what == "heat" else _REFERENCES[activity]
    source = published("r", name, value, unit, reference, "console/physics/metabolism.py").source
    return replace(one, source=source)
