"""What a tired lead reads aloud: nothing that matters is left out, and no figure sounds better than it is."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

from console.report.brief.text import SHORT_LINES

CONFIGS = Path(__file__).parents[2] / "configs"
SCENARIOS = ("tern", "vole", "whelk")


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", SCENARIOS)
def test_need_and_what_comes_next_are_said_before_the_answers(endurance: Any, name: str) -> None:
    margins = endurance("margins", "--json", CONFIGS / name).document
    short = flat(endurance("brief", CONFIGS / name).out)
    need = re.search(r"Need: (\S+) until T\+\S+, in ([\d.]+) h\.", short)
    assert need is not None
    assert need.group(1) == margins["need"]["option"]
    # The time that must be reached is rounded up, never down.
    assert 0.0 <= float(need.group(2)) - margins["need"]["in_h"] < 0.1
    assert short.index("Next: in ") < short.index("Lasts:")


def test_a_deadline_of_the_next_hours_is_said_of_every_way_home(endurance: Any) -> None:
    short = flat(endurance("brief", CONFIGS / "tern").out)
    assert "in 52 min decide on quick-turn (closed by the low end), in 2.4 h decide on homeward" in short
    document = endurance("brief", "--json", CONFIGS / "tern").document
    assert any("decide on quick-turn" in each for each in document["ahead"])


@pytest.mark.parametrize("name", SCENARIOS)
def test_all_eight_answers_are_in_the_short_form(endurance: Any, name: str) -> None:
    lines = endurance("brief", CONFIGS / name).out.splitlines()
    assert len(lines) <= SHORT_LINES
    heads = [line.split(":")[0] for line in lines if not line.startswith(" ")]
    for head in ("Lasts", "First", "Do we make it", "Change", "Set aside", "Ways home", "Cabin", "Not known"):
        assert head in heads


@pytest.mark.parametrize("name", SCENARIOS)
def test_everything_that_is_short_is_in_the_verdict(endurance: Any, name: str) -> None:
    margins = endurance("margins", "--json", CONFIGS / name).document
    ends = {supply: each["margin_h"]["p05"] for supply, each in margins["supplies"].items()}
    ends |= {
        clock["limit"]: clock["margin_h"]["p05"]
        for clock in margins["cabin_clocks"]
        if clock["supposition"] == "under the plan" and clock["margin_h"] is not None
    }
    short = [end for end, low in ends.items() if low is not None and low < 0.0]
    (verdict,) = re.findall(r"Do we make it: (.*?) Change:", flat(endurance("brief", CONFIGS / name).out))
    for end in short:
        assert end in verdict, end
    assert ("yes" in verdict.lower()) == (not short)


def test_what_a_switching_off_costs_the_cabin_is_said_with_what_it_buys(endurance: Any) -> None:
    short = flat(endurance("brief", CONFIGS / "whelk").out)
    assert re.search(
        r"heat-main buys [\d.]+ h of power; but with what is proposed off, cold comes earlier", short
    )


def test_on_old_readings_no_yes_is_said_without_their_age(endurance: Any) -> None:
    for words in (("--at", "T+27h"), ("--at", "T+62h")):
        (verdict,) = re.findall(
            r"Do we make it: (.*?) Change:", flat(endurance("brief", *words, CONFIGS / "tern").out)
        )
        assert "on these figures" not in verdict.lower()
        assert re.match(
            r"On readings that are stale, up to \S+ old, if all went as planned since, yes", verdict
        )


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_is_missing_is_no_negative_amount_that_is_left(endurance: Any, name: str) -> None:
    said = flat(endurance("brief", "--long", CONFIGS / name).out)
    (left,) = re.findall(r"Of \S+, at need, (.*?)\. [A-Zd]", said)
    margins = endurance("margins", "--json", CONFIGS / name).document
    low = margins["supplies"][margins["shortest"]]["left_at_need"]["p05"]
    assert "-" not in left
    assert ("is missing at the low end" in left) == (low < 0.0)


def test_every_limit_is_said_that_comes_if_all_loads_stop(endurance: Any) -> None:
    cabin = endurance("brief", "--json", CONFIGS / "whelk").document["answers"][6]["answer"]
    said = cabin[cabin.index("If all loads stopped now, at the low end:") :]
    clocks = endurance("margins", "--json", CONFIGS / "whelk").document["cabin_clocks"]
    stopped = {
        clock["limit"]: clock["reached_in_h"]["p05"]
        for clock in clocks
        if clock["supposition"] == "if all loads stopped now" and clock["state"] == "running"
    }
    assert "cold" in stopped
    for limit, low_h in stopped.items():
        assert f"{limit} in {math.floor(low_h * 10.0) / 10.0:.1f} h" in said


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_property_of_the_cabin_is_said_in_the_unit_of_its_limit(endurance: Any, name: str) -> None:
    cabin = endurance("brief", "--json", CONFIGS / name).document["answers"][6]["answer"]
    read = cabin[: cabin.index(" [")]
    for clock in endurance("margins", "--json", CONFIGS / name).document["cabin_clocks"]:
        if clock["of"] == "carbon_dioxide" and not clock["share"]:
            assert re.search(rf"carbon dioxide [\d.]+ {re.escape(clock['unit'])}", read), clock["limit"]


@pytest.mark.parametrize("name", SCENARIOS)
def test_confidence_says_that_rates_are_the_models_wherever_it_rests_on_them(
    endurance: Any, name: str
) -> None:
    answers = endurance("brief", "--json", CONFIGS / name).document["answers"]
    for at in (0, 1, 2, 3, 5):
        assert "some rates are the model's" in answers[at]["confidence"], answers[at]["question"]
