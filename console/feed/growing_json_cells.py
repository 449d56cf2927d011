"""Where value, time, channel and unit stand in many lines of JSON that are all written in one form.

Pure. The form is that of most of some lines, each of which was read as JSON: what stands between the values
(keys, colons, blanks) byte by byte. A line of the same form then says what JSON says, without being parsed.
"""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from dataclasses import dataclass

import numpy as np

from console.feed.growing_bytes import FIRST, Flags, Ints, Padded
from console.feed.growing_cells import Cells
from console.feed.growing_layout import NEEDED
from console.feed.growing_line import LineRefusedError, said_in_json, text_of

_SAMPLES = 16
_LONGEST_BETWEEN = 64
"""Bytes between two values; whoever writes more blanks is read one by one."""
_QUOTE, _RETURN, _MINUS, _ZERO, _NINE = (ord(sign) for sign in '"\r-09')
_VALUE = re.compile(rb'"(at|channel|value|unit)"[ \t]*:[ \t]*(?:"([^"\\]*)"|(-?[0-9.]+))')
_BEFORE = re.compile(rb'[ \t]*(?:\{|"?[ \t]*,)[ \t]*"[a-z]+"[ \t]*:[ \t]*"?')
_BEHIND = re.compile(rb'"?[ \t]*\}[ \t]*')
"""What may stand before each value and behind the last: nothing of a value, such as an exponent."""


@dataclass(frozen=True, kw_only=True, slots=True)
class JsonForm:
    """How lines are written."""

    columns: tuple[str, ...]
    """The keys in their order."""
    between: tuple[bytes, ...]
    """What stands before each value, quotes of texts included, and behind the last."""


def form_of(lines: list[bytes]) -> JsonForm | None:
    """The form in which most of some lines are written, looking at a few; None where they have none."""
    samples = lines[:: max(1, len(lines) // _SAMPLES)]
    forms = Counter(form for line in samples if (form := _form(line)) is not None)
    return forms.most_common(1)[0][0] if forms else None


def _form(line: bytes) -> JsonForm | None:
    line = line.removesuffix(b"\r")
    found = list(_VALUE.finditer(line))
    columns = tuple(match[1].decode() for match in found)
    spans = [match.span(2 if match[3] is None else 3) for match in found]
    is_number = [match[3] is not None for match in found]
    with contextlib.suppress(LineRefusedError):
        said = said_in_json(text_of(line))
        if {*said.raw, "channel"} != set(columns) or len(set(columns)) < len(columns):
            return None
        if not set(NEEDED) <= set(columns) or is_number != [column == "value" for column in columns]:
            return None
        ends = [0, *(end for _, end in spans)]
        begins = [*(begin for begin, _ in spans), len(line)]
        between = tuple(line[end:begin] for end, begin in zip(ends, begins, strict=True))
        if any(_BEFORE.fullmatch(part) is None for part in between[:-1]) or not _BEHIND.fullmatch(
            between[-1]
        ):
            return None
        if max(map(len, between)) <= _LONGEST_BETWEEN:
            return JsonForm(columns=columns, between=between)
    return None


def json_cells_of(padded: Padded, form: JsonForm) -> Cells:
    """Find lines and values.

    Args:
        padded: whole lines, each with its line break.
        form: in which most of them are written; the others are not plain.
    """
    lines = padded.bytes[padded.begin : padded.end]
    breaks = np.flatnonzero(lines == ord("\n")) + padded.begin
    begins = np.concatenate(([padded.begin], breaks[:-1] + 1))
    quotes = np.flatnonzero(lines == _QUOTE) + padded.begin
    before = np.searchsorted(quotes, begins)
    due = sum(part.count(b'"') for part in form.between)
    plain = np.flatnonzero(np.diff(before, append=len(quotes)) == due)
    line_ends = breaks[plain] - (padded.bytes[breaks[plain] - 1] == _RETURN)
    starts, ends, is_plain = _values(padded, form, begins[plain], line_ends, quotes, before[plain])
    if b"\\" in padded.content:  # it would make a text of other signs than those that stand there
        marked = np.searchsorted(breaks, np.flatnonzero(padded.bytes == ord("\\")))
        is_plain &= ~np.isin(plain, marked)
    return Cells(
        line_starts=begins,
        line_ends=breaks,
        plain=plain[is_plain],
        starts=starts[:, is_plain],
        ends=ends[:, is_plain],
    )


def _values(
    padded: Padded, form: JsonForm, begins: Ints, line_ends: Ints, quotes: Ints, before: Ints
) -> tuple[Ints, Ints, Flags]:
    """Where the values of lines with the due quotes stand, and which lines are of the form in all else."""
    places, number = [begins], form.between[0].count(b'"')
    for part in form.between[1:-1]:
        places.append(quotes[before + number] - part.index(b'"'))
        number += part.count(b'"')
    last = form.between[-1]
    places.append(line_ends - len(last))
    starts = np.stack([place + len(part) for place, part in zip(places, form.between, strict=False)][:-1])
    ends = np.stack(places[1:])
    is_plain: Flags = np.logical_and.reduce(starts <= ends)
    starts = np.where(is_plain, starts, padded.begin)
    ends = np.where(is_plain, ends, padded.begin)
    for place, part in zip(places, form.between, strict=True):
        is_plain &= _stands(padded, np.maximum(place, padded.begin), part)
    value = form.columns.index("value")
    is_plain &= _is_json_number(padded, starts[value], ends[value])
    if "unit" in form.columns:  # an empty one is none in CSV, and a mistake in JSON
        unit = form.columns.index("unit")
        is_plain &= ends[unit] > starts[unit]
    return starts, ends, is_plain


def _stands(padded: Padded, places: Ints, text: bytes) -> Flags:
    stands: Flags = np.ones(len(places), dtype=np.bool_)
    for begin in range(0, len(text), 8):
        part = text[begin : begin + 8]
        due = np.uint64(int.from_bytes(part, "little"))
        stands &= (padded.words[places + begin] & FIRST[len(part)]) == due
    return stands


def _is_json_number(padded: Padded, starts: Ints, ends: Ints) -> Flags:
    """Whether a plain number is one in JSON too: no plus, a digit on both ends, no idle zero in front."""
    starts = starts + (padded.bytes[starts] == _MINUS)
    first, second, last = (padded.bytes[place] for place in (starts, starts + 1, ends - 1))
    fits: Flags = (first >= _ZERO) & (first <= _NINE) & (last >= _ZERO) & (last <= _NINE) & (starts < ends)
    fits &= (first != _ZERO) | (second < _ZERO) | (second > _NINE) | (starts + 1 == ends)
    return fits
