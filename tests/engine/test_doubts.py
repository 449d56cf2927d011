"""What history says against a channel stays said as long as it is so."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from console.craft.channels import Measured
from console.engine.configuration import Configuration
from console.engine.doubts import believed_until_s, doubts_of
from console.engine.leaks import CabinPressure
from console.engine.planned_use import planned_use
from console.engine.reading import Quality, Reading
from console.engine.series import Series, is_still, series_of
from console.engine.validity.verdict import Doubt, Use, Verdict

H = 3600.0


class Scene:
    """One water tank, and a gauge that flickers until it sticks."""

    def __init__(self, build: Any, stuck_from_s: float, until_s: float) -> None:
        tank = build.store("tank", quantity=Measured(channel="tank.mass"))
        use = build.use("cooling", "water", rate_si_per_s=1.0 / H) if hasattr(build, "use") else None
        self.craft = build.craft(
            build.supply("water", "kg", tank),
            channels=(build.channel("tank.mass", "kg", accuracy_si=1.0, resolution_si=0.1),),
            uses=() if use is None else (use,),
        )
        self.phases = (build.phase("coast", 0.0, "all"),)
        times = np.arange(0.0, until_s, 60.0)
        noise = np.random.default_rng(3).normal(0.0, 0.25, len(times))
        shown = np.round((200.0 - times / H + noise) * 10.0) / 10.0
        shown[times >= stuck_from_s] = shown[times >= stuck_from_s][0] if stuck_from_s < until_s else 0.0
        self.series = _thinned(times, shown, 120.0)
        self.readings = {
            "tank.mass": Reading(
                channel="tank.mass", quality=Quality.GOOD, value_si=float(shown[-1]), at_s=float(times[-1])
            )
        }
        self.at_s = until_s

    def verdicts(self, series: Series) -> Any:
        configuration = Configuration(self.craft, self.phases, (), ())
        past = planned_use(self.craft, configuration, 0.0, self.at_s, CabinPressure(), {})
        return doubts_of(
            self.craft,
            configuration,
            self.phases,
            (),
            (),
            past,
            {"tank.mass": series},
            self.readings,
            self.at_s,
        )


def _thinned(times: Any, values: Any, width_s: float) -> Series:
    keys = np.floor(times / width_s)
    starts = np.flatnonzero(np.diff(keys, prepend=-1.0))
    counts = np.add.reduceat(np.ones(len(times)), starts)
    return Series(
        times_s=np.add.reduceat(times, starts) / counts,
        means_si=np.add.reduceat(values, starts) / counts,
        lows_si=np.minimum.reduceat(values, starts),
        highs_si=np.maximum.reduceat(values, starts),
        counts=counts,
    )


@pytest.mark.parametrize("hours", [2.0, 5.0, 11.0, 18.0])
def test_a_stuck_gauge_stays_doubted_however_long_it_has_stood_still(build: Any, hours: float) -> None:
    scene = Scene(build, stuck_from_s=10 * H, until_s=(10 + hours) * H)
    (verdict, *_) = scene.verdicts(scene.series)["tank.mass"]
    assert (verdict.kind, verdict.use) == (Doubt.STUCK, Use.LEFT_OUT)
    assert verdict.since_s == pytest.approx(10 * H, abs=300.0)
    until = believed_until_s({"tank.mass": (verdict,)})["tank.mass"]
    assert until == pytest.approx(10 * H, abs=300.0)


def test_a_gauge_that_moves_is_not_doubted(build: Any) -> None:
    scene = Scene(build, stuck_from_s=1e9, until_s=20 * H)
    assert scene.verdicts(scene.series)["tank.mass"] == ()
    assert believed_until_s({"tank.mass": ()}) == {}


def test_still_is_what_moved_in_no_reading() -> None:
    assert is_still(series_of(np.arange(5.0), np.full(5, 2.0)))
    assert not is_still(series_of(np.arange(5.0), np.array([2.0, 2.0, 2.1, 2.0, 2.0])))
    assert not is_still(series_of(np.zeros(0), np.zeros(0))), "of nothing nothing is known"


def verdict(kind: Doubt, use: Use, since_s: float | None, *, is_doubt: bool = True) -> Verdict:
    return Verdict(channel="tank.mass", kind=kind, since_s=since_s, why="", use=use, is_doubt=is_doubt)


def test_a_gauge_that_swings_teaches_nothing_at_all() -> None:
    """Every swing looks like a change of use, and when it began to swing is not known."""
    swings = verdict(Doubt.OSCILLATING, Use.AVERAGED, 5 * H)
    assert believed_until_s({"tank.mass": (swings,)}) == {"tank.mass": -math.inf}


def test_loads_that_cycle_are_told_and_their_meter_is_believed() -> None:
    cycles = verdict(Doubt.OSCILLATING, Use.AVERAGED, 5 * H, is_doubt=False)
    assert believed_until_s({"tank.mass": (cycles,)}) == {}


def test_of_two_doubts_the_earlier_moment_counts() -> None:
    both = (verdict(Doubt.STUCK, Use.LEFT_OUT, 9 * H), verdict(Doubt.STEP, Use.LEFT_OUT, 7 * H))
    assert believed_until_s({"tank.mass": both}) == {"tank.mass": 7 * H - 1.0}
