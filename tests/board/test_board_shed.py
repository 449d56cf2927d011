"""What to switch off next: the margin asked, the order, what each buys, what no load can help."""

from __future__ import annotations

import os
from pathlib import Path

import deciding_scene as scene
import pytest

GOLDENS = Path(__file__).parent / "goldens"
HOUR_S = 3600.0


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def opened(board):
    await board.press("d", "s")
    await board.until(lambda: "margin h" in board.text())


async def read_all(board):
    shown = board.text()
    for _ in range(8):
        await board.press("pagedown")
        shown += board.text()
    return shown


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_the_advice_looks_as_was_agreed(on_board, size):
    golden = GOLDENS / f"shed_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_the_caution_limit_of_the_shortest_supply_is_asked_for_at_first(on_board, session):
    async def play(board):
        await opened(board)
        assert session.goals == [(12.0 * HOUR_S, None)]
        rows = board.text().splitlines()
        fan, radio = (
            next(at for at, row in enumerate(rows) if name in row) for name in ("cabin-fan", "s-radio")
        )
        assert fan < radio, "the least important goes first"
        assert rows[fan].split()[:7] == ["1", "cabin-fan", "6", "1.30", "A", "+9.1", "+2.6"]
        shown = await read_all(board)
        assert "advice only: nothing is switched or logged by asking" in shown
        assert "must stay: wall-heater (craft.yaml says so)" in shown
        assert "what else may go" in shown
        assert "27.0 A" in shown, "the steady draw that can be afforded"
        assert not session.logged

    on_board(play)


def test_another_margin_is_asked_for_and_old_figures_do_not_pass_for_its(on_board, session):
    async def play(board):
        await opened(board)
        await board.press(*["backspace"] * 4, *"24 h")
        assert "enter asks anew; below: margin 12 h" in board.text()
        await board.press("tab", *"2 h", "enter")
        await board.until(lambda: session.goals[-1] == (24.0 * HOUR_S, 2.0 * HOUR_S))
        await board.until(lambda: "enter asks anew" not in board.text())

    on_board(play)


@pytest.mark.parametrize(("typed", "said"), [("24", "without a unit"), ("12 kg", "12 kg"), ("", "no margin")])
def test_a_margin_that_is_no_time_is_refused_in_its_place(on_board, session, typed, said):
    async def play(board):
        await opened(board)
        await board.press(*["backspace"] * 4, *typed, "enter")
        await board.until(lambda: said in board.text() and "found" in board.text())
        assert len(session.goals) == 1

    on_board(play)


def test_what_no_load_can_help_is_said_and_which_supplies_fall_short(on_board, session, kit):
    session.advice = scene.make_advice(kit, is_enough=False)

    async def play(board):
        await opened(board)
        text = board.text()
        assert "NOT REACHED by oxygen, propellant" in text
        assert "no load can help oxygen: look for another measure" in text
        assert "propellant: not even with all that may go off" in text
        assert any(row.startswith("oxygen") and "NO" in row.split() for row in text.splitlines())

    on_board(play)
