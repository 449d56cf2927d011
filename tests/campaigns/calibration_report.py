"""Tables and verdicts of a calibration campaign, from its scored forecasts. Nothing is bent to pass.

Rows are documents as ``Row.document`` makes them, so that a saved campaign can be reported again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from calibration_regimes import Regime
from calibration_scoring import clustered, histogram, median, wilson

METHODS = {
    "engine": "engine",
    "last_rate": "left over last rate",
    "line": "4-hour line",
    "plan": "plan alone",
}
PLAIN = ("last_rate", "line", "plan")
LEAST_COVERED, MOST_COVERED = 0.87, 0.93
LEAST_AFTER_CHANGE = 0.85
FIRST_HOURS = 2.0
FEWEST = 300
ERROR_SHARE = 1.0 / 3.0
LEAST_GROWING = 0.85
LEAST_TRUTH_H = 1.0 / 60.0
"""Errors relative to the true time ahead count that as a minute at least."""

Document = dict[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Figures:
    """One method in one regime."""

    count: int
    covered: float | None
    """None for a method without an interval."""
    clustered: tuple[float, float]
    independent: tuple[float, float]
    crps_h: float | None
    error_h: float | None
    error_share: float | None
    """Median of the absolute error over the true time ahead."""
    too_late: float | None
    """Median of the signed error over the true time ahead: above 0 is the dangerous side."""


def figures(rows: Sequence[Document], method: str) -> Figures:
    """The scores of one method."""
    said = [(row, row[method]) for row in rows if row[method] is not None]
    insides = [(row["case"], one["inside"]) for row, one in said if one["inside"] is not None]
    shares = [share for _, share in insides]
    errors = [(one["error_h"], _true_h(row)) for row, one in said]
    return Figures(
        count=len(said),
        covered=float(np.mean(shares)) if shares else None,
        clustered=clustered(shares, [case for case, _ in insides]),
        independent=wilson(sum(shares), len(shares)),
        crps_h=float(np.mean([one["crps_h"] for _, one in said])) if said else None,
        error_h=median([abs(error) for error, _ in errors]),
        error_share=median([abs(error) / true_h for error, true_h in errors]),
        too_late=median([error / true_h for error, true_h in errors]),
    )


def _true_h(row: Document) -> float:
    return max(row["horizon_h"] if row["truth_h"] is None else row["truth_h"], LEAST_TRUTH_H)


def paired(rows: Iterable[Document]) -> list[Document]:
    """The forecasts for which every method said something: only there are methods compared."""
    return [row for row in rows if all(row[method] is not None for method in METHODS)]


def first_hours(rows: Iterable[Document]) -> list[Document]:
    """The forecasts of the first two hours after a change."""
    return [row for row in rows if row["since_change_h"] is not None and row["since_change_h"] <= FIRST_HOURS]


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """One target and whether it is met; None where there are too few forecasts to judge."""

    regime: str
    target: str
    found: str
    holds: bool | None


def verdicts(rows: Sequence[Document]) -> list[Verdict]:
    """Every target for every regime that there are forecasts of."""
    found: list[Verdict] = []
    for regime in Regime:
        mine = [row for row in rows if row["regime"] == regime.value]
        if mine:
            found += _verdicts_of(regime, mine)
    return found


def _verdicts_of(regime: Regime, rows: list[Document]) -> list[Verdict]:
    found = [_coverage(regime, rows)]
    if regime.has_change:
        found.append(_coverage_after_change(regime, first_hours(rows)))
    if regime.has_change_or_leak or regime is Regime.STEADY:
        found.append(_error(regime, paired(rows)))
    if regime is Regime.GROWING_LEAK:
        found.append(_growing(rows))
    return found


def _coverage(regime: Regime, rows: list[Document]) -> Verdict:
    engine = figures(rows, "engine")
    enough = engine.count >= FEWEST and engine.covered is not None
    return Verdict(
        regime=regime.value,
        target=f"90 % interval covers {LEAST_COVERED:.0%} to {MOST_COVERED:.0%}",
        found=_covered(engine),
        holds=LEAST_COVERED <= (engine.covered or 0.0) <= MOST_COVERED if enough else None,
    )


def _coverage_after_change(regime: Regime, rows: list[Document]) -> Verdict:
    engine = figures(rows, "engine")
    return Verdict(
        regime=regime.value,
        target=f"covers at least {LEAST_AFTER_CHANGE:.0%} in the first {FIRST_HOURS:.0f} h after the change",
        found=_covered(engine),
        holds=None if engine.covered is None else engine.covered >= LEAST_AFTER_CHANGE,
    )


def _error(regime: Regime, rows: list[Document]) -> Verdict:
    share = ERROR_SHARE if regime.has_change_or_leak else 1.0
    plain = {method: figures(rows, method).error_share for method in PLAIN}
    engine = figures(rows, "engine").error_share
    known = {method: error for method, error in plain.items() if error is not None}
    best = min(known, key=lambda method: known[method], default=None)
    words = "a third of the best" if regime.has_change_or_leak else "that of the best"
    if best is None or engine is None:
        return Verdict(regime=regime.value, target=f"median error at most {words}", found="none", holds=None)
    return Verdict(
        regime=regime.value,
        target=f"median error at most {words} plain method",
        found=f"{engine:.1%} against {known[best]:.1%} ({METHODS[best]}){_floor_words(rows)}",
        holds=engine <= share * known[best],
    )


def _floor_words(rows: list[Document]) -> str:
    floor = figures([row for row in rows if row["gauge_floor"] is not None], "gauge_floor").error_share
    return "" if floor is None else f"; the gauges' errors and people's wander alone make {floor:.1%}"


def _growing(rows: list[Document]) -> Verdict:
    last_third = [
        row for row in rows if row["life_left"] is not None and row["life_left"] < 0.4 and row["level"] == 0.0
    ]
    engine, line = figures(last_third, "engine"), figures(last_third, "line")
    return Verdict(
        regime=Regime.GROWING_LEAK.value,
        target=f"with a third of the life left, inside at least {LEAST_GROWING:.0%}",
        found=f"{_covered(engine)}; the line {_covered(line)}",
        holds=None if engine.covered is None else engine.covered >= LEAST_GROWING,
    )


def _covered(one: Figures) -> str:
    if one.covered is None:
        return "no interval"
    low, high = one.clustered
    return f"{one.covered:.1%} ({low:.0%} to {high:.0%}) of {one.count}"


def report(rows: Sequence[Document], by: Sequence[str]) -> str:
    """The whole report.

    Args:
        rows: the scored forecasts.
        by: columns of the rows by which coverage is broken down further.
    """
    parts = []
    for regime in Regime:
        mine = [row for row in rows if row["regime"] == regime.value]
        if mine:
            parts.append(_table(regime, mine, by))
    parts.append(_verdict_table(verdicts(rows)))
    return "\n\n".join(parts)


def _table(regime: Regime, rows: list[Document], by: Sequence[str]) -> str:
    cases, silent = len({row["case"] for row in rows}), sum(row["engine"] is None for row in rows)
    censored = sum(row["truth_h"] is None for row in rows)
    lines = [
        f"{regime.value}: {len(rows)} forecasts of {cases} contingencies, {censored} never within the run, "
        f"{silent} not known to the engine",
        "  method               covered  95 % limits  (by case)    CRPS h  median error  too late by",
    ]
    both = paired(rows)
    lines += [_line(METHODS[method], figures(both, method)) for method in METHODS]
    if any(row["floor"] for row in both):
        lines.append(_line("floor: wander", figures(both, "floor")))
        lines.append(_line("floor: and gauges", figures(both, "gauge_floor")))
    if regime.has_change:
        lines.append(_line("engine, first 2 h", figures(first_hours(rows), "engine")))
    stretches = [tuple(row["engine"]["pit"]) for row in rows if row["engine"] and row["engine"]["pit"]]
    lines.append("  transform in tenths  " + " ".join(f"{share:.0%}" for share in histogram(stretches)))
    for column in by:
        lines += _broken_down(rows, column)
    return "\n".join(lines)


def _line(title: str, one: Figures) -> str:
    covered, limits, clusters = "     --", "          --", "          --"
    if one.covered is not None:
        covered = f"{one.covered:7.1%}"
        limits = f"{one.independent[0]:6.1%}-{one.independent[1]:.1%}"
        clusters = f"{one.clustered[0]:6.1%}-{one.clustered[1]:.1%}"
    if one.crps_h is None or one.error_h is None or one.error_share is None or one.too_late is None:
        return f"  {title:<20} none"
    return (
        f"  {title:<20} {covered}  {limits:>13}  {clusters:>13}  {one.crps_h:7.2f}  {one.error_h:6.2f} h "
        f"{one.error_share:6.1%}  {one.too_late:+7.1%}"
    )


def _broken_down(rows: list[Document], column: str) -> list[str]:
    key: Callable[[Document], str] = lambda row: str(_rounded(row[column]))  # noqa: E731 - read once, below
    lines = []
    for value in sorted({key(row) for row in rows}):
        mine = [row for row in rows if key(row) == value]
        engine = figures(mine, "engine")
        best = min((figures(paired(mine), one).error_share or np.inf for one in PLAIN), default=np.inf)
        error = "--" if engine.error_share is None else f"{engine.error_share:.1%}"
        lines.append(
            f"    {column} {value}: {_covered(engine)}, median error {error} (best plain {best:.1%})"
        )
    return lines


def _rounded(value: object) -> object:
    return round(value, 2) if isinstance(value, float) else value


def _verdict_table(found: Sequence[Verdict]) -> str:
    words = {True: "pass", False: "FAIL", None: "not judged"}
    return "\n".join(
        ["verdicts"]
        + [f"  {words[one.holds]:<10}  {one.regime:<12}  {one.target}: {one.found}" for one in found]
    )
