"""Counted charge and gauge together, remembered from look to look."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import StoreKind
from console.engine.charge import (
    REPEATED,
    ChargeMemory,
    charge_estimate,
    charge_estimates,
    meter_biases_a,
    next_charge,
    next_charges,
)
from console.engine.quantity import ChargeEstimate, store_quantity
from console.engine.reading import Quality, Reading
from console.units import parse_unit

AH = H = 3600.0
UNIT = parse_unit("A*h")


def battery(build: Any, **fields: Any) -> Any:
    given = {
        "kind": StoreKind.BATTERY,
        "capacity_si": 1000.0 * AH,
        "current": Measured(channel="bat.current"),
        "quantity": Measured(channel="bat.charge"),
        **fields,
    }
    return build.store("bat", **given)


def channels(build: Any, **current: Any) -> Any:
    made = (
        build.channel("bat.current", "A", **{"accuracy_si": 2.0, "stale_after_s": 90.0, **current}),
        build.channel(
            "bat.charge", "A*h", accuracy_si=10.0 * AH, resolution_si=10.0 * AH, stale_after_s=90.0
        ),
        build.channel("bat.used", "A*h", resolution_si=0.5 * AH, stale_after_s=90.0),
        build.channel("bat.share", "%", accuracy_si=0.01, resolution_si=0.01, stale_after_s=90.0),
    )
    return {channel.name: channel for channel in made}


def good(name: str, value_si: float, at_s: float) -> Reading:
    return Reading(channel=name, quality=Quality.GOOD, value_si=value_si, at_s=at_s)


class Course:
    """A battery's true course, and what its instruments say of it each minute."""

    def __init__(
        self, build: Any, store: Any = None, offset_a: float = 0.0, seed: int = 1, **current: Any
    ) -> None:
        self.store = store or battery(build)
        self.channels = channels(build, **current)
        self.noise = random.Random(seed)
        self.offset_a, self.at_s, self.true_a_s, self.used_a_s = offset_a, 0.0, 1000.0 * AH, 0.0
        self.memory: ChargeMemory | None = None
        self.readings: dict[str, Reading] = {}

    def run(
        self, hours: float, current_a: float, silent: tuple[str, ...] = (), gauge_off_a_s: float = 0.0
    ) -> Any:
        for _ in range(round(hours * 60)):
            self.at_s += 60.0
            self.true_a_s -= current_a * 60.0
            self.used_a_s += (current_a + self.offset_a) * 60.0
            said = self.true_a_s + gauge_off_a_s + self.noise.gauss(0.0, 3.0 * AH)
            for name, value in (
                ("bat.current", current_a + self.offset_a + self.noise.gauss(0.0, 0.1)),
                ("bat.charge", round(said / (10.0 * AH)) * 10.0 * AH),
                ("bat.used", round(self.used_a_s / (0.5 * AH)) * 0.5 * AH),
                ("bat.share", round(said / (10.0 * AH)) * 0.01),
            ):
                if name not in silent:
                    self.readings[name] = good(name, value, self.at_s)
            arguments = (self.store, self.readings, self.channels, self.at_s)
            self.memory = next_charge(self.memory, *arguments)
            # Whoever looks twice at the same readings sees the same: what is used once is not used again.
            assert next_charge(self.memory, *arguments) == self.memory
        return self.estimate()

    def estimate(self) -> ChargeEstimate:
        assert self.memory is not None
        return charge_estimate(self.memory, self.store, UNIT, self.readings, self.channels, self.at_s)


def test_the_meters_offset_is_found_taken_out_and_said(build: Any) -> None:
    course = Course(build, offset_a=-1.0)
    found = course.run(36.0, 20.0)
    assert course.memory is not None
    assert course.memory.state.bias_a == pytest.approx(-1.0, abs=0.15)
    assert found.level_si == pytest.approx(280.0 * AH, abs=6.0 * AH)
    assert found.quality is Quality.GOOD
    assert "the current meter shows" in found.why
    assert "A too little, which is taken out" in found.why


def test_a_meter_without_an_offset_is_not_accused(build: Any) -> None:
    for seed in range(5):
        course = Course(build, seed=seed)
        found = course.run(12.0, 20.0)
        assert found.why == ""
        assert abs(found.level_si - course.true_a_s) < 3.0 * found.sd_si


