"""Reasons behind figures: one key, walking down to the readings and back, all of one assessment."""

from __future__ import annotations

import os
from pathlib import Path

import deciding_scene as scene
import pytest

GOLDENS = Path(__file__).parent / "goldens"


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def opened(board):
    await board.press("e")
    await board.until(lambda: "water.margin = " in board.text())


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_the_reasons_look_as_was_agreed(on_board, size):
    golden = GOLDENS / f"why_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        shown = board.text() + "\n"
        await board.press("enter", "enter")
        await board.until(lambda: "level 2" in board.text())
        shown += board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_one_key_opens_the_margin_of_the_supply_in_hand(on_board):
    async def play(board):
        await opened(board)
        text = board.text()
        assert ">margin" in text
        assert "= runs_out - need" in text
        assert "= 61.5 - 105.5" in text
        await board.press("down")
        assert ">margin, low end" in board.text()
        assert "water.margin.p05 = -50.6 h" in board.text()
        await board.press("down", "down")
        assert "water.usable = no value" in board.text()
        assert "note: its gauge says nothing" in board.text()
        await board.press("escape", "up", "e")
        await board.until(lambda: "oxygen.margin = 11.4 h" in board.text())

    on_board(play)


def test_enter_walks_down_to_the_reading_and_escape_back(on_board):
    async def play(board):
        await opened(board)
        await board.press("enter")
        assert "level 1" in board.text()
        assert "> runs_out = 61.5 h" in board.text()
        await board.press("enter")
        await board.until(lambda: "level 2" in board.text())
        assert "plan.yaml line 7: phases" in board.text()
        assert "reading of water-1.level, 6m40s old, stale: too old" in board.text()
        await board.press("enter")
        assert "level 2" in board.text(), "what stands in a file goes no deeper"
        await board.press("escape")
        assert "level 1" in board.text()
        await board.press("down")
        assert "> need = 105.5 h" in board.text()
        await board.press("escape", "escape")
        assert board.app.screen is board.app.board

    on_board(play)


def test_all_that_is_walked_through_is_of_one_assessment(on_board, session):
    async def play(board):
        await opened(board)
        first = session.reasons
        session.reasons = scene.FakeFigures()
        board.clock.now_s += 30.0
        await board.press("enter", "enter")
        await board.until(lambda: "level 2" in board.text())
        assert "water.runs_out_at" in first.asked
        assert not session.reasons.asked
        assert "reckoned 30 s ago" in board.text()
        board.clock.now_s += 60.0
        await board.until(lambda: "NOT CURRENT: reckoned 1m30s ago" in board.text())
        await board.press("escape", "escape", "r")
        await board.until(lambda: bool(session.reasons.asked))

    on_board(play)


def test_a_figure_that_is_not_there_says_so_and_the_board_goes_on(on_board):
    async def play(board):
        await opened(board)
        await board.press("enter", "enter")
        await board.until(lambda: "level 2" in board.text())
        await board.press("down", "down", "enter")
        await board.until(lambda: "NOT RECKONED: NoFigureError: water.rate_plan" in board.text())
        assert "level 2" in board.text()

    on_board(play)


def test_other_supplies_the_cabin_and_the_need_are_beside_it(on_board):
    async def play(board):
        await opened(board)
        await board.press("left")
        await board.until(lambda: "why: oxygen" in board.text() and "oxygen.margin" in board.text())
        await board.press(*["right"] * 4)
        await board.until(lambda: "cabin.pressure = 37900 Pa" in board.text())
        await board.press("right")
        await board.until(lambda: "need.at = 105.5 h" in board.text())

    on_board(play)
