"""All that is drawn at one moment, frozen: what the engine last said and what the operator looks at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Protocol, runtime_checkable

from console.board.look import Look
from console.craft.model import Craft
from console.craft.plan import Watch
from console.engine.snapshot import Snapshot, SupplyStatus
from console.record.entry import Entry
from console.record.journal_corrections import Standing


class Pane(Enum):
    """What the lower part of a small board shows; a large one shows them all."""

    LOG = "log"
    FIGURES = "figures"
    STORES = "stores"
    LEDGER = "ledger"
    CABIN = "cabin"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class View:
    """One state of the board."""

    look: Look
    snapshot: Snapshot | None
    """The newest that the engine made, however old; None before the first."""
    not_updated_s: float | None
    """For how long no Snapshot has come, once that is too long; None while they come."""
    waited_s: float
    """Since the newest Snapshot: ages go on growing when the engine stands still."""
    entries: tuple[Entry, ...]
    faults: tuple[str, ...]
    """Standing faults, one sentence each, the worst first."""
    notice: str
    """What was last done, such as a saved entry; empty where there is nothing to say."""
    selected: str | None
    """The supply whose detail is shown; None: the shortest."""
    pane: Pane
    scroll: int
    """Lines by which the shown pane is moved up."""
    operator: str
    """Who is at it; empty where nobody said."""
    position: str
    read_only: bool
    """Whether nothing can be logged from here."""
    size: tuple[int, int]
    """Columns and rows of the whole board."""
    standings: Mapping[int, Standing] = field(default_factory=dict)
    """By sequence, how entries stand that were corrected."""
    watches: tuple[Watch, ...] = ()
    """By the plan."""
    craft: Craft | None = None
    """What is watched, for what a Snapshot does not say of it: what a reserve is for, what drives it."""

    @property
    def supply(self) -> SupplyStatus | None:
        """The supply in hand: the selected one, else the shortest, else the first."""
        if self.snapshot is None or not self.snapshot.supplies:
            return None
        for name in (self.selected, self.snapshot.shortest):
            if name is not None and name in self.snapshot.supplies:
                return self.snapshot.supplies[name]
        return next(iter(self.snapshot.supplies.values()))

    @property
    def panes(self) -> tuple[Pane, ...]:
        """The panes there are: one of the cabin where it is known, those of supplies where there are any."""
        snapshot = self.snapshot
        has_cabin = snapshot is not None and bool(snapshot.cabin or snapshot.clocks)
        missing = () if has_cabin else (Pane.CABIN,)
        if snapshot is not None and not snapshot.supplies:
            missing = (*missing, Pane.FIGURES, Pane.STORES, Pane.LEDGER)
        return tuple(pane for pane in Pane if pane not in missing)

    @property
    def feed_age_s(self) -> float | None:
        """Age of the feed's newest readings now, not when the Snapshot was made."""
        if self.snapshot is None:
            return None
        age_s = self.snapshot.feed.age_s(self.snapshot.at_s)
        return None if age_s is None else age_s + self.waited_s


MINIMUM_SIZE = (80, 24)
"""Below this the board shows the headline and says what it needs."""
ALL_PANES_SIZE = (110, 34)
"""From here on all panes are seen at once."""


@runtime_checkable
class Follower(Protocol):
    """A dialog that follows what is drawn."""

    def follow(self, view: View) -> None:
        """Take up a new View."""
