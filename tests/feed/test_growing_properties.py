"""Whatever a growing file holds and however it comes: the same as one line after the other, judged singly."""

from __future__ import annotations

import csv
import io
import random
from itertools import pairwise

import pandas as pd
from feed_builders import CHANNELS, EPOCH
from growing_builders import (
    HEADER,
    NOW_S,
    Growing,
    OneByOne,
    arrived_of,
    csv_text,
    growing_with,
    line,
)
from growing_strategies import (
    folder,
    garbage,
    is_same,
    names,
    other_names,
    read_at_once,
    times,
    units,
    values,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from console.feed.growing_layout import COLUMNS
from console.feed.validity import utc_since_s
from console.instants import at_epoch_plus, format_utc


@st.composite
def lines_of_csv(draw: st.DrawFn, columns: int) -> bytes:
    if draw(st.integers(0, 9)) == 0:
        return draw(garbage)
    name = draw(names if draw(st.integers(0, 6)) else other_names)
    cells = [draw(times), name, draw(values), draw(units)][:columns]
    return ",".join(cells).encode() + draw(st.sampled_from([b"", b"", b"\r"]))


def files_of_csv(columns: int) -> st.SearchStrategy[list[bytes]]:
    return st.lists(lines_of_csv(columns), max_size=40)


@given(st.integers(3, 4).flatmap(lambda columns: files_of_csv(columns).map(lambda some: (columns, some))))
def test_plain_lines_taken_many_at_once_say_the_same_as_taken_one_by_one(
    case: tuple[int, list[bytes]],
) -> None:
    columns, some = case
    content = b"\n".join([",".join(COLUMNS[:columns]).encode(), *some, b""])
    fast, slow = read_at_once(content), read_at_once(content, is_plain_fast=False)
    assert is_same(fast[0], slow[0])
    assert fast[1].source.place() == slow[1].source.place()
    assert fast[1].source.refused_lines == slow[1].source.refused_lines


@given(files_of_csv(4))
def test_a_file_says_what_its_lines_say_judged_one_after_the_other(some: list[bytes]) -> None:
    kept = [each for each in some if len(each) < 1000]
    single = OneByOne()
    for each in kept:
        try:
            text = each.removesuffix(b"\r").decode()
        except UnicodeDecodeError:
            single.refused += 1
            continue
        if "\0" in text:
            single.refused += 1
        else:
            single.read(text, COLUMNS, NOW_S)
    feed, growing = read_at_once(b"\n".join([b"at,channel,value,unit", *kept, b""]))
    assert arrived_of(feed) == single.arrived
    assert growing.source.refused_lines == single.refused
    for name, reading in single.readings(NOW_S).items():
        assert feed.readings[name] == reading


@given(files_of_csv(3), st.lists(st.integers(0, 100_000), max_size=12), st.integers(1, 200_000))
def test_however_the_bytes_are_split_into_polls_the_readings_are_the_same(
    some: list[bytes], cuts: list[int], most_bytes: int
) -> None:
    content = b"\n".join([b"at,channel,value", *some, b""])
    whole, at_once = read_at_once(content)
    places = sorted({0, len(content), *(cut % (len(content) + 1) for cut in cuts)})
    with folder() as path:
        growing = Growing(path, most_bytes_per_poll=most_bytes)
        feeds = []
        for begin, end in pairwise(places):
            growing.add(content[begin:end])
            feeds.append(growing.poll())
        while not growing.source.is_caught_up:
            feeds.append(growing.poll())
        last = growing.poll()
    assert arrived_of(*feeds) == arrived_of(whole)
    assert last.readings == whole.readings
    assert last.at_s == whole.at_s
    assert arrived_of(last) == {}
    assert growing.source.bytes_read == len(content)
    assert growing.source.refused_lines == at_once.source.refused_lines


@given(st.lists(garbage, max_size=8), st.randoms(use_true_random=False))
def test_garbage_lines_never_lose_good_neighbours(bad: list[bytes], rng: random.Random) -> None:
    good = [
        line(at_s, name, f"{3 + at_s / 100:.2f}").rstrip("\n").encode()
        for at_s in range(8)
        for name in CHANNELS
    ]
    mixed = list(good)
    for each in bad:
        mixed.insert(rng.randrange(len(mixed) + 1), each)
    alone, _ = read_at_once(b"\n".join([b"at,channel,value", *good, b""]))
    among, growing = read_at_once(b"\n".join([b"at,channel,value", *mixed, b""]))
    assert arrived_of(among) == arrived_of(alone)
    assert {name: len(pairs) for name, pairs in arrived_of(among).items()} == dict.fromkeys(CHANNELS, 8)
    assert among.readings == alone.readings
    assert growing.source.refused_lines == sum(1 for each in bad if each.strip())


@given(
    st.permutations(COLUMNS),
    st.sampled_from(["\n", "\r\n"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    st.booleans(),
    st.lists(st.tuples(st.integers(0, 10**9), names, st.decimals(0, 25, places=3)), max_size=30),
)
@settings(max_examples=60)
def test_well_formed_csv_is_read_as_the_csv_module_and_pandas_read_it(
    columns: list[str], line_break: str, quoting: int, has_mark: bool, rows: list[tuple[int, str, object]]
) -> None:
    cells = [
        {
            "at": format_utc(at_epoch_plus(EPOCH, at_us / 1000)),
            "channel": name,
            "value": str(value),
            "unit": CHANNELS[name].unit.text,
        }
        for at_us, name, value in sorted(rows)
    ]
    text = csv_text(
        [[row[column] for column in columns] for row in cells],
        columns,
        lineterminator=line_break,
        quoting=quoting,
    )
    with folder() as path:
        growing = growing_with(path, ("\ufeff" if has_mark else "") + text)
        feed = growing.poll(1e6 + 1)
    by_csv: dict[str, dict[float, float]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        value_si = CHANNELS[row["channel"]].unit.to_si(float(row["value"]))
        by_csv.setdefault(row["channel"], {}).setdefault(utc_since_s(row["at"], EPOCH), value_si)
    assert {name: dict(pairs) for name, pairs in arrived_of(feed).items()} == by_csv
    frame = pd.read_csv(io.StringIO(text), dtype=str)
    frame["at_s"] = [utc_since_s(at, EPOCH) for at in frame["at"]]
    frame = frame.drop_duplicates(["channel", "at_s"])
    for name, pairs in arrived_of(feed).items():
        part = frame[frame["channel"] == name]
        assert [at_s for at_s, _ in pairs] == part["at_s"].tolist()
        assert [value for _, value in pairs] == [
            CHANNELS[name].unit.to_si(float(value)) for value in part["value"]
        ]


def test_the_header_is_a_constant_of_these_tests_that_the_source_takes() -> None:
    feed, _ = read_at_once((HEADER + line(1, "tank.mass", 40)).encode())
    assert arrived_of(feed) == {"tank.mass": [(1.0, 40.0)]}
