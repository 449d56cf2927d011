"""What the tab key makes of a line: all that its completions begin with, else one after the other."""

from __future__ import annotations

from collections.abc import Sequence


class Completing:
    """The completions that tab goes round in, from one key to the next."""

    def __init__(self) -> None:
        self._round: tuple[str, ...] = ()

    def taken(self, typed: str, found: Sequence[str]) -> str | None:
        """The line in the place of what is typed; None where there is nothing to take.

        Args:
            typed: the line as it stands.
            found: whole lines that it could become, the likeliest first.
        """
        if typed in self._round:
            found = self._round
            taken = found[(found.index(typed) + 1) % len(found)]
        elif not found:
            return None
        else:
            common = _common(found)
            is_more = common.startswith(typed) and len(common) > len(typed)
            taken = common if is_more else found[0]
        self._round = tuple(found) if len(found) > 1 and taken in found else ()
        return taken

    def goes_round(self, typed: str) -> bool:
        """Whether tab would go on from this line to another completion."""
        return typed in self._round


def _common(lines: Sequence[str]) -> str:
    """What all lines begin with."""
    first, last = min(lines), max(lines)
    length = next((at for at, one in enumerate(first) if not last.startswith(one, at)), len(first))
    return first[:length]
