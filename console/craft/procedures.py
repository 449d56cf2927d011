"""What a procedure is: steps on the configuration, what each requires, warns of and should do. Frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import LoadState, StoreState


@dataclass(frozen=True, kw_only=True, slots=True)
class Action:
    """What a step does to the configuration: any of these together."""

    loads: Mapping[str, LoadState]
    stores: Mapping[str, StoreState]
    used_si: Mapping[str, float]
    """By store, an amount taken from it that no gauge sees."""
    level: str | None = None
    """Put every load into the state of this level, before ``loads`` is applied."""
    drops: tuple[str, ...] = ()
    """The modules that are left behind."""
    confirms_control: bool = False
    """Whether it confirms that the craft can be controlled with the mass it has now."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One step of a procedure as procedures.yaml describes it."""

    id: str
    do: str
    """What the operator does, in words."""
    action: Action
    verify_within_s: float | None
    note: str
    requires: tuple[str, ...]
    caution: str
    """What must be acknowledged before the step; empty where there is nothing."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Procedure:
    """A named series of steps."""

    name: str
    title: str
    steps: tuple[Step, ...]

    def step(self, step_id: str) -> Step:
        """The step of that id.

        Raises:
            KeyError: the procedure has no such step.
        """
        for step in self.steps:
            if step.id == step_id:
                return step
        raise KeyError(step_id)
