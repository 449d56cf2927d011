"""Paths of figures: keys joined by dots, as ``power.margin.p05``.

A key that holds a dot, a quote or nothing stands in double quotes, with quotes and backslashes in it behind a
backslash. The last key may be one end of an interval (``p05``, ``p50``, ``p95``; without one the central
value is meant) or one sample (``sample-17``).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

Keys = tuple[str, ...]

ENDS: Final = ("p05", "p50", "p95")
_SAMPLE: Final = re.compile(r"sample-([1-9][0-9]{0,8})", re.ASCII)
_KEY: Final = re.compile(r'"((?:[^"\\]|\\.)*)"|([^".]+)')


def text_of(keys: Iterable[str]) -> str:
    """The path of some keys.

    >>> text_of(("feed", "readings", "o2-1.pressure", "age"))
    'feed.readings."o2-1.pressure".age'
    """
    return ".".join(_quoted(key) for key in keys)


def keys_of(path: str) -> Keys | None:
    """The keys of a path; None where it is none.

    >>> keys_of('feed.readings."o2-1.pressure".age')
    ('feed', 'readings', 'o2-1.pressure', 'age')
    """
    keys: list[str] = []
    position = 0
    while match := _KEY.match(path, position):
        quoted, plain = match.groups()
        keys.append(plain if quoted is None else re.sub(r"\\(.)", r"\1", quoted))
        position = match.end()
        if position == len(path):
            return tuple(keys)
        if path[position] != ".":
            return None
        position += 1
    return None


def sample_key(row: int) -> Keys:
    """The last key of a figure in one sample; none for the central case."""
    return (f"sample-{row}",) if row else ()


def sample_of(key: str) -> int | None:
    """Which sample a key names; None where it names none."""
    match = _SAMPLE.fullmatch(key)
    return None if match is None else int(match.group(1))


def distinct(names: Iterable[str]) -> list[str]:
    """Names as keys: what comes a second time gets its number behind it.

    >>> distinct(["burn", "trim", "burn"])
    ['burn', 'trim', 'burn#2']
    """
    seen: dict[str, int] = {}
    keys = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        keys.append(name if seen[name] == 1 else f"{name}#{seen[name]}")
    return keys


def _quoted(key: str) -> str:
    if key and not set(key) & {".", '"'}:
        return key
    escaped = key.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
