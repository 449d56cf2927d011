"""A short form of the calibration campaign: coarse, so that few contingencies can tell right from wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

TOP = Path(__file__).parents[2]
REGIMES = ("steady", "power-down", "slow-leak", "growing-leak")
METHODS = ("engine", "last_rate", "line", "plan")


@pytest.fixture(scope="module")
def campaign(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[dict[str, Any]], str]:
    """Three contingencies of each regime, one a scenario: every forecast, and what was printed."""
    kept = tmp_path_factory.mktemp("campaign") / "forecasts.json"
    command = [sys.executable, "tests/campaigns/calibration_campaign.py", "--contingencies", "12"]
    command += ["--regimes", ",".join(REGIMES), "--seed", "5", "--draws", "200", "--jobs", "1"]
    done = subprocess.run(
        [*command, "--json", str(kept)], cwd=TOP, capture_output=True, text=True, check=False, timeout=600
    )
    # 1 says that a target is missed, which so few contingencies cannot tell.
    assert done.returncode in (0, 1), done.stderr
    return json.loads(kept.read_text())["forecasts"], done.stdout


def of(campaign: tuple[list[dict[str, Any]], str], regime: str) -> list[dict[str, Any]]:
    """The forecasts of one regime that every method made."""
    rows = [row for row in campaign[0] if row["regime"] == regime]
    return [row for row in rows if all(row[method] is not None for method in METHODS)]


def crps_h(rows: list[dict[str, Any]], method: str) -> float:
    """The mean score."""
    return float(np.mean([row[method]["crps_h"] for row in rows]))


def covered(rows: list[dict[str, Any]], method: str = "engine") -> float:
    """The share of truths inside the interval."""
    return float(np.mean([row[method]["inside"] for row in rows]))


def test_every_scenario_and_regime_gives_forecasts_of_every_method(
    campaign: tuple[list[dict[str, Any]], str],
) -> None:
    rows, printed = campaign
    for regime in REGIMES:
        scenarios = {row["scenario"] for row in of(campaign, regime)}
        assert scenarios == {"tern", "whelk", "vole"}
        assert f"{regime}: " in printed
    assert all(row["truth_h"] is None or row["truth_h"] > 0.0 for row in rows)


def test_in_steady_use_and_after_a_power_down_most_truths_lie_inside(
    campaign: tuple[list[dict[str, Any]], str],
) -> None:
    # Six contingencies, whose forecasts stand and fall together: less than half would be wrong all the same.
    assert covered(of(campaign, "steady") + of(campaign, "power-down")) > 0.6


def test_after_a_power_down_the_engine_scores_better_than_what_lags(
    campaign: tuple[list[dict[str, Any]], str],
) -> None:
    rows = of(campaign, "power-down")
    assert crps_h(rows, "engine") < 0.5 * min(crps_h(rows, "last_rate"), crps_h(rows, "line"))


def test_under_a_slow_leak_the_engine_scores_better_than_the_plan(
    campaign: tuple[list[dict[str, Any]], str],
) -> None:
    rows = of(campaign, "slow-leak")
    assert crps_h(rows, "engine") < 0.5 * crps_h(rows, "plan")


def test_a_growing_leak_is_seen_where_a_straight_line_fails(
    campaign: tuple[list[dict[str, Any]], str],
) -> None:
    rows = [row for row in of(campaign, "growing-leak") if row["life_left"] < 0.4]
    assert crps_h(rows, "engine") < 0.5 * crps_h(rows, "line")
    assert covered(rows) > 0.6
    # The dangerous side: the line's end comes too late in every one.
    assert covered(rows, "line") < 0.2
    assert np.median([row["line"]["error_h"] for row in rows if row["level"] == 0.0]) > 0.0
