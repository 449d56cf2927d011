"""One state file's bytes to what they say: the document's time and its raw readings, or why it is refused.

Pure. Nothing is compared with a channel or with anything said earlier; ``validity`` does that. A document is
refused whole when its shape cannot be trusted: a text that does not parse to its last byte, equal keys (the
later would silently win), another format.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NoReturn

from console.errors import FeedError, YamlError
from console.feed.raw_value import NotFinite, shown, shown_name
from console.scenario.yaml_text import parse_yaml

FORMAT = 1
TOP_KEYS = ("format", "at", "readings")
MOST_NAMED = 5
"""Unknown keys that are named one by one; a file of ten thousand must not make ten thousand faults."""


class RefusedError(FeedError):
    """A document, or the file it should be in, cannot be used; the text completes "state file x.json: "."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StateDocument:
    """What one state file says, as it was written."""

    at: object
    """The time of all readings that carry none of their own; None where there is none."""
    readings: Mapping[str, object]
    faults: tuple[str, ...]
    """What is wrong beside the readings but leaves them usable."""


def parse_state_document(content: bytes, *, is_yaml: bool) -> StateDocument:
    """Read one document.

    Raises:
        RefusedError: it cannot be trusted as a whole.
    """
    if not content.strip():
        raise RefusedError("is empty")
    raw = _yaml(content) if is_yaml else _json(content)
    if not isinstance(raw, Mapping):
        raise RefusedError(f"holds {shown(raw)}; write a mapping of format, at and readings")
    found = raw.get("format")
    if isinstance(found, bool) or not isinstance(found, int) or found != FORMAT:
        told = shown(found) if "format" in raw else "nothing"
        raise RefusedError(f"format: found {told}; this program reads format {FORMAT}")
    readings = raw.get("readings")
    if not isinstance(readings, Mapping):
        told = shown(readings) if "readings" in raw else "nothing"
        raise RefusedError(f"readings: found {told}; write a mapping of channels to values")
    if is_yaml and not content.rstrip().endswith(b"}"):
        _check_last_reading(readings)
    unknown = [key for key in raw if key not in TOP_KEYS]
    return StateDocument(at=raw.get("at"), readings=readings, faults=_unknown_faults(unknown))


def _check_last_reading(readings: Mapping[str, object]) -> None:
    """Refuse YAML that was cut off between a value and its unit: the value would be read in another unit."""
    last = list(readings.values())[-1] if readings else None
    if isinstance(last, Mapping) and list(last) == ["value"]:
        raise RefusedError(
            "ends with a value without its unit, as if cut off; write the bare value, or its unit"
        )


def _unknown_faults(unknown: list[str]) -> tuple[str, ...]:
    named = [
        f"found the key {shown_name(key)}; the keys are format, at and readings"
        for key in unknown[:MOST_NAMED]
    ]
    if len(unknown) > MOST_NAMED:
        named.append(f"found {len(unknown) - MOST_NAMED} more unknown keys")
    return tuple(named)


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RefusedError(f"is not UTF-8 text (byte {error.start + 1})") from None


def _json(content: bytes) -> object:
    try:
        return json.loads(
            _text(content),
            object_pairs_hook=_mapping,
            parse_constant=lambda text: NotFinite(text=text),
            parse_float=_float,
            parse_int=_integer,
        )
    except json.JSONDecodeError as error:
        raise RefusedError(f"cannot be read as JSON (line {error.lineno}: {error.msg})") from None
    except RecursionError:
        raise RefusedError("cannot be read as JSON (nested too deeply)") from None


def _mapping(pairs: list[tuple[str, object]]) -> dict[str, object]:
    mapping: dict[str, object] = {}
    for key, value in pairs:
        if key in mapping:
            _refuse_equal_keys(key)
        mapping[key] = value
    return mapping


def _refuse_equal_keys(key: str) -> NoReturn:
    raise RefusedError(f"holds the key {shown_name(key)} twice; write every key once")


def _float(text: str) -> float | NotFinite:
    value = float(text)
    return value if abs(value) != float("inf") else NotFinite(text=text)


def _integer(text: str) -> int | float | NotFinite:
    # Python refuses integers of thousands of digits, and a float holds all that an instrument can mean.
    return int(text) if len(text) <= 18 else _float(text)


def _yaml(content: bytes) -> object:
    text = _text(content)
    # A block of YAML that was cut off still parses. Cut inside a line it gives a wrong number ("11." for
    # "11.2"), cut between lines it gives missing channels, which are seen: so the last line must be whole.
    if not text.endswith(("\n", "}")):
        raise RefusedError("ends inside a line, as if cut off; end its last line with a line break")
    try:
        return parse_yaml(text, file="")
    except YamlError as error:
        where = "" if error.line is None else f"line {error.line}: "
        raise RefusedError(f"cannot be read as YAML ({where}{error.found}; {error.expected})") from None
