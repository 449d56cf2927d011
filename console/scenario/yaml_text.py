"""Strict YAML: text to plain values that remember their lines. For the readers of scenarios and of feeds.

It builds the values from the parser's events itself, so that nothing of YAML is at work here that the files
do not need: no aliases, anchors, tags, merge keys or second documents, and no text that turns into a number,
a date or a truth value behind the writer's back. It must not know what any key means.
"""

from __future__ import annotations

import math
import re
from enum import Enum
from typing import Any, NoReturn, TypeAlias

import yaml

from console.errors import Fault, YamlError
from console.scenario.yaml_faults import explain

MOST_BYTES = 1024 * 1024
"""Longest text that is read."""
MOST_DEPTH = 32
"""Deepest nesting of mappings and lists that is read."""
_MOST_DIGITS = 18

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_WHOLE = re.compile(r"[-+]?(?:0|[1-9]\d*)", re.ASCII)
_DECIMAL = re.compile(r"[-+]?(?:(?:0|[1-9]\d*)(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
_WORDS = {"": None, "null": None, "true": True, "false": False}
# What YAML forbids in a stream; a lone surrogate is among it. A byte order mark inside a text is not.
_UNPRINTABLE: re.Pattern[str] = yaml.reader.Reader.NON_PRINTABLE
_BYTE_ORDER_MARK = "\ufeff"
_TAB_INDENT = re.compile(r"^ *\t", re.MULTILINE)


class NoValue(Enum):
    """Why there is no value to read where one may be due."""

    ABSENT = "absent"
    UNREADABLE = "unreadable"
    """Something stands there, and a fault has already been told about it."""


class YamlMapping(dict[str, "YamlTree"]):
    """A mapping in the file's order, with its own line and the line of each key."""

    __slots__ = ("key_lines", "line")

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.key_lines: dict[str, int] = {}


class YamlList(list["YamlTree"]):
    """A list with its own line and the line of each item."""

    __slots__ = ("item_lines", "line")

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.item_lines: list[int] = []


YamlTree: TypeAlias = "YamlMapping | YamlList | str | int | float | bool | NoValue | None"


def parse_yaml(text: str, *, file: str) -> YamlTree:
    """Read one document.

    The values are dict, list, str, int, float, bool and None; mappings and lists know their lines.

    Raises:
        YamlError: carries every fault that was found, each with its line.

    >>> parse_yaml("{at: 12:30:00, state: on, count: 1e3, code: 010}", file="state.yaml")
    {'at': '12:30:00', 'state': 'on', 'count': 1000.0, 'code': '010'}
    """
    tree, faults = read_yaml(text, file=file)
    if faults:
        raise YamlError(faults)
    return tree


def read_yaml(text: str, *, file: str) -> tuple[YamlTree, tuple[Fault, ...]]:
    """Read one document as far as it can be read, for those who want to find its other faults as well.

    Of two equal keys the first is kept; what cannot be read stands as ``NoValue.UNREADABLE``.

    Raises:
        YamlError: the text cannot be read to its end.
    """
    return _Reading(text.removeprefix("\ufeff"), file).document()


def decode_yaml(data: bytes, *, file: str) -> str:
    """The text of a file's bytes.

    Raises:
        YamlError: too long, or not UTF-8.
    """
    if len(data) > MOST_BYTES:
        raise YamlError((_too_long(file),))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"a byte that is not UTF-8 (0x{data[error.start]:02x})"
        fault = Fault(file=file, place="", line=line, found=found, expected="save the file as UTF-8")
        raise YamlError((fault,)) from None


def _too_long(file: str) -> Fault:
    expected = f"write at most {MOST_BYTES} bytes"
    return Fault(file=file, place="", found=f"more than {MOST_BYTES} bytes", expected=expected)


class _Reading:
    """One pass over one text."""

    def __init__(self, text: str, file: str) -> None:
        self._text = text
        self._file = file
        self._faults: list[Fault] = []

    def document(self) -> tuple[YamlTree, tuple[Fault, ...]]:
        """The tree and what is wrong with it."""
        self._check_characters()
        self._loader = _Loader(self._text)
        try:
            tree = self._only_document()
        except yaml.YAMLError as error:
            self._stop(*explain(error, self._text))
        finally:
            self._loader.dispose()
        return tree, tuple(self._faults)

    def _check_characters(self) -> None:
        unprintable = _UNPRINTABLE.search(self._text) or re.search(_BYTE_ORDER_MARK, self._text)
        if unprintable is not None:
            found = f"the control character U+{ord(unprintable.group()):04X}"
            self._stop(self._line_of(unprintable.start()), found, "leave it out")
        if len(self._text.encode("utf-8")) > MOST_BYTES:
            raise YamlError((_too_long(self._file),))
        tab = _TAB_INDENT.search(self._text)
        if tab is not None:
            self._stop(self._line_of(tab.start()), "a tab at the start of the line", "indent with spaces")

    def _line_of(self, index: int) -> int:
        return self._text.count("\n", 0, index) + 1

    def _only_document(self) -> YamlTree:
        self._next()  # the start of the stream
        if isinstance(self._next(), yaml.StreamEndEvent):
            self._stop(1, "an empty file", "write the keys that belong here")
        tree = self._value(self._next(), depth=1)
        self._next()  # the end of the document
        after = self._next()
        if not isinstance(after, yaml.StreamEndEvent):
            self._stop(_line(after), "a second document", "keep one document in a file and leave out '---'")
        return tree

    def _next(self) -> Any:
        return self._loader.get_event()

    def _refuse(self, line: int, found: str, expected: str) -> None:
        self._faults.append(Fault(file=self._file, place="", line=line, found=found, expected=expected))

    def _stop(self, line: int, found: str, expected: str) -> NoReturn:
        self._refuse(line, found, expected)
        raise YamlError(tuple(self._faults)) from None

    def _value(self, event: Any, depth: int) -> YamlTree:
        """The value that begins with this event; reads on to its end."""
        line = _line(event)
        if isinstance(event, yaml.AliasEvent):
            self._refuse(line, f"the alias *{event.anchor}", "write the value out where it is used")
            return NoValue.UNREADABLE
        if event.anchor is not None:
            self._refuse(line, f"the anchor &{event.anchor}", "leave it out: values are not shared")
        if event.tag is not None:
            self._refuse(line, f"the tag {event.tag!r}", "leave it out: tags mean nothing here")
        if isinstance(event, yaml.ScalarEvent):
            value = self._scalar(event, line)
        elif depth > MOST_DEPTH:
            self._stop(line, f"more than {MOST_DEPTH} levels of nesting", f"nest at most {MOST_DEPTH} deep")
        elif isinstance(event, yaml.MappingStartEvent):
            value = self._mapping(line, depth)
        else:
            value = self._list(line, depth)
        return value if event.tag is None else NoValue.UNREADABLE

    def _list(self, line: int, depth: int) -> YamlList:
        items = YamlList(line)
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            items.item_lines.append(_line(event))
            items.append(self._value(event, depth + 1))
        return items

    def _mapping(self, line: int, depth: int) -> YamlMapping:
        mapping = YamlMapping(line)
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            key_line = _line(event)
            is_merge = isinstance(event, yaml.ScalarEvent) and event.value == "<<"
            key = self._value(event, depth + 1)
            told = len(self._faults)
            value = self._value(self._next(), depth + 1)
            if is_merge:
                del self._faults[told:]  # an alias is what a merge key takes: one fault, not two
                self._refuse(key_line, "the merge key '<<'", "write the keys out where they are used")
            elif not isinstance(key, str):
                self._refuse_key(key, key_line)
            elif key in mapping:
                found = f"the key {key[:60]!r} twice, in line {mapping.key_lines[key]} and line {key_line}"
                self._refuse(key_line, found, "keep one of the two")
            else:
                mapping[key] = value
                mapping.key_lines[key] = key_line
        return mapping

    def _refuse_key(self, key: YamlTree, line: int) -> None:
        if key is NoValue.UNREADABLE:
            return
        if isinstance(key, dict | list):
            self._refuse(line, "a mapping or list as a key", "write a key that is text")
        elif key is None:
            self._refuse(line, "an empty key", "write a key that is text")
        else:
            written = str(key).lower() if isinstance(key, bool) else str(key)
            self._refuse(line, f"the key {written}, which is not text", f'put it in quotes: "{written}"')

    def _scalar(self, event: Any, line: int) -> YamlTree:
        """The value of one scalar: what is in quotes or a block is text, the rest by its form."""
        text: str = event.value
        if event.style not in ("", None):
            return text
        if text in _WORDS:
            return _WORDS[text]
        if _WHOLE.fullmatch(text):
            if len(text) > _MOST_DIGITS:
                return self._refuse_number(text, line)
            return int(text)
        if _DECIMAL.fullmatch(text):
            number = float(text)
            return number if math.isfinite(number) else self._refuse_number(text, line)
        return text

    def _refuse_number(self, text: str, line: int) -> NoValue:
        expected = f"write a whole number of at most {_MOST_DIGITS} digits or one that is not beyond 1e308"
        self._refuse(line, f"the number {text[:30]}, which is too large", expected)
        return NoValue.UNREADABLE


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1
