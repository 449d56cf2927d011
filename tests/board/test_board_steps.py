"""Logging a step: the dialog shows what it does and costs, and one key logs it once."""

from __future__ import annotations

import threading
from dataclasses import replace

from textual import events

from console.board.faces.step_choice import is_so
from console.craft.model import Level, LoadState, StoreState
from console.craft.procedures import Action


async def choose(board, *moves):
    await board.press("s", *moves, "enter")
    await board.until(lambda: "low end now" in board.text() or "effect not known" in board.text())


def test_the_dialog_lists_steps_with_done_marks_requirements_and_cautions(on_board):
    async def play(board):
        await board.press("s")
        await board.until(lambda: "done" in board.text())
        text = board.text()
        assert "quiet-down  Power down to quiet level" in text
        done = next(row for row in text.splitlines() if "Valve open" in row)
        assert "done" in done
        assert "04:32 UTC by A. Lead (#8)" in done
        second = next(row for row in text.splitlines() if "Guidance off" in row)
        assert "first 1; ! caution" in second

    on_board(play)


def test_one_key_logs_the_step_exactly_once(on_board, session):
    async def play(board):
        await choose(board)
        assert session.logged == []
        await board.pilot.press("ctrl+s", "ctrl+s", "enter")
        await board.until(lambda: board.app.screen is board.app.board)
        assert session.logged == [
            {"procedure": "quiet-down", "step_id": "1", "happened_s": None, "reason": ""}
        ]

    on_board(play)


def test_escape_logs_nothing(on_board, session):
    async def play(board):
        await choose(board)
        await board.press("escape")
        assert "log a step: which?" in board.text()
        await board.press("escape")
        assert board.app.screen is board.app.board
        assert session.logged == []
        assert "saved" not in board.text()

    on_board(play)


def test_the_effect_on_every_margin_and_on_the_draw_is_shown_before_and_after(on_board, session):
    async def play(board):
        await choose(board)
        text = board.text()
        assert session.previews == [("quiet-down", "1")]
        assert "sets s-radio from on to standby" in text
        assert "draw on power: 12.0 A now, 9.90 A after (-2.10 A)" in text
        water = next(row for row in text.splitlines()[7:] if row.startswith("water"))
        assert " ".join(water.split()[1:]) == "SHORT 50.6 h SHORT 38.7 h +11.9 -43.8 -31.2 X WARNING"
        for name in session.snapshot.supplies:
            assert any(row.startswith(name) for row in text.splitlines()[7:]), name
        assert "recorded time: now, 2041-06-03 05:02 UTC, T+25h52m" in text

    on_board(play)


def test_a_preview_that_takes_its_time_holds_nothing_up(on_board, session):
    release = threading.Event()
    after = session.after

    def preview(_procedure, _step_id):
        release.wait(10.0)
        return after

    session.preview = preview

    async def play(board):
        await board.press("s", "enter")
        assert "effect on draw and margins: reckoning" in board.text()
        await board.press("escape", "escape", "down")
        assert ">absorbent" in board.text()
        release.set()

    on_board(play)


def test_a_step_can_be_logged_while_its_effect_is_not_known(on_board, session):
    def preview(_procedure, _step_id):
        raise ValueError("no")

    session.preview = preview

    async def play(board):
        await choose(board)
        assert "effect not known: ValueError: no" in board.text()
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))

    on_board(play)


def test_a_caution_is_shown_beside_the_key_that_confirms(on_board):
    async def play(board):
        await choose(board, "down")
        assert "! CAUTION: Guidance alignment is lost. Realigning costs 2.1 A h." in board.text()
        assert "ctrl+s LOG IT" in board.text().splitlines()[-1]

    on_board(play)


def test_a_step_out_of_order_needs_a_reason(on_board, session):
    async def play(board):
        await choose(board, "down")
        await board.until(lambda: "needs first: 1, not logged" in board.text())
        await board.press("ctrl+s")
        assert "! NOT SAVED: a reason is needed" in board.text()
        assert session.logged == []
        await board.press(*"smoke")
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["reason"] == "smoke"

    on_board(play)


