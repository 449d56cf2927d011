"""``endurance margins``: the schema of the design, byte for byte the same, and exit codes."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

SUPPLY_KEYS = (
    {"unit", "on_board", "protected", "residual", "reserve", "usable", "allowance", "band", "why"}
    | {"rate_now", "rate_now_source", "rate_plan", "rate_unit", "lasts_probability", "runs_out_at"}
    | {"endurance_now_h", "endurance_plan_h", "margin_h", "left_at_need"}
)


def test_the_json_holds_every_key_of_the_documented_schema(endurance: Any, tern: Path) -> None:
    said = endurance("margins", tern, "--json")
    document = said.document
    assert said.status == 0
    assert {"format", "scenario", "at", "elapsed_h", "feed", "need", "shortest", "supplies"} <= set(document)
    assert (document["format"], document["scenario"]) == (1, "tern")
    assert {"age_s", "quality", "faults"} <= set(document["feed"])
    assert {"option", "at", "in_h"} <= set(document["need"])
    assert list(document["supplies"]) == ["power", "oxygen", "water", "absorbent", "propellant"]
    for supply in document["supplies"].values():
        assert set(supply) >= SUPPLY_KEYS
        for interval in ("endurance_now_h", "endurance_plan_h", "margin_h", "left_at_need"):
            assert set(supply[interval]) == {"p05", "p50", "p95"}


def test_the_figures_of_the_json_fit_each_other(endurance: Any, tern: Path) -> None:
    document = endurance("margins", tern, "--json").document
    for name, supply in document["supplies"].items():
        parts = sum(supply[part] for part in ("protected", "isolated", "residual", "reserve"))
        assert supply["usable"] == pytest.approx(supply["on_board"] - parts, rel=1e-9), name
        assert supply["margin_h"]["p50"] == pytest.approx(
            supply["endurance_plan_h"]["p50"] - document["need"]["in_h"], rel=1e-9
        )
        for interval in ("endurance_plan_h", "margin_h", "left_at_need"):
            low, middle, high = (supply[interval][end] for end in ("p05", "p50", "p95"))
            assert low <= middle <= high
    lows = {name: supply["margin_h"]["p05"] for name, supply in document["supplies"].items()}
    assert document["shortest"] == min(lows, key=lambda name: lows[name])


def test_in_the_demo_the_shortest_supply_is_not_power(endurance: Any, tern: Path) -> None:
    document = endurance("margins", tern, "--json").document
    assert document["shortest"] not in ("power", None)
    assert len({supply["band"] for supply in document["supplies"].values()}) >= 3


def test_the_same_state_file_and_time_give_the_same_bytes(endurance: Any, tern: Path) -> None:
    words = ("margins", tern, "--state", tern / "state.json", "--at", "T+25h48m05s", "--json")
    first, second = endurance(*words), endurance(*words)
    assert first.status == 0
    assert first.out == second.out
    assert first.document["feed"]["age_s"] == pytest.approx(5.0)


def test_at_state_takes_the_state_files_own_time(endurance: Any, tern: Path) -> None:
    document = endurance("margins", tern, "--state", tern / "state.json", "--at", "state", "--json").document
    assert document["elapsed_h"] == pytest.approx(25.8)
    assert document["feed"]["age_s"] == 0.0


@pytest.mark.parametrize("moment", ["T+27h", "T+47h", "T+62h", "T+75h"])
def test_an_old_state_file_is_said_to_be_old_and_makes_no_margin_look_better(
    endurance: Any, tern: Path, moment: str
) -> None:
    fresh = endurance("margins", tern, "--at", "state", "--json").document
    stale = endurance("margins", tern, "--at", moment, "--json").document
    assert stale["feed"]["quality"] == "stale"
    for name, supply in stale["supplies"].items():
        assert supply["quality"] == "stale", name
        # The leak of a cabin whose pressure is not known any more is reckoned higher: some oxygen less.
        # What a cartridge takes with it that was changed since is reckoned for the central case alone.
        earlier = {"oxygen": 1.0, "absorbent": 0.05}.get(name, 1e-6)
        for end in ("p05", "p50", "p95"):
            before = fresh["supplies"][name]["margin_h"][end]
            assert before - earlier <= supply["margin_h"][end] <= before + 1e-6, (name, end)
            left = fresh["supplies"][name]["left_at_need"][end]
            assert supply["left_at_need"][end] <= left + 1e-6, (name, end)


def test_the_text_names_what_runs_out_first_and_by_how_much(endurance: Any, tern: Path) -> None:
    document = endurance("margins", tern, "--json").document
    said = endurance("margins", tern)
    headline = said.out.splitlines()[1]
    assert said.status == 0
    assert document["shortest"] in headline
    low, central = (document["supplies"][document["shortest"]]["margin_h"][end] for end in ("p05", "p50"))
    assert headline.index(f"{math.floor(low * 10) / 10:.1f} h") < headline.index(
        f"{math.floor(central * 10) / 10:.1f} h"
    )
    assert all(name in said.out for name in document["supplies"])


def test_pounds_in_the_state_file_become_the_kilograms_of_the_config(endurance: Any, tern: Path) -> None:
    state = json.loads((tern / "state.json").read_text())
    before = endurance("margins", tern, "--json").document["supplies"]["propellant"]["on_board"]
    channel = next(name for name in state["readings"] if name.startswith("prop") or name.startswith("pr-"))
    reading = state["readings"][channel]
    value = reading["value"] if isinstance(reading, dict) else reading
    assert isinstance(value, int | float)
    state["readings"][channel] = f"{value / 0.45359237!r} lb"
    (tern / "state.json").write_text(json.dumps(state))
    after = endurance("margins", tern, "--json").document["supplies"]["propellant"]["on_board"]
    assert after == pytest.approx(before, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("margins", "nowhere"), "nowhere"),
        (("margins", "--state", "nowhere.json"), "nowhere.json"),
        (("margins", "--at", "half past four"), "--at"),
        (("margins", "--at", "12:30:00"), "T+12h30m"),
        (("margins", "--frobnicate"), "--frobnicate"),
        (("margine",), "margins"),
        ((), "COMMAND"),
        (("ledger", "oxygn"), "did you mean 'oxygen'"),
        (("margins", "--at", "T+9999999999h"), "T+9999999999h"),
    ],
)
def test_bad_usage_is_exit_code_2_with_one_clear_message(
    endurance: Any, words: tuple[str, ...], expected: str
) -> None:
    said = endurance(*words)
    assert said.status == 2
    assert said.out == ""
    assert expected in said.err
    assert "Traceback" not in said.err
    assert "defect" not in said.err


@pytest.mark.parametrize(
    "words",
    [("ledger", "water", "--json"), ("ledger", "--json", "water"), ("margins", "--at", "T+26h", "--json")],
)
def test_the_scenario_is_the_last_word_wherever_the_options_stand(
    endurance: Any, tern: Path, words: tuple[str, ...]
) -> None:
    craft = (tern / "craft.yaml").read_text()
    (tern / "craft.yaml").write_text(craft.replace("name: Tern", "name: Petrel", 1))
    said = endurance(*words, tern)
    assert (said.status, said.document["scenario"]) == (0, "petrel"), said.err
