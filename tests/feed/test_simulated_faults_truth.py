"""Faults of the craft itself: what is lost, drawn and breathed is what they say, and the books close."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from contingency_builders import QUIET, H, lived
from simulated_builders import START_S, make_source, step

from console.craft.model import Activity, LoadState
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault

AT_S = START_S + H


def held(recorded, store: str, hours: float) -> float:  # type: ignore[no-untyped-def]  # any recorded
    """What a store holds so long after the start."""
    return float(np.interp(START_S + hours * H, recorded.truth_times_s, recorded.store_held_si[store]))


# The type is not asked of it: any recorded.
def mean_a(recorded, channel: str, from_h: float, until_h: float) -> float:  # type: ignore[no-untyped-def]
    """What a channel shows on average between two times after the start."""
    rows = (recorded.times_s > START_S + from_h * H) & (recorded.times_s <= START_S + until_h * H)
    return float(recorded.values_si[channel][rows].mean())


@pytest.mark.parametrize(
    ("course", "lost_kg"),
    [
        (LeakCourse.STEADY, 0.3 * 4),
        (LeakCourse.DECAYING, 2.0 * (1.0 - math.exp(-0.3 * 4 / 2.0))),
        # 0.15 kg/h that doubles every 2 h: the integral of 0.15 * 2**(t / 2).
        (LeakCourse.GROWING, 0.15 * 2 / math.log(2) * (2**2 - 1)),
    ],
)
def test_a_shut_flask_leaks_by_the_course_of_its_leak(
    tmp_path: Path, course: LeakCourse, lost_kg: float
) -> None:
    rate = (0.15 if course is LeakCourse.GROWING else 0.3) / H
    fault = SimulatedFault(
        kind=FaultKind.LEAK, at_s=AT_S, store="o2-2", rate_si_per_s=rate, course=course, doubles_in_s=2 * H
    )
    recorded = lived(tmp_path, 6.0, fault)
    assert held(recorded, "o2-2", 1.0) == 2.0
    assert 2.0 - held(recorded, "o2-2", 5.0) == pytest.approx(lost_kg, rel=1e-9)


def test_a_leak_that_ends_loses_no_more_and_no_leak_loses_more_than_there_is(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.LEAK, at_s=AT_S, until_s=AT_S + 0.51 * H, store="o2-2", rate_si_per_s=1.0 / H
    )
    assert held(lived(tmp_path, 4.0, fault), "o2-2", 4.0) == pytest.approx(2.0 - 0.51, rel=1e-9)
    torn = SimulatedFault(kind=FaultKind.LEAK, at_s=AT_S, store="o2-2", rate_si_per_s=1.0 / H)
    assert held(lived(tmp_path, 4.0, torn), "o2-2", 4.0) == 0.0


def test_a_leak_through_a_use_is_taken_from_its_supply(tmp_path: Path) -> None:
    fault = SimulatedFault(kind=FaultKind.LEAK, at_s=AT_S, use="drinking", rate_si_per_s=2.0 / H)
    leaky, sound = lived(tmp_path, 3.0, fault), lived(tmp_path, 3.0)
    assert held(sound, "tank", 3.0) - held(leaky, "tank", 3.0) == pytest.approx(4.0, rel=1e-9)
    decaying = SimulatedFault(
        kind=FaultKind.LEAK, at_s=START_S, use="leak", rate_si_per_s=0.1 / H, course=LeakCourse.DECAYING
    )
    before = held(sound, "o2-1", 0.0)
    lost_kg = held(sound, "o2-1", 3.0) - held(lived(tmp_path, 3.0, decaying), "o2-1", 3.0)
    # A little less than steadily, for what is left falls by 0.2 kg/h and more of some 6.8 kg.
    assert 0.9 * 0.3 < lost_kg < 0.3
    assert before > 6.0


def test_the_books_close_with_every_fault_at_work(tmp_path: Path) -> None:
    faults = [
        SimulatedFault(kind=FaultKind.LEAK, at_s=AT_S, store="o2-1", rate_si_per_s=0.2 / H),
        SimulatedFault(kind=FaultKind.LEAK, at_s=AT_S, use="breathing", rate_si_per_s=0.1 / H),
        SimulatedFault(kind=FaultKind.LOAD_DRAW, at_s=AT_S, load="fan", factor=2.0),
        SimulatedFault(kind=FaultKind.USE_FACTOR, at_s=AT_S, use="drinking", factor=1.7),
    ]
    recorded = lived(tmp_path, 5.0, *faults, simulation=QUIET.replace("wander: 0 %", "wander: 8 %"))
    for supply, stores in (
        ("oxygen", ("o2-1", "o2-2")),
        ("water", ("tank", "jug")),
        ("power", ("bat-1", "bat-2")),
    ):
        rates = recorded.rates_si_per_s[supply][1:]
        taken = float((rates * np.diff(recorded.truth_times_s)).sum())
        gone = sum(held(recorded, name, 0.0) - held(recorded, name, 5.0) for name in stores)
        leaked = 0.2 * 4 if supply == "oxygen" else 0.0
        assert gone == pytest.approx(taken + leaked, rel=1e-9), supply


def test_a_load_left_off_draws_nothing_until_the_fault_ends(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.LOAD_STATE, at_s=AT_S, until_s=AT_S + 2 * H, load="fan", state=LoadState.OFF
    )
    faulty, sound = lived(tmp_path, 4.0, fault), lived(tmp_path, 4.0)
    difference = sound.values_si["bus.current"] - faulty.values_si["bus.current"]
    times = faulty.times_s
    # The current that is shown is that of the step before.
    on = (times > AT_S) & (times <= AT_S + 2 * H)
    assert difference[on] == pytest.approx(3.0)
    assert difference[~on] == pytest.approx(0.0, abs=1e-9)
    assert faulty.known_changes(times[-1]) == (), "and nobody logs it"


def test_a_load_may_draw_more_than_its_figure(tmp_path: Path) -> None:
    fault = SimulatedFault(kind=FaultKind.LOAD_DRAW, at_s=AT_S, load="lamp", factor=1.5)
    faulty, sound = lived(tmp_path, 2.0, fault), lived(tmp_path, 2.0)
    difference = faulty.values_si["bus.current"] - sound.values_si["bus.current"]
    assert difference[faulty.times_s > AT_S] == pytest.approx(1.0)
    assert difference[faulty.times_s <= AT_S] == pytest.approx(0.0, abs=1e-9)


def test_people_who_sleep_instead_breathe_less(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.PEOPLE,
        at_s=AT_S,
        moves_from=Activity.NOMINAL,
        moves_to=Activity.ASLEEP,
        count=5,
    )
    faulty, sound = lived(tmp_path, 3.0, fault), lived(tmp_path, 3.0)
    spared = held(faulty, "bed", 3.0) - held(sound, "bed", 3.0)
    # Two are all there are. Asleep: 4.55e-4 kg/min by the published default, against 1.2 kg/day.
    assert spared == pytest.approx(2 * 2 * (1.2 / 24 - 4.55e-4 * 60), rel=1e-9)


def test_a_use_may_be_so_many_times_its_figure(tmp_path: Path) -> None:
    fault = SimulatedFault(kind=FaultKind.USE_FACTOR, at_s=AT_S, use="scrubbing", factor=1.4)
    recorded = lived(tmp_path, 3.0, fault)
    taken = [held(recorded, "bed", hours) for hours in (0.0, 1.0, 2.0, 3.0)]
    falls = [earlier - later for earlier, later in pairwise(taken)]
    assert falls == pytest.approx([0.1, 0.14, 0.14], rel=1e-9)


def test_on_the_board_a_step_is_done_later_than_it_is_logged(tmp_path: Path) -> None:
    simulation = QUIET + "faults:\n  - {at: T+1h, kind: mistimed-entry, later: 10 min}\n"
    source = make_source(tmp_path, simulation=simulation)
    logged = [step(0.0, loads={"heater": LoadState.OFF})]
    source.changes = lambda: tuple(logged)
    source.poll(START_S + 60)
    logged.append(step(START_S + 100, loads={"fan": LoadState.OFF}))
    shown = [source.poll(START_S + at_s).readings["bus.current"].value_si for at_s in (120, 690, 720)]
    assert shown == [pytest.approx(5.0), pytest.approx(5.0), pytest.approx(2.0)]


def test_on_the_board_faults_happen_as_it_lives(tmp_path: Path) -> None:
    simulation = QUIET + "faults:\n  - {at: T+2h, kind: load-state, load: fan, is: 'off'}\n"
    off = (step(0.0, loads={"heater": LoadState.OFF}),)
    source = make_source(tmp_path, simulation=simulation, changes=off)
    shown = [source.poll(at_s).readings["bus.current"].value_si for at_s in (1.99 * H, 2.01 * H)]
    assert shown == [pytest.approx(5.0), pytest.approx(2.0)]
