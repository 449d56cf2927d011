"""One line of a growing file to what it says, as it was written, or why it is refused. Pure.

Judges no value: that is ``validity.said_of``'s, to which a line's value, unit and time go as a mapping.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NoReturn

from console.errors import FeedError
from console.feed.raw_value import NotFinite, shown, shown_name

LONGEST_LINE = 64 * 1024
"""Bytes; no reading is longer, and what has no line break must not fill the memory."""

JSON_EXAMPLE = '{"at": "2041-06-02T03:10:00Z", "channel": "bat-1.current", "value": 4.2}'

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
"""A bare number, as ``units.split_quantity`` takes it."""
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)


class LineRefusedError(FeedError):
    """A line cannot be used; the text completes "line 12: " and says what was found and what to write."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SaidLine:
    """What one line says."""

    channel: str
    raw: Mapping[str, object]
    """Value, unit and at, as far as the line has them."""


def text_of(line: bytes) -> str:
    """A line as text.

    Raises:
        LineRefusedError: it is none.
    """
    if len(line) > LONGEST_LINE:
        raise LineRefusedError(too_long_text())
    if b"\0" in line:
        raise LineRefusedError("found a null byte; write text in UTF-8")
    try:
        return line.removesuffix(b"\r").decode("utf-8")
    except UnicodeDecodeError as error:
        raise LineRefusedError(f"found no UTF-8 text (byte {error.start + 1}); write UTF-8") from None


def too_long_text() -> str:
    """Why a line of too many bytes is refused."""
    return f"found more than {LONGEST_LINE // 1024} KiB without a line break; write one reading a line"


def csv_cells(text: str) -> list[str]:
    """The cells of one line of CSV, quoted as RFC 4180 has it but for line breaks inside a cell.

    Raises:
        LineRefusedError: its quotes do not fit.
    """
    if '"' not in text:
        return text.split(",")
    try:
        return next(csv.reader([text], strict=True))
    except csv.Error:
        raise LineRefusedError(
            "found quotes that do not fit; quote a whole cell, and write a quote inside it twice"
        ) from None


def said_in_csv(text: str, columns: tuple[str, ...]) -> SaidLine:
    """Read a line of CSV.

    Raises:
        LineRefusedError: it has another number of cells, or names no channel.
    """
    cells = [cell.strip(" \t") for cell in csv_cells(text)]
    if len(cells) != len(columns):
        cell_word = "cell" if len(cells) == 1 else "cells"
        raise LineRefusedError(f"found {len(cells)} {cell_word}; write {len(columns)}: {','.join(columns)}")
    by_column = dict(zip(columns, cells, strict=True))
    if not by_column["channel"]:
        raise LineRefusedError("found no channel; write a channel of the craft")
    raw: dict[str, object] = {"value": raw_value(by_column["value"]), "at": by_column["at"]}
    if by_column.get("unit"):
        raw["unit"] = by_column["unit"]
    return SaidLine(channel=by_column["channel"], raw=raw)


def raw_value(text: str) -> object:
    """A cell as the value that JSON would have in its place: a number, null where it is empty, else a text.

    >>> raw_value("4.2"), raw_value(""), raw_value("11.2 MPa")
    (4.2, None, '11.2 MPa')
    """
    if not text:
        return None
    if _NUMBER.fullmatch(text) is not None:
        return _float(text)
    return NotFinite(text=text) if _NOT_FINITE.fullmatch(text) is not None else text


def said_in_json(text: str) -> SaidLine:
    """Read a line of JSON Lines.

    Raises:
        LineRefusedError: it is no mapping, has a key twice, or names no channel.
    """
    try:
        said = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise LineRefusedError(f"found no JSON ({error.msg}); write {JSON_EXAMPLE}") from None
    except RecursionError:
        raise LineRefusedError(f"found JSON that is nested too deeply; write {JSON_EXAMPLE}") from None
    if not isinstance(said, dict):
        raise LineRefusedError(f"found {shown(said)}; write {JSON_EXAMPLE}")
    if "channel" not in said:
        raise LineRefusedError(f"found no channel; write {JSON_EXAMPLE}")
    channel = said.pop("channel")
    if not isinstance(channel, str) or not channel:
        raise LineRefusedError(f"found {shown(channel)} as the channel; write a channel of the craft")
    return SaidLine(channel=channel, raw=said)


def _mapping(pairs: list[tuple[str, object]]) -> dict[str, object]:
    mapping = dict(pairs)
    if len(mapping) < len(pairs):
        keys = [key for key, _ in pairs]
        _refuse_equal_keys(next(key for key in keys if keys.count(key) > 1))
    return mapping


def _refuse_equal_keys(key: str) -> NoReturn:
    raise LineRefusedError(f"found the key {shown_name(key)} twice; write every key once")


def _float(text: str) -> float | NotFinite:
    value = float(text)
    return value if abs(value) != float("inf") else NotFinite(text=text)


def _integer(text: str) -> int | float | NotFinite:
    # Python refuses integers of thousands of digits, and a float holds all that an instrument can mean.
    return int(text) if len(text) <= 18 else _float(text)


_DECODER = json.JSONDecoder(
    object_pairs_hook=_mapping,
    parse_constant=lambda text: NotFinite(text=text),
    parse_float=_float,
    parse_int=_integer,
)
