"""What follows from the cabin's readings, for showing."""

from __future__ import annotations

from typing import Any

import pytest
from cabin_builders import cabin, channels, feed

from console.craft.channels import Measured
from console.engine.cabin.now import derived_readings
from console.engine.reading import Quality

MMHG = 101_325.0 / 760.0


def test_everything_that_follows_is_there_and_right(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin(humidity=Measured(channel="humidity")))
    read = feed(0.0, oxygen=160.0 * MMHG, dioxide=7.6 * MMHG, warmth=300.0)
    readings = derived_readings(craft, read, 0.0)
    found = {one.name: one.value_si for one in readings}
    assert [(one.name, one.is_share) for one in readings] == [
        ("oxygen", True), ("carbon_dioxide", True),
        ("inspired_oxygen", False), ("apparent_temperature", False),
    ]  # fmt: skip
    assert found["oxygen"] == pytest.approx(160 / 760)
    assert found["carbon_dioxide"] == pytest.approx(0.01)
    # (760 - 47) x 160 / 760 mmHg, by NASA-STD-3001 (read at second hand).
    assert found["inspired_oxygen"] == pytest.approx(150.105 * MMHG, rel=1e-5)
    units = {one.name: one.unit for one in readings}
    assert units["oxygen"] is None
    assert units["inspired_oxygen"] == craft.channels["oxygen"].unit
    assert units["apparent_temperature"] == craft.channels["warmth"].unit


def test_shares_that_are_read_are_turned_into_partial_pressures(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin(oxygen_is_share=True, carbon_dioxide_is_share=True))
    found = {
        one.name: one.value_si for one in derived_readings(craft, feed(0.0, oxygen=0.2, dioxide=0.01), 0.0)
    }
    assert found["oxygen"] == pytest.approx(20_265.0)
    assert found["carbon_dioxide"] == pytest.approx(1013.25)
    assert found["inspired_oxygen"] == pytest.approx(0.2 * (101_325.0 - 47 * MMHG))


def test_the_worst_reading_behind_a_property_gives_its_quality_and_the_oldest_its_age(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin())
    found = {one.name: one for one in derived_readings(craft, feed(0.0, {"pressure": 500.0}), 0.0)}
    assert found["oxygen"].quality is Quality.STALE
    assert found["oxygen"].age_s == 500.0


def test_what_rests_on_a_missing_reading_is_missing_with_the_reason(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin())
    found = {one.name: one for one in derived_readings(craft, feed(0.0, pressure=None), 0.0)}
    assert found["inspired_oxygen"].value_si is None
    assert found["inspired_oxygen"].quality is Quality.MISSING
    assert "broken" in found["inspired_oxygen"].why


def test_what_the_config_does_not_name_is_not_made_up(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin(pressure=None))
    assert derived_readings(craft, feed(0.0), 0.0) == ()
    assert derived_readings(build.craft(), feed(0.0), 0.0) == ()
