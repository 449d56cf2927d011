"""What people take and give: the defaults' order, and the sum over a roster."""

from __future__ import annotations

from dataclasses import asdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.craft.model import Activity, PersonRates
from console.physics.constants import CARBON_DIOXIDE_KG_PER_MOL, OXYGEN_GAS_KG_PER_MOL
from console.physics.metabolism import DEFAULT_PERSON_RATES, HEAT_J_PER_KG_OXYGEN, crew_rates

ROSTERS = st.dictionaries(st.sampled_from(list(Activity)), st.integers(0, 12))


def test_every_activity_has_rates() -> None:
    assert set(DEFAULT_PERSON_RATES) == set(Activity)


@pytest.mark.parametrize("rate", list(PersonRates.__annotations__))
def test_every_rate_rises_with_the_activity(rate: str) -> None:
    order = (Activity.ASLEEP, Activity.REST, Activity.NOMINAL, Activity.HEAVY)
    rates = [asdict(DEFAULT_PERSON_RATES[activity])[rate] for activity in order]
    assert 0.0 < rates[0] < rates[1] < rates[2] < rates[3]


@pytest.mark.parametrize("activity", list(Activity))
def test_carbon_dioxide_given_off_lies_between_what_fat_and_sugar_make_or_little_above(
    activity: Activity,
) -> None:
    # Moles of CO2 per mole of O2: 0.7 burning fat, 1.0 burning sugar (common practice, no source).
    person = DEFAULT_PERSON_RATES[activity]
    made = person.carbon_dioxide_kg_per_s / CARBON_DIOXIDE_KG_PER_MOL
    used = person.oxygen_kg_per_s / OXYGEN_GAS_KG_PER_MOL
    assert 0.7 < made / used < 1.0


@pytest.mark.parametrize("activity", list(Activity))
def test_heat_follows_oxygen(activity: Activity) -> None:
    person = DEFAULT_PERSON_RATES[activity]
    assert person.heat_w == pytest.approx(person.oxygen_kg_per_s * HEAT_J_PER_KG_OXYGEN, rel=1e-12)


def test_an_empty_roster_takes_nothing() -> None:
    nothing = crew_rates({}, DEFAULT_PERSON_RATES)
    assert list(asdict(nothing).values()) == [0.0, 0.0, 0.0, 0.0]


@given(first=ROSTERS, second=ROSTERS)
def test_two_crews_take_what_they_take_together(
    first: dict[Activity, int], second: dict[Activity, int]
) -> None:
    together = {activity: first.get(activity, 0) + second.get(activity, 0) for activity in Activity}
    apart = [asdict(crew_rates(roster, DEFAULT_PERSON_RATES)) for roster in (first, second)]
    for name, total in asdict(crew_rates(together, DEFAULT_PERSON_RATES)).items():
        assert total == pytest.approx(apart[0][name] + apart[1][name], rel=1e-12)


def test_overridden_rates_are_used() -> None:
    own = PersonRates(oxygen_kg_per_s=1.0, carbon_dioxide_kg_per_s=2.0, water_vapour_kg_per_s=3.0, heat_w=4.0)
    three = crew_rates({Activity.REST: 3}, {Activity.REST: own})
    assert list(asdict(three).values()) == [3.0, 6.0, 9.0, 12.0]


def test_an_activity_without_rates_is_refused() -> None:
    with pytest.raises(KeyError):
        crew_rates({Activity.HEAVY: 1}, {Activity.NOMINAL: DEFAULT_PERSON_RATES[Activity.NOMINAL]})
