"""``endurance brief``: short enough to read aloud, never surer than its figures, at one with margins."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

CONFIGS = Path(__file__).parents[2] / "configs"
SCENARIOS = ("tern", "vole", "whelk")
TOO_SURE = re.compile(
    r"\b(will|certain|certainly|sure|safe|safely|guaranteed|definitely|never fails)\b", re.I
)


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_the_short_brief_fits_one_screen(endurance: Any, scenario: str) -> None:
    said = endurance("brief", CONFIGS / scenario)
    lines = said.out.splitlines()
    assert said.status == 0
    assert 8 <= len(lines) <= 22
    assert max(map(len, lines)) <= 78


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_no_word_is_surer_than_the_figures(endurance: Any, scenario: str) -> None:
    for options in ((), ("--long",), ("--form", "markdown"), ("--form", "markdown", "--long")):
        assert TOO_SURE.search(endurance("brief", *options, CONFIGS / scenario).out) is None


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_each_answer_has_its_question_assumptions_and_confidence(endurance: Any, scenario: str) -> None:
    document = endurance("brief", "--json", CONFIGS / scenario).document
    assert document["format"] == 1
    assert len(document["answers"]) == 8
    for answer in document["answers"]:
        assert answer["question"].endswith("?")
        assert answer["answer"]
        assert answer["confidence"]
        assert isinstance(answer["assumptions"], list)


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_every_supply_lasts_in_the_long_brief_as_long_as_in_margins(endurance: Any, scenario: str) -> None:
    margins = endurance("margins", "--json", CONFIGS / scenario).document
    said = endurance("brief", "--long", CONFIGS / scenario).out.replace("\n", " ")
    said = re.sub(r"\s+", " ", said).lower()
    for name, supply in margins["supplies"].items():
        low, central = (
            f"{int(supply['endurance_plan_h'][end] * 10 + 1e-9) / 10:.1f} h" for end in ("p05", "p50")
        )
        assert f"{name}: {low} at the low end, {central} central under the plan" in said


def test_old_readings_are_said_before_anything_else(endurance: Any) -> None:
    said = endurance("brief", "--at", "T+62h", CONFIGS / "tern")
    first = " ".join(said.out.splitlines()[:3])
    assert "36" in first
    assert "old" in first


def test_two_forms_at_once_are_refused(endurance: Any) -> None:
    refused = endurance("brief", "--json", "--form", "markdown", CONFIGS / "tern")
    assert refused.status == 2
    assert "write one of the two" in refused.err


def test_markdown_has_a_heading_for_each_question(endurance: Any) -> None:
    said = endurance("brief", "--long", "--form", "markdown", CONFIGS / "tern").out
    document = endurance("brief", "--json", CONFIGS / "tern").document
    headings = [line for line in said.splitlines() if line.startswith("#")]
    assert all(any(answer["question"] in heading for heading in headings) for answer in document["answers"])
    assert json.dumps(document)
