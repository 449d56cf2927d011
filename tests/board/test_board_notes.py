"""Notes: several lines, kept through an escape, saved with one key."""

from __future__ import annotations

import threading

from textual import events


async def write(board, *lines):
    await board.press("n")
    for index, line in enumerate(lines):
        if index:
            await board.press("enter")
        await board.press(*line)


def test_a_note_of_several_lines_is_logged_with_one_key(on_board, session):
    async def play(board):
        await write(board, "valve", "shut")
        await board.press("ctrl+s")
        await board.until(lambda: "saved as #9" in board.text())
        assert session.logged == [{"text": "valve\nshut", "happened_s": None}]
        await board.press("n")
        assert "valve" not in "\n".join(board.text().splitlines()[7:]), "the next note begins empty"

    on_board(play)


def test_what_was_typed_survives_an_accidental_escape(on_board, session):
    async def play(board):
        await write(board, "valve")
        await board.press("escape")
        await board.tick()
        assert board.app.screen is board.app.board
        assert "a note is begun and not logged: n to go on with it" in board.text()
        assert session.logged == []
        await board.press("n", *"s")
        assert "valves" in board.text()

    on_board(play)


def test_a_note_that_cannot_be_saved_is_kept_and_handed_back_at_the_end(on_board, session, kit):
    session.log_error = kit.journal_error("no space left on the disk")

    async def play(board):
        await write(board, "valve")
        await board.press("ctrl+s")
        await board.until(lambda: "! NOT SAVED: no space left on the disk" in board.text())
        assert "valve" in board.text()
        assert board.app.desk.stop(5.0) == ("note: valve",)

    on_board(play)


def test_what_waits_behind_a_slow_write_is_handed_back_with_it_when_the_board_is_left(on_board, session):
    release = threading.Event()
    log_note = session.log_note

    def slow(*words, **more):
        release.wait(60.0)
        return log_note(*words, **more)

    session.log_note = slow

    async def play(board):
        await write(board, "valve")
        await board.press("ctrl+s", "escape")
        await board.press("s", "enter")
        await board.until(lambda: "needs first" in board.text() or "LOG IT" in board.text())
        await board.press("ctrl+s")
        assert session.logged == []
        try:
            assert board.app.desk.stop(0.05) == (
                "note: valve",
                "step quiet-down/1 Transmitter to standby",
            )
        finally:
            release.set()

    on_board(play)


def test_what_was_written_while_the_board_was_left_is_not_handed_back(on_board, session):
    async def play(board):
        await write(board, "valve")
        await board.press("ctrl+s")
        assert board.app.desk.stop(60.0) == ()
        assert [entry["text"] for entry in session.logged] == ["valve"]

    on_board(play)


def test_the_word_of_the_entry_before_is_gone_the_moment_the_next_is_written(on_board, session):
    release = threading.Event()

    async def play(board):
        await write(board, "valve")
        await board.press("ctrl+s")
        await board.until(lambda: "saved as #9" in board.text())
        log_note = session.log_note

        def slow(*words, **more):
            release.wait(60.0)
            return log_note(*words, **more)

        session.log_note = slow
        await write(board, "shut")
        await board.press("ctrl+s", "escape")
        # Nothing is pulled here: what is shown was shown by the key itself.
        assert "saved as #9" not in board.text()
        assert "writing ... not saved in the log yet" in board.text()
        release.set()
        await board.until(lambda: "saved as #10" in board.text())

    on_board(play)


def test_an_empty_note_is_refused(on_board, session):
    async def play(board):
        await board.press("n", "ctrl+s")
        assert "NOT SAVED: a note needs a text" in board.text()
        assert session.logged == []

    on_board(play)


def test_tab_goes_to_the_time_and_back_to_the_text(on_board, session):
    async def play(board):
        await write(board, "valve")
        await board.press("tab", *"T+25h30m")
        await board.press("tab", *"s")
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))
        assert session.logged == [{"text": "valves", "happened_s": 25.5 * 3600.0}]

    on_board(play)


def test_the_keys_of_the_board_are_text_while_a_note_is_written(on_board):
    async def play(board):
        await write(board, "quick snack")
        assert "quick snack" in board.text()
        assert board.app.return_code is None

    on_board(play)


def test_keys_that_come_in_a_bundle_are_all_taken_up_before_the_note_is_logged(on_board, session):
    async def play(board):
        await board.press("n")
        for key in (*"valve", "tab", *"04:58", "ctrl+s"):
            board.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await board.until(lambda: bool(session.logged))
        assert session.logged == [{"text": "valve", "happened_s": 25 * 3600.0 + 48 * 60.0}]

    on_board(play)
