"""The faults of one file while it is read, and the nearest spelling of a name. It must not read anything."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable
from itertools import islice

from console.errors import Fault

_MOST_LISTED = 8
_MOST_SHOWN = 60
_MOST_LOOKS = 100


class FaultList:
    """Collects what is wrong in one file, so that all of it can be told at once."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._faults: list[Fault] = []
        self._looks = 0

    def add(self, *, place: str, line: int | None, found: str, expected: str) -> None:
        """One more thing that is wrong."""
        self._faults.append(Fault(file=self.file, place=place, line=line, found=found, expected=expected))

    def extend(self, faults: Iterable[Fault]) -> None:
        """Faults that another reader of the same file has found."""
        self._faults.extend(faults)

    def nearest(self, name: str, known: Collection[str]) -> str | None:
        """The known name that this was most likely meant to be, for the first so many wrong names of a file.

        A look takes time in proportion to what is known, and a file that is wrong throughout (one of another
        kind, a generated one) must be refused as quickly as any.
        """
        self._looks += 1
        return nearest(name, known) if self._looks <= _MOST_LOOKS else None

    def suggestion(self, name: str, known: Collection[str]) -> str:
        """What to write for a name that is not known."""
        near = self.nearest(name, known)
        return f"did you mean {shown(near)}?" if near is not None else f"write {one_of(known)}"

    def in_file_order(self) -> tuple[Fault, ...]:
        """All of them from the top of the file to its end; those without a line first."""
        return tuple(sorted(self._faults, key=lambda fault: fault.line or 0))


def shown(text: str) -> str:
    r"""A text from a file as it may stand in a message: in quotes, short, nothing in it active.

    >>> shown("a\x1b[31m")
    "'a\\x1b[31m'"
    """
    return repr(text if len(text) <= _MOST_SHOWN else text[: _MOST_SHOWN - 1] + "…")


def nearest(name: str, known: Collection[str]) -> str | None:
    """The known name that this one was most likely meant to be; None where none is near.

    >>> nearest("oxigen", ["water", "oxygen"])
    'oxygen'
    """
    wanted = name[:_MOST_SHOWN].casefold().replace("_", "-")
    folded = {candidate.casefold().replace("_", "-"): candidate for candidate in known}
    near = difflib.get_close_matches(wanted, folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def one_of(known: Collection[str]) -> str:
    """The known names as a choice, cut short where there are many.

    >>> one_of(["on", "standby", "off"])
    "one of 'on', 'standby', 'off'"
    """
    names = ", ".join(shown(name) for name in islice(known, _MOST_LISTED))
    if len(known) == 1:
        return names
    return f"one of {names}, …" if len(known) > _MOST_LISTED else f"one of {names}"
