"""One value of a file with its place, and how it is read: every reader collects faults instead of raising.

A reader returns None where there is nothing to use: the value is absent, or a fault has been told about it.
Nothing made while a fault was told may leave the package; ``scenario.load_scenario`` sees to that.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TypeVar

from console.display import clean_text
from console.scenario.faults import FaultList, one_of, shown
from console.scenario.yaml_text import NoValue, YamlList, YamlMapping, YamlTree

FORMAT = 1
"""The format of the files that these readers know."""
MOST_NAME_LENGTH = 60
"""Longest name of a store, load, phase and the like: it must fit a line of the board."""
MOST_MEMBERS = 1000
"""Most keys of one mapping or items of one list."""
MOST_TEXT_LENGTH = 2000
"""Longest note."""

_E = TypeVar("_E", bound=Enum)


@dataclass(frozen=True, kw_only=True, slots=True)
class Node:
    """One value of a file."""

    value: YamlTree
    place: str
    line: int | None
    faults: FaultList
    is_required: bool = False
    """Whether a fault is told when it is absent."""

    @property
    def is_given(self) -> bool:
        """Whether something stands there, readable or not."""
        return self.value is not NoValue.ABSENT

    def refuse(self, found: str, expected: str) -> None:
        """Tell a fault of this value."""
        self.faults.add(place=self.place, line=self.line, found=found, expected=expected)

    def refuse_value(self, expected: str) -> None:
        """Tell that this value is not of the kind that is due."""
        self.refuse(describe(self.value), expected)

    def has_value(self, expected: str) -> bool:
        """Whether there is a value to look at; tells a fault where one is due and none stands."""
        if self.value is None:
            self.refuse("nothing", expected if self.is_required else f"{expected}, or leave the key out")
        elif self.value is NoValue.ABSENT and self.is_required:
            self.refuse("nothing", expected)
        return self.value is not None and not isinstance(self.value, NoValue)

    def child(self, key: str, value: YamlTree, line: int | None, *, is_required: bool = False) -> Node:
        """The node of one key below this one."""
        step = shown(key) if len(key) > MOST_NAME_LENGTH or not key.isprintable() else key
        place = f"{self.place}.{step}" if self.place else step
        return Node(value=value, place=place, line=line, faults=self.faults, is_required=is_required)

    def below(self, key: str) -> Node:
        """The place of one key of this mapping, to tell a fault of it; its value is not looked at."""
        lines = self.value.key_lines if isinstance(self.value, YamlMapping) else {}
        return self.child(key, NoValue.UNREADABLE, lines.get(key, self.line))

    def fields(self, allowed: Collection[str], expected: str) -> Fields | None:
        """This value as a mapping with a fixed set of keys."""
        mapping = self._mapping(expected)
        return None if mapping is None else Fields(self, mapping, allowed)

    def named(self, expected: str) -> dict[str, Node] | None:
        """This value as a mapping whose keys are names of the writer's own choice."""
        mapping = self._mapping(expected)
        if mapping is None:
            return None
        nodes = {key: self.child(key, value, mapping.key_lines[key]) for key, value in mapping.items()}
        for name, node in nodes.items():
            check_name(node, name)
        return nodes

    def listed(self, expected: str) -> list[Node] | None:
        """This value as a list."""
        if not self.has_value(expected):
            return None
        if not isinstance(self.value, YamlList):
            self.refuse_value(expected)
            return None
        if not self._is_of_a_size(len(self.value)):
            return None
        return [
            Node(value=item, place=f"{self.place}[{index}]", line=line, faults=self.faults, is_required=True)
            for index, (item, line) in enumerate(zip(self.value, self.value.item_lines, strict=True))
        ]

    def text(self, expected: str = "write a text") -> str | None:
        """This value as text, with nothing active left in it."""
        if not self.has_value(expected):
            return None
        if isinstance(self.value, bool | int | float):
            self.refuse(f"{describe(self.value)}, which is not text", "put it in quotes")
            return None
        if not isinstance(self.value, str):
            self.refuse_value(expected)
            return None
        if len(self.value) > MOST_TEXT_LENGTH:
            self.refuse(f"a text of {len(self.value)} characters", f"write at most {MOST_TEXT_LENGTH}")
            return None
        return clean_text(self.value).strip()

    def name(self, expected: str = "write a name") -> str | None:
        """This value as the name of something."""
        text = self.text(expected)
        return text if text is not None and check_name(self, str(self.value)) else None

    def reference(self, known: Collection[str] | None, what: str) -> str | None:
        """This value as the name of something that is declared elsewhere.

        Args:
            known: the names that are declared; None where they could not be read, so that any name passes.
            what: what is named, as ``a load``.
        """
        text = self.text(f"write the name of {what}")
        return text if text is not None and self.check_reference(text, known, what) else None

    def check_reference(self, name: str, known: Collection[str] | None, what: str) -> bool:
        """Tell a fault of this value or key where it names nothing that is declared."""
        if known is None or name in known:
            return True
        expected = self.faults.suggestion(name, known) if known else f"declare {what} first: there is none"
        self.refuse(f"{shown(name)}, which is not the name of {what}", expected)
        return False

    def choice(self, kinds: type[_E]) -> _E | None:
        """This value as one of a fixed set of words."""
        words = {str(kind.value): kind for kind in kinds}
        expected = f"write {one_of(words)}"
        if not self.has_value(expected):
            return None
        if not isinstance(self.value, str):
            self.refuse_value(expected)
            return None
        if self.value not in words:
            near = self.faults.nearest(self.value, words)
            self.refuse(shown(self.value), f"did you mean {shown(near)}?" if near else expected)
            return None
        return words[self.value]

    def boolean(self) -> bool | None:
        """This value as true or false."""
        if not self.has_value("write true or false"):
            return None
        if not isinstance(self.value, bool):
            self.refuse_value("write true or false")
            return None
        return self.value

    def whole(self, expected: str, *, least: int, most: int | None = None) -> int | None:
        """This value as a whole number within bounds."""
        if not self.has_value(expected):
            return None
        number = self.value
        if isinstance(number, bool) or not isinstance(number, int):
            self.refuse_value(expected)
            return None
        if number < least or (most is not None and number > most):
            self.refuse_value(expected)
            return None
        return number

    def _mapping(self, expected: str) -> YamlMapping | None:
        if not self.has_value(expected):
            return None
        if not isinstance(self.value, YamlMapping):
            self.refuse_value(expected)
            return None
        return self.value if self._is_of_a_size(len(self.value)) else None

    def _is_of_a_size(self, count: int) -> bool:
        if count > MOST_MEMBERS:
            self.refuse(f"{count} in one place", f"write at most {MOST_MEMBERS}")
        return count <= MOST_MEMBERS


