"""Bands: worse after the on-delay, better only after deadband and off-delay, and no chatter on a limit."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from console.craft.band_limits import BandLimits
from console.engine.bands import BandMemory, next_bands
from console.engine.snapshot import Band

H = 3600.0
PLAIN = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)
DAMPED = BandLimits(
    advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H, deadband_s=1 * H, on_delay_s=60.0, off_delay_s=120.0
)


def course(limits: BandLimits, margins_h: list[float], step_s: float) -> list[Band]:
    memory: BandMemory | None = None
    bands = []
    for index, margin_h in enumerate(margins_h):
        memory = next_bands(limits, memory, margin_h * H, index * step_s)
        bands.append(memory.band)
    return bands


@pytest.mark.parametrize(
    ("margin_h", "band"),
    [
        (math.inf, Band.NOMINAL),
        (24.0, Band.NOMINAL),
        (23.99, Band.ADVISORY),
        (12.0, Band.ADVISORY),
        (11.99, Band.CAUTION),
        (3.0, Band.CAUTION),
        (2.99, Band.WARNING),
        (-20.0, Band.WARNING),
    ],
)
def test_the_first_look_takes_the_band_of_the_margin_at_once(margin_h: float, band: Band) -> None:
    assert course(DAMPED, [margin_h], 1.0) == [band]


def test_a_worse_band_waits_for_the_on_delay_and_no_longer() -> None:
    bands = course(DAMPED, [30.0, 11.0, 11.0, 11.0], 30.0)
    assert bands == [Band.NOMINAL, Band.NOMINAL, Band.NOMINAL, Band.CAUTION]


def test_a_dip_shorter_than_the_on_delay_shows_nothing() -> None:
    assert set(course(DAMPED, [30.0, 11.0, 30.0, 11.0, 30.0], 30.0)) == {Band.NOMINAL}


def test_a_better_band_needs_the_deadband_and_the_off_delay() -> None:
    bands = course(DAMPED, [11.0, 12.5, 12.5, 12.5, 13.5, 13.5, 13.5], 60.0)
    assert bands == [Band.CAUTION] * 6 + [Band.ADVISORY]


def test_a_margin_that_sways_about_a_limit_changes_the_band_once() -> None:
    swaying = [24.3 + 0.6 * math.sin(index / 5.0) for index in range(600)]
    bands = course(DAMPED, swaying, 10.0)
    assert sum(before is not after for before, after in pairwise(bands)) == 1


def test_a_fall_through_two_limits_shows_the_worse_one() -> None:
    assert course(PLAIN, [30.0, 1.0], 1.0) == [Band.NOMINAL, Band.WARNING]


def test_a_clock_that_steps_back_does_not_turn_a_band() -> None:
    memory = next_bands(DAMPED, None, 30 * H, 1000.0)
    memory = next_bands(DAMPED, memory, 11 * H, 1000.0)
    memory = next_bands(DAMPED, memory, 11 * H, 10.0)
    assert memory.band is Band.NOMINAL


def test_a_supply_that_is_short_in_its_central_case_is_shown_at_once() -> None:
    memory = next_bands(DAMPED, None, 30 * H, 0.0)
    memory = next_bands(DAMPED, memory, -8 * H, 1.0, is_short=True)
    assert memory.band is Band.WARNING


def test_a_band_is_not_left_on_bad_readings_however_long_they_last() -> None:
    memory = next_bands(DAMPED, None, 1 * H, 0.0)
    for at_s in range(0, 3600, 60):
        memory = next_bands(DAMPED, memory, 30 * H, float(at_s), may_ease=False)
    assert memory.band is Band.WARNING
    memory = next_bands(DAMPED, memory, 30 * H, 3600.0)
    assert memory.band is Band.WARNING
    memory = next_bands(DAMPED, memory, 30 * H, 3720.0)
    assert memory.band is Band.NOMINAL
