"""Limits of the cabin on the first look: of another kind than supplies, never in their way, never missed."""

from __future__ import annotations

from dataclasses import replace

import cabin_scene as scene
import pytest
from rich.cells import cell_len

from console.board.faces.cabin_rows import cabin_lines
from console.board.faces.cabin_words import limits_by_urgency
from console.board.look import Depth, look
from console.board.rows import Wishes, share_rows
from console.engine.reading import Quality
from console.engine.snapshot import Band, ClockState, Supposition
from console.record.entry import EntryKind
from console.units import UnitSystem


def co2(ends_h, band, **changes):
    changes = {"now_si": 620.0, **changes}
    return scene.make_clock(scene.RAISED_CO2, ends_h, band=band, **changes)


def limit_rows(text):
    """The rows under the rule, by the name of the limit."""
    rows = text.splitlines()
    start = next(at for at, row in enumerate(rows) if " CABIN " in row)
    names = {clock.limit.name for clock in scene.cabin_clocks()}
    return {name: row for row in rows[start + 1 :] for name in names if row.startswith(f" {name} ")}


def test_at_80x24_the_two_most_urgent_limits_stand_under_all_supplies_with_a_count_of_the_others(
    on_board, session
):
    session.snapshot = scene.with_cabin(session.snapshot)

    async def play(board):
        text = board.text()
        rows = limit_rows(text)
        assert list(rows) == ["raised CO2", "cold"]
        assert "CABIN 2 of 4, a: all" in text
        assert "X WARNING" in rows["raised CO2"]
        assert rows["raised CO2"].split()[4:] == [
            *("0.620", "max", "2.00", "kPa", "48.3", "h", "SHORT", "31.4", "removal", "4.1", "h"),
        ]
        assert rows["cold"].split()[3:] == [
            *("13.2", "min", "5.00", "degC", "84.4", "h", "spare", "4.7", "power", "9.9", "h"),
        ]
        for name in session.snapshot.supplies:
            assert any(row[1:].startswith(name) for row in text.splitlines()), name
        assert "WATER RUNS OUT FIRST" in text
        assert max(cell_len(row) for row in text.splitlines()) <= 80

    on_board(play)


def test_faults_a_full_log_and_a_notice_push_no_supply_and_no_headline_off_80x24(on_board, session):
    session.snapshot = replace(
        scene.with_cabin(session.snapshot),
        notices=("one", "two", "three", "four"),
        feed=replace(session.snapshot.feed, quality=Quality.STALE, faults=("x" * 70,)),
    )

    async def play(board):
        board.app.desk.say("saved as #9")
        await board.tick()
        text = board.text()
        assert "WATER RUNS OUT FIRST" in text
        for name in session.snapshot.supplies:
            assert any(row[1:].startswith(name) for row in text.splitlines()), name
        rule = next(row for row in text.splitlines() if " CABIN " in row)
        assert "X WARNING raised CO2 in 48.3 h, now 0.620, max 2.00 kPa 3 more, a: all" in rule
        assert cell_len(rule) <= 80

    on_board(play)


def test_where_there_is_room_every_limit_has_a_row_and_a_line_on_the_axis_of_the_gauges(on_board, session):
    session.snapshot = scene.with_cabin(session.snapshot)

    async def play(board):
        text = board.text()
        rows = limit_rows(text)
        assert list(rows) == ["raised CO2", "cold", "low inspired oxygen", "damp"]
        need = {text.splitlines()[10].index("│"), *(row.index("│") for row in rows.values())}
        assert len(need) == 1, "one line of need through supplies and limits"
        assert rows["raised CO2"].index("┤") < min(need) < rows["cold"].index("┤")
        assert all("█" not in row for row in rows.values()), "no limit looks like a supply"
        assert "not reached" in rows["damp"]
        assert "►" in rows["damp"]

    on_board(play, size=(200, 50))


def test_rows_that_a_short_log_leaves_free_hold_more_limits(on_board, session, kit):
    session.snapshot = scene.with_cabin(session.snapshot)

    async def play(board):
        assert len(limit_rows(board.text())) == 4
        session.journal = [kit.entry(number, EntryKind.NOTE, "text") for number in range(1, 9)]
        await board.tick()
        assert len(limit_rows(board.text())) == 2, "a log of some length has its rows"

    on_board(play, size=(100, 28))


