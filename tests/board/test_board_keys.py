"""Keys of the board: moving between supplies, panes, help from the bindings, leaving."""

from __future__ import annotations

import pytest
from textual.binding import Binding

from console.board.screens.board import BoardScreen
from console.board.screens.decide import DecideScreen
from console.board.screens.losses import LossesScreen
from console.board.screens.note import NoteScreen
from console.board.screens.shed import ShedScreen
from console.board.screens.sheet import SheetScreen
from console.board.screens.step import StepScreen
from console.board.screens.ways import WaysScreen
from console.board.screens.whatif import WhatifScreen
from console.board.screens.why import WhyScreen
from console.engine.snapshot import Band

PLACES = (
    BoardScreen,
    StepScreen,
    NoteScreen,
    SheetScreen,
    DecideScreen,
    WaysScreen,
    WhatifScreen,
    ShedScreen,
    LossesScreen,
    WhyScreen,
)


def test_up_and_down_move_the_selection_and_show_its_figures(on_board):
    async def play(board):
        assert ">water" in board.text(), "the shortest is in hand at first"
        assert "── log ──" in board.text()
        await board.press("down")
        assert ">absorbent" in board.text()
        assert "absorbent: figures, ADVISORY" in board.text()
        await board.press("up", "up")
        assert ">oxygen" in board.text()
        assert "oxygen: figures, CAUTION" in board.text()
        await board.press(*["up"] * 9)
        assert ">power" in board.text(), "it stops at the first"
        await board.press("escape")
        assert ">water" in board.text()
        assert "── log ──" in board.text()

    on_board(play)


def test_each_thing_has_one_key(on_board):
    keys = [key for binding in BoardScreen.BINDINGS for key in binding.key.split(",")]
    assert len(set(keys)) == len(keys)

    async def play(board):
        await board.press("j", "k", "j")
        assert ">water" in board.text()
        assert "── log ──" in board.text()

    on_board(play)


def test_tab_shows_one_pane_after_the_other_and_back(on_board):
    async def play(board):
        titles = ("water: figures", "water: stores", "water: ledger until need", "── cabin", "── log ──")
        for title in titles:
            await board.press("tab")
            assert title in board.text()
        await board.press("shift+tab", "shift+tab")
        assert "water: ledger until need" in board.text()

    on_board(play)


def test_the_figures_hold_everything_that_is_known_of_a_supply(on_board):
    async def play(board):
        await board.press("tab")
        shown = board.text()
        for _ in range(3):
            await board.press("pagedown")
            shown += board.text()
        for figure in (
            "on board  13.8 kg",
            "usable    11.1 kg",
            "isolated  0.556 kg",
            "protected 1.12 kg",
            "residual  0.445 kg",
            "reserve   0.668 kg",
            "used now 0.326 kg/h (measured)",
            "planned 0.310 kg/h",
            "allowance 0.139 kg/h",
            "runs out, low end 2041-06-04 10:08 UTC  T+54h58m",
            "runs out, central 2041-06-04 16:54 UTC  T+61h44m",
            "lasts until need 1 %",
            "under the plan 35.8 h (29.1 to 41.0 h)",
            "at the present rate 34.1 h (27.7 to 39.1 h)",
            "margin low end SHORT 50.6 h",
            "left at need -13.6 kg (-15.7 to -12.0 kg)",
        ):
            assert figure in shown, figure

    on_board(play)


def test_twelve_supplies_fit_by_scrolling_with_the_selected_one_in_sight(on_board, session, kit):
    from dataclasses import replace

    names = [f"supply-{number:02d}" for number in range(12)]
    session.snapshot = replace(
        kit.snapshot(*(kit.supply(name, (90.0, 95.0, 99.0), Band.CAUTION) for name in names)), loads=()
    )

    async def play(board):
        assert "supply 1 to 9 of 12" in board.text()
        for name in names[1:]:
            await board.press("down")
            assert f">{name}" in board.text()
        assert "to 12 of 12" in board.text()
        for name in reversed(names[:-1]):
            await board.press("up")
            assert f">{name}" in board.text()

    on_board(play)


def test_the_log_can_be_turned_back_to_older_entries(on_board, session, kit):
    from console.record.entry import EntryKind

    session.journal = [kit.entry(number, EntryKind.NOTE, f"entry number {number}") for number in range(1, 40)]

    async def play(board):
        assert "entry number 39" in board.text()
        assert "newest #39" in board.text() or "tab: figures" in board.text()
        await board.press("pageup", "pageup", "pageup")
        assert "log, older entries" in board.text()
        assert "entry number 39" not in board.text()
        await board.press("pagedown", "pagedown", "pagedown")
        assert "entry number 39" in board.text()

    on_board(play)


