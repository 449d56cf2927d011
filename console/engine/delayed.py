"""What margins are left if we carry on as we are and take another way home later, by the moment of it.

One look ahead serves a whole stretch in which nothing but time passes, by joining the present course to it.
Where what a supply gives later depends on what is left by then, every moment has its own look, unless both
courses have taken the same of it until then.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from console.craft.model import Supply
from console.craft.plan import Event, Option, Plan
from console.engine.ahead import Ahead, look_ahead
from console.engine.course import Course
from console.engine.draws import Floats
from console.engine.forecast import Draws, interval, low_rank
from console.engine.known import Known
from console.engine.snapshot import Interval
from console.engine.switch import just_before, own_events, path_bound, switched_at, switched_out_s


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Least:
    """The least of one course from a stretch of it on."""

    course: Course
    stretch: int
    until_s: Floats
    least_si: Floats
    """Both shape (samples,)."""


class Delayed:
    """The margins of one way home by the moment at which it is taken. Remembers what it has reckoned.

    Args:
        known: what is known now.
        plan: the plan.
        option: the way home.
        carrying_on: the look ahead on the present course.
        at_once: the look ahead if the way home is taken now.
        draws: samples and seed.
    """

    def __init__(
        self, known: Known, plan: Plan, option: Option, carrying_on: Ahead, at_once: Ahead, draws: Draws
    ) -> None:
        self._known, self._plan, self._option, self._draws = known, plan, option, draws
        self._carrying_on, self._at_once = carrying_on, at_once
        self._bound = path_bound(known.craft, at_once, known.at_s)
        if known.evidence is not None:
            # Use that wanders, and a leak that goes by what is held, go by the way up to the switch too.
            self._bound = frozenset(at_once.supplies)
        self._ends_s: dict[tuple[str, float, bool], float] = {}
        self._leasts: dict[tuple[str, float, int], _Least] = {}
        self._looks: dict[float, Ahead] = {known.at_s: at_once}
        self._central_looks: dict[float, Ahead] = {}
        present = plan.options[plan.committed]
        coming = [event for event in own_events(present, option) if event.at_s > known.at_s]
        self._turns_s = sorted(
            {
                *carrying_on.use.starts_s.tolist(),
                *at_once.use.starts_s.tolist(),
                *(event.at_s for event in coming),
            }
        )
        plain = [event for event in coming if not _moves(event) and event.burn_m_per_s is None]
        moved_s = {event.at_s for event in coming if event not in plain}
        self._touched = {
            at_s: {supply for event in plain if event.at_s == at_s for supply in event.uses_si}
            for at_s in {event.at_s for event in plain} - moved_s
            if at_s not in {*carrying_on.use.starts_s.tolist(), *at_once.use.starts_s.tolist()}
        }
        # What is merely used is gone from the level; what moves a store changes what comes after. And a step
        # stands until the plan moves its load again, in which the phases before the switch have a say.
        turns_s = self._turns_s if known.changes else sorted(event.at_s for event in coming if _moves(event))
        self._looks_s = [known.at_s, *(at_s for at_s in turns_s if at_s > known.at_s)]

    @property
    def supplies(self) -> Mapping[str, Supply]:
        """Those whose margin is known."""
        return {
            name: one.supply
            for name, one in self._at_once.supplies.items()
            if one.outlook.course is not None and self._carrying_on.supplies[name].outlook.course is not None
        }

    def stretches(self, now_s: float, until_s: float) -> list[tuple[float, float]]:
        """From one moment to another, the times in which neither course changes a rate."""
        begins = [now_s, *(at_s for at_s in self._turns_s if now_s < at_s < until_s)]
        return [(begin, just_before(end)) for begin, end in zip(begins, [*begins[1:], until_s], strict=True)]

    def is_one_way(self, at_s: float) -> bool:
        """Whether, for every supply, all samples agree if delay costs it or gains it just then."""
        for name in self.supplies:
            before, after = self._course(self._carrying_on, name), self._course(self._at_once, name)
            more = before.rates_at(at_s) - after.rates_at(at_s)
            noise = 1e-12 * float(np.abs(before.rates_at(at_s)).max())
            if (more > noise).any() and (more < -noise).any():
                return False
        return True

    def low_s(self, supply: str, at_s: float) -> float:
        """The low end of one supply's margin if the switch is made at a moment; infinite for no end."""
        return self._end_s(supply, at_s, is_central=False)

    def central_s(self, supply: str, at_s: float) -> float:
        """The same for the central case, for which no samples are drawn."""
        return self._end_s(supply, at_s, is_central=True)

    def holds_low(self, supply: str, at_s: float, demand_s: float) -> bool:
        """Whether the low end of one supply's margin is at least so much."""
        return self._holds(supply, at_s, demand_s, is_central=False)

    def holds_central(self, supply: str, at_s: float, demand_s: float) -> bool:
        """The same for the central case."""
        return self._holds(supply, at_s, demand_s, is_central=True)

    def is_dear(self, supply: str) -> bool:
        """Whether every moment may need a look ahead of its own."""
        return supply in self._bound

    def _holds(self, supply: str, at_s: float, demand_s: float, *, is_central: bool) -> bool:
        """Answered by bounds where those are enough, which spares most looks ahead and searches."""
        at_s = self._smooth(supply, at_s)
        is_asked = (supply, at_s, is_central) not in self._ends_s
        courses = self._unlike(supply, at_s, is_central=is_central) if is_asked else None
        if courses is not None:
            before, after = courses
            apart_si = 0.0
            if supply in self._bound:
                # What is shut, left behind or burnt later differs by no more than what is left by now does.
                # The engine reckons it in the central case and spreads it; twice covers four of its
                # deviations.
                apart_si = 2.0 * abs(float((before.left_at_si(at_s) - after.left_at_si(at_s))[0]))
            least = self._least(supply, before, after, at_s, demand_s)
            if _is_met(least - apart_si > 0.0, is_central=is_central):
                return True
            if not _is_met(least + apart_si >= 0.0, is_central=is_central):
                return False
        return self._end_s(supply, at_s, is_central=is_central) >= demand_s

    def _least(self, supply: str, before: Course, after: Course, at_s: float, demand_s: float) -> Floats:
        """The least that is left of a supply until need and a margin after it, switched at a moment.

        It is below zero where it is gone before that moment, shape (samples,).
        """
        key = (supply, demand_s, id(after))
        stretch = after.stretch_at(at_s)
        known = self._leasts.get(key)
        if known is None or known.stretch != stretch:
            errors_s = self._draws.error(f"arrival of {self._option.name}", self._option.arrival_spread_s)
            until_s = self._option.need_s + errors_s[: before.count] + demand_s
            known = _Least(
                course=after,
                stretch=stretch,
                until_s=until_s,
                least_si=after.least_from_si(stretch, until_s),
            )
            self._leasts[key] = known
        level = before.left_at_si(at_s)
        least = np.minimum(level, known.least_si + (level - after.left_at_si(at_s)))
        least = np.where(known.until_s > at_s, least, np.inf)
        return np.where(before.runs_out_s() < np.minimum(known.until_s, at_s), -np.inf, least)

    def _end_s(self, supply: str, at_s: float, *, is_central: bool) -> float:
        at_s = self._smooth(supply, at_s)
        key = (supply, at_s, is_central)
        if key not in self._ends_s:
            self._ends_s[key] = self._reckoned_s(supply, at_s, is_central=is_central)
        return self._ends_s[key]

    def _smooth(self, supply: str, at_s: float) -> float:
        """The moment, or just before it where what parts the time then does not touch the supply."""
        touched = self._touched.get(at_s)
        return at_s if touched is None or supply in touched else just_before(at_s)

    def _reckoned_s(self, supply: str, at_s: float, *, is_central: bool) -> float:
        courses = self._unlike(supply, at_s, is_central=is_central)
        if courses is None:
            return self._looked_s(supply, self._look_before(at_s), is_central=is_central)
        if supply in self._bound:
            return self._looked_s(supply, at_s, is_central=is_central)
        return self._joined_s(*courses, at_s, 0.0, is_central=is_central)

    def _unlike(self, supply: str, at_s: float, *, is_central: bool) -> tuple[Course, Course] | None:
        """The present course and the other's; None where both have taken the same until then."""
        look_s = self._look_before(at_s)
        if at_s == look_s:
            return None
        before = self._course(self._carrying_on, supply)
        after = self._course(self._look(look_s, is_central=is_central), supply)
        if is_central:
            before, after = before.central(), after.central()
        is_alike = np.array_equal(before.left_at_si(at_s), after.left_at_si(at_s))
        return None if is_alike else (before, after)

    def _joined_s(
        self, before: Course, after: Course, at_s: float, more_si: float, *, is_central: bool
    ) -> float:
        errors_s = self._draws.error(f"arrival of {self._option.name}", self._option.arrival_spread_s)
        need_s = self._option.need_s + errors_s[: before.count]
        margin = interval(switched_out_s(before, after, at_s, more_si) - need_s)
        return _end(margin, is_central=is_central)

    def _look_before(self, at_s: float) -> float:
        """The moment of the look ahead that holds for a switch at another."""
        return self._looks_s[bisect_right(self._looks_s, at_s) - 1]

    def _looked_s(self, supply: str, at_s: float, *, is_central: bool) -> float:
        """By a look ahead of its own."""
        margin = self._look(at_s, is_central=is_central).supplies[supply].outlook.margin_s
        if margin is None:
            raise ValueError(f"the margin of {supply} is not known")
        return _end(margin, is_central=is_central)

    def _look(self, at_s: float, *, is_central: bool) -> Ahead:
        if at_s in self._looks:
            return self._looks[at_s]
        looks = self._central_looks if is_central else self._looks
        if at_s not in looks:
            draws = replace(self._draws, count=0) if is_central else self._draws
            switched = switched_at(self._plan, self._option, at_s)
            looks[at_s] = look_ahead(self._known, self._plan, switched, draws)
        return looks[at_s]

    @staticmethod
    def _course(ahead: Ahead, supply: str) -> Course:
        course = ahead.supplies[supply].outlook.course
        if course is None:
            raise ValueError(f"the margin of {supply} is not known")
        return course


def _is_met(holds: NDArray[np.bool_], *, is_central: bool) -> bool:
    """Whether a demand is met by the central case, or by the low end too: as ``interval`` takes it."""
    if is_central or not holds[0]:
        return bool(holds[0])
    return int(np.count_nonzero(~holds[1:])) <= low_rank(len(holds) - 1)


def _end(margin: Interval, *, is_central: bool) -> float:
    end = margin.p50 if is_central else margin.p05
    return math.inf if end is None else end


def _moves(event: Event) -> bool:
    """Whether an event changes what stores and modules there are to draw from."""
    return bool(event.sets) or event.transfer is not None or bool(event.drops)
