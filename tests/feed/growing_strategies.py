"""What may stand in a growing file, for hypothesis, and how a whole file is read at once."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from feed_builders import CHANNELS, utc
from growing_builders import Growing, arrived_of, growing_with
from hypothesis import strategies as st

from console.engine.reading import FeedState

names = st.sampled_from(list(CHANNELS))
values = st.one_of(
    st.decimals(min_value=-50, max_value=120, places=2).map(str),
    st.floats(-100, 100).map(repr),
    st.sampled_from(
        ["", "nan", "1e999", "-inf", "4.2 A", "11.2 MPa", "18 degC", "3 kg", "x", "true", "1e-3", "null"]
    ),
    st.sampled_from([" 4.2", "+4", "5.", "1_0", "٣", "9" * 40, "1e400", "4,2", '"4.2"', '"']),
)
times = st.one_of(
    st.integers(0, 1100).map(utc),
    st.floats(0, 1100, allow_nan=False).map(utc),
    st.sampled_from(
        ["", "yesterday", "2041-06-02T03:10:00+00:00", "2041-06-31T00:00:00Z", "2041-06-02T03:10:00.1234567Z"]
    ),
)
units = st.sampled_from(["", "A", "mA", "MPa", "kPa", "degC", "K", "kg", "g", "furlong", "A*h", " A", "°C"])
other_names = st.sampled_from(
    ["", "bat-9.current", "BAT-1.CURRENT", "bat-1.curren", "bat-1.current ", "\x1b[2J"]
)
garbage = st.one_of(
    st.binary(max_size=60).map(lambda raw: raw.replace(b"\n", b" ")),
    st.sampled_from(
        [b"", b"  ", b",,,", b'"', b'"a,b', b"{", b"\x00" * 30, b"\xff\xfe", b"a,b,c,d,e,f", b"x" * 70_000]
    ),
)


@contextmanager
def folder() -> Iterator[Path]:
    """A folder for one example: hypothesis makes many in one test."""
    with tempfile.TemporaryDirectory() as made:
        yield Path(made) / "tern.csv"


def read_at_once(content: bytes, **options: Any) -> tuple[FeedState, Growing]:
    with folder() as path:
        growing = growing_with(path, content, **options)
        return growing.poll(), growing


def is_same(one: FeedState, other: FeedState) -> bool:
    return (one.readings, one.quality, one.at_s, one.faults) == (
        other.readings,
        other.quality,
        other.at_s,
        other.faults,
    ) and arrived_of(one) == arrived_of(other)
