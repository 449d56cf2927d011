"""``--feed sim``: a rehearsal has its own journal and goes on where that ends."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def test_the_simulated_craft_answers_with_its_own_time_and_is_named(endurance: Any, tern: Path) -> None:
    document = endurance("margins", "--feed", "sim", "--json", tern).document
    assert document["feed"]["source"] == "simulated craft"
    assert document["feed"]["quality"] == "good"
    assert 25.7 < document["elapsed_h"] < 26.5
    assert document["shortest"] is not None


def test_a_rehearsal_stays_out_of_the_real_journal(endurance: Any, tern: Path, tmp_path: Path) -> None:
    endurance("log", "add", "--note", "rehearsed", "--feed", "sim", tern)
    assert "rehearsed" in endurance("log", "list", "--feed", "sim", tern).out
    assert "rehearsed" not in endurance("log", "list", tern).out
    assert [path.name for path in tmp_path.rglob("*.journal")] == ["tern-20410602T031000Z-simulated.journal"]


def test_a_rehearsal_goes_on_after_its_newest_moment_whatever_was_logged_last(
    endurance: Any, tern: Path
) -> None:
    endurance("log", "add", "--note", "at thirty", "--feed", "sim", "--at", "T+30h", tern)
    endurance("log", "add", "--note", "late", "--feed", "sim", "--at", "T+30h", "--when", "T+26h", tern)
    assert endurance("margins", "--feed", "sim", "--json", tern).document["elapsed_h"] >= 30.0
    third = endurance("log", "add", "--note", "next", "--feed", "sim", "--json", tern).document
    assert third["elapsed_h"] >= 30.0


def test_a_scenario_without_simulation_says_what_is_missing(endurance: Any, tern: Path) -> None:
    (tern / "simulation.yaml").unlink()
    said = endurance("margins", "--feed", "sim", tern)
    assert said.status == 2
    assert "simulation.yaml" in said.err
