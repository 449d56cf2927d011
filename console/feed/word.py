"""One word of a source: all that it said at once, judged by itself. Pure.

A word needs neither the moment nor anything said earlier, so it is made once and judged at every poll.
"""

from __future__ import annotations

import contextlib
import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from console.craft.channels import Channel
from console.errors import InstantError
from console.feed.raw_value import LONGEST_SHOWN, shown_name
from console.feed.state_document import MOST_NAMED, StateDocument
from console.feed.validity import Said, not_said, said_of, utc_since_s


@dataclass(frozen=True, kw_only=True, slots=True)
class Word:
    """What a source said at once."""

    at_s: float | None
    """Its time; None where it gave none that can be used."""
    said: Mapping[str, Said]
    """One for every channel of the craft, in the craft's order."""
    faults: tuple[str, ...]
    """What is wrong with it beside its readings, without the source's name."""


def word_of(document: StateDocument, channels: Mapping[str, Channel], epoch: datetime) -> Word:
    """Judge a state document by itself."""
    at_s, time_fault = document_time_s(document, epoch)
    said = {
        name: said_of(document.readings[name], channel, document.at, epoch)
        if name in document.readings
        else not_said("not in the state file")
        for name, channel in channels.items()
    }
    unknown = [name for name in document.readings if name not in channels]
    return Word(
        at_s=at_s,
        said=said,
        faults=(*time_fault, *document.faults, *unknown_channel_faults(unknown, channels)),
    )


def document_time_s(document: StateDocument, epoch: datetime) -> tuple[float | None, tuple[str, ...]]:
    """The document's own time, or None and the fault to tell."""
    try:
        return utc_since_s(document.at, epoch), ()
    except InstantError as error:
        return None, (f"at: {error}",)


def reading_times_s(document: StateDocument, epoch: datetime) -> list[float]:
    """The times that readings of the document carry themselves, as far as they are times."""
    times_s = []
    for raw in document.readings.values():
        if isinstance(raw, Mapping) and "at" in raw:
            with contextlib.suppress(InstantError):
                times_s.append(utc_since_s(raw["at"], epoch))
    return times_s


def unknown_channel_faults(unknown: list[str], channels: Iterable[str]) -> tuple[str, ...]:
    """Name channels that the craft does not have, each with the known one that is spelled most alike."""
    faults = [_unknown_channel_fault(name, list(channels)) for name in unknown[:MOST_NAMED]]
    if len(unknown) > MOST_NAMED:
        faults.append(f"found {len(unknown) - MOST_NAMED} more channels that the craft does not have")
    return tuple(faults)


def _unknown_channel_fault(name: str, channels: list[str]) -> str:
    near = difflib.get_close_matches(name[:LONGEST_SHOWN], channels, n=1, cutoff=0.0)
    hint = f"; the nearest is {near[0]}" if near else ""
    return f"found the channel {shown_name(name)}, which the craft does not have{hint}"
