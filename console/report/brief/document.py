"""A brief as JSON, format 1: each answer in words, with the figures that the words are made from."""

from __future__ import annotations

from typing import Any

from console.engine.snapshot import Snapshot
from console.report.brief.answer import Answer, Brief
from console.report.options_export import head_document


def brief_document(snapshot: Snapshot, brief: Brief) -> dict[str, Any]:
    """What ``brief --json`` prints, the same for both forms."""
    return {
        **head_document(snapshot),
        "units": snapshot.shown_in.value,
        "warnings": list(brief.warnings),
        "ahead": list(brief.ahead),
        "answers": [_answer(answer) for answer in brief.answers],
    }


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "question": answer.question,
        "short": answer.short,
        "answer": " ".join(answer.sentences),
        "assumptions": list(answer.assumptions),
        "confidence": answer.confidence,
        "figures": dict(answer.figures),
    }