def test_it_is_never_surer_than_the_part_of_the_gauges_error_that_may_be_the_same_for_ever(
    build: Any,
) -> None:
    assert Course(build).run(24.0, 20.0).sd_si == pytest.approx(5.0 * AH)


def test_readings_that_come_often_are_not_taken_for_more_evidence(build: Any) -> None:
    """A gauge stands still between its steps: read each minute or each second it tells the same."""
    course = Course(build)
    course.run(1.0, 20.0)
    assert course.memory is not None
    once = course.memory.state.level_sd_a_s
    # One reading of the gauge's own error, after an hour of readings: about that of two, far from that of 60.
    assert once > 0.6 * 5.77 * AH
    assert once < 5.77 * AH


def test_a_reading_that_was_used_is_not_used_again_nor_one_from_before(build: Any) -> None:
    course = Course(build)
    course.run(1.0, 20.0)
    before = course.memory
    assert next_charge(before, course.store, course.readings, course.channels, course.at_s + 5.0) == before
    older = {
        "bat.current": good("bat.current", 70.0, course.at_s - 600.0),
        "bat.charge": good("bat.charge", 10.0 * AH, course.at_s - 600.0),
    }
    assert next_charge(before, course.store, older, course.channels, course.at_s + 5.0) == before


def test_a_reading_of_the_future_is_not_used(build: Any) -> None:
    course = Course(build)
    course.run(1.0, 20.0)
    ahead = {**course.readings, "bat.charge": good("bat.charge", 1.0 * AH, course.at_s + 1000.0)}
    assert next_charge(course.memory, course.store, ahead, course.channels, course.at_s) == course.memory


def test_without_a_memory_it_begins_at_the_gauge_with_a_bias_of_unknown_sign(build: Any) -> None:
    readings = {
        "bat.current": good("bat.current", 20.0, 50.0),
        "bat.charge": good("bat.charge", 700.0 * AH, 50.0),
    }
    memory = next_charge(None, battery(build), readings, channels(build), 60.0)
    assert memory is not None
    assert memory.state.level_a_s == 700.0 * AH
    assert (memory.state.bias_a, memory.state.bias_sd_a) == (0.0, 1.0)
    assert next_charge(None, battery(build), {}, channels(build), 60.0) is None


def test_while_the_gauge_is_silent_the_count_goes_on_and_grows_less_sure(build: Any) -> None:
    course = Course(build)
    before = course.run(3.0, 20.0)
    after = course.run(4.0, 20.0, silent=("bat.charge",))
    assert after.at_s == course.at_s
    assert after.level_si == pytest.approx(course.true_a_s, abs=3.0 * after.sd_si)
    assert after.sd_si > before.sd_si
    assert "counted on since the gauge was read" in after.why


def test_while_nobody_counts_the_gauge_alone_is_what_is_known(build: Any) -> None:
    course = Course(build)
    course.run(3.0, 20.0)
    after = course.run(2.0, 60.0, silent=("bat.current",))
    assert after.level_si == course.readings["bat.charge"].value_si
    assert after.sd_si == pytest.approx((25.0 + 100.0 / 12.0) ** 0.5 * AH)
    assert course.run(3.0, 60.0).level_si == pytest.approx(course.true_a_s, abs=15.0 * AH)


def test_a_gap_in_both_makes_the_level_unsure_until_the_gauge_is_back(build: Any) -> None:
    course = Course(build)
    course.run(6.0, 20.0)
    course.run(5.0, 80.0, silent=("bat.current", "bat.charge"))
    after = course.run(1.0 / 60.0, 20.0)
    # The meter's words before and after say 20 A, but 80 A were drawn: only the gauge can tell.
    assert after.level_si == pytest.approx(course.true_a_s, abs=20.0 * AH)
    assert after.quality is Quality.GOOD


