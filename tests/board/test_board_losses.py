"""Single losses: what the plan does not survive comes first, and what would save it stands below."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import deciding_scene as scene
import pytest

from console.board.faces.losses import key_of, ordered

GOLDENS = Path(__file__).parent / "goldens"


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def opened(board):
    await board.press("d", "l")
    await board.until(lambda: "the plan" in board.text())


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_single_losses_look_as_was_agreed(on_board, size):
    golden = GOLDENS / f"losses_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        await board.press("down")
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_what_ends_the_plan_comes_first_and_the_worst_of_it_before(session):
    assert [key_of(loss) for loss in ordered(session.losses_answer)] == [
        "bus power",
        "store water-1",
        "store o2-1",
        "store bat-1",
    ]


def test_each_loss_says_in_words_whether_it_is_survived_and_what_would_save_it(on_board):
    async def play(board):
        await opened(board)
        rows = board.text().splitlines()
        said = {
            row.split()[1 if row[0] == ">" else 0]: row
            for row in rows
            if row[:1] in (">", " ") and row.strip()
        }
        assert "3 of 4 single losses NOT SURVIVED by the low end, 2 of them not even" in board.text()
        assert "X NOT SURVIVED" in said["bus"]
        assert "! NOT SURVIVED, low end" in said["o2-1"]
        assert ". survived" in said["bat-1"]
        assert "no store to open, other way home or lower level saves it by itself" in board.text()
        await board.press("down")
        assert "if water-1 is lost" in board.text()
        assert "would save it: open water-3 now: water spare 2.0 h by the low end" in board.text()

    on_board(play)


def test_a_plan_that_does_not_reach_with_nothing_lost_says_that_first(on_board, session):
    answer = session.losses_answer
    without = replace(
        answer.without_loss,
        margins_s={**answer.without_loss.margins_s, "water": scene.hours(-7.8, -3.5, 1.0)},
    )
    session.losses_answer = replace(answer, without_loss=without)

    async def play(board):
        await opened(board)
        assert "WITH NOTHING LOST, by the low end: water SHORT 7.8 h" in board.text()

    on_board(play)


def test_while_it_is_reckoned_the_board_says_so_and_for_how_long(on_board, session):
    import threading

    go = threading.Event()
    answer = session.losses

    def slow():
        assert go.wait(20.0)
        return answer()

    session.losses = slow

    async def play(board):
        await board.press("d", "l")
        assert "reckoning ..." in board.text()
        board.clock.now_s += 3.0
        await board.until(lambda: "reckoning ... 3 s" in board.text())
        await board.press("escape", "s")
        await board.until(lambda: "log a step: which?" in board.text())
        await board.press("escape", "d", "l")
        go.set()
        await board.until(lambda: "X NOT SURVIVED" in board.text())

    on_board(play)


def test_an_entry_does_not_wait_behind_a_question_that_takes_long(on_board, session):
    import threading

    go = threading.Event()

    def slow():
        assert go.wait(20.0)
        return scene.make_losses(session.snapshot)

    session.losses = slow

    async def play(board):
        await board.press("d", "l", "escape", "n", *"smoke", "ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["text"] == "smoke"
        go.set()

    on_board(play)
