"""What a brief is made of: answers, each with what it rests on, how far to trust it, and its figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """One question answered in plain words."""

    head: str
    """One or two words that stand before it in the short form."""
    question: str
    short: str
    """To be read aloud in a breath."""
    shorter: str
    """The same where the screen has no room for it."""
    sentences: tuple[str, ...]
    """Everything, one thought each."""
    assumptions: tuple[str, ...]
    confidence: str
    figures: Mapping[str, Any] = field(default_factory=dict)
    """What the sentences are made from, as JSON, units beside them."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Brief:
    """All answers, and what must be said before them."""

    warnings: tuple[str, ...]
    """Said first: readings that are old or not live, a craft that exists only here."""
    title: str
    """Which craft, when, how fresh."""
    ahead: tuple[str, ...] = ()
    """What everything is measured against, and what comes next."""
    answers: tuple[Answer, ...]
