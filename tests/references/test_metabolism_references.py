"""Per-person rates against the figures they were taken from, and against figures that they were not."""

from __future__ import annotations

import pytest

from console.craft.model import Activity
from console.physics.cooling import latent_heat_j_per_kg
from console.physics.metabolism import (
    DEFAULT_PERSON_RATES,
    HEAT_J_PER_KG_OXYGEN,
    crew_rates,
    energetic_equivalent_j_per_mol,
    person_rates_for,
    respiratory_quotient,
)

KG_PER_LB = 0.45359237


def test_a_day_of_the_table_by_activity_sums_to_its_day_s_oxygen_and_carbon_dioxide() -> None:
    # Arithmetic on the rows of NASA/SP-2010-3407 (from memory): 480 min asleep, 870 nominal, 30 of exercise,
    # and 60 of recovery at nominal oxygen: 0.819 and 1.038 kg. This checks the conversion, not the table.
    minutes = {Activity.ASLEEP: 480, Activity.NOMINAL: 870 + 60, Activity.HEAVY: 30}
    oxygen_kg = sum(DEFAULT_PERSON_RATES[a].oxygen_kg_per_s * 60 * n for a, n in minutes.items())
    carbon_dioxide_kg = sum(
        DEFAULT_PERSON_RATES[a].carbon_dioxide_kg_per_s * 60 * n for a, n in minutes.items()
    )
    assert oxygen_kg == pytest.approx(0.819, abs=5e-4)
    assert carbon_dioxide_kg == pytest.approx(1.038, abs=5e-4)


def test_heat_per_kilogram_of_oxygen_gives_the_day_s_heat_of_its_source() -> None:
    # NASA/TP-2015-218570 Rev 2 (2022) Table 3-31, read at second hand: 0.895 kg and 143.8 W.
    heat_w = 0.895 * HEAT_J_PER_KG_OXYGEN / 86_400
    assert heat_w == pytest.approx(143.8, abs=0.05)


def test_heat_per_kilogram_of_oxygen_is_near_that_of_an_older_source() -> None:
    # NASA RP-1324 (1994), read at second hand: 0.84 kg and 136.7 W. The two reports differ by 1.3 %.
    heat_w = 0.84 * HEAT_J_PER_KG_OXYGEN / 86_400
    assert heat_w == pytest.approx(136.7, rel=0.02)


@pytest.mark.parametrize("activity", [Activity.ASLEEP, Activity.REST, Activity.NOMINAL])
def test_the_vapour_that_people_give_off_carries_a_plausible_share_of_their_heat(activity: Activity) -> None:
    # NASA/TP-2015-218570 Rev 2 (2022) Table 3-31, read at second hand: 6.118 of 12.426 MJ a day is
    # latent, 0.49, with exercise in it; at rest in a cool room about a quarter (common practice, no source).
    person = DEFAULT_PERSON_RATES[activity]
    latent_w = person.water_vapour_kg_per_s * latent_heat_j_per_kg(303.15)
    assert 0.25 < latent_w / person.heat_w < 6.118 / 12.426


def test_a_resting_person_gives_off_the_heat_that_was_found_for_resting_miners() -> None:
    # Bernard et al., Min. Eng. 70(8), 2018, abstract: 113 to 134 W. Ours comes from their oxygen alone.
    assert 113.0 < DEFAULT_PERSON_RATES[Activity.REST].heat_w < 134.0


def test_a_resting_person_takes_and_gives_the_litres_that_were_found_for_resting_miners() -> None:
    # Bernard et al., Min. Eng. 70(8), 2018, abstract: 23 L/h of O2, 20 L/h of CO2. Densities at 0 °C and
    # 101.325 kPa as handbooks give them (from memory): 1.429 and 1.977 g/L, real gas; ours is ideal.
    rest = DEFAULT_PERSON_RATES[Activity.REST]
    assert rest.oxygen_kg_per_s * 3600 / 1.429e-3 == pytest.approx(23.0, rel=0.002)
    assert rest.carbon_dioxide_kg_per_s * 3600 / 1.977e-3 == pytest.approx(20.0, rel=0.008)


