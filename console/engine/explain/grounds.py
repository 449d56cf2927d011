"""What explanations are made from: the objects that the figures came from, and the lines of the config."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.ahead import Ahead
from console.engine.configuration import ConfigurationChange
from console.engine.forecast import Draws
from console.engine.known import Known
from console.engine.snapshot import Snapshot

CRAFT: str = "craft.yaml"
PLAN: str = "plan.yaml"

H = 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Grounds:
    """All that the figures of one assessment were made from."""

    snapshot: Snapshot
    known: Known
    ahead: Ahead
    plan: Plan
    draws: Draws
    """Those that the figures were reckoned with."""
    lines: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    """By file, the line of every key; empty for a scenario that did not come from files."""

    @property
    def craft(self) -> Craft:
        """The craft."""
        return self.known.craft

    @property
    def decisions(self) -> tuple[ConfigurationChange, ...]:
        """What was decided by now, in the journal's order."""
        return tuple(change for change in self.known.changes if change.at_s <= self.at_s)

    @property
    def at_s(self) -> float:
        """Now."""
        return self.known.at_s