def test_a_gauge_that_sticks_is_outvoted_by_nobody_the_lower_is_used_and_it_is_said(build: Any) -> None:
    course = Course(build, offset_a=0.0, accuracy_si=0.2)
    course.run(6.0, 20.0)
    for _ in range(REPEATED):
        high = course.run(1.0 / 60.0, 20.0, gauge_off_a_s=120.0 * AH)
    assert high.quality is Quality.SUSPECT
    assert high.level_si == pytest.approx(course.true_a_s, abs=8.0 * AH)
    assert "counted charge says" in high.why
    assert "the lower is used" in high.why
    for _ in range(REPEATED):
        low = course.run(1.0 / 60.0, 20.0, gauge_off_a_s=-120.0 * AH)
    assert low.quality is Quality.SUSPECT
    assert low.level_si == pytest.approx(course.true_a_s - 120.0 * AH, abs=16.0 * AH)
    assert course.run(1.0 / 60.0, 20.0).quality is Quality.GOOD


def test_one_spike_of_the_gauge_changes_nothing(build: Any) -> None:
    course = Course(build)
    course.run(6.0, 20.0)
    after = course.run(1.0 / 60.0, 20.0, gauge_off_a_s=-200.0 * AH)
    assert after.quality is Quality.GOOD
    assert after.level_si == pytest.approx(course.true_a_s, abs=8.0 * AH)


def test_a_counter_of_what_was_used_is_followed_where_there_is_no_meter_of_the_current(build: Any) -> None:
    store = battery(build, current=None, used=Measured(channel="bat.used"), rated_current_a=20.0)
    course = Course(build, store=store, offset_a=-1.0)
    found = course.run(36.0, 20.0)
    assert found.level_si == pytest.approx(280.0 * AH, abs=8.0 * AH)
    assert found.at_s == course.at_s
    assert "the counter of what was used shows" in found.why
    # Counting alone would say 316 A·h.
    assert 1000.0 * AH - course.used_a_s == pytest.approx(316.0 * AH)


def test_a_counter_follows_a_load_that_is_switched_off(build: Any) -> None:
    store = battery(build, current=None, used=Measured(channel="bat.used"), rated_current_a=20.0, peukert=1.0)
    course = Course(build, store=store)
    course.run(6.0, 20.0)
    found = course.run(6.0, 0.0, silent=("bat.charge",))
    assert found.level_si == pytest.approx(course.true_a_s, abs=3.0 * found.sd_si)
    assert found.level_si == pytest.approx(880.0 * AH, abs=10.0 * AH)


def test_a_gauge_beside_a_counter_at_rest_is_not_carried_on_at_the_draw_of_before(build: Any) -> None:
    store = battery(build, current=None, used=Measured(channel="bat.used"), rated_current_a=20.0)
    course = Course(build, store=store)
    course.run(6.0, 80.0)
    course.run(0.5, 0.0)
    assert course.memory is not None
    assert course.memory.current_a == 0.0
    assert course.at_s - course.memory.at_s < 600.0


def test_a_counter_that_was_set_back_begins_anew(build: Any) -> None:
    store = battery(build, current=None, used=Measured(channel="bat.used"), rated_current_a=20.0)
    course = Course(build, store=store)
    course.run(6.0, 20.0)
    course.used_a_s = 0.0
    found = course.run(6.0, 20.0, silent=("bat.charge",))
    assert found.level_si == pytest.approx(760.0 * AH, abs=12.0 * AH)


def test_between_two_words_of_the_meter_the_mean_of_both_is_counted(build: Any) -> None:
    made, store = channels(build), battery(build)
    charge = good("bat.charge", 700.0 * AH, 0.0)
    memory = None
    for at_s, current_a in ((0.0, 10.0), (60.0, 30.0)):
        readings = {"bat.current": good("bat.current", current_a, at_s), "bat.charge": charge}
        memory = next_charge(memory, store, readings, made, at_s)
    assert memory is not None
    assert memory.state.level_a_s == pytest.approx(700.0 * AH - 20.0 * 60.0)


def test_a_gauge_read_after_the_meter_is_carried_to_the_moment_of_the_count(build: Any) -> None:
    made, store = channels(build), battery(build)
    memory = next_charge(
        None,
        store,
        {"bat.current": good("bat.current", 60.0, 0.0), "bat.charge": good("bat.charge", 700.0 * AH, 0.0)},
        made,
        0.0,
    )
    # 80 s later the gauge shows just what 60 A took in that time, so there is nothing to learn from it.
    later = good("bat.charge", 700.0 * AH - 60.0 * 80.0, 80.0)
    after = next_charge(
        memory, store, {"bat.current": good("bat.current", 60.0, 0.0), "bat.charge": later}, made, 80.0
    )
    assert after is not None
    assert after.state.level_a_s == pytest.approx(700.0 * AH, abs=1e-6)
    assert (after.at_s, after.gauge_at_s) == (0.0, 80.0)


