"""What a supposed switching takes from other loads is said, since no figure shows it."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def words(endurance: Any, *arguments: Any) -> str:
    return " ".join(endurance("whatif", *arguments).out.split())


def test_a_load_that_others_need_is_not_switched_off_without_a_word(endurance: Any, tern: Path) -> None:
    said = words(endurance, "load pwr-inverter off", tern)
    needing = "air-fan-1, air-fan-2, air-blower, th-pump-1, th-pump-2 need it"
    assert f"MIND: pwr-inverter is not on: {needing}, and the figures take it that they run on" in said
    # It stands with what gets better and worse, before any table of figures.
    assert said.index("MIND:") < said.index("before after change")


def test_what_must_stay_on_is_named_with_the_moment(endurance: Any, tern: Path) -> None:
    said = words(endurance, "load com-radio off from T+40h", tern)
    assert "MIND: com-radio is not on from T+40h00m on: craft.yaml says that it must stay on" in said
    # Standby is not off, but what needs it on lacks it all the same.
    low = words(endurance, "level minimal from T+40h", tern)
    assert "MIND: com-radio is not on from T+74h00m on: com-amplifier needs it" in low
    assert "must stay on" not in low


def test_what_nobody_needs_is_switched_off_without_a_word(endurance: Any, tern: Path) -> None:
    assert "MIND" not in words(endurance, "load dis-main off", tern)
    # Together with all that needs it, nothing is left that lacks it.
    together = ["load com-radio standby", "load com-amplifier off", "load com-dish off"]
    assert "MIND" not in words(endurance, *together, tern)


def test_the_document_has_the_same_among_the_notices_of_after(endurance: Any, tern: Path) -> None:
    notices = endurance("whatif", "--json", "load pwr-inverter off", tern).document["notices"]
    assert not any("pwr-inverter" in notice for notice in notices["before"])
    assert any(notice.startswith("pwr-inverter is not on: air-fan-1") for notice in notices["after"])


def test_keeping_a_load_or_not_says_what_would_lack_it(endurance: Any, tern: Path) -> None:
    asked = ("--keep", "pwr-inverter", "--until", "T+30h", "--restart", "0.5 A*h")
    assert "MIND: pwr-inverter is not on: air-fan-1" in words(endurance, *asked, tern)


def test_what_is_proposed_to_be_switched_off_lacks_nothing(endurance: Any, tern: Path) -> None:
    advised = endurance("shed", "--margin", "12h", "--json", tern).document
    off = [each["load"] for each in advised["switch_off"]]
    assert len(off) > 3
    assert "MIND" not in words(endurance, *(f"load {name} off" for name in off), tern)