def test_a_limit_that_is_reached_stands_first_and_out_as_a_warning_does(kit):
    clocks = (
        *scene.cabin_clocks(),
        scene.make_clock(
            replace(scene.COLD, name="hot"),
            (0.0, 0.0, 0.0),
            now_si=305.0,
            band=None,
            state=ClockState.REACHED,
        ),
    )
    view = kit.view(scene.with_cabin(kit.snapshot(), *clocks))
    row = cabin_lines(view, 80, 2)[1]
    assert row.plain.startswith(" hot ")
    assert "X WARNING" in row.plain
    warning = view.look.palette.grounds[Band.WARNING]
    assert {row.plain[span.start : span.end] for span in row.spans if span.style == warning} == {
        "X WARNING",
        "REACHED",
    }


def test_limits_stand_in_order_of_urgency_and_the_unknown_before_what_is_well(kit):
    clocks = (
        scene.make_clock(scene.DAMP, None, now_si=0.5, band=Band.NOMINAL),
        scene.make_clock(
            scene.LOW_OXYGEN,
            None,
            now_si=None,
            band=None,
            state=ClockState.UNKNOWN,
            why="not known: cabin.ppo2 has never been read",
        ),
        scene.make_clock(scene.COLD, (84.0, 90.0, 95.0), now_si=286.0, band=Band.CAUTION),
        co2((10.0, 11.0, 12.0), Band.WARNING),
    )
    snapshot = scene.with_cabin(kit.snapshot(), *clocks)
    names = [row.limit.name for row in limits_by_urgency(snapshot)]
    assert names == ["raised CO2", "cold", "low inspired oxygen", "damp"]
    unknown = cabin_lines(kit.view(snapshot), 80, 5)[3].plain
    assert "? unknown" in unknown
    assert unknown.count("not known") == 1
    assert "not known: cabin.ppo2 has never been read" in unknown


def test_a_trend_in_a_worse_band_speaks_for_the_limit_and_says_so(kit):
    plan = co2(None, Band.NOMINAL)
    trend = co2((6.0, 7.0, 8.0), Band.WARNING, supposition=Supposition.TREND)
    (row,) = limits_by_urgency(scene.with_cabin(kit.snapshot(), plan, trend))
    assert row.is_by_trend
    text = cabin_lines(kit.view(scene.with_cabin(kit.snapshot(), plan, trend)), 80, 2)[1].plain
    assert "X WARNING" in text
    assert "6.0 h" in text
    assert text.endswith("at the trend")
    (calm,) = limits_by_urgency(scene.with_cabin(kit.snapshot(), plan, replace(trend, band=Band.NOMINAL)))
    assert not calm.is_by_trend, "in the same band the plan speaks"


def test_the_shortest_of_the_stops_is_named_and_of_equals_the_more_telling(kit):
    plan = co2((48.0, 50.0, 52.0), Band.WARNING)
    clocks = scene.make_clocks(plan, no_removal=(4.12, 4.5, 5.0), no_power=(4.12, 4.5, 5.0))
    (row,) = limits_by_urgency(scene.with_cabin(kit.snapshot(), *clocks))
    assert row.grace.supposition is Supposition.NO_REMOVAL
    clocks = scene.make_clocks(plan, no_removal=(9.0, 9.5, 10.0), no_power=(4.12, 4.5, 5.0))
    (row,) = limits_by_urgency(scene.with_cabin(kit.snapshot(), *clocks))
    assert row.grace.supposition is Supposition.NO_POWER


def stale(snapshot):
    clocks = tuple(
        replace(clock, quality=Quality.STALE) if clock.limit is scene.RAISED_CO2 else clock
        for clock in scene.cabin_clocks()
    )
    made = scene.with_cabin(snapshot, *clocks)
    old = (
        replace(reading, quality=Quality.STALE, age_s=251.2) if reading.name == "carbon_dioxide" else reading
        for reading in made.cabin
    )
    return replace(made, cabin=tuple(old))