def test_after_logging_the_board_says_saved_with_sequence_and_time(on_board):
    async def play(board):
        await choose(board)
        await board.press("ctrl+s")
        await board.until(
            lambda: (
                "saved as #9 at 04:47:14 UTC, T+25h37m: step quiet-down/1 Transmitter to standby"
                in board.text()
            )
        )

    on_board(play)


def test_it_does_not_say_saved_before_the_session_does(on_board, session):
    release = threading.Event()
    log_step = session.log_step

    def slow(*words, **more):
        release.wait(10.0)
        return log_step(*words, **more)

    session.log_step = slow

    async def play(board):
        await choose(board)
        await board.press("ctrl+s")
        assert "writing, not saved yet" in board.text()
        await board.press("ctrl+s", "escape", "escape")
        await board.tick()
        assert "writing ... not saved in the log yet" in board.text(), "the board itself says so too"
        assert "saved as" not in board.text()
        release.set()
        await board.until(lambda: "saved as #9" in board.text())
        assert len(session.logged) == 1

    on_board(play)


def test_a_journal_that_fails_keeps_what_was_typed_and_a_fault_stands_until_it_is_saved(
    on_board, session, kit
):
    session.log_error = kit.journal_error("no space left on the disk")

    async def play(board):
        await choose(board, "down")
        await board.until(lambda: "needs first" in board.text())
        await board.press(*"smoke")
        await board.press("ctrl+s")
        await board.until(lambda: "! NOT SAVED: no space left on the disk" in board.text())
        assert "smoke" in board.text()
        await board.press("escape", "escape")
        await board.tick()
        assert "LOG: NOT SAVED: no space left on the disk; what was typed is kept" in board.text()
        assert "saved as" not in board.text()
        session.log_error = None
        await board.press("s", "enter")
        await board.until(lambda: "smoke" in board.text())
        await board.press("ctrl+s")
        await board.until(lambda: "saved as #9" in board.text())
        assert "LOG: NOT SAVED" not in board.text()
        assert session.logged[0]["reason"] == "smoke"

    on_board(play)


def test_a_step_can_be_logged_with_the_time_it_was_done(on_board, session):
    async def play(board):
        await choose(board)
        await board.press(*"04:58")
        assert "recorded time: 2041-06-03 04:58 UTC, T+25h48m, 4m14s ago" in board.text()
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["happened_s"] == 25 * 3600.0 + 48 * 60.0

    on_board(play)


def test_a_time_that_lies_ahead_is_refused(on_board, session):
    async def play(board):
        await choose(board)
        await board.press(*"T+99h")
        await board.press("ctrl+s")
        assert "NOT SAVED" in board.text()
        assert "it lies ahead of now" in board.text()
        assert session.logged == []

    on_board(play)


def loads_of(session, name, state):
    session.snapshot = replace(
        session.snapshot,
        loads=tuple(
            replace(load, state=state) if load.name == name else load for load in session.snapshot.loads
        ),
    )


def chosen(board):
    return next(row for row in board.text().splitlines()[7:] if row.startswith(">"))


def test_the_list_opens_on_the_first_step_that_is_neither_done_nor_so_already(on_board, session):
    loads_of(session, "s-radio", LoadState.STANDBY)

    async def play(board):
        await board.press("s")
        await board.until(lambda: "done" in board.text())
        first = next(row for row in board.text().splitlines() if "Transmitter to standby" in row)
        assert "is so" in first
        assert "Guidance off" in chosen(board)

    on_board(play)


def test_it_opens_on_the_first_step_where_nothing_is_done_and_never_moves_under_the_hand(on_board, session):
    async def play(board):
        await board.press("s")
        await board.until(lambda: "done" in board.text())
        assert "Transmitter to standby" in chosen(board)
        assert "is so" not in board.text()
        await board.press("down", "down")
        loads_of(session, "s-radio", LoadState.STANDBY)
        await board.tick()
        await board.until(lambda: "is so" in board.text())
        assert "Report level to the ground" in chosen(board)

    on_board(play)


