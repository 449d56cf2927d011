"""Notes: several lines, kept through an escape, saved with one key."""

from __future__ import annotations


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
