"""The lines of time and plan: the decision, need, the configuration, and what kind of board this is."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from console.board.faces.clock import clock_lines
from console.board.faces.headline import headline_lines
from console.board.faces.plan import plan_lines
from console.craft.model import LoadState
from console.engine.snapshot import Band, Interval, RateSource

MINUTE_S = 60.0
HOUR_S = 3600.0


def home_line(kit, left_s, width=80):
    """The line of the decision with so long to go, and the part of it on the ground of caution."""
    snapshot = kit.snapshot()
    need = replace(snapshot.need, decide_by_s=None if left_s is None else snapshot.at_s + left_s)
    view = kit.view(replace(snapshot, need=need))
    return parts_of(plan_lines(view, width, 3)[0], view)


def parts_of(text, view):
    caution = view.look.palette.grounds[Band.CAUTION]
    return text.plain, "".join(
        text.plain[span.start : span.end] for span in text.spans if span.style == caution
    )


def test_the_decision_stands_first_with_option_moment_and_time_left(kit):
    text, cautioned = home_line(kit, 2 * HOUR_S + 27 * MINUTE_S)
    assert text == "DECIDE homeward by 07:29 UTC, in 2h27m  need in 79h38m  2041-06-06 12:40 UTC"
    assert cautioned == ""


def test_the_day_of_a_far_decision_is_told(kit):
    assert home_line(kit, 30 * HOUR_S)[0].startswith(
        "DECIDE homeward by 2041-06-04 11:02 UTC, in 30h00m  need"
    )


def test_the_last_half_hour_of_a_decision_stands_on_the_ground_of_caution(kit):
    assert home_line(kit, 30 * MINUTE_S + 1.0)[1] == ""
    assert home_line(kit, 30 * MINUTE_S)[1] == " DECIDE homeward by 05:32 UTC, in 30m00s "
    assert home_line(kit, 0.0)[1] == " DECIDE homeward by 05:02 UTC, in 0 s "


def test_a_decision_that_has_passed_is_overdue_and_does_not_go_away(kit):
    for late_s, late in ((0.5, "1 s"), (15 * MINUTE_S, "15m00s"), (50 * HOUR_S, "50h00m")):
        text, cautioned = home_line(kit, -late_s)
        assert cautioned == f" DECISION OVERDUE {late} "
        assert text.startswith(f" DECISION OVERDUE {late}  homeward  need in 79h38m")


@pytest.mark.parametrize("width", [20, 40, 60, 80, 200])
def test_no_width_drops_the_decision(kit, width):
    assert home_line(kit, HOUR_S, width)[0].startswith("DECIDE homeward by 06:02 UTC, in 1h00m")
    assert home_line(kit, -HOUR_S, width)[0].startswith(" DECISION OVERDUE 1h00m ")


def test_where_there_is_nothing_to_decide_that_is_said(kit):
    assert home_line(kit, None)[0].startswith("option homeward, no decision due  need in 79h38m")


def test_countdowns_of_one_line_have_one_form(kit):
    for text in plan_lines(kit.view(kit.snapshot()), 200, 3)[:2]:
        assert re.search(r"\d h\b", text.plain) is None
        assert re.search(r"\dh\d\dm", text.plain)


def now_line(kit, measured_a, width=120, source=RateSource.MEASURED, moved=0):
    snapshot = kit.snapshot()
    power = replace(snapshot.supplies["power"], rate_now_si_per_s=measured_a, rate_now_source=source)
    supplies = {**snapshot.supplies, "power": power}
    view = kit.view(replace(snapshot, supplies=supplies, level_differs=moved))
    return parts_of(plan_lines(view, width, 3)[2], view)


def test_the_draw_is_told_as_commanded_and_as_measured(kit):
    assert now_line(kit, 12.6) == (
        "phase coast  level quiet, no load moved  commanded 12.0 A, measured 12.6 A",
        "",
    )
    assert now_line(kit, 12.0, source=RateSource.MODEL)[0].endswith("commanded 12.0 A, not measured")
    assert now_line(kit, 5.0)[1] == "", "less than commanded costs nothing"


def test_a_draw_more_than_a_tenth_above_the_commanded_one_is_marked_in_word_and_ground(kit):
    assert now_line(kit, 13.2)[1] == ""
    text, cautioned = now_line(kit, 13.3)
    assert cautioned == " measured 13.3 A above commanded 12.0 A "
    assert text.endswith(cautioned)


def test_loads_moved_by_steps_are_counted(kit):
    assert "level quiet, 1 load moved by steps  " in now_line(kit, 12.0, moved=1)[0]
    assert "level quiet, 3 loads moved by steps  " in now_line(kit, 12.0, moved=3)[0]
    assert now_line(kit, 99.0, width=80, moved=3)[0].endswith(" measured 99.0 A above commanded 12.0 A ")


def test_each_electrical_supply_has_a_draw_of_its_own(kit):
    snapshot = kit.snapshot()
    loads = (*snapshot.loads[:1], *(replace(load, supply="water") for load in snapshot.loads[1:]))
    text = plan_lines(kit.view(replace(snapshot, loads=loads)), 200, 3)[2].plain
    assert "power commanded 2.40 A, measured" in text or "measured 12.6 A above commanded 2.40 A" in text
    assert "water " in text
    assert loads[0].state is LoadState.ON


def clock(kit, width=120, simulated=False, notices=(), **changes):
    snapshot = kit.snapshot()
    snapshot = replace(snapshot, feed=replace(snapshot.feed, is_simulated=simulated), notices=notices)
    view = kit.view(snapshot, **changes)
    return clock_lines(view, width, 1)[0], view.look.palette


def test_a_simulated_craft_is_named_that_first_and_reversed(kit):
    text, palette = clock(kit, simulated=True)
    assert text.plain.startswith(" SIMULATION  Tern  2041-06-03 05:02:14 UTC")
    assert text.spans[0].style == palette.selected
    assert palette.selected.reverse
    assert "SIMULATION" not in clock(kit)[0].plain


def test_a_clock_that_is_held_and_a_board_that_only_shows_are_named(kit):
    notice = "the clock is held at the moment asked for: this is no live picture"
    assert clock(kit, notices=(notice,))[0].plain.startswith(" CLOCK HELD  Tern")
    assert "HELD" not in clock(kit, notices=("a load is not known",))[0].plain
    assert clock(kit, read_only=True)[0].plain.startswith(" READ ONLY  Tern")
    both = clock(kit, simulated=True, read_only=True, width=200)[0].plain
    assert both.startswith(" SIMULATION   READ ONLY  Tern")


@pytest.mark.parametrize(
    ("operator", "position", "said"),
    [
        ("A. Lead", "", "operator A. Lead"),
        ("A. Lead", "power desk", "operator A. Lead, power desk"),
        ("", "", "operator not named"),
        ("", "power desk", "operator not named, power desk"),
        ("operator", "", "operator"),
        ("Operator", "power desk", "operator, power desk"),
    ],
)
def test_who_is_at_it_is_told_once(kit, operator, position, said):
    plain = clock(kit, operator=operator, position=position)[0].plain
    assert plain.endswith(f"watch fourth  {said}")
    assert "operator operator" not in plain.lower()


@pytest.mark.parametrize("width", [40, 60, 80])
def test_on_a_narrow_board_kind_and_time_stay_and_the_operator_outlasts_the_name_of_the_craft(kit, width):
    plain = clock(kit, width=width, simulated=True)[0].plain
    assert plain.startswith(" SIMULATION ")
    assert "2041-06-03 05:02:14 UTC" in plain
    if width == 80:
        assert "operator A. Lead" in plain
        assert "watch fourth" in plain
        assert "Tern" not in plain


def headline(kit, endurance, **changes):
    supply = replace(kit.snapshot().supplies["water"], endurance_plan_s=endurance, **changes)
    snapshot = replace(kit.snapshot(), supplies={"water": supply})
    return [text.plain for text in headline_lines(kit.view(snapshot), 120, 5)]


def test_the_moment_in_the_headline_is_that_of_the_low_end_like_the_big_figure(kit):
    lines = headline(kit, kit.hours(29.1, 35.87, 41.06))
    assert lines[1].startswith(" low end in 29.1 h  2041-06-04 10:08 UTC  T+54h58m")
    assert lines[2].startswith(" central 35.8 h, high 41.0 h; at present rate 34.1 h")


def test_an_end_that_never_comes_is_said_and_one_that_is_not_known_too(kit):
    assert headline(kit, kit.hours(29.1, None, None))[2].startswith(" central no end, high no end; at")
    assert headline(kit, kit.hours(None, None, None))[1].startswith(
        " no end in sight, not even at the low end"
    )
    assert headline(kit, kit.hours(None, 40.0, None))[1].startswith(" low end not known")
    lines = headline(kit, None, endurance_now_s=None)
    assert lines[1].startswith(" when it runs out under the plan is not known")
    assert lines[2].startswith(" central not known; at present rate not known")
    margin = Interval(p05=-HOUR_S, p50=None, p95=None)
    assert headline(kit, None, margin_s=margin)[3].startswith(" to need: low end SHORT 1.0 h, central no end")
