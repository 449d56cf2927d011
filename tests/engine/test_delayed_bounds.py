"""What is asked of a later switch is answered by what is left, without a search; that says the same."""

from __future__ import annotations

import numpy as np
import pytest

from console.engine.ahead import look_ahead
from console.engine.delayed import Delayed
from console.engine.forecast import Draws, interval, low_rank
from console.engine.known import Situation, known_of
from console.engine.switch import switched_at


@pytest.mark.parametrize("name", ["tender", "quick-turn"])
def test_a_margin_is_held_exactly_where_the_search_finds_as_much(demo: Situation, name: str) -> None:
    draws = Draws(seed=7, count=120)
    known, plan = known_of(demo), demo.plan

    option, present = plan.options[name], plan.options[plan.committed]
    carrying_on = look_ahead(known, plan, present, draws)
    at_once = look_ahead(known, plan, switched_at(plan, option, demo.at_s), draws)
    asked = Delayed(known, plan, option, carrying_on, at_once, draws)
    searched = Delayed(known, plan, option, carrying_on, at_once, draws)
    answers = set()
    for at_s in np.linspace(demo.at_s, option.need_s - 3600.0, 9).tolist():
        for supply in asked.supplies:
            low, central = searched.low_s(supply, at_s), searched.central_s(supply, at_s)
            for demand_s in (0.0, 6 * 3600.0, 24 * 3600.0):
                held = asked.holds_low(supply, at_s, demand_s)
                assert held == (low >= demand_s), (supply, at_s, demand_s)
                assert asked.holds_central(supply, at_s, demand_s) == (central >= demand_s)
                answers.add(held)
    assert answers == {True, False}


@pytest.mark.parametrize("count", [1, 2, 19, 20, 21, 100, 2000])
def test_the_low_end_has_as_many_samples_below_it_as_its_rank_says(count: int) -> None:
    samples = np.concatenate(([1e9], np.random.default_rng(count).permutation(count).astype(float)))
    found = interval(samples)
    assert found.p05 is not None
    assert int(np.count_nonzero(samples[1:] < found.p05)) == low_rank(count)
