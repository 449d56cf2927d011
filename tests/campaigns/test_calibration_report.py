"""Verdicts say pass, fail or not judged by the figures, and figures are those of the rows."""

from __future__ import annotations

from typing import Any

import pytest
from calibration_regimes import Regime
from calibration_report import Document, figures, paired, report, verdicts


def said(error_h: float, inside: float | None = None, crps_h: float | None = None) -> Document:
    return {
        "p05_h": 9.0,
        "p50_h": 10.0 + error_h,
        "p95_h": 11.0,
        "crps_h": abs(error_h) if crps_h is None else crps_h,
        "error_h": error_h,
        "inside": inside,
        "pit": None if inside is None else [0.5, 0.5],
    }


def row(number: int, regime: Regime, **fields: Any) -> Document:
    return {
        "case": f"case-{number // 10}",
        "regime": regime.value,
        "supply": "water",
        "level": 0.0,
        "since_change_h": 1.0,
        "life_left": None,
        "truth_h": 10.0,
        "horizon_h": 100.0,
        "engine": said(0.1, 1.0),
        "last_rate": said(5.0),
        "line": said(-2.0, 0.0),
        "plan": said(1.0),
        "floor": None,
        "gauge_floor": None,
        **fields,
    }


def rows_of(regime: Regime, covered: int, count: int, **fields: Any) -> list[Document]:
    return [
        row(number, regime, **{"engine": said(0.1, float(number < covered)), **fields})
        for number in range(count)
    ]


def holds(rows: list[Document]) -> list[bool | None]:
    return [verdict.holds for verdict in verdicts(rows)]


def test_figures_are_those_of_the_rows() -> None:
    rows = [
        row(0, Regime.STEADY, engine=said(-2.0, 1.0, 0.5)),
        row(1, Regime.STEADY, engine=said(1.0, 0.0, 1.5)),
    ]
    engine = figures(rows, "engine")
    assert (engine.count, engine.covered, engine.crps_h) == (2, 0.5, 1.0)
    # By hand: errors of 20 % and 10 % of 10 h, one early and one late.
    assert engine.error_share == pytest.approx(0.15)
    assert engine.error_h == pytest.approx(1.5)
    assert engine.too_late == pytest.approx(-0.05)


def test_a_censored_truth_is_as_far_as_the_horizon() -> None:
    engine = figures([row(0, Regime.STEADY, truth_h=None, engine=said(-50.0, 0.0))], "engine")
    assert engine.error_share == pytest.approx(0.5)


@pytest.mark.parametrize(("covered", "due"), [(270, True), (260, False), (290, False)])
def test_coverage_must_lie_between_87_and_93_percent(covered: int, due: bool) -> None:
    assert holds(rows_of(Regime.COARSE, covered, 300)) == [due]


def test_fewer_than_300_forecasts_are_not_judged() -> None:
    assert holds(rows_of(Regime.COARSE, 100, 299)) == [None]


@pytest.mark.parametrize(("covered", "due"), [(90, True), (80, False)])
def test_the_first_two_hours_after_a_change_are_judged_by_themselves(covered: int, due: bool) -> None:
    late = rows_of(Regime.POWER_UP, 0, 100, since_change_h=4.0)
    assert holds(rows_of(Regime.POWER_UP, covered, 100) + late)[1] is due


@pytest.mark.parametrize(("error_h", "due"), [(0.3, True), (0.4, False)])
def test_after_a_change_the_error_must_be_a_third_of_the_best_plain_one(error_h: float, due: bool) -> None:
    rows = rows_of(Regime.SLOW_LEAK, 0, 20, engine=said(error_h, 1.0))
    assert holds(rows)[1] is due


@pytest.mark.parametrize(("error_h", "due"), [(1.0, True), (1.1, False)])
def test_in_steady_use_the_error_must_not_be_worse(error_h: float, due: bool) -> None:
    assert holds(rows_of(Regime.STEADY, 0, 20, engine=said(error_h, 1.0)))[1] is due


def test_a_growing_leak_is_judged_with_a_third_of_its_life_left() -> None:
    early = rows_of(Regime.GROWING_LEAK, 0, 50, life_left=0.5)
    late = rows_of(Regime.GROWING_LEAK, 44, 50, life_left=1.0 / 3.0)
    growing = verdicts(early + late)[2]
    assert growing.holds is True
    assert "the line 0.0%" in growing.found
    assert verdicts(early + rows_of(Regime.GROWING_LEAK, 42, 50, life_left=1.0 / 3.0))[2].holds is False


def test_methods_are_compared_where_all_of_them_said_something() -> None:
    silent = row(0, Regime.STEADY, line=None)
    assert paired([silent, row(1, Regime.STEADY)]) == [row(1, Regime.STEADY)]


def test_the_report_names_every_method_and_what_the_engine_did_not_know() -> None:
    rows = [*rows_of(Regime.STEADY, 9, 10), row(11, Regime.STEADY, engine=None)]
    text = report(rows, ["supply"])
    assert "1 not known to the engine" in text
    for words in ("left over last rate", "4-hour line", "plan alone", "supply water: 90.0%", "not judged"):
        assert words in text
