"""Numbers to text: never to the side that flatters, never a blank, nothing that acts on a terminal."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.display import (
    UNKNOWN,
    Rounding,
    age_text,
    amount_interval_text,
    amount_text,
    cabin_text,
    cabin_unit,
    clean_text,
    countdown_text,
    elapsed_text,
    figure_text,
    hours_figure,
    hours_interval_text,
    hours_text,
    margin_text,
    margin_word,
    mass_unit,
    probability_text,
    rate_text,
    span_text,
    time_of_day_text,
    utc_text,
    velocity_unit,
)
from console.units import UnitSystem, parse_unit

HOUR_S = 3600.0
SECONDS = st.floats(min_value=-3e7, max_value=3e7)
POSITIVE = st.floats(min_value=0.0, max_value=3e7)
STEP_H = 0.1
SLACK_H = 1e-4
"""Far above the tolerance that keeps 12.3 h at 12.3, far below the step that is shown."""


def test_a_time_left_is_rounded_down():
    assert hours_text(87.68 * HOUR_S) == "87.6 h"
    assert hours_text(0.09 * HOUR_S) == "0.0 h"


def test_a_whole_figure_is_not_lowered_by_the_arithmetic_of_floats():
    for tenth in range(1, 2000):
        assert hours_figure(tenth * 360.0) == f"{tenth / 10:.1f}"


def test_the_time_to_need_is_rounded_up():
    assert hours_text(79.63 * HOUR_S, Rounding.UP) == "79.7 h"


def test_a_margin_is_rounded_towards_the_worse_on_both_sides_of_zero():
    assert margin_text(12.49 * HOUR_S) == "spare 12.4 h"
    assert margin_text(-3.14 * HOUR_S) == "SHORT 3.2 h"
    assert margin_text(-0.001 * HOUR_S) == "SHORT 0.1 h", "a shortfall is never shown as none"
    assert margin_text(0.001 * HOUR_S) == "spare 0.0 h"
    assert margin_text(0.0) == margin_text(-0.0) == "spare 0.0 h"


def test_a_margin_has_a_word_in_the_place_of_its_sign():
    for seconds in (-4e7, -12_345.0, -1.0, 0.0, 1.0, 12_345.0, 4e7):
        assert not set("+-") & set(margin_text(seconds))


def test_a_shortfall_is_never_clipped():
    assert margin_text(-123456.78 * HOUR_S) == "SHORT 123456.8 h"


def test_a_time_too_long_to_matter_is_said_to_be_over_a_limit_it_passes():
    assert hours_text(10_000 * HOUR_S) == "over 9999 h"
    assert hours_text(9999.9 * HOUR_S) == "9999.9 h"


@given(SECONDS)
def test_no_margin_looks_better_than_it_is(seconds):
    word, figure, _ = margin_text(seconds).split()
    shown_h = -float(figure) if word == "SHORT" else float(figure)
    assert shown_h <= seconds / HOUR_S + SLACK_H
    assert shown_h > seconds / HOUR_S - STEP_H - SLACK_H
    assert margin_word(seconds) == ("SHORT" if seconds < 0 else "spare")


@given(POSITIVE)
def test_no_age_looks_younger_than_it_is(seconds):
    assert _seconds_of(age_text(seconds)) >= seconds - 1e-3


@given(POSITIVE)
def test_no_time_left_looks_longer_than_it_is(seconds):
    assert _seconds_of(span_text(seconds, Rounding.DOWN)) <= seconds + 1e-3


@given(st.floats(min_value=1e-3, max_value=1e5))
def test_amounts_go_down_and_rates_go_up(value):
    kilogram, per_hour = parse_unit("kg"), parse_unit("kg/h")
    shown = float(amount_text(value, kilogram).split()[0])
    shown_rate = float(rate_text(value * per_hour.factor, per_hour).split()[0])
    assert shown <= value * (1 + 1e-6)
    assert shown_rate >= value * (1 - 1e-6)
    assert shown == pytest.approx(value, rel=0.11, abs=1e-3), (
        "three figures, less where the third decimal is the last"
    )


def _seconds_of(text):
    sizes = {"d": 86400, "h": 3600, "m": 60, "s": 1}
    total, digits = 0, ""
    for character in text.replace(" ", ""):
        if character.isdigit():
            digits += character
        else:
            total, digits = total + int(digits) * sizes[character], ""
    return total


@pytest.mark.parametrize("missing", [None, math.nan, math.inf, -math.inf])
def test_what_is_missing_or_no_number_is_a_word_and_never_a_figure(missing):
    assert hours_text(missing) == UNKNOWN
    assert margin_text(missing) == UNKNOWN
    assert amount_text(missing, parse_unit("kg")) == UNKNOWN
    assert rate_text(missing, parse_unit("kg/h")) == UNKNOWN
    assert probability_text(missing) == UNKNOWN
    assert age_text(missing) == UNKNOWN


def test_amounts_are_shown_in_the_unit_of_the_supply_to_three_or_four_figures():
    assert amount_text(1_152_000.0, parse_unit("A*h")) == "320.0 A·h"
    assert amount_text(12.39, parse_unit("kg")) == "12.3 kg"
    assert amount_text(1.239, parse_unit("kg")) == "1.23 kg"
    assert amount_text(0.1239, parse_unit("kg")) == "0.123 kg"
    assert amount_text(12345.6, parse_unit("kg")) == "12345 kg"
    assert amount_text(0.0, parse_unit("kg")) == "0 kg"
    assert amount_text(-2.134, parse_unit("kg"), signed=True) == "-2.14 kg"


def test_both_ends_of_an_interval_of_amounts_have_the_same_decimals():
    assert amount_interval_text(-15.71, 1.239, parse_unit("kg")) == "-15.8 to 1.2 kg"
    assert amount_interval_text(None, 1.239, parse_unit("kg")) == "not known to 1.23 kg"


def test_an_interval_without_an_end_says_so():
    assert hours_interval_text(29.1 * HOUR_S, 41.0 * HOUR_S) == "29.1 to 41.0 h"
    assert hours_interval_text(29.1 * HOUR_S, None) == "29.1 h or more, no upper limit"
    assert hours_interval_text(None, 41.0 * HOUR_S) == "up to 41.0 h, low end not known"
    assert hours_interval_text(None, None) == UNKNOWN


def test_a_chance_is_rounded_down_and_never_certain():
    assert probability_text(0.9999) == "99 %"
    assert probability_text(1.0) == "over 99 %"
    assert probability_text(0.0) == "under 1 %"
    assert probability_text(0.29) == "29 %", "0.29 * 100 is 28.999999999999996 in floats"


def test_a_span_changes_its_units_where_the_smaller_ones_stop_to_matter():
    assert span_text(59.4, Rounding.DOWN) == "59 s"
    assert span_text(59.4, Rounding.UP) == "1m00s"
    assert span_text(3599.5, Rounding.UP) == "1h00m"
    assert span_text(360_000.0, Rounding.DOWN) == "4d04h"


def test_a_countdown_that_has_run_out_says_how_long_ago():
    assert countdown_text(18_485.0) == "in 5h08m"
    assert countdown_text(0.0) == "in 0 s"
    assert countdown_text(-60.5) == "1m01s ago"


def test_elapsed_time_is_shown_as_it_may_be_typed_back():
    from console.instants import parse_instant_s

    epoch = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
    for at_s in (0.0, 93_134.0, 1e7, -60.0, -3600.0):
        assert parse_instant_s(elapsed_text(at_s, with_seconds=True), epoch) == at_s


def test_a_moment_is_shown_in_utc_to_the_minute_it_lies_in():
    late = datetime(2041, 6, 4, 18, 50, 59, tzinfo=timezone(timedelta(hours=2)))
    assert utc_text(late) == "2041-06-04 16:50 UTC"
    assert utc_text(late, with_seconds=True) == "2041-06-04 16:50:59 UTC"
    assert time_of_day_text(late) == "16:50:59"


def test_rounding_to_the_nearest_is_there_for_what_must_add_up():
    assert figure_text(1.26, 1, Rounding.NEAREST) == "1.3"
    assert figure_text(1.24, 1, Rounding.NEAREST) == "1.2"
    assert figure_text(math.nan, 1) == UNKNOWN


@given(st.text(max_size=60))
def test_cleaned_text_holds_nothing_that_acts_on_a_terminal(text):
    cleaned = clean_text(text)
    assert not any(ord(character) < 0x20 and character not in "\n\t" for character in cleaned)
    assert not any(0x7F <= ord(character) <= 0x9F for character in cleaned)
    assert not any(
        character in "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
        for character in cleaned
    )
    assert clean_text(cleaned) == cleaned


PROPERTIES = (
    "pressure",
    "oxygen",
    "inspired_oxygen",
    "carbon_dioxide",
    "humidity",
    "temperature",
    "apparent_temperature",
)


def test_these_are_all_the_properties_a_cabin_has():
    from console.craft.cabin import CabinProperty

    assert set(PROPERTIES) == {property.value for property in CabinProperty}


@pytest.mark.parametrize(
    ("system", "units"),
    [
        (UnitSystem.US, ("psi", "mmHg", "mmHg", "mmHg", "%", "degF", "degF")),
        (UnitSystem.METRIC, ("kPa", "kPa", "kPa", "kPa", "%", "degC", "degC")),
        (UnitSystem.AS_WRITTEN, ("kPa", "kPa", "kPa", "kPa", "%", "degC", "degC")),
    ],
)
def test_the_cabin_is_read_in_the_units_of_the_system(system, units):
    assert tuple(cabin_unit(name, system).text for name in PROPERTIES) == units


@pytest.mark.parametrize("system", list(UnitSystem))
def test_a_share_of_a_gas_is_a_fraction_in_every_system(system):
    assert cabin_unit("oxygen", system, is_share=True).text == "%"
    assert cabin_unit("carbon_dioxide", system, written=parse_unit("ppm"), is_share=True).text == "ppm"


def test_what_was_written_is_kept_only_where_it_is_to_be_read_as_written():
    written = parse_unit("mmHg")
    assert cabin_unit("carbon_dioxide", UnitSystem.AS_WRITTEN, written=written).text == "mmHg"
    assert cabin_unit("carbon_dioxide", UnitSystem.METRIC, written=written).text == "kPa"
    assert cabin_unit("pressure", UnitSystem.US, written=parse_unit("kPa")).text == "psi"


def test_the_cabin_is_never_shown_better_than_it_is():
    kilopascal = parse_unit("kPa")
    assert cabin_text("carbon_dioxide", 1001.0, kilopascal) == "1.01 kPa"
    assert cabin_text("oxygen", 20_199.0, kilopascal) == "20.1 kPa"
    assert cabin_text("pressure", 37_699.0, kilopascal) == "37.6 kPa"
    assert cabin_text("carbon_dioxide", 1001.0, kilopascal, Rounding.DOWN) == "1.00 kPa"
    assert cabin_text("temperature", 291.0, parse_unit("degC")) == "17.9 degC"  # 17.85
    assert cabin_text("temperature", None, parse_unit("degC")) == UNKNOWN


def test_velocity_and_mass_follow_the_system():
    assert velocity_unit(UnitSystem.US).from_si(0.3048) == pytest.approx(1.0)  # exact by definition
    assert velocity_unit(UnitSystem.METRIC).text == velocity_unit(UnitSystem.AS_WRITTEN).text == "m/s"
    assert mass_unit(UnitSystem.US).text == "lb"
    assert mass_unit(UnitSystem.METRIC).text == mass_unit(UnitSystem.AS_WRITTEN).text == "kg"
