"""What explanations are made from: the objects that the figures came from, and the lines of the config."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.ahead import Ahead
from console.engine.configuration import ConfigurationChange
from console.engine.explain.explanation import Input
from console.engine.forecast import Draws
from console.engine.known import Known, Situation
from console.engine.snapshot import Snapshot

CRAFT: str = "craft.yaml"
PLAN: str = "plan.yaml"

H = 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Supposed:
    """What is supposed to be otherwise than a file of the scenario has it."""

    file: str
    key: str
    """The key, or one above all that is supposed."""
    words: str
    stated: float | None = None
    """What the file says, as it is read; a figure that is just that is the file's all the same."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Grounds:
    """All that the figures of one assessment were made from."""

    situation: Situation
    snapshot: Snapshot
    known: Known
    ahead: Ahead
    plan: Plan
    draws: Draws
    """Those that the figures were reckoned with."""
    lines: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    """By file, the line of every key; empty for a scenario that did not come from files."""
    supposed: tuple[Supposed, ...] = ()
    """Where the situation is not as the files and the journal have it."""
    turns: Mapping[float, Input] = field(default_factory=dict)
    """Moments that neither plan nor journal sets, by seconds since the epoch: of a switch that is tried."""

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

    def supposed_words(self, file: str, key: str, value: float) -> str:
        """What is to be said of a value that its file does not have; nothing where it has."""
        for one in self.supposed:
            is_there = one.file == file and (key == one.key or key.startswith(f"{one.key}."))
            if is_there and value != one.stated:
                return one.words
        return ""