class Fields:
    """A mapping with a fixed set of keys; tells a fault for every key that is not among them."""

    def __init__(self, node: Node, mapping: YamlMapping, allowed: Collection[str]) -> None:
        self.node = node
        self._mapping = mapping
        self._misspelt: set[str] = set()
        for key in mapping:
            if key not in allowed:
                self._refuse_key(key, [name for name in allowed if name not in mapping] or allowed)

    def _refuse_key(self, key: str, free: Collection[str]) -> None:
        near = self.node.faults.nearest(key, free)
        if near is not None:
            self._misspelt.add(near)
        expected = f"did you mean {shown(near)}?" if near is not None else f"write {one_of(free)}"
        if self._mapping[key] is None:  # in braces, text after a comma is a key without a value
            expected += "; a text that holds a comma stands in quotes"
        self.node.below(key).refuse("a key that is not known here", expected)

    def need(self, key: str) -> Node:
        """The value of a key that must be there."""
        return self._child(key, is_required=True)

    def may(self, key: str) -> Node:
        """The value of a key that may be left out."""
        return self._child(key, is_required=False)

    def _child(self, key: str, *, is_required: bool) -> Node:
        # A misspelt key has been told already; that its right form is missing would be told twice.
        gap = NoValue.UNREADABLE if key in self._misspelt else NoValue.ABSENT
        line = self._mapping.key_lines.get(key, self.node.line)
        return self.node.child(key, self._mapping.get(key, gap), line, is_required=is_required)

    def check_format(self) -> None:
        """Refuse a file of another format than the one that the readers know."""
        expected = f"write format: {FORMAT}, the one format that is known"
        self.need("format").whole(expected, least=FORMAT, most=FORMAT)


def check_name(node: Node, name: str) -> bool:
    """Tell a fault where a text cannot serve as a name: blank, too long, or not plain to read and type."""
    if not name.strip():
        node.refuse("a blank name", "write a name")
    elif len(name) > MOST_NAME_LENGTH:
        node.refuse(f"a name of {len(name)} characters", f"write at most {MOST_NAME_LENGTH}")
    elif not name.isprintable() or name != name.strip():
        node.refuse(f"the name {shown(name)}", "leave out control characters and spaces at its ends")
    else:
        return True
    return False


def describe(value: YamlTree) -> str:
    """A value of a file as it may stand in a message."""
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    return "nothing" if value is None else f"{value}"
