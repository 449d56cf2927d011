"""The exact choice of loads, on cases small enough to see the answer."""

from __future__ import annotations

import pytest

from console.engine.shed_choice import Candidate, least_important


def load(name: str, priority: int, *saves: float, needs: tuple[str, ...] = ()) -> Candidate:
    return Candidate(name=name, priority=priority, saves=saves, needs=needs)


def test_nothing_lacking_takes_nothing() -> None:
    assert least_important([load("lamp", 9, 5.0)], [0.0]) == ()
    assert least_important([load("lamp", 9, 5.0)], [-3.0]) == ()
    assert least_important([], [0.0]) == ()


def test_what_not_even_all_can_save_has_no_answer() -> None:
    assert least_important([load("lamp", 9, 5.0), load("fan", 2, 1.0)], [6.1]) is None
    assert least_important([], [1.0]) is None


def test_all_of_them_to_the_last_digit_is_an_answer() -> None:
    assert least_important([load("lamp", 9, 0.1), load("fan", 2, 0.2)], [0.1 + 0.2]) == ("lamp", "fan")


def test_many_of_little_importance_go_before_one_that_matters() -> None:
    lamps = [load(f"lamp-{index}", 9, 1.0) for index in range(5)]
    assert least_important([load("radio", 1, 9.0), *lamps], [4.5]) == tuple(lamp.name for lamp in lamps)


def test_of_one_importance_as_few_as_can_be_go() -> None:
    loads = [load("a", 5, 1.0), load("b", 5, 2.0), load("c", 5, 3.0), load("d", 5, 4.0)]
    assert least_important(loads, [6.5]) == ("c", "d")


def test_the_least_important_stay_on_where_they_cannot_help() -> None:
    assert least_important([load("lamp", 9, 1.0), load("fan", 2, 5.0)], [5.0]) == ("fan",)


def test_two_supplies_are_both_given_what_they_lack() -> None:
    loads = [load("a", 5, 4.0, 0.0), load("b", 5, 0.0, 4.0), load("c", 5, 3.0, 3.0), load("d", 4, 9.0, 9.0)]
    assert least_important(loads, [3.0, 3.0]) == ("c",)
    assert least_important(loads, [4.0, 4.0]) == ("a", "b")


def test_a_load_goes_with_the_one_it_needs() -> None:
    loads = [load("pump", 8, 5.0), load("radio", 2, 1.0, needs=("pump",)), load("lamp", 4, 5.0)]
    # The pump alone is the least important, but the radio would go with it.
    assert least_important(loads, [5.0]) == ("lamp",)
    assert least_important(loads, [6.5]) == ("pump", "radio", "lamp")


def test_needs_in_a_ring_go_together() -> None:
    ring = [load("a", 9, 1.0, needs=("c",)), load("b", 9, 1.0, needs=("a",)), load("c", 9, 1.0, needs=("b",))]
    assert least_important(ring, [0.5]) == ("a", "b", "c")


def test_a_need_that_is_no_candidate_stays_on() -> None:
    assert least_important([load("lamp", 9, 2.0, needs=("bus",))], [1.0]) == ("lamp",)


@pytest.mark.parametrize("turn", range(4))
def test_the_order_of_the_loads_does_not_matter_for_what_is_given_up(turn: int) -> None:
    loads = [load("a", 5, 1.0), load("b", 3, 2.0), load("c", 7, 3.0), load("d", 5, 4.0)]
    turned = loads[turn:] + loads[:turn]
    assert set(least_important(turned, [7.0]) or ()) == {"c", "d"}