def test_a_gauge_in_shares_is_one_in_amounts(build: Any) -> None:
    store = battery(build, quantity=Measured(channel="bat.share"), quantity_is_share=True)
    found = Course(build, store=store, offset_a=1.0).run(36.0, 20.0)
    assert found.level_si == pytest.approx(280.0 * AH, abs=6.0 * AH)
    assert found.sd_si == pytest.approx(5.0 * AH)


def test_a_battery_in_energy_is_counted_at_its_bus_voltage(build: Any) -> None:
    course = Course(build)
    inside = course.run(2.0, 20.0)
    made = dict(course.channels)
    made["bat.charge"] = build.channel(
        "bat.charge", "kW*h", accuracy_si=280.0 * H, resolution_si=280.0 * H, stale_after_s=90.0
    )
    store = replace(course.store, capacity_si=28000.0 * H)
    memory, twin = None, Course(build)
    for _ in range(120):
        twin.run(1.0 / 60.0, 20.0)
        charge = twin.readings["bat.charge"]
        readings = {
            "bat.current": twin.readings["bat.current"],
            "bat.charge": replace(charge, value_si=(charge.value_si or 0.0) * 28.0),
        }
        memory = next_charge(memory, store, readings, made, twin.at_s, 28.0)
    assert memory is not None
    found = charge_estimate(memory, store, parse_unit("kW*h"), readings, made, twin.at_s, 28.0)
    assert found.level_si == pytest.approx(28.0 * inside.level_si, rel=1e-9)
    assert found.sd_si == pytest.approx(28.0 * inside.sd_si, rel=1e-9)


def test_the_store_holds_what_is_estimated_and_a_craft_is_followed_store_by_store(build: Any) -> None:
    course = Course(build)
    plain = build.store("plain", kind=StoreKind.BATTERY, capacity_si=10.0 * AH)
    craft = build.craft(
        build.supply("power", "A*h", course.store, plain, bus_voltage_v=28.0),
        channels=tuple(course.channels.values()),
    )
    memories: dict[str, ChargeMemory] = {}
    for _ in range(60):
        course.run(1.0 / 60.0, 20.0)
        memories = next_charges(memories, craft, course.readings, course.at_s)
    assert memories == {"bat": course.memory}
    fused = charge_estimates(memories, craft, course.readings, course.at_s)
    assert fused == {"bat": course.estimate()}
    found = store_quantity(
        course.store,
        build.supply("power", "A*h", course.store),
        course.readings,
        course.channels,
        (),
        course.at_s,
        fused["bat"],
    )
    assert (found.held_si, found.sd_si, found.basis) == (fused["bat"].level_si, 5.0 * AH, "counted and gauge")
    assert found.as_of_s == course.at_s


def test_a_bias_is_told_for_the_present_rate_where_it_is_clearly_there(build: Any) -> None:
    def biases(offset_a: float, **fields: Any) -> dict[str, float]:
        course = Course(build, store=battery(build, **fields), offset_a=offset_a)
        course.run(36.0, 20.0)
        assert course.memory is not None
        craft = build.craft(build.supply("power", "A*h", course.store, bus_voltage_v=28.0))
        return meter_biases_a({"bat": course.memory}, craft)

    assert biases(-1.0) == {"bat": pytest.approx(-1.0, abs=0.15)}
    assert biases(0.0) == {}
    # A counter of what was used is no meter of a rate.
    assert biases(-1.0, current=None, used=Measured(channel="bat.used"), rated_current_a=20.0) == {}


def test_what_is_no_battery_or_has_not_both_instruments_is_not_followed(build: Any) -> None:
    readings = {
        "bat.current": good("bat.current", 20.0, 0.0),
        "bat.charge": good("bat.charge", 700.0 * AH, 0.0),
    }
    for fields in (
        {"kind": StoreKind.LIQUID},
        {"current": None},
        {"quantity": None},
        {"quantity": Measured(constant_si=5.0)},
        {"current": Measured(constant_si=5.0)},
    ):
        assert next_charge(None, battery(build, **fields), readings, channels(build), 60.0) is None
