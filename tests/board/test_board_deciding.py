"""The way in to deciding, and every question of it asked of a real session on the packaged scenarios."""

from __future__ import annotations

import asyncio
from pathlib import Path

import deciding_scene as scene
import pytest

from console.board.app import BoardApp
from console.board.desk import Desk
from console.board.look import Depth, look
from console.board.screens.dialogs import dialog
from console.feed.state_file import StateFileSource, state_file_time_s
from console.instants import at_epoch_plus
from console.record.journal import Journal
from console.scenario.load import load_scenario, packaged_scenario
from console.session import Session


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


def test_the_menu_names_every_question_with_its_own_key(on_board):
    async def play(board):
        await board.press("d")
        text = board.text()
        for words in (
            "o  options",
            "w  what if",
            "k  keep or off",
            "s  switch off",
            "r  reserves",
            "l  losses",
            "e  explain",
        ):
            assert words in text, words
        await board.press("down", "down", "down", "enter")
        assert "what to switch off next" in board.text()
        await board.press("escape")
        assert board.app.screen is board.app.board, "escape leads to the board, not to the menu"

    on_board(play)


def test_a_question_of_the_menu_can_be_chosen_with_the_mouse(on_board):
    async def play(board):
        await board.press("d")
        rows = board.text().splitlines()
        y = next(at for at, row in enumerate(rows) if "losses" in row)
        await board.pilot.click(offset=(rows[y].index("losses"), y))
        await board.until(lambda: "single losses" in board.text())

    on_board(play)


def real_session(name: str, journal: Path | None = None) -> Session:
    scenario = load_scenario(packaged_scenario(name))
    path = scenario.folder / "state.json"
    moment = at_epoch_plus(scenario.craft.epoch, state_file_time_s(path, scenario.craft.epoch))
    return Session(
        scenario=scenario,
        source=StateFileSource(path, scenario.craft.channels, scenario.craft.epoch),
        journal=None if journal is None else make_journal(journal, scenario, moment),
        clock=lambda: moment,
        operator="A. Lead",
        position="lead",
    )


def run_real(kit, session, play, size=(80, 24)):
    async def main():
        clock = kit.clock()
        app = BoardApp(session, tick_interval_s=1e6, monotonic=clock)
        try:
            async with app.run_test(size=size) as pilot:
                running = kit.running(app, pilot, session, clock)
                await running.until(lambda: bool(app.desk.tick.made_at_s or app.desk.tick.engine_error))
                await running.tick()
                await play(running)
                assert not app.desk.faults(), app.desk.faults()
        finally:
            app.desk.stop(5.0)

    asyncio.run(main())


def make_journal(path: Path, scenario, moment) -> Journal:
    return Journal.open(
        path,
        scenario=scenario.slug,
        epoch=scenario.craft.epoch,
        clock=lambda: moment,
        monotonic=lambda: 0.0,
        create=True,
        read_only=False,
    )


def test_on_the_demo_a_commitment_goes_into_the_journal_and_the_board_follows(kit, tmp_path):
    session = real_session("tern", tmp_path / "journal")

    async def play(board):
        assert "DECIDE homeward" in board.text()
        await board.press("d", "o")
        await board.until(lambda: "COMMITTED, plan only" in board.text())
        await board.press("right", "enter", *"no fuel", "ctrl+s")
        await board.until(lambda: board.app.screen is board.app.board)
        await board.tick()
        assert "committed tender T+25h48m" in board.text()
        assert "committed to tender (reason: no fuel)" in board.text()
        (entry,) = session.entries()
        assert entry.body["option"] == "tender"
        await board.press("d", "o")
        await board.until(lambda: "COMMITTED, logged" in board.text())

    run_real(kit, session, play)
    session.close()


@pytest.mark.parametrize("name", ["tern", "vole", "whelk"])
def test_every_question_has_an_answer_on_every_packaged_scenario(kit, name):
    session = real_session(name)
    load = next(iter(session.scenario.craft.loads))
    snapshot = session.tick()
    shortest = snapshot.shortest
    draw = next(each for each in snapshot.loads if each.draw_si_per_s > 0.0)
    keeping, unit = draw.name, session.scenario.craft.supplies[draw.supply].unit.text

    async def play(board):
        await board.press("d", "o")
        await board.until(lambda: "COMMITTED, plan only" in board.text())
        for option in session.scenario.plan.options:
            assert option in board.text()
        await board.press("escape", "d", "w", *f"load {load} off", "enter")
        await board.until(lambda: "first by the low end" in board.text())
        await board.press("escape", "d", "k", *keeping, "enter")
        await board.press(*"T+60h", "enter", *f"1 {unit}", "enter")
        await board.until(lambda: "break-even" in board.text())
        await board.press("escape", "d", "s")
        await board.until(lambda: "margin h" in board.text())
        await board.press("escape", "e")
        await board.until(lambda: f"{shortest}.margin = " in board.text())
        await board.press("enter", "enter")
        await board.until(lambda: "level 2" in board.text())
        assert not session.entries(), "asking logs nothing"

    run_real(kit, session, play, size=(120, 36))


def test_single_losses_of_a_packaged_scenario_are_those_of_the_engine(kit):
    session = real_session("vole")
    session.tick()
    losses = session.losses()
    ending = [loss.lost.name for loss in losses.losses if loss.ends_plan]

    async def play(board):
        await board.press("d", "l")
        await board.until(lambda: "the plan" in board.text())
        shown = [row for row in board.text().splitlines() if "NOT SURVIVED" in row and row[:1] in "> "]
        assert len(shown) == len(ending) > 0
        for name in ending:
            assert any(name in row for row in shown), name

    run_real(kit, session, play, size=(120, 50))


@pytest.mark.parametrize("name", ["ways", "whatif", "keep", "shed", "reserves", "losses"])
def test_a_dialogs_clock_that_beats_once_more_while_the_board_is_taken_down_ends_nothing(session, name):
    desk = Desk(session, 1e6, lambda: 0.0)
    made = dialog(name, look(Depth.NONE, ascii_only=True), desk, lambda: None, read_only=False)
    # There is no screen on top any more, and this one asks nothing and draws nothing.
    made._beat()
    assert not session.asked
