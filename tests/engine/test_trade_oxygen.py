"""A fact of the trade as a sum: what a small craft's oxygen does once repressurisations are given up.

Common practice, no source: two people's design life of 50-odd hours is not the craft's limit; a full
repressurisation takes about 6.6 lb, four are planned, the leak is about 0.08 lb/h, and three people use 6 to
8 lb a day together. The rate of a person is published: 0.84 kg/day, NASA RP-1324 (1994), read at second hand.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import Activity, Metabolic, Use

H = 3600.0
LB = 0.45359237
PERSON_LB_PER_H = 0.84 / LB / 24.0
"""0.07716 lb/h."""
LEAK_LB_PER_H = 0.08
FULL_LB = 6.6
ABOARD_LB = 38.6


def hours_of_oxygen(build: Any, people: int, repressurisations: int) -> float:
    """What the engine says."""
    uses = (
        Use(name="crew", supply="oxygen", metabolic=Metabolic.OXYGEN),
        Use(name="leak", supply="oxygen", leak_si_per_s=LEAK_LB_PER_H * LB / H),
    )
    tank = build.store("tank", capacity_si=ABOARD_LB * LB)
    craft = build.craft(build.supply("oxygen", "lb", tank), uses=uses, crew_count=people)
    nominal = replace(craft.person_rates[Activity.NOMINAL], oxygen_kg_per_s=0.84 / 86400.0)
    craft = replace(craft, person_rates={**craft.person_rates, Activity.NOMINAL: nominal})
    events = tuple(
        build.event(f"repressurisation {index}", 10.0 * index * H, {"oxygen": FULL_LB * LB})
        for index in range(1, repressurisations + 1)
    )
    plan = build.plan(build.option(200 * H), (build.phase("on", 0.0, nominal=people),), events)
    endurance = build.assess(craft, plan).snapshot.supplies["oxygen"].endurance_plan_s
    return float(endurance.p50) / H


def test_two_people_with_four_repressurisations_have_the_fifty_odd_hours_they_were_designed_for(
    build: Any,
) -> None:
    # 38.6 - 4 x 6.6 = 12.2 lb; 2 x 0.07716 + 0.08 = 0.2343 lb/h; 12.2 / 0.2343 = 52.1 h.
    by_hand = (ABOARD_LB - 4 * FULL_LB) / (2 * PERSON_LB_PER_H + LEAK_LB_PER_H)
    assert by_hand == pytest.approx(52.1, abs=0.05)
    assert hours_of_oxygen(build, people=2, repressurisations=4) == pytest.approx(by_hand, rel=1e-9)


def test_two_people_without_repressurisations_have_more_than_three_times_as_long(build: Any) -> None:
    # 38.6 / 0.2343 = 164.7 h.
    by_hand = ABOARD_LB / (2 * PERSON_LB_PER_H + LEAK_LB_PER_H)
    assert by_hand == pytest.approx(164.7, abs=0.1)
    assert hours_of_oxygen(build, people=2, repressurisations=0) == pytest.approx(by_hand, rel=1e-9)


def test_three_people_without_repressurisations_have_more_than_twice_the_design_life_of_two(
    build: Any,
) -> None:
    # 3 x 0.07716 + 0.08 = 0.3115 lb/h; 38.6 / 0.3115 = 123.9 h.
    by_hand = ABOARD_LB / (3 * PERSON_LB_PER_H + LEAK_LB_PER_H)
    assert by_hand == pytest.approx(123.9, abs=0.1)
    assert hours_of_oxygen(build, people=3, repressurisations=0) == pytest.approx(by_hand, rel=1e-9)
    assert by_hand > 2 * hours_of_oxygen(build, people=2, repressurisations=4)


def test_each_repressurisation_given_up_buys_two_people_twenty_eight_hours(build: Any) -> None:
    # 6.6 / 0.2343 = 28.2 h.
    gained = hours_of_oxygen(build, 2, 3) - hours_of_oxygen(build, 2, 4)
    assert gained == pytest.approx(28.2, abs=0.05)
