"""The beginning of a growing file: from its first line that is not blank, how the lines are to be read. Pure.

A file that was emptied while its producer wrote on has no header any more. Its lines are then read as before,
where the first of them makes sense so: its time is one and its channel is the craft's.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from console.craft.channels import Channel
from console.errors import InstantError
from console.feed.growing_layout import Layout, NoLayoutError, layout_of
from console.feed.growing_line import LineRefusedError, said_in_csv, text_of, too_long_text
from console.feed.growing_lines import WholeLines
from console.feed.validity import utc_since_s

BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, kw_only=True, slots=True)
class Begun:
    """How a file begins."""

    layout: Layout | None
    """None as long as there are but blank lines."""
    rest: WholeLines
    """The lines that hold readings."""
    is_as_before: bool = False
    """Whether the layout is that of the file before, since this one does not say its own."""


class Beginning:
    """What is known before the first line.

    Args:
        suffix: of the file's name.
        channels: the craft's instruments.
        epoch: the scenario's.
    """

    def __init__(self, suffix: str, channels: Mapping[str, Channel], epoch: datetime) -> None:
        self._suffix = suffix
        self._channels = channels
        self._epoch = epoch

    def begin(self, whole: WholeLines, before: Layout | None) -> Begun:
        """Find the layout.

        Args:
            whole: the first lines, or those behind blank ones.
            before: the layout of what was read under this name before.

        Raises:
            NoLayoutError: the first line says nothing that can be used.
        """
        begin, line = 0, whole.first_line
        if line == 1 and whole.lines.startswith(BYTE_ORDER_MARK):
            begin = len(BYTE_ORDER_MARK)
        while begin < len(whole.lines):
            end = whole.lines.index(b"\n", begin)
            content = whole.lines[begin:end]
            if content and not content.isspace():
                layout, is_header, is_as_before = self._layout_of(content, line, before)
                rest = _rest(whole, end + 1, line + 1) if is_header else _rest(whole, begin, line)
                return Begun(layout=layout, rest=rest, is_as_before=is_as_before)
            begin, line = end + 1, line + 1
        if whole.too_long is None:
            return Begun(layout=None, rest=_rest(whole, begin, line))
        if before is None:
            raise NoLayoutError(f"line {whole.too_long}: {too_long_text()}")
        return Begun(layout=before, rest=_rest(whole, begin, line), is_as_before=True)

    def _layout_of(self, content: bytes, line: int, before: Layout | None) -> tuple[Layout, bool, bool]:
        try:
            return (*layout_of(content, line, self._suffix), False)
        except NoLayoutError:
            # Null bytes stand where a producer wrote on at its old place in a file that was emptied.
            written = content.lstrip(b"\0")
            if before is None or not (before.is_json or not written or self._makes_sense(written, before)):
                raise
            return before, False, True

    def _makes_sense(self, content: bytes, layout: Layout) -> bool:
        with contextlib.suppress(LineRefusedError, InstantError):
            said = said_in_csv(text_of(content), layout.columns)
            utc_since_s(said.raw["at"], self._epoch)
            return said.channel in self._channels
        return False


def _rest(whole: WholeLines, begin: int, first_line: int) -> WholeLines:
    return WholeLines(lines=whole.lines[begin:], first_line=first_line, too_long=whole.too_long)
