"""What can be wrong with what a person gave us, said so that the person can mend it.

One base class; one leaf for each part of the house. ``cli.main`` alone prints them and picks exit codes.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


class EnduranceError(Exception):
    """Base of every error that is the input's or the surroundings' and not a defect of the program."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing that is wrong in one place of one file."""

    file: str
    """The file's name, as the person would look for it."""
    place: str
    """The path of keys inside the file, such as ``supplies.oxygen.stores.o2-1.volume``, or a line."""
    found: str
    """What stands there now."""
    expected: str
    """What to write instead."""
    line: int | None = None
    """The line in the file, counted from 1, where it is known."""

    def __str__(self) -> str:
        where = f"{self.file}: {self.place}" if self.place else self.file
        if self.line is not None:
            where += f" (line {self.line})" if self.place else f": line {self.line}"
        return f"{where}: found {self.found}; {self.expected}"


class ScenarioError(EnduranceError):
    """A scenario cannot be used; carries every fault that was found, in the files' order."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class YamlError(EnduranceError):
    """A text is not the YAML that we accept, whatever it was meant to say.

    Neutral: scenario and feed each turn it into their own error. ``line``, ``found`` and ``expected`` are
    those of the first fault.
    """

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        self.line = faults[0].line
        self.found = faults[0].found
        self.expected = faults[0].expected
        super().__init__("\n".join(str(fault) for fault in faults))


class UnitsError(EnduranceError):
    """A text is no quantity, or a quantity of the wrong dimension.

    ``found`` and ``expected`` are kept apart so that the caller can add the place.
    """

    def __init__(self, found: str, expected: str) -> None:
        self.found = found
        self.expected = expected
        super().__init__(f"found {found}; {expected}")


class InstantError(EnduranceError):
    """A text is no instant that we accept."""

    def __init__(self, found: str, expected: str) -> None:
        self.found = found
        self.expected = expected
        super().__init__(f"found {found}; {expected}")


class FeedError(EnduranceError):
    """A source of readings cannot be used at all (what is wrong inside one is a fault it reports)."""


class JournalError(EnduranceError):
    """The journal cannot be opened, read or written."""


class UsageError(EnduranceError):
    """A command's words do not make sense together."""


def nearest_words(found: str, known: Iterable[str]) -> str:
    """What to write instead of a name that is not known: the nearest one, else all there are.

    >>> nearest_words("oxygn", ["power", "oxygen"]), nearest_words("x", ["power", "oxygen"])
    ("did you mean 'oxygen'?", 'there are power, oxygen')
    """
    names = list(known)
    near = difflib.get_close_matches(found, names, n=1)
    return f"did you mean {near[0]!r}?" if near else f"there are {', '.join(names) or 'none'}"
