"""From a contingency as it went to scored forecasts: what was known at each moment, what was said, what came.

The engine is asked as a session asks it, with nothing that could not be known at that moment.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

import numpy as np
from calibration_choices import HOUR_S, flown
from calibration_plain import Plain, Seen, plain_view
from calibration_regimes import Case
from calibration_scoring import Floats, crps, cut_off, fair_crps, is_inside, transform
from calibration_truth import falls_to_s, moments_of, usable_at

from console.engine.assess import assess
from console.engine.decisions import decided
from console.engine.forecast import Course, Draws, interval
from console.engine.known import Situation
from console.engine.reading import FeedState
from console.engine.series import HISTORY_BACK_S, HISTORY_ROWS, Series
from console.engine.snapshot import Interval
from console.feed.simulated_recorded import Recorded
from console.record.history import History

LEVELS = (0.75, 0.5, 0.25, 0.0)
"""Of what is truly usable at the moment of the forecast."""
ASKED_SHARE = 0.8
"""A level is asked for where the plan alone brings it within this share of the time to the horizon: decided
by what was known, so that no choice goes by what came of it."""
ENGINE_SEED = 20410602
LAST_SHARE = 0.02
"""Of what is usable: where a run without wander is no longer followed, but drawn out."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Said:
    """What one method said of one level, in hours ahead; None for "never" or where it gives no figure."""

    p05_h: float | None
    p50_h: float | None
    p95_h: float | None
    crps_h: float
    fair_crps_h: float
    error_h: float
    """Of the middle, both cut off at the horizon: positive is too late."""
    inside: float | None
    """Whether the truth lies in the interval: 1, 0, or a share where it is censored; None without one."""
    pit: tuple[float, float] | None
    """The stretch of the probability transform."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One forecast of one level by all methods."""

    case: str
    regime: str
    variant: str
    scenario: str
    seed: int
    supply: str
    level: float
    at_h: float
    """Of the forecast, hours since the epoch."""
    since_change_h: float | None
    life_left: float | None
    usable_si: float
    truth_h: float | None
    """How far ahead it truly came; None: not before the horizon."""
    horizon_h: float
    """How far ahead that is."""
    engine: Said | None
    """None where the engine said that it is not known."""
    last_rate: Said | None
    line: Said | None
    plan: Said | None
    floor: Said | None
    """By somebody who knows every factor and what is truly there, but not how loads and people will stray: no
    method can be nearer for long. None where that was not asked."""
    gauge_floor: Said | None
    """The same by somebody who must believe the gauges' newest word of what is there."""

    def document(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Came:
    """What came of a contingency."""

    case: Case
    truth: Recorded
    foreseeable: Recorded | None = None
    """The same without what nobody can foresee."""


def rows_of(came: Came, draws_count: int) -> list[Row]:
    """Every forecast of one contingency, scored."""
    history, rows = _Past(came.truth), []
    for at_s, life_left in moments_of(came.case, came.truth):
        situation = _situation(came.case, came.truth, at_s, history.until(at_s))
        rows += _rows_at(came, situation, life_left, draws_count)
    return rows


class _Past:
    """The readings of a contingency as a session's history would hold them, moment after moment."""

    def __init__(self, truth: Recorded) -> None:
        self._truth = truth
        self._history = History(truth.craft.channels)
        self._taken_s = -np.inf

    def until(self, at_s: float) -> dict[str, Series]:
        """By channel what is held at a moment; moments must not go back."""
        channels = self._truth.craft.channels
        arrived = {name: self._truth.arrived(name, self._taken_s, at_s) for name in channels}
        self._history.take(
            FeedState(
                source="",
                at_s=at_s,
                quality=self._truth.feed_at(at_s).quality,
                faults=(),
                readings={},
                arrived=arrived,
            )
        )
        self._taken_s = at_s
        return {
            name: self._history.series(name, at_s - HISTORY_BACK_S, at_s, HISTORY_ROWS) for name in channels
        }


def _situation(case: Case, truth: Recorded, at_s: float, history: Mapping[str, Series]) -> Situation:
    """What a session would know."""
    scenario = case.scenario
    changes = tuple(change for change in case.logged if change.at_s <= at_s)
    decisions = decided(scenario.craft, scenario.plan, changes, at_s)
    known: dict[str, Any] = {
        "slug": scenario.slug,
        "craft": decisions.craft,
        "plan": decisions.plan,
        "feed": truth.feed_at(at_s),
        "changes": changes,
        "decision": decisions.decision,
        "at_s": at_s,
    }
    if _takes_history():
        known["history"] = history
    return Situation(**known)


def _takes_history() -> bool:
    return any(field.name == "history" for field in fields(Situation))


def _rows_at(came: Came, situation: Situation, life_left: float | None, draws_count: int) -> list[Row]:
    at_s, craft = situation.at_s, came.case.scenario.craft
    ahead = assess(situation, None, Draws(seed=ENGINE_SEED, count=draws_count)).ahead
    alone = replace(situation, history={}) if _takes_history() else situation
    plan_alone = assess(alone, None, Draws(seed=0, count=0)).ahead
    states = flown(came.case.scenario, situation.changes).stores_at(at_s)
    seen = _seen(came.truth, at_s)
    rows = []
    for name in came.case.supplies:
        asked = _Asked(
            came=came, supply=name, at_s=at_s, usable=usable_at(came.truth, name, at_s), life_left=life_left
        )
        plain = plain_view(craft.supplies[name], states, seen, came.case.seed)
        courses = (ahead.supplies[name].outlook.course, plan_alone.supplies[name].outlook.course)
        rows += [_row(asked, level, *courses, plain) for level in _levels(asked, courses[1])]
    return rows


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Asked:
    """One supply at one moment."""

    came: Came
    supply: str
    at_s: float
    usable: float
    life_left: float | None

    @property
    def horizon_s(self) -> float:
        """How far ahead the truth was followed."""
        return self.came.truth.horizon_s - self.at_s


def _levels(asked: _Asked, planned: Course | None) -> list[float]:
    """The levels that are asked for, as shares of what is usable."""
    if asked.usable <= 0.0:
        return []
    if asked.came.case.regime.has_leak:
        return list(LEVELS)
    if planned is None:
        return []
    within_s = ASKED_SHARE * asked.horizon_s
    return [level for level in LEVELS if _ahead_s(planned, level * asked.usable, asked.at_s)[0] <= within_s]


def _row(asked: _Asked, share: float, engine: Course | None, plan: Course | None, plain: Plain | None) -> Row:
    case, at_s, level_si = asked.came.case, asked.at_s, share * asked.usable
    came_s = falls_to_s(asked.came.truth, asked.supply, level_si, at_s)
    true_s = None if came_s is None else came_s - at_s
    last = None if plain is None else np.array([plain.last_rate_ahead_s(level_si)])
    said = {
        "engine": None if engine is None else _ahead_s(engine, level_si, at_s),
        "last_rate": last,
        "line": None if plain is None else plain.line_ahead_s(level_si),
        "plan": None if plan is None else _ahead_s(plan, level_si, at_s),
        "floor": _foreseeable_s(asked, level_si, asked.usable),
        "gauge_floor": None if plain is None else _foreseeable_s(asked, level_si, plain.left_si),
    }
    return Row(
        case=case.name,
        regime=case.regime.value,
        variant=case.variant,
        scenario=case.scenario.slug,
        seed=case.seed,
        supply=asked.supply,
        level=share,
        at_h=at_s / HOUR_S,
        since_change_h=None if case.change_s is None else (at_s - case.change_s) / HOUR_S,
        life_left=asked.life_left,
        usable_si=asked.usable,
        truth_h=None if true_s is None else true_s / HOUR_S,
        horizon_h=asked.horizon_s / HOUR_S,
        **{name: _said(each, true_s, asked.horizon_s) for name, each in said.items()},
    )


def _foreseeable_s(asked: _Asked, level_si: float, believed_si: float) -> Floats | None:
    """When the level comes if from now on all goes as it does without wander, from what is believed now."""
    foreseeable = asked.came.foreseeable
    if foreseeable is None:
        return None
    now_si = usable_at(foreseeable, asked.supply, asked.at_s)
    wanted_si = level_si + now_si - believed_si
    # A run ends with nothing left: what would lie below is reached at the rate of the last stretch above.
    shown_si = max(wanted_si, LAST_SHARE * now_si)
    came_s = falls_to_s(foreseeable, asked.supply, shown_si, asked.at_s)
    before_s = falls_to_s(foreseeable, asked.supply, shown_si + LAST_SHARE * now_si, asked.at_s)
    if came_s is None or before_s is None:
        return np.array([np.inf])
    beyond_s = (shown_si - wanted_si) / (LAST_SHARE * now_si) * (came_s - before_s)
    return np.array([max(came_s + beyond_s - asked.at_s, 0.0)])


def _ahead_s(course: Course, level_si: float, at_s: float) -> Floats:
    """How far ahead a level lies in every sample, row 0 the central case; infinite where it never comes."""
    down = course.less(level_si)
    return np.maximum(down.runs_out_s() - at_s, 0.0)


def _said(ahead_s: Floats | None, true_s: float | None, horizon_s: float) -> Said | None:
    """What one method said, scored; ``ahead_s`` is its central case, then its samples if it has any."""
    if ahead_s is None:
        return None
    has_samples = len(ahead_s) > 1
    shown = interval(ahead_s)
    samples = cut_off(ahead_s[1:] if has_samples else ahead_s, horizon_s)
    truth = horizon_s if true_s is None else true_s
    stretch = transform(ahead_s[1:], true_s, horizon_s) if has_samples else None
    return Said(
        p05_h=_hours(shown.p05) if has_samples else None,
        p50_h=_hours(shown.p50),
        p95_h=_hours(shown.p95) if has_samples else None,
        crps_h=crps(samples, truth) / HOUR_S,
        fair_crps_h=(fair_crps(samples, truth) if has_samples else crps(samples, truth)) / HOUR_S,
        error_h=(min(_or_never(shown.p50), horizon_s) - truth) / HOUR_S,
        inside=_inside(shown, true_s, horizon_s, stretch),
        pit=stretch,
    )


def _inside(
    shown: Interval, true_s: float | None, horizon_s: float, stretch: tuple[float, float] | None
) -> float | None:
    if stretch is None:
        return None
    return is_inside(_or_never(shown.p05), _or_never(shown.p95), true_s, horizon_s, stretch)


def _or_never(value: float | None) -> float:
    return np.inf if value is None else value


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / HOUR_S


def _seen(truth: Recorded, at_s: float) -> Seen:
    arrived = {name: truth.arrived(name, -np.inf, at_s) for name in truth.craft.channels}
    return Seen(
        now_s=at_s,
        times_s={name: each.times_s for name, each in arrived.items()},
        values_si={name: each.values_si for name, each in arrived.items()},
    )
