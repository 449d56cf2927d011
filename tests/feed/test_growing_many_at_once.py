"""What is read many at once is what Python reads one by one: numbers to the last bit, times, names, cells."""

from __future__ import annotations

import random
import re
from datetime import datetime

import numpy as np
import pytest
from feed_builders import EPOCH
from hypothesis import example, given
from hypothesis import strategies as st

from console.errors import InstantError
from console.feed.growing_bytes import Padded
from console.feed.growing_cells import cells_of
from console.feed.growing_names import LONGEST_NAME, NameTable
from console.feed.growing_numbers import numbers
from console.feed.growing_times import microseconds, times_since
from console.feed.validity import utc_since_s

PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)", re.ASCII)


def places(cells: list[str]) -> tuple[Padded, np.ndarray, np.ndarray]:
    """Cells as one text, and where they stand."""
    content = [cell.encode() for cell in cells]
    ends = np.cumsum([len(cell) + 1 for cell in content]) - 1
    padded = Padded(b",".join(content) + b"\n")
    ends += padded.begin
    return padded, ends - np.array([len(cell) for cell in content]), ends


def assert_numbers_are_pythons(cells: list[str]) -> int:
    """Every number read is the float of its text, sign of zero included; gives how many were read."""
    values, fits = numbers(*places(cells))
    for cell, value, is_read in zip(cells, values.tolist(), fits.tolist(), strict=True):
        if is_read:
            assert PLAIN_NUMBER.fullmatch(cell), cell
            assert repr(value) == repr(float(cell)), cell
    return int(fits.sum())


number_like = st.one_of(
    st.from_regex(PLAIN_NUMBER, fullmatch=True),
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.decimals(allow_nan=False, allow_infinity=False, places=3).map(str),
    st.integers().map(str),
    st.text(alphabet="0123456789.-+eE /:;", max_size=26),
)


@given(st.lists(number_like, min_size=1, max_size=40))
@example(["9007199254740993", "-0", "-0.0", "+.5", "5.", ".", "-", "+", "", "1e5", "1..2", "1.2.3", "--1"])
@example(
    ["9007199254740993.0", "0.1234567890123456789012", "922337203685477580.7", "99999999999999999999999"]
)
@example(["1.2.3.4567890123", "12345678.12345678.1", "/9", ":9", "0.0000000000000000000001"])
@example(["1" * 23 + "." + "1" * 23, "1" * 30])
def test_a_number_read_among_many_is_the_float_that_python_makes_of_it(cells: list[str]) -> None:
    assert_numbers_are_pythons(cells)


def test_random_doubles_in_all_their_digits_are_read_to_the_last_bit_and_nearly_all_of_them() -> None:
    rng = random.Random(5)
    cells = [repr(rng.uniform(-1, 1) * 10 ** rng.randrange(-3, 8)) for _ in range(20_000)]
    cells = [cell for cell in cells if "e" not in cell]
    assert assert_numbers_are_pythons(cells) > 0.98 * len(cells)


def test_numbers_that_lie_close_to_half_way_between_two_floats_are_never_rounded_to_the_wrong_side() -> None:
    rng = random.Random(6)
    cells = []
    for _ in range(5_000):
        # Just beside the middle between two neighbouring floats of some size, in 17 or 18 digits.
        mantissa, decimals = rng.randrange(2**53, 2**54) | 1, rng.randrange(3, 16)
        digits = str(mantissa * rng.choice((10, 16, 20, 50)) + rng.choice((-1, 0, 1)))[:18]
        cells.append(f"{digits[:-decimals] or '0'}.{digits[-decimals:]}")
    assert assert_numbers_are_pythons(cells) > 1000


def test_usual_numbers_are_all_read_so_that_they_need_not_be_read_one_by_one() -> None:
    cells = [
        "0",
        "4.2",
        "-17.25",
        "101325",
        "101325.125",
        "0.00012",
        "291.4",
        "11.2",
        "+3",
        "12345678.5",
        "7.",
    ]
    assert assert_numbers_are_pythons(cells) == len(cells)


def assert_times_are_the_feeds(cells: list[str], epoch: datetime) -> int:
    times_s, fits = times_since(*places(cells), microseconds(epoch))
    for cell, at_s, is_read in zip(cells, times_s.tolist(), fits.tolist(), strict=True):
        if is_read:
            assert utc_since_s(cell, epoch) == at_s, cell
    return int(fits.sum())


