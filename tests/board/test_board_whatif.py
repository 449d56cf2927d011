"""Suppositions on the board: words in, before and after out, nothing changed, nothing typed lost."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import cabin_scene
import deciding_scene as scene
import pytest

from console.board.faces.comparison import comparison_lines
from console.board.look import Depth, look
from console.board.suggestions import completions, form_of, vocabulary_of
from console.craft.model import LoadState
from console.engine.difference import difference
from console.engine.snapshot import Band, ClockState, Interval, Supposition
from console.engine.whatif import SwitchLoad
from console.errors import FeedError

GOLDENS = Path(__file__).parent / "goldens"
HOUR_S = 3600.0


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def supposed(board, text="load s-radio off"):
    await board.press("d", "w", *text)
    await board.press("enter")
    await board.until(lambda: "margin h" in board.text())


def row_of(board, begin):
    return next(row for row in board.text().splitlines() if row.startswith(begin))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_a_supposition_looks_as_was_agreed(on_board, session, size):
    golden = GOLDENS / f"whatif_{size[0]}x{size[1]}.txt"
    session.snapshot = cabin_scene.with_cabin(session.snapshot)

    async def play(board):
        await supposed(board)
        await board.press(*"load comp")
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_a_change_is_shown_before_after_and_by_how_much_with_its_band(on_board, session):
    async def play(board):
        await supposed(board)
        assert "what if: nothing of this is logged" in board.text()
        assert row_of(board, "water").split() == [
            "water",
            "-50.6",
            "+14.3",
            "+64.9",
            "-43.8",
            "+18.3",
            "X",
            "WARNING",
            "->",
            "i",
            "ADVISORY",
        ]
        assert row_of(board, "oxygen").split()[1:4] == ["+4.4", "+4.4", "same"]
        assert "first by the low end: water SHORT 50.6 h -> oxygen spare 4.4 h" in board.text()
        change = session.asked[-1][1][0]
        assert change == SwitchLoad(load="s-radio", to=LoadState.OFF, from_s=scene.NOW_S, until_s=None)
        assert not session.logged
        await board.press("escape")
        assert "WATER RUNS OUT FIRST" in board.text()
        assert not session.logged

    on_board(play)


def test_a_wrong_name_is_said_in_its_place_with_the_nearest_and_the_text_stays(on_board, session):
    async def play(board):
        await board.press("d", "w", *"load s-radoi off", "enter")
        await board.until(lambda: "did you mean 's-radio'?" in board.text())
        assert "load s-radoi off" in row_of(board, "change ")
        assert "no change yet" in board.text()
        await board.press("backspace")
        assert "did you mean" not in board.text(), "what was wrong belongs to what was written"
        await board.press("escape", "d", "w")
        assert "load s-radoi of" in row_of(board, "change "), "kept while it is closed"
        assert not session.asked

    on_board(play)


def test_changes_are_collected_and_each_can_be_taken_out_again(on_board, session):
    async def play(board):
        await supposed(board)
        await board.press(*"load cabin-fan off", "enter")
        await board.until(lambda: "> 2  load cabin-fan off" in board.text())
        await board.until(lambda: len(session.asked[-1][1]) == 2)
        await board.press("up", "ctrl+x")
        await board.until(lambda: "> 1  load cabin-fan off" in board.text())
        assert "load s-radio off" in row_of(board, "change "), "it comes back to be mended"
        await board.until(lambda: [change.load for change in session.asked[-1][1]] == ["cabin-fan"])
        await board.press("ctrl+x")
        await board.until(lambda: "no change yet" in board.text())
        assert "margin h" not in board.text(), "no figures of changes that are not there"

    on_board(play)


def test_two_changes_that_contradict_are_refused_and_the_first_stays(on_board):
    async def play(board):
        await supposed(board)
        await board.press(*"load s-radio on", "enter")
        await board.until(lambda: "which cannot both be" in " ".join(board.text().split()))
        assert "> 1  load s-radio off" in board.text()
        assert "load s-radio on" in row_of(board, "change ")

    on_board(play)


def test_tab_completes_words_and_goes_through_those_that_fit(on_board):
    async def play(board):
        await board.press("d", "w", *"loa", "tab")
        assert "load" in row_of(board, "change ")
        assert "form: load NAME on|standby|off" in board.text()
        assert "s-radio, cabin-fan, computer" in board.text()
        await board.press(*"c", "tab")
        assert "load cabin-fan" in row_of(board, "change ")
        await board.press("tab")
        assert "load computer" in row_of(board, "change ")
        await board.press(*"of", "tab")
        assert "load computer off" in row_of(board, "change ")

    on_board(play)


def test_an_engine_that_fails_leaves_the_changes_and_no_figure_looks_new(on_board, session):
    async def play(board):
        await supposed(board)

        def failing(_changes, _situation):
            raise FeedError("torn")

        session.whatif = failing
        board.clock.now_s += 75.0
        await board.until(lambda: "NOT RECKONED: torn" in board.text())
        assert "NOT CURRENT: reckoned 1m15s ago" in board.text()
        assert "> 1  load s-radio off" in board.text()

    on_board(play)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("lo", ("load ",)),
        ("load RAD", ("load s-radio ",)),
        ("load s-radio ", ("load s-radio on", "load s-radio standby", "load s-radio off")),
        ("load s-radio off ", ("load s-radio off from ", "load s-radio off until ")),
        ("option h", ("option homeward",)),
        ("arrive ", ()),
        ("nonsense x", ()),
    ],
)
def test_what_a_change_can_go_on_with(session, typed, found):
    words = vocabulary_of(session.scenario.craft, session.scenario.plan)
    assert completions(typed, words) == found


def test_each_form_is_told_by_its_first_word():
    assert form_of("arrive 2 h") == "arrive DURATION later|earlier"
    assert form_of("arr") == ""


def test_a_limit_of_the_cabin_that_comes_earlier_is_marked(kit):
    before = cabin_scene.with_cabin(kit.snapshot())
    after = replace(
        before,
        clocks=tuple(
            replace(
                clock,
                state=ClockState.RUNNING,
                reached_in_s=Interval(p05=HOUR_S, p50=2 * HOUR_S, p95=3 * HOUR_S),
                margin_s=Interval(p05=-78 * HOUR_S, p50=-77 * HOUR_S, p95=-76 * HOUR_S),
                band=Band.WARNING,
            )
            if clock.limit is cabin_scene.RAISED_CO2 and clock.supposition is Supposition.PLAN
            else clock
            for clock in before.clocks
        ),
    )
    lines = [
        text.plain
        for text in comparison_lines(look(Depth.NONE, ascii_only=True), difference(before, after), 80)
    ]
    row = next(line for line in lines if line.startswith("raised CO2"))
    assert row.split()[2:5] == ["48.3", "1.0", "-47.3"]
    assert "X WARNING" in row
    assert any(
        line.startswith("first by the low end") and "raised CO2 SHORT 78.0 h" in line for line in lines
    )


def test_limits_that_begin_alike_are_told_apart_on_a_narrow_board():
    from console.board.faces.comparison import _short

    names = ("inspired oxygen for an hour", "inspired oxygen at least")
    assert [_short(name, 14, "~") for name in names] == ["inspir~an hour", "inspi~at least"]
