"""The ways home side by side, and committing to one: what is seen, what is logged, what is never lost."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import deciding_scene as scene
import pytest

from console.board.faces.plan import plan_lines
from console.board.faces.ways import Standing, Ways, ways_lines
from console.board.look import Depth, look
from console.engine.open_until import Closing
from console.engine.reading import Quality
from console.errors import JournalError

GOLDENS = Path(__file__).parent / "goldens"
HOUR_S = 3600.0


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def opened(board):
    await board.press("d", "o")
    await board.until(lambda: "margin h" in board.text())


def row_of(board, begin):
    return next(row for row in board.text().splitlines() if row.startswith(begin))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_the_ways_home_look_as_was_agreed(on_board, size):
    golden = GOLDENS / f"ways_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_committing_looks_as_was_agreed(on_board, size):
    golden = GOLDENS / f"commitment_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        await board.press("left", "enter")
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_each_way_shows_its_margins_what_closes_it_and_when_it_must_be_decided(on_board):
    async def play(board):
        await opened(board)
        assert row_of(board, "open, low").split()[2:] == [
            "CLOSED",
            "water",
            "T+28h52m",
            "decide-by",
            "at",
            "best",
            "T+33h52m",
            "mai…",
        ]
        assert row_of(board, "decide by").split()[2:] == [
            "in",
            "5h00m",
            "T+30h52m",
            "in",
            "5h00m",
            "T+30h52m",
            "OVERDUE",
            "30m00s",
        ]
        assert "-5.1 / +16.5 SHORT<" in row_of(board, "water")
        assert "not known" in row_of(board, "water")
        assert "no end /no end" in row_of(board, "propellant")
        assert "SHORT 40.0 m/s" in row_of(board, "delta-v")
        assert row_of(board, "h lost per h").split()[4:7] == ["0.40", "/", "0.25"]
        assert "COMMITTED, plan only" in board.text()

    on_board(play)


def test_the_one_confirmation_says_what_committing_does_and_logs_it_once(on_board, session):
    async def play(board):
        await opened(board)
        await board.press("left", "enter")
        text = " ".join(board.text().split())
        assert "CAUTION: CLOSED by the low end (open in the central case)" in text
        assert "Its phases and events replace those of homeward: need T+99h36m instead of T+105h30m" in text
        assert (
            "It is logged under A. Lead and stays in the log; another commitment later takes its place."
            in text
        )
        assert not session.logged
        await board.press(*"fog", "ctrl+s")
        await board.until(lambda: session.logged and board.app.screen is board.app.board)
        await board.until(lambda: "saved as #" in board.text())
        assert session.logged == [{"option": "quick-turn", "happened_s": None, "reason": "fog"}]
        await board.press("ctrl+s")
        assert len(session.logged) == 1

    on_board(play)


def test_escape_logs_nothing_and_keeps_what_was_typed(on_board, session):
    async def play(board):
        await opened(board)
        await board.press("enter", *"why", "escape", "enter")
        assert "why" in row_of(board, "reason")
        await board.press("escape", "escape")
        assert board.app.screen is board.app.board
        assert not session.logged

    on_board(play)


def test_a_commitment_that_could_not_be_saved_stays_with_its_reason(on_board, session):
    session.log_error = JournalError("disk full")

    async def play(board):
        await opened(board)
        await board.press("left", "enter", *"fog", "ctrl+s")
        await board.until(lambda: "! NOT SAVED: disk full" in board.text())
        assert "fog" in row_of(board, "reason")
        assert "LOG: NOT SAVED: disk full" in "".join(board.app.desk.faults())

    on_board(play)


def test_a_commitment_that_stands_already_says_so_and_is_no_fault_of_the_log(on_board, session):
    session.commit_none = True

    async def play(board):
        await opened(board)
        await board.press("enter", "ctrl+s")
        await board.until(lambda: "homeward is committed to already" in board.text())
        assert not board.app.desk.faults()

    on_board(play)


def test_a_time_is_no_reason_and_a_time_ahead_is_refused(on_board, session):
    async def play(board):
        await opened(board)
        await board.press("enter", *"04:58", "ctrl+s")
        await board.until(lambda: "the reason is a time" in board.text())
        await board.press("escape", "right", "enter", "tab", *"T+90h", "ctrl+s")
        await board.until(lambda: "it lies ahead of now" in board.text())
        assert not session.logged

    on_board(play)


def test_what_is_decided_can_be_looked_at_and_not_be_logged_again(on_board, session):
    session.options_answer = scene.with_decision(session.options_answer)

    async def play(board):
        await opened(board)
        assert "COMMITTED, logged" in board.text()
        assert "taken T+23h52m" in row_of(board, "decide by")
        await board.press("enter")
        assert "homeward is committed to since T+23h52m by B. Mate; it stands in the log." in board.text()
        assert "LOG IT" not in board.text()
        await board.press("ctrl+s")
        assert not session.logged

    on_board(play)


def test_a_board_that_only_shows_can_look_and_not_commit(on_board, session):
    async def play(board):
        await opened(board)
        assert "commit" not in board.text().splitlines()[-1]
        await board.press("left", "enter")
        assert "This board only shows" in board.text()
        await board.press("ctrl+s")
        assert not session.logged

    on_board(play, read_only=True)


def test_a_column_can_be_chosen_with_the_mouse(on_board):
    async def play(board):
        await opened(board)
        rows = board.text().splitlines()
        y = next(at for at, row in enumerate(rows) if "tender" in row)
        await board.pilot.click(offset=(rows[y].index("tender"), y))
        await board.pilot.pause()
        assert ">tender" in board.text()

    on_board(play)


def test_six_ways_are_shown_by_as_many_as_fit_with_the_chosen_one_among_them(on_board, session):
    first = session.options_answer.ways[0]
    ways = tuple(replace(first, option=replace(first.option, name=f"way-{number}")) for number in range(6))
    session.options_answer = replace(session.options_answer, ways=ways)

    async def play(board):
        await opened(board)
        assert "6 ways, 3 out of sight" in board.text()
        for _ in range(6):
            await board.press("right")
        assert ">way-5" in board.text()

    on_board(play)


def test_an_answer_that_ages_says_so_and_is_asked_for_anew(on_board, session):
    async def play(board):
        await opened(board)
        assert session.asked.count("options") == 1
        session.options_error = True
        session.options, known = failing, session.options
        board.clock.now_s += 75.0
        await board.until(lambda: "NOT RECKONED: the feed is torn" in board.text())
        assert "NOT CURRENT: reckoned 1m15s ago" in board.text()
        session.options = known
        await board.press("r")
        await board.until(lambda: "NOT CURRENT" not in board.text())

    def failing():
        from console.errors import FeedError

        raise FeedError("the feed is torn")

    on_board(play)


def test_ways_that_rest_on_old_readings_say_so(on_board, session):
    stale = replace(session.snapshot.supplies["water"], quality=Quality.STALE)
    snapshot = replace(session.snapshot, supplies={**session.snapshot.supplies, "water": stale})
    session.options_answer = scene.make_options(snapshot)

    async def play(board):
        await opened(board)
        assert "NOT CURRENT, rests on old or doubtful readings: water stale" in board.text()

    on_board(play)


def test_a_way_that_closes_while_the_answer_ages_is_not_shown_open(session):
    def shown(now_s):
        state = Ways(
            look=look(Depth.NONE, ascii_only=True),
            options=session.options_answer,
            standing=Standing(age_s=0.0, reckoning_s=None, problem=""),
            chosen="homeward",
            now_s=now_s,
            scroll=0,
        )
        return next(text.plain for text in ways_lines(state, 80, 20) if text.plain.startswith("open, low"))

    assert "T+28h52m decide-by" in shown(scene.NOW_S)
    assert "CLOSED decide-by" in shown(scene.NOW_S + 3.5 * HOUR_S)


def test_a_way_that_opens_later_says_from_when(session):
    way = session.options_answer.ways[0]
    stop = way.open_until.zero_low.closed_by
    later = replace(
        way.open_until.zero_low,
        spans_s=((scene.NOW_S + HOUR_S, scene.NOW_S + 2 * HOUR_S),),
        closed_by=replace(stop, by=Closing.SUPPLY, name="water"),
    )
    from console.board.faces.way_words import open_cell, open_sentence

    assert open_cell(way, later, scene.NOW_S) == "CLOSED to T+26h52m"
    assert "CLOSED now, opens T+26h52m, then until T+27h52m" in open_sentence(later, "zero", scene.NOW_S)


def test_markup_and_control_characters_in_a_way_do_nothing(on_board, session):
    first = session.options_answer.ways[1]
    nasty = "[/]\x1b[2J[@click=app.quit]x[/]"
    session.options_answer = replace(
        session.options_answer, ways=(replace(first, option=replace(first.option, name=nasty, note=nasty)),)
    )

    async def play(board):
        await opened(board)
        assert "[/]" in board.text()
        assert "\x1b" not in board.text()
        await board.press("enter")
        assert "[@click=app.quit]" in board.text()

    on_board(play, size=(120, 36))


@pytest.mark.parametrize("by_h", [5.0, -5.0])
def test_a_decision_that_was_taken_is_not_overdue(kit, by_h):
    snapshot = kit.snapshot()
    need = replace(snapshot.need, decide_by_s=snapshot.at_s + by_h * HOUR_S)
    undecided = plan_lines(kit.view(replace(snapshot, need=need)), 80, 3)[0].plain
    assert ("OVERDUE" in undecided) is (by_h < 0.0)
    need = replace(need, decided_at_s=27 * HOUR_S + 600.0)
    decided = plan_lines(kit.view(replace(snapshot, need=need)), 80, 3)[0].plain
    assert decided.startswith("committed homeward T+27h10m")
    assert "OVERDUE" not in decided
    assert "DECIDE" not in decided


def test_what_was_released_of_a_reserve_stands_with_the_figures(on_board, session):
    water = replace(session.snapshot.supplies["water"], released_si=2.0, reserve_note="one day of drinking")
    session.snapshot = replace(session.snapshot, supplies={**session.snapshot.supplies, "water": water})

    async def play(board):
        await board.press("tab")
        shown = board.text()
        await board.press("pagedown", "pagedown")
        shown += board.text()
        assert "reserve RELEASED by decision 2.00 kg" in shown
        assert "reserve is for one day of drinking" in shown

    on_board(play)
