"""The rise of CO2 by hand, and what a brief adds to the Snapshot: on the packaged demo and a broken one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from console.engine.assess import assess
from console.engine.briefing import LATE_S, briefing_of, hand_sums_of
from console.engine.dioxide_rise import dioxide_rise
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.reading import Quality, Reading

CENTRAL = Draws(seed=1, count=0)
FEW = Draws(seed=1, count=200)


def test_the_rise_is_the_crews_co2_in_the_cabins_volume(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    rise = dioxide_rise(found.known, found.ahead, found.snapshot)
    assert rise is not None
    # Three at 1.00 and one at 0.81 kg a day in 19 m³ at 17.8 °C; M = 44.01 g/mol, R = 8.314 J/(mol K).
    exhaled = (3 * 1.00 + 0.81) / 86400.0
    assert rise.exhaled_kg_per_s == pytest.approx(exhaled, rel=1e-9)
    assert rise.rise_pa_per_s == pytest.approx(exhaled * 8.314 * 290.95 / (0.04401 * 19.0), rel=1e-3)


def test_a_near_limit_comes_by_hand_when_the_clock_says(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    rise = dioxide_rise(found.known, found.ahead, found.snapshot)
    assert rise is not None
    near = rise.limits[0]
    assert near.clock.reached_in_s is not None
    # Within the phase the people do not change; the leak, left out by hand, takes less than 2 %.
    assert near.in_s == pytest.approx(near.clock.reached_in_s.p50, rel=0.02)


def test_without_a_reading_of_co2_there_is_no_sum(demo: Situation) -> None:
    gone = Reading(channel="cabin.ppco2", quality=Quality.MISSING, why="never read")
    feed = replace(demo.feed, readings={**demo.feed.readings, "cabin.ppco2": gone})
    assert hand_sums_of(replace(demo, feed=feed), 9, None, CENTRAL).dioxide is None


def test_all_together_last_no_more_often_than_the_shortest_alone(demo: Situation) -> None:
    found = briefing_of(demo, None, FEW)
    chances = [supply.lasts_probability for supply in found.snapshot.supplies.values()]
    assert found.all_last_probability is not None
    assert found.all_last_probability <= min(chance for chance in chances if chance is not None)
    # And no less often than if no two of them ever failed together.
    assert found.all_last_probability >= 1.0 - sum(1.0 - (chance or 0.0) for chance in chances) - 1e-9


def test_what_is_asked_for_is_the_caution_margin_of_the_shortest(demo: Situation) -> None:
    found = briefing_of(demo, None, FEW)
    assert found.snapshot.shortest == "water"
    assert found.shed.shed.goal_s == demo.craft.supplies["water"].bands.caution_s


def test_a_later_arrival_takes_its_hours_from_the_margins(demo: Situation) -> None:
    found = briefing_of(demo, None, CENTRAL)
    assert found.later.need.at_s == found.snapshot.need.at_s + LATE_S
    before, after = (each.supplies["oxygen"].margin_s for each in (found.snapshot, found.later))
    assert before is not None
    assert after is not None
    assert before.p50 is not None
    assert after.p50 == pytest.approx(before.p50 - LATE_S)
