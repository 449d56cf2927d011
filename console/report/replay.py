"""A record played again, one line a moment: what comes first, every low-end margin, what is doubted."""

from __future__ import annotations

from console.display import elapsed_text, hours_figure
from console.engine.snapshot import Band, Snapshot, SupplyStatus

BAND_MARKS = {None: "?", Band.NOMINAL: "", Band.ADVISORY: "a", Band.CAUTION: "c", Band.WARNING: "W"}
"""After a margin; the head says what they mean."""
WIDTH = 12


def replay_head(snapshot: Snapshot) -> str:
    """What the columns are."""
    names = "".join(name[: WIDTH - 1].rjust(WIDTH) for name in snapshot.supplies)
    return (
        "Margin at its low end in hours against need; a advisory, c caution, W warning, ? not known.\n"
        f"{'elapsed':<12}{names}  feed, doubted channels, changes nobody logged\n"
    )


def replay_line(snapshot: Snapshot) -> str:
    """One moment."""
    cells = "".join(_cell(supply).rjust(WIDTH) for supply in snapshot.supplies.values())
    unlogged = [supply.name for supply in snapshot.supplies.values() if supply.unlogged]
    doubted = dict.fromkeys(doubt.channel for doubt in snapshot.doubts if doubt.is_doubt)
    words = [
        f"feed {snapshot.feed.quality.value}",
        *([f"doubted {', '.join(doubted)}"] if doubted else []),
        *([f"unlogged in {', '.join(unlogged)}"] if unlogged else []),
    ]
    return f"{elapsed_text(snapshot.at_s):<12}{cells}  {'; '.join(words)}\n"


def _cell(supply: SupplyStatus) -> str:
    if supply.margin_s is None:
        return BAND_MARKS[None]
    low = "no end" if supply.margin_s.p05 is None else hours_figure(supply.margin_s.p05, signed=True)
    return f"{low}{BAND_MARKS[supply.band]}"
