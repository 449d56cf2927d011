"""Paths of figures: any keys survive being written and read again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.engine.explain.paths import distinct, keys_of, sample_of, text_of

keys = st.lists(st.text(max_size=8), min_size=1, max_size=4).map(tuple)


@given(keys)
def test_keys_come_back_from_their_path(given_keys: tuple[str, ...]) -> None:
    assert keys_of(text_of(given_keys)) == given_keys


@pytest.mark.parametrize("path", ["", ".", "a.", ".a", "a..b", 'a."b', 'a"b"', '"a"b', 'a.""c'])
def test_what_is_no_path_is_told_from_one(path: str) -> None:
    assert keys_of(path) is None


@pytest.mark.parametrize(
    ("key", "row"),
    [("sample-17", 17), ("sample-0", None), ("sample-01", None), ("sample-", None), ("p05", None)],
)
def test_a_sample_is_named_by_its_number(key: str, row: int | None) -> None:
    assert sample_of(key) == row


@given(st.lists(st.sampled_from(["burn", "trim", "drift"]), max_size=12))
def test_names_that_repeat_become_different_keys(names: list[str]) -> None:
    made = distinct(names)
    assert len(set(made)) == len(names)
    assert [key.partition("#")[0] for key in made] == names