@pytest.mark.parametrize("width", [80, 120, 200])
def test_a_limit_of_old_readings_is_marked_with_word_and_age_and_no_figure_of_it_is_strong(kit, width):
    view = kit.view(stale(kit.snapshot()))
    row = cabin_lines(view, width, 5)[1]
    assert row.plain.startswith(" raised CO2")
    assert "STALE 4m12s" in row.plain
    assert "─" not in row.plain, "its line is not whole"
    marked = [row.plain[span.start : span.end] for span in row.spans if span.style == view.look.palette.old]
    assert any("STALE" in text for text in marked)
    figures = row.plain.index("48.3")
    strong = view.look.palette.strong
    assert not [span for span in row.spans if span.start <= figures < span.end and span.style == strong]
    fresh = cabin_lines(kit.view(scene.with_cabin(kit.snapshot())), width, 5)[1]
    at = fresh.plain.index("48.3")
    assert [span for span in fresh.spans if span.start <= at < span.end and span.style == strong]


def test_when_nobody_looks_no_line_is_whole_and_ages_go_on_growing(kit):
    view = kit.view(stale(kit.snapshot()), not_updated_s=60.0, waited_s=60.0)
    rows = cabin_lines(view, 200, 5)[1:]
    assert "STALE 5m12s" in rows[0].plain
    assert all("─" not in row.plain for row in rows)
    assert "~" in rows[1].plain


def test_values_are_shown_in_the_units_that_people_read(kit):
    snapshot = scene.with_cabin(kit.snapshot(), shown_in=UnitSystem.US)
    rows = [text.plain for text in cabin_lines(kit.view(snapshot), 80, 5)]
    assert "max 15.0 mmHg" in rows[1]
    assert "min 41.0 degF" in rows[2]


def test_what_it_is_now_is_rounded_towards_its_limit(kit):
    clocks = (
        co2((9.0, 9.5, 10.0), Band.WARNING, now_si=1990.1),
        scene.make_clock(scene.LOW_OXYGEN, (9.0, 9.5, 10.0), now_si=16_390.0, band=Band.CAUTION),
    )
    rows = [text.plain for text in cabin_lines(kit.view(scene.with_cabin(kit.snapshot(), *clocks)), 80, 3)]
    assert " 2.00 " in rows[1].split("max")[0]
    assert " 16.3 " in rows[2].split("min")[0]


def test_they_are_drawn_in_ascii_and_told_apart_without_colour(kit):
    view = kit.view(scene.with_cabin(kit.snapshot()), look=look(Depth.NONE, ascii_only=True))
    lines = [text.plain for text in cabin_lines(view, 200, 5)]
    assert all(line.replace("·", "").isascii() for line in lines)
    assert "+" in lines[1]
    assert "X WARNING" in lines[1]
    assert "#" not in "".join(lines)


def test_a_cabin_without_limits_takes_no_row(on_board):
    async def play(board):
        assert "CABIN" not in board.text()

    on_board(play)


@pytest.mark.parametrize(
    ("free", "supplies", "cabin", "pane", "expected"),
    [
        (13, 6, 5, 5, (6, 2)),
        (13, 6, 5, 3, (7, 3)),
        (9, 6, 5, 5, (6, 1)),
        (9, 13, 5, 5, (7, 1)),
        (25, 6, 5, 5, (7, 5)),
        (13, 0, 5, 5, (0, 5)),
        (13, 6, 0, 5, (7, 0)),
        (9, 6, 0, 5, (4, 0)),
    ],
)
def test_rows_go_to_supplies_then_the_most_urgent_limit_then_the_pane(free, supplies, cabin, pane, expected):
    wishes = Wishes(
        free=free, supplies=supplies, gauges=supplies and supplies + 1, cabin=cabin, pane=pane, roomy_pane=8
    )
    assert share_rows(wishes) == expected


def test_no_sharing_gives_away_more_rows_than_there_are():
    for free in range(3, 50):
        for supplies in (0, 2, 6, 13):
            for cabin in (0, 2, 5, 9):
                for pane in (1, 3, 5):
                    wishes = Wishes(
                        free=free,
                        supplies=supplies,
                        gauges=supplies and supplies + 3,
                        cabin=cabin,
                        pane=pane,
                        roomy_pane=8,
                    )
                    gauges, limits = share_rows(wishes)
                    assert gauges + limits <= free
                    assert limits <= cabin
                    assert not cabin or limits >= 1
