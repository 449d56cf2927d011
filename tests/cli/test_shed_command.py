"""``endurance shed``: what to switch off for a margin, said so that a tired person can act on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from console.report.columns import WIDTH


def shed(endurance: Any, folder: Path, *words: str) -> Any:
    said = endurance("shed", *words, "--json", folder)
    assert (said.status, said.err) == (0, "")
    return said.document


def test_the_loads_named_bring_every_supply_to_the_margin(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "8h")
    loads = [each["load"] for each in document["switch_off"]]
    assert loads
    assert (document["is_enough"], document["short"]) == (True, [])
    for name, supply in document["supplies"].items():
        assert supply["margin_h"]["after"]["p05"] >= 8.0, name
    # The same set asked for as a supposition gives the same margins.
    supposed = endurance("whatif", f"off {', '.join(loads)}", "--json", tern).document
    for name, supply in supposed["supplies"].items():
        assert supply["margin_h"] == document["supplies"][name]["margin_h"], name


def test_the_set_is_the_least_important_and_gives_up_none_too_many(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "8h")
    loads = [each["load"] for each in document["switch_off"]]
    priorities = [each["priority"] for each in document["switch_off"]]
    assert priorities == sorted(priorities, reverse=True)
    for spared in loads:
        others = ", ".join(load for load in loads if load != spared)
        without = endurance("whatif", f"off {others}", "--json", tern).document["supplies"]
        assert min(supply["margin_h"]["after"]["p05"] for supply in without.values()) < 8.0, spared


def test_each_load_buys_what_the_supposition_of_it_alone_gives(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "8h")
    (fan,) = (each for each in document["may_go"] if each["load"] == "air-fan-2")
    alone = endurance("whatif", "off air-fan-2", "--json", tern).document["supplies"]
    for name in ("power", "water", "oxygen"):
        change = alone[name]["margin_h"]["change"]["p50"]
        assert fan["margin_gained_h"][name] == pytest.approx(change, abs=1e-6), name
    assert fan["margin_gained_h"]["water"] > 0.5  # its heat need not be carried away any more


def test_what_must_stay_is_not_proposed_and_has_its_reason(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "60h")
    may_go = {each["load"] for each in document["may_go"]}
    assert not may_go & set(document["must_stay"])
    assert document["must_stay"]["air-blower"] == "CO2 removal needs it"
    assert document["must_stay"]["pwr-inverter"].endswith("needs it")
    assert document["must_stay"]["com-radio"] == "craft.yaml says so"


def test_what_no_load_can_help_is_named(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "60h")
    assert not document["is_enough"]
    assert set(document["no_load_helps"]) == {"oxygen", "absorbent", "propellant"}
    said = " ".join(endurance("shed", "--margin", "60h", tern).out.split())
    assert "No load can help oxygen, absorbent, propellant" in said
    assert "NOT REACHED by" in said
    assert "the most there is, not a proposal" in said


def test_the_central_case_asks_less(endurance: Any, tern: Path) -> None:
    low = shed(endurance, tern, "--margin", "12h")["switch_off"]
    central = shed(endurance, tern, "--margin", "12h", "--central")
    assert central["by"] == "central"
    assert len(central["switch_off"]) < len(low)
    assert min(supply["margin_h"]["after"]["p50"] for supply in central["supplies"].values()) >= 12.0


def test_a_goal_below_zero_is_taken_and_asks_nothing_here(endurance: Any, tern: Path) -> None:
    for words in (("--margin", "-3 h"), ("--margin=-3h",)):
        document = shed(endurance, tern, *words)
        assert (document["goal_h"], document["switch_off"]) == (pytest.approx(-3.0), [])
    said = " ".join(endurance("shed", "--margin=-3h", tern).out.split())
    assert "every supply has it already. Nothing has to be switched off." in said


def test_the_text_is_advice_that_fits_and_says_so(endurance: Any, tern: Path) -> None:
    said = endurance("shed", "--margin", "8h", "--run-for", "2h", tern)
    flat = " ".join(said.out.split())
    assert said.status == 0
    assert "Log each step as it is taken." in flat
    assert "No limit of the cabin comes earlier" in flat
    assert "Must stay: com-radio" in flat
    assert max(map(len, said.out.splitlines())) <= WIDTH


def test_what_may_run_keeps_the_margin_and_what_needs_another_is_told(endurance: Any, tern: Path) -> None:
    document = shed(endurance, tern, "--margin", "3h", "--run-for", "2h")
    running = {each["load"]: each for each in document["may_run"]}
    assert running["lit-outside"]["may_run"]
    assert running["com-dish"]["needs_on"] == ["com-amplifier"]
    assert not running["com-dish"]["may_run"]
    for name, each in running.items():
        ends = [margin["p05"] for margin in each["margin_h"].values()]
        assert each["keeps_margin"] is (min(ends) >= 3.0), name
    # Two hours of the light outside, 3 A: what the supposition of it gives.
    supposed = endurance("whatif", "load lit-outside on until T+27h48m", "--json", tern).document["supplies"]
    for name, margin in running["lit-outside"]["margin_h"].items():
        assert margin == pytest.approx(supposed[name]["margin_h"]["after"]), name
    assert shed(endurance, tern, "--margin", "3h")["may_run"] is None


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "--margin"),
        (["--margin", "12"], "--margin"),
        (["--margin", "12 kg"], "--margin"),
        (["--margin", "12h", "--run-for", "0 h"], "above zero"),
        (["--margin", "12h", "--run-for", "soon"], "--run-for"),
    ],
)
def test_bad_words_are_refused(endurance: Any, tern: Path, words: list[str], message: str) -> None:
    said = endurance("shed", *words, tern)
    assert (said.status, said.out) == (2, "")
    assert message in said.err
