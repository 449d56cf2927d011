"""Values as a source wrote them, and how they are shown to a person, before anything in them is believed.

Whatever is shown comes out short and printable: control characters and escape sequences are spelled out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LONGEST_SHOWN = 40
"""Characters of a foreign text that are repeated in a message; the rest says nothing more."""


@dataclass(frozen=True, kw_only=True, slots=True)
class NotFinite:
    """A number that no float can hold, kept as it was written: ``NaN``, ``Infinity``, ``1e999``."""

    text: str


def shown(raw: object) -> str:
    r"""A foreign value in a message.

    >>> shown(True), shown(None), shown([1, 2]), shown("a\x1b[31mred")
    ('true', 'null', 'a list', "'a\\x1b[31mred'")
    """
    match raw:
        case None:
            return "null"
        case bool():
            return "true" if raw else "false"
        case NotFinite(text=text):
            return shown_name(text)
        case str():
            return repr(_cut(raw))
        case Mapping():
            return "a mapping"
        case list() | tuple():
            return "a list"
        case float():
            return repr(raw)
        case int():
            # Thousands of digits are refused by ``str``, and no message needs them.
            return str(raw) if raw.bit_length() <= 128 else "a number of very many digits"
        case _:
            return f"a {type(raw).__name__}"


def shown_name(text: str) -> str:
    """A foreign name in a message: as it stands when it is plain, else quoted and spelled out."""
    cut = _cut(text)
    return cut if cut.isprintable() and cut.strip() == cut != "" else repr(cut)


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…"
