"""A scenario is a folder: craft.yaml, plan.yaml and procedures.yaml.

They are read together, so that all faults of all files are told at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from console.craft.model import Craft
from console.craft.plan import Plan
from console.craft.procedures import Procedure


@dataclass(frozen=True, kw_only=True, slots=True)
class Scenario:
    """One scenario, checked."""

    slug: str
    """The craft's name in lower case with hyphens: names the journal and stands in the JSON."""
    folder: Path
    craft: Craft
    plan: Plan
    procedures: Mapping[str, Procedure]
