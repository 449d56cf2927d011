"""The plain loop over pint quantities is also another route to the engine's figures, intervals included."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks import demo_situation
from pint_loop import PintLoop

from console.engine.assess import assess
from console.engine.forecast import Draws, interval


def test_a_plain_loop_over_pint_quantities_gives_the_engines_figures() -> None:
    situation, draws = demo_situation(), Draws(seed=5, count=20)
    snapshot = assess(situation, None, draws).snapshot
    for name, rows in PintLoop(situation, snapshot, draws).run().items():
        supply = snapshot.supplies[name]
        walked = interval(np.array([out_s for out_s, _ in rows]))
        left = interval(np.array([left_si for _, left_si in rows]))
        assert supply.endurance_plan_s is not None
        assert supply.left_at_need_si is not None
        for end in ("p05", "p50", "p95"):
            assert getattr(supply.endurance_plan_s, end) == pytest.approx(getattr(walked, end), rel=1e-9), (
                name
            )
            assert getattr(supply.left_at_need_si, end) == pytest.approx(getattr(left, end), rel=1e-9), name