stamps = st.datetimes(datetime(1890, 1, 1), datetime(2510, 1, 1)).map(datetime.isoformat).map("{}Z".format)  # noqa: DTZ001
two = st.integers(0, 99).map("{:02d}".format)
time_like = st.one_of(
    stamps,
    st.builds("{}-{}-{}T{}:{}:{}Z".format, st.integers(1899, 2501), two, two, two, two, two),
    st.builds("2041-06-02T03:10:00.{}Z".format, st.text("0123456789x", max_size=11)),
    st.text("0123456789-:TZ. z+", max_size=32),
)


@given(
    st.lists(time_like, min_size=1, max_size=30).flatmap(
        lambda some: st.lists(st.sampled_from(some), min_size=1)
    )
)
@example(["2041-06-02T03:10:00Z", "2041-06-02T03:10:60Z", "2041-02-29T03:10:00Z", "2040-02-29T24:00:00Z"])
@example(
    [
        "2041-06-02T03:10:00Z",
        "2041-06-02T03:10:00.Z",
        "2041-06-02T03:10:00xZ",
        "2041-06-02T03:10:00.1234567891Z",
    ]
)
@example(["", "Z", "2041-06-02 03:10:00Z", "2041-06-02T03:10:00.999999999Z", "2041-06-02T03:10:00.1Z"])
def test_a_time_read_among_many_is_what_the_feed_makes_of_it(cells: list[str]) -> None:
    assert_times_are_the_feeds(cells, EPOCH)


@given(stamps)
def test_every_time_that_the_feed_takes_without_blanks_is_read_among_many(stamp: str) -> None:
    try:
        since_us = utc_since_s(stamp, EPOCH) * 1e6
    except InstantError:
        assert assert_times_are_the_feeds([stamp], EPOCH) == 0
    else:
        # Beyond 285 years a float no longer holds every microsecond: those are left to be read one by one.
        assert assert_times_are_the_feeds([stamp], EPOCH) == (abs(since_us) <= 2**53)


def test_stamps_that_differ_in_one_byte_only_are_told_apart() -> None:
    base = "2041-06-02T03:10:00.123456789Z"
    cells = [base]
    for place in (0, 3, 6, 9, 12, 15, 18, *range(20, 29)):
        cells += [base[:place] + str((int(base[place]) + 1) % 10) + base[place + 1 :], base]
    assert assert_times_are_the_feeds(cells, EPOCH) >= len(cells) - 5


names = st.text("ab.-1é", min_size=1, max_size=24)


@given(st.lists(names, unique=True, max_size=12), st.lists(names, max_size=20))
def test_a_name_is_found_where_it_stands_and_no_other_is_taken_for_it(
    known: list[str], cells: list[str]
) -> None:
    numbered = {name.encode(): number for number, name in enumerate(known)}
    sought = [*cells, *known, *(name + "\0" for name in known), *(name[:-1] for name in known)]
    found = NameTable(numbered).find(*places(sought))
    assert found.tolist() == [numbered.get(name.encode(), -1) for name in sought]


def test_thousands_of_names_are_all_found_and_one_that_is_too_long_is_not() -> None:
    known = [f"store-{number}.pressure" for number in range(5000)]
    long = "x" * (LONGEST_NAME + 1)
    table = NameTable({name.encode(): number for number, name in enumerate([*known, long])})
    found = table.find(*places([*known, long, "store-5000.pressure"]))
    assert found.tolist() == [*range(5000), -1, -1]


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("a,b,c\n", [("a", "b", "c")]),
        ("a,b,c\r\n", [("a", "b", "c")]),
        ("a,b,\r\n", [("a", "b", "")]),
        ('"a","b",c\n', [("a", "b", "c")]),
        ('"a","b","c"\r\na,b,c\n', [("a", "b", "c"), ("a", "b", "c")]),
        ('a,b\n\nx,y,z\na,b,c,d\n"a,b,c\na"b,c,d\n', [("x", "y", "z")]),
        ('a,"b,c",d\n"a""b",c,d\n"""a""",b,c\n,",",\n', []),
        (",,\n", [("", "", "")]),
    ],
)
def test_cells_are_found_in_plain_lines_and_other_lines_are_left(
    text: str, plain: list[tuple[str, ...]]
) -> None:
    padded = Padded(text.encode())
    cells = cells_of(padded, 3)
    found = [
        tuple(padded.content[start:end].decode() for start, end in zip(starts, ends, strict=True))
        for starts, ends in zip(cells.starts.T.tolist(), cells.ends.T.tolist(), strict=True)
    ]
    assert found == plain
    assert len(cells.line_starts) == text.count("\n")
