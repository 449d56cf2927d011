"""JSON Lines: the same as each line parsed and judged singly, also where many are read unparsed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from feed_builders import CHANNELS, EPOCH, utc
from growing_builders import NOW_S, OneByOne, arrived_of, json_line
from growing_strategies import garbage, is_same, names, read_at_once, times, units
from hypothesis import given
from hypothesis import strategies as st

from console.feed.growing_layout import Layout
from console.feed.growing_lines import WholeLines
from console.feed.growing_taking import LineTaker, Takings

FORMS = [
    '{"at": "%(at)s", "channel": "%(channel)s", "value": %(value)s}',
    '{"channel":"%(channel)s","value":%(value)s,"unit":"%(unit)s","at":"%(at)s"}',
    ' { "value" : %(value)s , "unit" : "%(unit)s", "at" : "%(at)s" , "channel" : "%(channel)s" } ',
]

no_numbers = ["+4", "007", "00", "5.", ".5", "-.5", "-", "-01", "4,2", "NaN", "1e999", "", "4 4"]
other_values = ["-0", "-0.0", "0", "0.5", "4e1", "9" * 30, "null", "true", "[]", '"4"', '"4 A"', "4 ", "\t4"]
other_names = [
    "",
    "tank.mas",
    "tank\\u002emass",
    "tank.mass\\n",
    't\\"ank',
    'x", "y": "z',
    "tank.mass\\",
    "\x01",
]
written = st.one_of(
    st.decimals(min_value=-50, max_value=120, places=2).map(str),
    st.floats(-100, 100).map(repr),
    st.sampled_from([*no_numbers, *other_values, '4,"value":5', '{"value": 4}']),
)


@st.composite
def lines_of_json(draw: st.DrawFn, form: str) -> bytes:
    if draw(st.integers(0, 9)) == 0:
        return draw(garbage)
    form = form if draw(st.integers(0, 5)) else draw(st.sampled_from(FORMS))
    name = draw(names if draw(st.integers(0, 6)) else st.sampled_from(other_names))
    cells = {"at": draw(times), "channel": name, "value": draw(written), "unit": draw(units)}
    return (form % cells).encode() + draw(st.sampled_from([b"", b"", b"\r"]))


@given(st.sampled_from(FORMS).flatmap(lambda form: st.lists(lines_of_json(form), max_size=30)))
def test_lines_of_one_form_taken_many_at_once_say_the_same_as_taken_one_by_one(some: list[bytes]) -> None:
    first = FORMS[0] % {"at": utc(900), "channel": "tank.mass", "value": "40"}
    content = b"\n".join([first.encode(), *some, b""])
    fast, slow = read_at_once(content), read_at_once(content, is_plain_fast=False)
    assert is_same(fast[0], slow[0])
    assert fast[1].source.place() == slow[1].source.place()


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("line_break", ["\n", "\r\n"])
def test_lines_in_a_usual_form_need_not_be_read_one_by_one(form: str, line_break: str) -> None:
    cells = [
        {"at": utc(900 + step), "channel": name, "value": str(step / 8), "unit": channel.unit.text}
        for step in range(50)
        for name, channel in CHANNELS.items()
    ]
    text = "".join(form % each + line_break for each in cells)
    takings = Takings()
    whole = WholeLines(lines=text.encode(), first_line=1)
    LineTaker(CHANNELS, EPOCH).take(whole, Layout(columns=()), takings)
    assert (takings.lines, takings.one_by_one, takings.refused.count) == (200, 0, 0)


@pytest.mark.parametrize("value", no_numbers)
def test_a_number_that_is_none_in_json_is_refused_among_many_that_are(value: str) -> None:
    lines = [FORMS[0] % {"at": utc(900 + step), "channel": "tank.mass", "value": step} for step in range(9)]
    lines[5] = FORMS[0] % {"at": utc(905), "channel": "tank.mass", "value": value}
    feed, growing = read_at_once("".join(line + "\n" for line in lines).encode())
    assert [at_s for at_s, _ in arrived_of(feed)["tank.mass"]] == [900, 901, 902, 903, 904, 906, 907, 908]
    assert growing.source.refused_lines == 1


def test_a_text_with_an_escape_is_not_taken_for_the_name_that_it_looks_like() -> None:
    channels = {**CHANNELS, "a\\b": replace(CHANNELS["tank.mass"], name="a\\b")}
    named = ["tank.mass"] * 5 + ["a\\b"] + ["tank.mass"] * 5
    cells = [{"at": utc(900 + step), "channel": name, "value": "4"} for step, name in enumerate(named)]
    text = "".join(FORMS[0] % each + "\n" for each in cells)
    takings = Takings()
    whole = WholeLines(lines=text.encode(), first_line=1)
    LineTaker(channels, EPOCH).take(whole, Layout(columns=()), takings)
    assert (len(takings.good[0]), takings.one_by_one, takings.others) == (10, 1, {"a\b": 1})


def test_an_exponent_is_part_of_the_number_also_where_all_lines_have_one() -> None:
    lines = [
        FORMS[0] % {"at": utc(900 + step), "channel": "tank.mass", "value": "4.5e1"} for step in range(9)
    ]
    feed, _ = read_at_once("".join(line + "\n" for line in lines).encode())
    assert arrived_of(feed)["tank.mass"] == [(900.0 + step, 45.0) for step in range(9)]


json_values = st.one_of(
    st.floats(-100, 100),
    st.integers(-(10**20), 10**20),
    st.none(),
    st.booleans(),
    st.sampled_from(["4.2 A", "x", [], {}]),
)


@given(st.lists(st.tuples(st.floats(0, 1100), names, json_values), max_size=30))
def test_json_lines_say_what_they_say_judged_one_after_the_other(
    rows: list[tuple[float, str, object]],
) -> None:
    text = "".join(json_line(at_s, name, value) for at_s, name, value in rows)
    single = OneByOne()
    single.read(text, (), NOW_S)
    feed, growing = read_at_once(text.encode())
    assert arrived_of(feed) == single.arrived
    assert growing.source.refused_lines == single.refused
    for name, reading in single.readings(NOW_S).items():
        assert feed.readings[name] == reading
