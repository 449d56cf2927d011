"""Faults of instruments: what is shown is wrong in the way that the fault says, and the truth stays."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from contingency_builders import QUIET, H, lived
from simulated_builders import START_S, make_source

from console.engine.reading import Quality
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulated_recorded import Recorded
from console.units import parse_unit

AT_S, UNTIL_S = START_S + H, START_S + 3 * H
CHANNEL = "bat-2.left"
"""It has no accuracy and no step, so that without a fault it shows the truth."""


def pair(folder: Path, every_s: float = 60.0, **values: object) -> tuple[Recorded, Recorded]:
    """The station with one fault of its instruments from T+2h to T+4h, and without."""
    values = {"channel": CHANNEL, "at_s": AT_S, "until_s": UNTIL_S} | values
    fault = SimulatedFault(**values)  # type: ignore[arg-type]  # one fault's fields
    return lived(folder, 4.0, fault, every_s=every_s), lived(folder, 4.0, every_s=every_s)


def on(recorded: Recorded) -> np.ndarray:  # type: ignore[type-arg]  # any numbers
    """Which readings the fault befalls."""
    return (recorded.times_s >= AT_S) & (recorded.times_s < UNTIL_S)


# The type is not asked of it: any numbers.
def error(faulty: Recorded, sound: Recorded, channel: str = CHANNEL) -> np.ndarray:  # type: ignore[type-arg]
    """What is shown too much, where something is shown."""
    for store, held_si in sound.store_held_si.items():
        assert held_si.tolist() == faulty.store_held_si[store].tolist(), "the truth is untouched"
    for name, values_si in sound.values_si.items():
        if name != channel:
            assert np.array_equal(values_si, faulty.values_si[name], equal_nan=True), name
    return faulty.values_si[channel] - sound.values_si[channel]


def test_a_bias_steps_up_and_down(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, kind=FaultKind.BIAS, size_si=720.0)
    off = error(faulty, sound)
    assert off[on(faulty)] == pytest.approx(720.0)
    assert off[~on(faulty)] == pytest.approx(0.0, abs=1e-6)


def test_a_drift_grows_with_time(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, kind=FaultKind.DRIFT, per_hour_si=-360.0)
    hours = (faulty.times_s - AT_S) / H
    assert error(faulty, sound)[on(faulty)] == pytest.approx((-360.0 * hours)[on(faulty)], abs=1e-6)


def test_a_stuck_instrument_shows_what_it_showed_and_then_the_truth_again(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, kind=FaultKind.STUCK)
    first = int(np.flatnonzero(on(faulty))[0])
    shown = faulty.values_si[CHANNEL]
    assert set(shown[on(faulty)].tolist()) == {sound.values_si[CHANNEL][first]}
    assert error(faulty, sound)[~on(faulty)] == pytest.approx(0.0, abs=1e-6)
    jammed, _ = pair(tmp_path, kind=FaultKind.STUCK, value_si=3600.0)
    assert set(jammed.values_si[CHANNEL][on(jammed)].tolist()) == {3600.0}


def test_a_channel_drops_out_and_comes_back(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, kind=FaultKind.DROP_OUT)
    off = error(faulty, sound)
    assert np.isnan(off).tolist() == on(faulty).tolist()
    silent = lived(
        tmp_path, 4.0, SimulatedFault(kind=FaultKind.DROP_OUT, at_s=AT_S, until_s=UNTIL_S, is_null=True)
    )
    assert all(np.isnan(values[on(silent)]).all() for values in silent.values_si.values()), "all of them"
    assert not np.isnan(silent.values_si[CHANNEL][~on(silent)]).any()


def test_spikes_come_at_their_rate_with_their_height(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, 10.0, kind=FaultKind.SPIKES, size_si=5000.0, per_hour=60.0)
    off = error(faulty, sound)[on(faulty)]
    spikes = off > 2500.0
    assert off[spikes] == pytest.approx(5000.0)
    assert off[~spikes] == pytest.approx(0.0, abs=1e-6)
    # 720 readings, each with the chance 1 - exp(-1/6): 110.5, give or take sqrt(n p (1 - p)) = 9.7.
    assert int(spikes.sum()) == pytest.approx(110.5, abs=4 * 9.7)


def test_noise_grows_so_many_times(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.NOISE, channel="bat-1.current", at_s=AT_S, until_s=UNTIL_S, factor=9.0
    )
    simulation = QUIET.replace("wander: 0 %", "wander: 0.001 %")
    faulty, sound = (
        lived(tmp_path, 4.0, *faults, simulation=simulation, every_s=10.0) for faults in ((fault,), ())
    )
    off = error(faulty, sound, "bat-1.current")
    # The same draws, nine times as large instead of once: eight times 0.05 A, blurred by a step of 0.1 A.
    expected = math.hypot(8 * 0.05, 0.04)
    assert off[on(faulty)].std() == pytest.approx(expected, rel=4 / math.sqrt(2 * 720))
    assert off[~on(faulty)] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("kind", [FaultKind.OSCILLATION, FaultKind.STRATIFIED])
def test_a_swing_has_its_amplitude_and_period_about_the_truth(tmp_path: Path, kind: FaultKind) -> None:
    where = {"store": "bat-2", "channel": None} if kind is FaultKind.STRATIFIED else {}
    faulty, sound = pair(tmp_path, 30.0, kind=kind, size_si=900.0, period_s=1800.0, **where)
    off = error(faulty, sound)[on(faulty)]
    assert off.max() == pytest.approx(900.0, rel=0.01)
    assert off.min() == pytest.approx(-900.0, rel=0.01)
    assert off.mean() == pytest.approx(0.0, abs=1.0), "four whole periods"
    assert off[:60] == pytest.approx(off[60:120], abs=1e-6), "60 readings later it is there again"


def test_a_slipped_unit_shows_the_other_units_number(tmp_path: Path) -> None:
    where = {"channel": "room.pressure", "unit": parse_unit("psi")}
    faulty, sound = pair(tmp_path, kind=FaultKind.UNIT_SLIP, **where)
    error(faulty, sound, "room.pressure")
    ratio = faulty.values_si["room.pressure"] / sound.values_si["room.pressure"]
    # 1 psi = 6.894757 kPa: a hundred kilopascals read as fourteen and a half.
    assert ratio[on(faulty)] == pytest.approx(1 / 6.894757, rel=1e-6)
    assert ratio[~on(faulty)] == pytest.approx(1.0)
    warm = {"channel": "room.temperature", "unit": parse_unit("degF")}
    faulty, sound = pair(tmp_path, kind=FaultKind.UNIT_SLIP, **warm)
    celsius = sound.values_si["room.temperature"] - 273.15
    shown = faulty.values_si["room.temperature"] - 273.15
    assert shown[on(faulty)] == pytest.approx((celsius * 1.8 + 32.0)[on(faulty)])


def test_the_producers_clock_steps_and_steps_back(tmp_path: Path) -> None:
    faulty, sound = pair(tmp_path, kind=FaultKind.CLOCK_STEP, channel=None, by_s=-90.0)
    assert error(faulty, sound) == pytest.approx(0.0, abs=1e-9), "values are as they were"
    off = faulty.stamps_s - faulty.times_s
    assert set(off[on(faulty)].tolist()) == {-90.0}
    assert set(off[~on(faulty)].tolist()) == {0.0}


def test_of_times_that_repeat_every_second_one_is_that_of_the_reading_before(tmp_path: Path) -> None:
    faulty, _ = pair(tmp_path, kind=FaultKind.REPEATED_TIMES, channel=None)
    rows = np.flatnonzero(on(faulty))
    behind = (faulty.times_s - faulty.stamps_s)[rows]
    assert behind.tolist() == [0.0, 60.0] * (len(rows) // 2)


def test_readings_one_by_one_are_those_of_the_whole_contingency(tmp_path: Path) -> None:
    texts = [
        "kind: spikes, channel: tank.used, size: 5 kg, per_hour: 30",
        "kind: stuck, channel: bus.current, until: T+2h30m",
        "kind: oscillation, channel: bat-2.left, amplitude: 1 A*h, period: 20 min",
        "kind: noise, channel: bat-1.current, times: 4",
    ]
    faults = "".join(f"  - {{at: T+1h20m, {text}}}\n" for text in texts)
    simulation = QUIET.replace("wander: 0 %", "wander: 5 %") + f"faults:\n{faults}"
    at_once = lived(tmp_path, 2.0, simulation=simulation, has_operators=False, step_s=10.0)
    source = make_source(tmp_path, simulation=simulation)
    for row, at_s in enumerate(at_once.times_s.tolist()):
        for name, reading in source.poll(at_s).readings.items():
            value_si = at_once.values_si[name][row]
            assert reading.value_si == (None if math.isnan(value_si) else pytest.approx(value_si)), (
                name,
                at_s,
            )


@pytest.mark.parametrize(
    ("fault", "quality", "why"),
    [
        ("kind: drop-out, channel: bus.current", Quality.STALE, "not in what the simulated craft sends"),
        ("kind: drop-out, channel: bus.current, says: null", Quality.MISSING, "the source says null"),
        ("kind: stuck, channel: bus.current", Quality.GOOD, ""),
        ("kind: clock-step, back: 10 min", Quality.SUSPECT, "its time lies 10m00s before the last good one"),
        ("kind: clock-step, ahead: 10 min", Quality.SUSPECT, "its time lies 10m00s ahead of now"),
    ],
)
def test_on_the_board_what_is_wrong_is_told_and_the_last_good_value_stays(
    tmp_path: Path, fault: str, quality: Quality, why: str
) -> None:
    simulation = QUIET + f"faults:\n  - {{at: T+2h, {fault}}}\n"
    source = make_source(tmp_path, simulation=simulation)
    source.poll(START_S)
    before = source.poll(2 * H - 1.0).readings["bus.current"]
    feed = source.poll(2 * H + 0.5)
    reading = feed.readings["bus.current"]
    assert reading.quality is (Quality.MISSING if quality is Quality.STALE else quality)
    assert why.split(" 1")[0] in reading.why
    if quality is not Quality.GOOD:
        assert (reading.value_si, reading.at_s) == (before.value_si, before.at_s)
    if "clock" in fault:
        assert feed.quality is Quality.SUSPECT
        assert feed.at_s == before.at_s
        assert feed.faults
    later = source.poll(2 * H + 120.0).readings["bus.current"]
    assert later.quality is (Quality.MISSING if quality is Quality.STALE else quality)


def test_a_value_in_another_unit_that_no_gauge_could_show_is_not_believed(tmp_path: Path) -> None:
    simulation = QUIET + "faults:\n  - {at: T+2h, kind: unit-slip, channel: o2-1.pressure, unit: psi}\n"
    source = make_source(tmp_path, simulation=simulation)
    before = source.poll(2 * H - 1.0).readings["o2-1.pressure"]
    reading = source.poll(2 * H + 1.0).readings["o2-1.pressure"]
    assert (reading.quality, reading.value_si) == (Quality.SUSPECT, before.value_si)
    assert "beyond the channel's range" in reading.why
