"""``endurance options``: what it says at 80 columns, its JSON, and that both are of the engine's figures."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def block(text: str, heading: str) -> str:
    """The block of one way home, its lines joined."""
    (found,) = [one for one in text.split("\n\n") if one.startswith(heading)]
    return re.sub(r"\n {4}", " ", found)


def test_the_json_holds_every_way_home_with_units_beside_amounts(endurance: Any, tern: Path) -> None:
    said = endurance("options", "--json", tern)
    document = said.document
    assert said.status == 0
    assert (document["format"], document["scenario"], document["committed"]) == (1, "tern", "homeward")
    assert list(document["options"]) == ["quick-turn", "homeward", "tender"]
    for way in document["options"].values():
        assert way["need"]["in_h"] == pytest.approx(
            way["arrival_in_h"] + way["recovery_h"] + way["hold_h"], rel=1e-9
        )
        assert list(way["supplies"]) == ["power", "oxygen", "water", "absorbent", "propellant"]
        assert way["supplies"]["power"]["unit"] == "A*h"
        lows = {name: one["margin_h"]["p05"] for name, one in way["supplies"].items()}
        assert way["shortest"] == min(lows, key=lambda name: lows[name])
        for one in way["supplies"].values():
            assert one["margin_h"]["p05"] <= one["margin_h"]["p50"] <= one["margin_h"]["p95"]
        assert set(way["open_until"]) == {"limit", "zero", "advisory"}
    tender = document["options"]["tender"]
    assert tender["open_until"]["limit"] == {
        "at": "2041-06-03T08:30:00Z",
        "by": "the present course's event",
        "name": "platform let go",
    }
    assert tender["delay_cost"]["unit"] == "h/h"
    assert document["options"]["homeward"]["delay_cost"] is None


def test_the_committed_way_has_the_margins_of_the_margins_command(endurance: Any, tern: Path) -> None:
    options = endurance("options", "--json", tern).document
    margins = endurance("margins", "--json", tern).document
    homeward = options["options"]["homeward"]
    assert homeward["shortest"] == margins["shortest"]
    assert homeward["delta_v_left"] == margins["need"]["delta_v_left"]
    for name, supply in margins["supplies"].items():
        assert homeward["supplies"][name]["margin_h"] == supply["margin_h"]
        assert homeward["supplies"][name]["left_at_need"] == supply["left_at_need"]


def test_the_text_fits_80_columns_and_says_what_is_short_in_words(endurance: Any, tern: Path) -> None:
    text = endurance("options", tern).out
    assert max(map(len, text.splitlines())) <= 80
    quick = block(text, "QUICK-TURN")
    assert "shortest supply: propellant, low end SHORT" in quick
    assert "propellant SHORT" in quick
    assert "open, low end: CLOSED already: propellant does not reach a margin of zero" in quick
    assert re.search(r"open, central: until T\+26h40m, in 52m00s: its decide-by; no supply closes it", quick)
    assert "delta-v 280.0 m/s of" in quick
    home = block(text, "HOMEWARD  (committed)")
    assert "waiting changes nothing" in home
    assert "posture: Burn at the far point" in home
    assert "platform let go takes us off on the present course" in block(text, "TENDER")


def test_a_decision_that_is_overdue_is_said(endurance: Any, tern: Path) -> None:
    text = endurance("options", "--at", "T+27h", tern).out
    assert "MISSED T+26h40m" in text
    quick = block(text, "QUICK-TURN")
    assert "DECIDE-BY MISSED: it was T+26h40m" in quick
    assert "20m00s ago, and nobody had logged a decision" in quick
    assert "open: CLOSED since T+26h40m, 20m00s ago: its decide-by" in quick
    assert "margins are without what lies behind of it (last: alignment renewed, T+26h50m)" in quick
    # The way that is flown, whose time to decide is not over, says nothing of the kind.
    home = block(text, "HOMEWARD  (committed)")
    assert "MISSED" not in home
    assert "cannot be taken" not in home


def test_a_way_that_has_begun_without_a_logged_decision_is_overdue_as_margins_says(
    endurance: Any, tern: Path
) -> None:
    at = ("--at", "T+29h")
    words = "DECISION OVERDUE: decide by T+28h15m"
    assert words in " ".join(endurance("margins", *at, tern).out.split())
    home = block(endurance("options", *at, tern).out, "HOMEWARD  (committed)")
    assert words in home
    assert "nobody has logged one" in home
    assert "decided" not in home
    assert "begun: carrying on is this way home" in home
    way = endurance("options", *at, "--json", tern).document["options"]["homeward"]
    assert (way["begun"], way["overdue"], way["open_until"]) == (True, True, None)


def test_once_a_decision_is_logged_no_way_is_overdue_and_a_past_deadline_is_said(
    endurance: Any, tern: Path
) -> None:
    at = ("--at", "T+28h30m")
    endurance("log", "add", "--commit", "homeward", "--when", "T+28h10m", "--operator", "mira", *at, tern)
    said = endurance("options", *at, tern).out
    assert "OVERDUE" not in said
    assert "committed at T+28h10m by mira" in block(said, "HOMEWARD  (committed)")
    assert "decide-by passed: it was T+26h40m" in block(said, "QUICK-TURN")
    ways = endurance("options", *at, "--json", tern).document["options"]
    assert not any(way["overdue"] for way in ways.values())
    assert {name for name, way in ways.items() if way["over"]} == {"quick-turn"}


def test_a_supply_that_cannot_be_read_is_not_known_and_never_zero(endurance: Any, tern: Path) -> None:
    for number in (1, 2):
        edit(tern / "state.json", f'"o2-{number}.pressure"', f'"o2-{number}.nothing"')
    document = endurance("options", "--json", tern).document
    for way in document["options"].values():
        assert way["unknown"] == ["oxygen"]
        assert way["supplies"]["oxygen"]["margin_h"] is None
        assert way["supplies"]["oxygen"]["why"]
    text = endurance("options", tern).out
    assert "(margin not known of: oxygen)" in block(text, "TENDER")
    assert "at best T+28h15m" in text


def test_figures_are_read_in_the_units_asked_for(endurance: Any, tern: Path) -> None:
    text = endurance("options", "--units", "us", tern).out
    assert "ft/s" in text
    assert " lb" in text


def test_a_source_without_readings_is_refused_in_one_line(endurance: Any, tern: Path) -> None:
    (tern / "state.json").write_text("{}", encoding="utf-8")
    said = endurance("options", "--at", "T+26h", tern)
    assert said.status == 2
    assert said.out == ""
    assert said.err.startswith("endurance: ")
