"""What the simulated craft's instruments show, and what its source says when time does odd things."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from feed_builders import CHANNELS
from simulated_builders import SIMULATION, START_S, make_source, step, write_scenario

from console.craft.channels import Channel
from console.craft.model import LoadState, StoreState
from console.engine.reading import Quality
from console.feed.simulated import SimulatedSource
from console.feed.simulated_instruments import displayed
from console.feed.simulation_file import read_simulation
from console.units import parse_unit

FAN_OFF = step(0.0, loads={"heater": LoadState.OFF, "fan": LoadState.OFF})
"""Leaves the lamp alone: 2 A."""


def shown_a(source: SimulatedSource, channel: str, polls: int) -> list[float]:
    """What a channel shows, minute by minute."""
    values = [source.poll(START_S + 60.0 * number).readings[channel].value_si for number in range(polls)]
    return [value for value in values if value is not None]


def test_every_channel_has_a_fresh_good_reading_in_the_crafts_order(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    feed = source.poll(START_S + 60)
    assert (feed.source, feed.at_s, feed.quality, feed.faults) == (
        "simulated craft",
        START_S + 60,
        Quality.GOOD,
        (),
    )
    assert list(feed.readings) == list(write_scenario(tmp_path).craft.channels)
    others = [reading for name, reading in feed.readings.items() if name != "porch.light"]
    assert {(reading.quality, reading.at_s) for reading in others} == {(Quality.GOOD, START_S + 60)}


def test_an_instrument_that_looks_at_nothing_is_missing_and_says_why(tmp_path: Path) -> None:
    reading = make_source(tmp_path).poll(START_S).readings["porch.light"]
    assert (reading.quality, reading.value_si, reading.at_s) == (Quality.MISSING, None, None)
    assert reading.why == "the simulated craft has no such instrument"


def test_the_air_is_shown_as_it_was_written(tmp_path: Path) -> None:
    readings = make_source(tmp_path).poll(START_S).readings
    shown = [readings[f"room.{name}"].value_si for name in ("pressure", "ppo2", "ppco2")]
    assert shown == [pytest.approx(100e3), pytest.approx(21e3), pytest.approx(300)]


def test_noise_has_a_quarter_of_the_accuracy_as_its_spread_and_without_biases_no_other_error(
    tmp_path: Path,
) -> None:
    source = make_source(tmp_path, simulation=SIMULATION + "biases: none\n", changes=(FAN_OFF,))
    values = shown_a(source, "bat-1.current", 1000)
    # The battery gives 1 A of the lamp's 2; accuracy 0.2 A, step 0.1 A: sd² = 0.05² + 0.1²/12.
    sd = math.sqrt(0.05**2 + 0.1**2 / 12)
    mean = sum(values) / len(values)
    assert mean == pytest.approx(1.0, abs=4 * sd / math.sqrt(1000))
    spread = math.sqrt(sum((value - mean) ** 2 for value in values) / len(values))
    # A step of twice the noise is not quite even noise itself: a few percent more.
    assert spread == pytest.approx(sd, rel=4 / math.sqrt(2000) + 0.05)
    assert all(value == pytest.approx(round(value, 1)) for value in values), "steps of 0.1 A"


def test_where_no_bias_is_named_one_is_drawn_and_stays(tmp_path: Path) -> None:
    plain = SIMULATION + "biases: none\n"
    drawn, none = (make_source(tmp_path, simulation=text) for text in (SIMULATION, plain))
    bias_si = drawn._instruments.biases_si["bat-1.current"]
    assert bias_si != 0.0
    assert set(none._instruments.biases_si.values()) == {0.0}
    for source in (drawn, none):
        source.changes = lambda: (FAN_OFF,)
    differences = [
        one - other
        for one, other in zip(
            *(shown_a(source, "bat-1.current", 400) for source in (drawn, none)), strict=True
        )
    ]
    # The same noise on both; what a step of 0.1 A hides evens out over the noise.
    assert sum(differences) / 400 == pytest.approx(bias_si, abs=0.02)


def test_an_instrument_without_accuracy_or_step_shows_the_truth(tmp_path: Path) -> None:
    source = make_source(tmp_path, changes=(FAN_OFF,))
    assert shown_a(source, "bus.current", 5) == pytest.approx([2.0] * 5)


def test_a_bias_is_what_an_instrument_shows_too_much(tmp_path: Path) -> None:
    simulation = SIMULATION + "biases: {bus.current: 0.25 A, room.temperature: 2 degC}\n"
    biased, plain = (make_source(tmp_path, simulation=text) for text in (simulation, SIMULATION))
    warm_k, true_k = (
        source.poll(START_S).readings["room.temperature"].value_si for source in (biased, plain)
    )
    assert warm_k is not None
    assert true_k is not None
    assert warm_k - true_k == pytest.approx(2.0), "a difference, so its zero does not count"
    biased.changes = lambda: (FAN_OFF,)
    assert shown_a(biased, "bus.current", 5)[1:] == pytest.approx([2.25] * 4)


@pytest.mark.parametrize(("value_a", "shown"), [(-0.3, 0.0), (12.34, 12.3), (12.36, 12.4), (80.4, 80.0)])
def test_a_display_shows_steps_within_its_range(value_a: float, shown: float) -> None:
    channel = replace(CHANNELS["bat-1.current"], resolution_si=0.1)
    assert displayed(value_a, channel) == pytest.approx(shown)


def test_steps_count_from_the_zero_of_the_displays_own_unit() -> None:
    channel = Channel(name="t", unit=parse_unit("degC"), resolution_si=1.0)
    assert displayed(291.4, channel) == pytest.approx(291.15), "18 degC, not 291 K"


def test_the_same_moment_again_says_the_same(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    assert source.poll(START_S + 5) == source.poll(START_S + 5)


def test_before_its_start_everything_is_missing(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    feed = source.poll(START_S - 120)
    assert (feed.quality, feed.at_s) == (Quality.MISSING, None)
    assert feed.faults == ("simulated craft: it starts 2m00s after the moment that is asked for",)
    assert {reading.quality for reading in feed.readings.values()} == {Quality.MISSING}
    assert source.poll(START_S).quality is Quality.GOOD


def test_time_that_goes_back_is_told_and_changes_nothing(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    later = source.poll(START_S + 600)
    back = source.poll(START_S + 300)
    assert (back.quality, back.readings, back.at_s) == (Quality.SUSPECT, later.readings, START_S + 600)
    assert back.faults == (
        "simulated craft: it has lived 5m00s past the moment that is asked for and cannot go back",
    )
    assert source.poll(START_S + 600) == later


def test_a_reading_that_was_handed_out_never_changes(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    first = source.poll(START_S)
    kept = dict(first.readings)
    source.poll(START_S + 3600)
    assert first.readings == kept


def test_a_bottle_that_cannot_be_reckoned_has_no_reading_instead_of_a_false_one(tmp_path: Path) -> None:
    # At the very end of what is known of oxygen, a bottle that warms a little lies beyond it.
    shut = step(0.0, stores={"o2-1": StoreState.ISOLATED})
    simulation = SIMULATION.replace("10 MPa", "29.99 MPa")
    source = make_source(tmp_path, simulation=simulation, changes=(shut,))
    readings = [source.poll(START_S + 3600.0 * hour).readings["o2-1.pressure"] for hour in range(24)]
    missing = [reading for reading in readings if reading.quality is Quality.MISSING]
    assert 0 < len(missing) < 24
    assert {(reading.value_si, reading.at_s) for reading in missing} == {(None, None)}


def test_a_simulation_says_its_seed_start_and_speed(tmp_path: Path) -> None:
    scenario = write_scenario(tmp_path)
    simulation = read_simulation(scenario)
    assert (simulation.seed, simulation.start_s, simulation.speed) == (11, START_S, 60.0)
    assert SimulatedSource(scenario, simulation).poll(START_S).quality is Quality.GOOD
