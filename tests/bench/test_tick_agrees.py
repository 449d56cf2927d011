"""Closed form, a table of samples by phases and scipy's steps give one forecast: a small craft, no speed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tick_bench import AGREED, Scene
from tick_craft import Size
from tick_forecasts import apart, by_closed_form, by_table

from console.engine.draws import Floats

SMALL = Size(supplies=4, loads=7, phases=12, options=2, channels=14, samples=60)
ROWS = range(3)


@pytest.fixture(scope="module", params=[False, True], ids=["no history", "an hour of history"])
def scene(request: pytest.FixtureRequest) -> Scene:
    return Scene(replace(SMALL, has_history=request.param))


def test_three_ways_to_a_forecast_agree_in_the_ends_and_the_middle(scene: Scene) -> None:
    tables, steps = scene.agreement(ROWS)
    assert tables < AGREED
    assert steps < AGREED


def test_the_engines_margins_are_those_of_the_table(scene: Scene) -> None:
    plan = scene.situation.plan
    snapshot = scene.tick().snapshot
    for name, found in by_table(scene.given[0]).items():
        told = snapshot.supplies[name].margin_s
        assert told is not None
        assert plan.committed == next(iter(plan.options))
        for end in ("p05", "p50", "p95"):
            assert getattr(told, end) == pytest.approx(getattr(found.margin_s, end), rel=1e-9), (name, end)


def test_a_difference_is_seen(scene: Scene) -> None:
    given = scene.given[0]
    off = {name: replace(one, begin_si=1.001 * one.begin_si) for name, one in given.items()}
    assert apart(by_closed_form(given), by_table(off), given) > 1e-4


def test_the_history_narrows_what_is_forecast() -> None:
    def widths(has_history: bool) -> Floats:
        supplies = Scene(replace(SMALL, has_history=has_history)).tick().snapshot.supplies
        ends = [one.margin_s for one in supplies.values()]
        return np.array([end.p95 - end.p05 for end in ends if end and end.p95 and end.p05])

    assert widths(True).sum() < 0.9 * widths(False).sum()
