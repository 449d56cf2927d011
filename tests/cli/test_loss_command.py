"""``endurance loss``: the single failures that the plan does not survive, named first."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest


def add_lines(tern: Path, text: str) -> None:
    craft = tern / "craft.yaml"
    craft.write_text(f"{craft.read_text('utf-8')}\n{text}\n", encoding="utf-8")


def test_the_text_names_first_what_the_plan_does_not_survive(endurance: Any, tern: Path) -> None:
    said = endurance("loss", tern)
    assert said.status == 0
    assert max(map(len, said.out.splitlines())) <= 80
    verdict = re.sub(r"\n {4}", " ", said.out.split("\n\n")[1])
    losses = endurance("loss", "--json", tern).document["losses"]
    short = [one for one in losses if one["ends_plan"]]
    central = [one for one in short if one["ends_plan_central"]]
    assert 0 < len(central) < len(short) < len(losses)
    first, second = verdict.split("\n")
    assert first.startswith(
        f"NOT SURVIVED (homeward) even in the central case, {len(central)} of {len(losses)} single failures"
    )
    assert "worst first: bus power; " in first
    assert f"by the low end alone, {len(short) - len(central)} of {len(losses)}" in second
    named = {name.strip() for line in (first, second) for name in line.split("first: ")[1].split(";")}
    assert named == {
        one["name"] if one["kind"] == "store" else f"{one['kind']} {one['name']}" for one in short
    }
    assert "not tried: bat-entry of power: protected, never counted" in said.out
    assert re.search(r"bat-1 lost: power SHORT .*\n- level minimal from now on", said.out)


def test_the_json_tells_every_loss_and_its_remedies(endurance: Any, tern: Path) -> None:
    document = endurance("loss", "--json", tern).document
    assert (document["format"], document["option"]) == (1, "homeward")
    assert document["worst"] == {"kind": "bus", "name": "power"}
    losses = {(one["kind"], one["name"]): one for one in document["losses"]}
    assert document["not_survived"] == [
        {"kind": kind, "name": name} for (kind, name), one in losses.items() if one["ends_plan"]
    ]
    walk = losses["store", "o2-walk"]
    assert walk["survived"] == {"low": True, "central": True}
    assert walk["remedies"] == []
    battery = losses["store", "bat-1"]
    assert battery["made_short"] == ["power"]
    assert battery["survived"]["central"] is False
    remedies = {one["kind"]: one for one in battery["remedies"]}
    assert remedies["level"]["name"] == "minimal"
    assert remedies["level"]["margin_h"]["p05"] >= 0.0
    assert remedies["draw less"]["rate_unit"] == "A"
    assert remedies["draw less"]["less"] > 0.0


def test_nothing_lost_has_the_margins_of_the_margins_command(endurance: Any, tern: Path) -> None:
    losses = endurance("loss", "--json", tern).document
    margins = endurance("margins", "--json", tern).document
    for name, supply in margins["supplies"].items():
        assert losses["without_loss"]["margins_h"][name] == supply["margin_h"]
    assert losses["without_loss"]["shortest"] == margins["shortest"]


def test_a_line_of_the_config_is_lost_as_a_whole(endurance: Any, tern: Path) -> None:
    add_lines(tern, "lines:\n  bus-a: {stores: [bat-1, bat-2], title: port cable}")
    document = endurance("loss", "--json", tern).document
    line = next(one for one in document["losses"] if one["kind"] == "line")
    assert (line["name"], line["title"], line["stores"]) == ("bus-a", "port cable", ["bat-1", "bat-2"])
    single = next(one for one in document["losses"] if one["name"] == "bat-1")
    assert line["margins_h"]["power"]["p50"] < single["margins_h"]["power"]["p50"]
    assert line["margins_h"]["water"] == single["margins_h"]["water"]
    assert "line bus-a lost: power SHORT" in endurance("loss", tern).out


def test_a_line_that_names_no_store_is_refused_with_its_place(endurance: Any, tern: Path) -> None:
    add_lines(tern, "lines: {bus-a: {stores: [bat-9]}}")
    said = endurance("loss", tern)
    assert said.status == 2
    assert "lines.bus-a.stores[0]" in said.err
    assert "did you mean 'bat-" in said.err


@pytest.mark.parametrize("moment", ["T+26h", "T+60h", "T+110h"])
def test_it_can_be_asked_at_any_time(endurance: Any, tern: Path, moment: str) -> None:
    said = endurance("loss", "--json", "--at", moment, tern)
    assert said.status == 0
    for loss in said.document["losses"]:
        assert set(loss["margins_h"]) == {"power", "oxygen", "water", "absorbent", "propellant"}