def test_rest_and_nominal_stay_within_a_mine_refuge_s_design_basis() -> None:
    # MSHA PIB 07-03, read at second hand: 1.32 ft3/h of O2 and 1.08 of CO2 per person, 37.4 and 30.6 L/h.
    # Taken at 0 °C and 101.325 kPa: 1.428 and 1.963 g/L.
    for activity in (Activity.ASLEEP, Activity.REST, Activity.NOMINAL):
        person = DEFAULT_PERSON_RATES[activity]
        assert person.oxygen_kg_per_s * 3600 < 37.4 * 1.428e-3
        assert person.carbon_dioxide_kg_per_s * 3600 < 30.6 * 1.963e-3


def test_three_at_rest_take_about_what_three_took_in_a_cold_powered_down_cabin() -> None:
    # NASA MSC-02680 section 6.7, read in the primary text: 0.21 lb/h together. Rest is our nearest
    # activity; it may promise less use than was flown by the figure's own rounding (0.005) at most.
    three = crew_rates({Activity.REST: 3}, DEFAULT_PERSON_RATES)
    lb_per_h = three.oxygen_kg_per_s * 3600 / KG_PER_LB
    assert 0.205 < lb_per_h < 0.23


def test_the_published_oxygen_budget_closes() -> None:
    # NASA MSC-02680 section 6.7, read in the primary text: 0.21 metabolic + 0.014 + 0.027 of leaks = 0.251,
    # reported as 0.25 lb/h. With our own crew in place of 0.21 the budget holds to 5 %.
    three = crew_rates({Activity.REST: 3}, DEFAULT_PERSON_RATES)
    lb_per_h = three.oxygen_kg_per_s * 3600 / KG_PER_LB + 0.014 + 0.027
    assert lb_per_h == pytest.approx(0.25, rel=0.05)


def test_the_heat_of_oxygen_by_iso_8996_is_that_of_weir_s_equation() -> None:
    # Weir (1949), read at second hand: 3.941 kcal per litre of O2 and 1.106 per litre of CO2.
    for quotient in (0.7, 0.85, 1.0):
        weir_j_per_mol = (3.941 + 1.106 * quotient) * 4184.0 * 22.414
        assert energetic_equivalent_j_per_mol(quotient) == pytest.approx(weir_j_per_mol, rel=0.003)


def _day(body_mass_kg: float, hours: dict[Activity, float], what: str) -> float:
    rates = person_rates_for(body_mass_kg)
    return sum(getattr(rates[activity], what) * 3600.0 * span for activity, span in hours.items())


PLAIN_DAY = {Activity.ASLEEP: 8.0, Activity.NOMINAL: 16.0}
WITH_EXERCISE = {Activity.ASLEEP: 8.0, Activity.NOMINAL: 15.5, Activity.HEAVY: 0.5}


def test_a_crew_member_of_82_kg_takes_and_gives_up_to_an_eighth_more_than_the_published_day() -> None:
    # NASA/TP-2015-218570 Rev 2 (2022) Table 3-31, read at second hand: 0.895 kg O2, 1.085 kg CO2, 12.426 MJ.
    # Ours is above for oxygen and heat, which is early; its CO2 is nearer, because that table's masses imply
    # a quotient of 0.881 and ours is 0.85. Water vapour has that table's own share of the heat.
    assert 1.0 < _day(82.0, WITH_EXERCISE, "oxygen_kg_per_s") / 0.895 < 1.125
    assert 1.0 < _day(82.0, WITH_EXERCISE, "carbon_dioxide_kg_per_s") / 1.085 < 1.06
    assert 1.0 < _day(82.0, WITH_EXERCISE, "heat_w") / 12.426e6 < 1.125
    assert 1.0 < _day(82.0, PLAIN_DAY, "oxygen_kg_per_s") / 0.895 < 1.05


