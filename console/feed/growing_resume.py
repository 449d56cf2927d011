"""Where a growing file was left, so that a new start reads only what is new; as plain JSON and back. Pure.

Beside the place in the file stands, by channel, the last good value and what the newest word was, so that a
number that was suspect before a restart is not good after it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from console.engine.reading import Quality
from console.errors import FeedError
from console.feed.growing_judged import LastValue
from console.feed.growing_layout import COLUMNS, NEEDED, Layout
from console.feed.growing_lines import FINGERPRINT_BYTES, LineCutter
from console.feed.raw_value import shown
from console.feed.validity import Said
from console.instants import seconds_since

FORMAT = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Resume:
    """Where a growing file was left."""

    name: str
    """The file's, without its folder."""
    epoch: datetime
    """Of the times below."""
    offset: int
    """The byte at which to read on."""
    line: int
    """The number of the line there."""
    is_inside: bool
    """Whether the place lies inside a line that is too long and is passed over."""
    fingerprint: bytes
    """The last bytes before the place."""
    layout: Layout | None
    """How lines are read; None where nothing was read yet."""
    refused: int
    """How many lines were refused until then."""
    last: Mapping[str, LastValue]
    """By channel, the last good value."""
    said: Mapping[str, Said]
    """By channel, the newest word; only of those that the file named."""

    def cutter(self) -> LineCutter:
        """The place, to read on from."""
        return LineCutter(
            offset=self.offset, line=self.line, is_inside=self.is_inside, before=self.fingerprint
        )

    def at_epoch(self, epoch: datetime) -> Resume:
        """The same with times since another epoch, for a scenario whose epoch was corrected meanwhile."""
        by_s = seconds_since(epoch, self.epoch)  # the moment of the old epoch
        if by_s == 0.0:
            return self
        return replace(
            self,
            epoch=epoch,
            last={name: replace(last, at_s=last.at_s + by_s) for name, last in self.last.items()},
            said={
                name: said if said.at_s is None else replace(said, at_s=said.at_s + by_s)
                for name, said in self.said.items()
            },
        )

    def as_mapping(self) -> dict[str, object]:
        """As plain JSON."""
        return {
            "format": FORMAT,
            "name": self.name,
            "epoch": self.epoch.isoformat(),
            "offset": self.offset,
            "line": self.line,
            "inside_line": self.is_inside,
            "fingerprint": self.fingerprint.hex(),
            "columns": None if self.layout is None else list(self.layout.columns),
            "refused": self.refused,
            "last": {name: [last.value_si, last.at_s] for name, last in self.last.items()},
            "said": {
                name: [said.quality.value, said.why, said.value_si, said.at_s]
                for name, said in self.said.items()
            },
        }


def resume_from(raw: object) -> Resume:
    """Read what ``as_mapping`` gave.

    Raises:
        FeedError: it is no such mapping; whoever kept it goes on without.
    """
    try:
        return _resume(_Kept(raw))
    except (ValueError, TypeError, KeyError) as error:
        raise FeedError(f"the place that was kept of a growing file cannot be used ({error})") from None


class _Kept:
    """A mapping as it was kept, read key by key."""

    def __init__(self, raw: object) -> None:
        if not isinstance(raw, Mapping) or raw.get("format") != FORMAT:
            raise ValueError(f"found {shown(raw)}, which is not of format {FORMAT}")
        self._raw = raw

    def text(self, key: str) -> str:
        value = self._raw[key]
        if not isinstance(value, str):
            raise ValueError(f"{key}: found {shown(value)}; a text is due")
        return value

    def count(self, key: str, least: int) -> int:
        value = self._raw[key]
        if isinstance(value, bool) or not isinstance(value, int) or value < least:
            raise ValueError(f"{key}: found {shown(value)}; a whole number from {least} on is due")
        return value

    def claim(self, key: str) -> bool:
        return bool(self._raw[key])

    def layout(self) -> Layout | None:
        columns = self._raw["columns"]
        if columns is None:
            return None
        if columns and (not set(NEEDED) <= set(columns) <= set(COLUMNS) or len(set(columns)) < len(columns)):
            raise ValueError("columns: those of a header are due")
        return Layout(columns=tuple(columns))

    def rows(self, key: str, length: int) -> dict[str, list[object]]:
        if not isinstance(self._raw[key], Mapping):
            raise ValueError(f"{key}: found {shown(self._raw[key])}; a mapping of channels is due")
        rows = {str(name): list(row) for name, row in self._raw[key].items()}
        if any(len(row) != length for row in rows.values()):
            raise ValueError(f"{key}: {length} values a channel are due")
        return rows


def _resume(kept: _Kept) -> Resume:
    epoch = datetime.fromisoformat(kept.text("epoch"))
    offset, fingerprint = kept.count("offset", 0), bytes.fromhex(kept.text("fingerprint"))
    if epoch.tzinfo is None or len(fingerprint) != min(offset, FINGERPRINT_BYTES):
        raise ValueError("epoch or fingerprint is not whole")
    return Resume(
        name=kept.text("name"),
        epoch=epoch,
        offset=offset,
        line=kept.count("line", 1),
        is_inside=kept.claim("inside_line"),
        fingerprint=fingerprint,
        layout=kept.layout(),
        refused=kept.count("refused", 0),
        last={
            name: LastValue(value_si=_number(value_si), at_s=_number(at_s))
            for name, (value_si, at_s) in kept.rows("last", 2).items()
        },
        said={name: _said(*row) for name, row in kept.rows("said", 4).items()},
    )


def _said(quality: object, why: object, value_si: object, at_s: object) -> Said:
    is_good = Quality(quality) is Quality.GOOD
    if is_good:
        return Said(quality=Quality.GOOD, value_si=_number(value_si), at_s=_number(at_s))
    return Said(quality=Quality(quality), why=str(why))


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"found {shown(value)}; a number is due")
    return float(value)