def test_after_a_step_is_logged_the_list_opens_on_the_next_one(on_board):
    async def play(board):
        await choose(board)
        await board.press("ctrl+s")
        await board.until(lambda: board.app.screen is board.app.board)
        await board.press("s")
        await board.until(lambda: board.text().count("done") >= 2)
        assert "Guidance off" in chosen(board)

    on_board(play)


def test_a_step_is_so_only_where_all_it_sets_stands_so(kit):
    def action(**sets):
        return replace(Action(loads={}, stores={}, used_si={}), **sets)

    on, off = LoadState.ON, LoadState.OFF
    snapshot = kit.snapshot()
    levels = {
        "fits": Level(name="fits", states={load.name: load.state for load in snapshot.loads}),
        "other": Level(name="other", states={"cabin-fan": off}),
    }
    for sets, so in (
        ({"loads": {"s-radio": on}}, True),
        ({"loads": {"s-radio": on, "cabin-fan": off}}, False),
        ({"loads": {"no such load": on}}, False),
        ({"stores": {"water-2": StoreState.ISOLATED}}, True),
        ({"stores": {"water-2": StoreState.FEEDING}}, False),
        ({"loads": {"s-radio": on}, "stores": {"water-2": StoreState.FEEDING}}, False),
        ({"level": "fits"}, True),
        ({"level": "fits", "loads": {"cabin-fan": off}}, False),
        ({"level": "other"}, False),
        ({"level": "other", "loads": {"cabin-fan": on}}, True),
        ({"level": "no such level"}, False),
        ({"loads": {"s-radio": on}, "used_si": {"water-1": 1.0}}, False),
        ({"loads": {"s-radio": on}, "drops": ("work-section",)}, False),
        ({"loads": {"s-radio": on}, "confirms_control": True}, False),
        ({}, False),
    ):
        assert is_so(action(**sets), snapshot, levels) is so, sets


def test_a_reason_that_is_a_time_is_refused_with_a_sentence(on_board, session):
    async def play(board):
        await choose(board, "down")
        await board.until(lambda: "needs first: 1, not logged" in board.text())
        await board.press(*"04:58")
        await board.press("ctrl+s")
        assert "! NOT SAVED: the reason is a time: write why it is done out of order" in board.text()
        assert session.logged == []
        await board.press(*" smoke")
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["reason"] == "04:58 smoke"

    on_board(play)


def test_enter_and_tab_go_on_to_the_next_field_and_log_nothing(on_board, session):
    async def play(board):
        await choose(board, "down")
        await board.until(lambda: "needs first: 1, not logged" in board.text())
        assert "enter/tab next field" in board.text().splitlines()[-1]
        await board.press(*"smoke", "enter", *"04:5", "enter", *"y", "tab", *"8", "tab", "tab", "enter")
        assert session.logged == [], "neither key logs anything"
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["reason"] == "smokey", "coming back to a field wipes nothing out"
        assert session.logged[0]["happened_s"] == 25 * 3600.0 + 48 * 60.0

    on_board(play)


def test_where_there_is_one_field_enter_stays_in_it(on_board, session):
    async def play(board):
        await choose(board)
        await board.press(*"04:5", "enter", *"8", "ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["happened_s"] == 25 * 3600.0 + 48 * 60.0

    on_board(play)


def test_keys_that_come_in_a_bundle_are_all_taken_up_before_the_step_is_logged(on_board, session):
    async def play(board):
        await choose(board, "down")
        await board.until(lambda: "needs first: 1, not logged" in board.text())
        for key in (*"smoke", "enter", *"04:58", "ctrl+s"):
            board.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await board.until(lambda: bool(session.logged))
        assert session.logged[0]["reason"] == "smoke"
        assert session.logged[0]["happened_s"] == 25 * 3600.0 + 48 * 60.0

    on_board(play)