def test_vapour_of_a_day_carries_the_published_share_of_its_heat() -> None:
    # The same table: 6.118 of 12.426 MJ. It is far above the table by activity (NASA/SP-2010-3407, from
    # memory), whose plain day has 1.42 kg: that one is of a cool cabin, this one has exercise in it.
    vapour_kg = _day(82.0, PLAIN_DAY, "water_vapour_kg_per_s")
    latent_j = vapour_kg * latent_heat_j_per_kg(303.15)
    assert latent_j / _day(82.0, PLAIN_DAY, "heat_w") == pytest.approx(6.118 / 12.426, rel=1e-9)
    assert 2.3 < vapour_kg < 2.8


def test_light_work_gives_off_the_carbon_dioxide_of_the_standard_person_of_submersibles() -> None:
    # ABS Underwater Vehicles rules 8/8.5.5, read at second hand: 0.0523 kg/h. For 75 to 82 kg ours is 1 %
    # below to 6 % above; somebody at rest gives off a third less.
    for body_mass_kg in (75.0, 82.0):
        nominal = person_rates_for(body_mass_kg)[Activity.NOMINAL].carbon_dioxide_kg_per_s * 3600
        assert nominal == pytest.approx(0.0523, rel=0.065)
    assert person_rates_for(80.0)[Activity.REST].carbon_dioxide_kg_per_s * 3600 < 0.7 * 0.0523


def test_a_person_of_80_kg_at_rest_is_within_what_was_found_for_resting_miners() -> None:
    # Bernard et al., Min. Eng. 70(8), 2018, abstract: 113 to 134 W; 23 L/h O2 and 20 L/h CO2 highest likely.
    rest = person_rates_for(80.0)[Activity.REST]
    assert 113.0 < rest.heat_w < 134.0
    assert rest.oxygen_kg_per_s * 3600 < 23.0 * 1.428e-3
    assert rest.carbon_dioxide_kg_per_s * 3600 < 20.0 * 1.963e-3


def test_three_people_of_80_to_100_kg_use_6_to_8_lb_of_oxygen_a_day() -> None:
    # Common practice, no source. A day with half an hour of work; three of 75 kg without it use 5.7.
    for body_mass_kg in (80.0, 100.0):
        lb = 3.0 * _day(body_mass_kg, WITH_EXERCISE, "oxygen_kg_per_s") / KG_PER_LB
        assert 6.0 < lb < 8.0
    assert 3.0 * _day(75.0, PLAIN_DAY, "oxygen_kg_per_s") / KG_PER_LB == pytest.approx(5.7, abs=0.05)


def test_three_by_the_table_of_activities_use_less_than_6_lb_unless_they_work() -> None:
    # The same fact against our defaults: 0.819 kg each is 5.4 lb for three, so the defaults are below common
    # practice; with an hour of hard work they are within it.
    def lb_of(hours: dict[Activity, float]) -> float:
        each_kg = sum(DEFAULT_PERSON_RATES[one].oxygen_kg_per_s * 3600 * span for one, span in hours.items())
        return 3.0 * each_kg / KG_PER_LB

    assert lb_of({Activity.ASLEEP: 8.0, Activity.NOMINAL: 15.5, Activity.HEAVY: 0.5}) == pytest.approx(
        5.4, abs=0.05
    )
    assert 6.0 < lb_of({Activity.ASLEEP: 8.0, Activity.NOMINAL: 15.0, Activity.HEAVY: 1.0}) < 8.0


def test_the_quotients_of_the_table_by_activity_are_high() -> None:
    # NASA/SP-2010-3407 (from memory): its masses imply 0.92 in every row, above the 0.86 to 0.88 of the days.
    for activity in (Activity.ASLEEP, Activity.NOMINAL, Activity.HEAVY):
        assert respiratory_quotient(DEFAULT_PERSON_RATES[activity]) == pytest.approx(0.92, abs=0.005)