def test_a_late_entry_says_when_it_was_written(on_board, session, kit):
    from datetime import timedelta

    from console.record.entry import EntryKind

    entry = kit.entry(9, EntryKind.NOTE, "valve was shut")
    session.journal = [
        kit.entry(9, EntryKind.NOTE, "valve was shut", written_at=entry.happened_at + timedelta(hours=1))
    ]

    async def play(board):
        assert "(late, written 05:47) valve was shut" in board.text()

    on_board(play)


def test_the_configuration_shows_every_load_with_state_draw_and_who_set_it(on_board):
    async def play(board):
        await board.press("c")
        text = board.text()
        assert "configuration: level quiet, commanded 12.0 A, measured 12.6 A" in text
        radio = next(row for row in text.splitlines() if row.startswith("s-radio"))
        assert radio.split()[1:4] == ["on", "2.40", "A"]
        assert "logged step" in radio
        assert [row.split()[1:3] for row in text.splitlines() if row.startswith("pressure")] == [
            ["37.9", "kPa"]
        ]
        assert "WATER RUNS OUT FIRST" in text, "the headline stays in sight"
        await board.press("escape")
        assert board.app.screen is board.app.board

    on_board(play)


def test_help_is_made_from_the_bindings_of_every_place(on_board):
    async def play(board):
        await board.press("question_mark")
        shown = board.text()
        for _ in range(24):
            await board.press("pagedown")
            shown += board.text()
        for screen in PLACES:
            for binding in screen.BINDINGS:
                if binding.id != "ways.look":  # of a board that only shows
                    assert binding.description in shown, binding
        assert "not certified for flight, diving, mining or medical use" in shown

    on_board(play)


@pytest.mark.parametrize("screen", PLACES)
def test_every_key_is_a_binding_with_an_id_of_its_own_and_a_description(screen):
    ids = [binding.id for binding in screen.BINDINGS]
    assert all(
        isinstance(binding, Binding) and binding.id and binding.description for binding in screen.BINDINGS
    )
    assert len(set(ids)) == len(ids)


def test_the_last_row_shows_the_keys_of_the_place(on_board):
    async def play(board):
        assert board.text().splitlines()[-1] == (
            "up/down supply  d decide  e why  s log step  n note  c config  ? help  q quit"
        )
        await board.press("s")
        await board.until(lambda: "enter see what it does" in board.text().splitlines()[-1])
        assert "log step" not in board.text().splitlines()[-1]

    on_board(play)


def test_q_leaves_with_status_0(on_board):
    async def play(board):
        await board.press("q")
        assert board.app.return_code == 0

    on_board(play)


def test_dialogs_are_made_once_and_used_again(on_board):
    async def play(board):
        seen = []
        for _ in range(3):
            for key in ("s", "n", "c", "question_mark"):
                await board.press(key)
                seen.append((key, board.app.screen))
                await board.press("escape")
                assert board.app.screen is board.app.board
        assert len({id(screen) for _, screen in seen}) == 4

    on_board(play)


def test_a_step_out_of_order_and_a_correction_say_so_in_the_log(on_board, session, kit):
    from console.record.entry import EntryKind

    step = {"text": "Guidance off", "procedure": "quiet-down", "step": "2", "reason": "smoke"}
    session.journal = [
        kit.entry(7, EntryKind.STEP, "", body=step),
        kit.entry(8, EntryKind.CORRECTION, "", body={"text": "it was 04:10", "corrects": 5}),
    ]

    async def play(board):
        assert "quiet-down/2 Guidance off (out of order: smoke)" in board.text()
        assert "corrects #5: it was 04:10" in board.text()

    on_board(play, size=(120, 24))


def test_on_a_large_board_the_page_keys_move_only_the_pane_in_hand(on_board, session, kit):
    from console.record.entry import EntryKind

    session.journal = [kit.entry(number, EntryKind.NOTE, f"entry number {number}") for number in range(1, 60)]

    async def play(board):
        await board.press("tab")
        assert "figures, WARNING" in board.text()
        assert "in hand" in next(row for row in board.text().splitlines() if "figures, WARNING" in row)
        await board.press("pagedown")
        assert "left at need -13.6 kg" in board.text()
        assert "entry number 59" in board.text(), "the log stays where it is"
        assert "on board" not in next(row for row in board.text().splitlines() if "water: ledger" in row)

    on_board(play, size=(120, 36))
