"""The allowance in the free phases in words: rounded to the side that does not flatter."""

from __future__ import annotations

from dataclasses import replace

import pytest

from console.craft.band_limits import BandLimits
from console.craft.model import Supply
from console.engine.allowance_profile import AllowanceProfile
from console.report.allowance import allowance_lines
from console.report.options_export import allowance_document
from console.units import parse_unit, rate_unit_of

UNIT = parse_unit("A*h")
PROFILE = AllowanceProfile(
    supply=Supply(
        name="power",
        unit=UNIT,
        rate_unit=rate_unit_of(UNIT),
        stores=(),
        bands=BandLimits(advisory_s=3.0, caution_s=2.0, warning_s=1.0),
    ),
    free_s=55 * 3600.0,
    power_up_s=5 * 3600.0,
    power_ups=("burn", "entry set-up"),
    power_ups_take_si=50.01 * 3600.0,
    allowance_si_per_s=4.019,
    allowance_low_si_per_s=3.509,
    planned_si_per_s=2.001,
    present_si_per_s=2.001,
    falls_si_per_s=-0.03669,
    held_down_at_s=None,
    why="",
)


def test_it_says_what_is_free_what_is_paid_first_and_what_is_left() -> None:
    assert allowance_lines(PROFILE) == [
        "free phases: 55.0 h until need; the power-ups (burn, entry set-up: 5.0 h) take",
        "    50.1 A·h first",
        "allowance in them: 4.01 A, low end 3.50 A; planned 2.01 A",
        "each hour of free time at the present 2.01 A adds 0.036 A",
    ]


@pytest.mark.parametrize(
    ("falls", "words"), [(0.0361, "takes 0.037 A"), (2.41, "takes 2.5 A"), (0.0, "leaves it as it is")]
)
def test_what_an_hour_takes_is_rounded_up(falls: float, words: str) -> None:
    assert allowance_lines(replace(PROFILE, falls_si_per_s=falls))[-1].endswith(words)


def test_what_holds_it_down_and_what_leaves_nothing_is_said() -> None:
    held = one_line(replace(PROFILE, held_down_at_s=40 * 3600.0))
    assert "held down by what must last until T+40h00m" in held
    nothing = one_line(replace(PROFILE, allowance_si_per_s=-0.5))
    assert "the power-ups and events alone take all there is" in nothing


def one_line(profile: AllowanceProfile) -> str:
    return " ".join(" ".join(allowance_lines(profile)).split())


def test_what_is_not_known_says_why_in_text_and_json() -> None:
    unknown = replace(PROFILE, allowance_si_per_s=None, allowance_low_si_per_s=None, why="no quantity")
    assert allowance_lines(unknown) == ["allowance in the free phases: not known: no quantity"]
    document = allowance_document(unknown)
    assert (document["allowance"], document["why"]) == (None, "no quantity")


def test_the_json_has_units_beside_its_figures() -> None:
    document = allowance_document(PROFILE)
    assert (document["free_h"], document["power_up_h"]) == (55.0, 5.0)
    assert (document["unit"], document["rate_unit"]) == ("A*h", "A")
    assert document["power_ups_take"] == pytest.approx(50.01)
    assert document["falls_by_each_hour"] == pytest.approx(-0.03669)
