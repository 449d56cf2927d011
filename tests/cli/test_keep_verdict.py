"""``whatif --keep`` in words: what brings a limit of the cabin nearer is never merely said to pay."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any


def verdict(endurance: Any, tern: Path, load: str, until: str = "T+40h") -> str:
    said = endurance("whatif", "--keep", load, "--until", until, "--restart", "2.3 A*h", tern)
    assert said.status == 0
    flat = " ".join(said.out.split())
    (found,) = re.findall(r"(Switching off .*?) If it is switched off", flat)
    return found


def test_a_blower_that_clears_the_air_is_not_said_to_pay(endurance: Any, tern: Path) -> None:
    said = verdict(endurance, tern, "air-blower")
    assert "PAYS" not in said
    assert re.search(
        r"saves power, water but brings limits of the cabin EARLIER: CO2 nominal by [\d.]+ h", said
    )


def test_a_load_that_must_stay_on_is_said_to(endurance: Any, tern: Path) -> None:
    assert "CAUTION: craft.yaml says that com-radio stays on" in verdict(endurance, tern, "com-radio")
    assert "CAUTION" not in verdict(endurance, tern, "lit-cabin")


def test_what_costs_nothing_else_still_pays(endurance: Any, tern: Path) -> None:
    assert verdict(endurance, tern, "lit-cabin").startswith("Switching off PAYS: it saves power")
