"""Moments: RFC 3339 with Z and time since the epoch, strictly; everything else is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.errors import InstantError
from console.instants import at_epoch_plus, format_utc, parse_instant_s, parse_utc, seconds_since

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("T+0h", 0.0),
        ("T+12h30m", 45000.0),
        ("T+1d2h3m4s", 93784.0),
        ("T-90m", -5400.0),
        ("T+25.8h", 92880.0),
        ("2041-06-02T03:10:00Z", 0.0),
        ("2041-06-03T04:58:00.5Z", 92880.5),
    ],
)
def test_both_forms_give_seconds_since_the_epoch(text: str, seconds: float) -> None:
    assert parse_instant_s(text, EPOCH) == pytest.approx(seconds)


@pytest.mark.parametrize(
    "text",
    [
        "12:30:00", "2041-06-02", "2041-06-02T03:10:00", "2041-06-02T03:10:00+00:00", "2041-06-02 03:10:00Z",
        "2041-02-30T00:00:00Z", "2041-06-02T24:00:00Z", "2041-06-02T23:59:60Z", "T+", "T+h", "T12h",
        "T+30m2h", "T+999999999h", "t+2h", "", "٢٠٤١-06-02T03:10:00Z", "now",
    ],
)  # fmt: skip
def test_other_forms_are_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(InstantError) as caught:
        parse_instant_s(text, EPOCH)
    assert repr(text) == caught.value.found
    assert "write" in caught.value.expected


def test_another_zone_is_printed_in_utc() -> None:
    assert (
        format_utc(datetime(2041, 6, 2, 5, 10, tzinfo=timezone(timedelta(hours=2)))) == "2041-06-02T03:10:00Z"
    )


@given(st.integers(0, 10**9))
def test_milliseconds_survive_printing_and_reading(milliseconds: int) -> None:
    moment = EPOCH + timedelta(milliseconds=milliseconds)
    assert parse_utc(format_utc(moment)) == moment
    assert at_epoch_plus(EPOCH, seconds_since(EPOCH, moment)) == moment
