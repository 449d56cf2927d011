"""Keys that come all at once, as over a slow line: each reaches what it was pressed for, and in order."""

from __future__ import annotations

import deciding_scene as scene
import pytest
from textual import events

from console.board.held_keys import HeldKeys


@pytest.fixture
def session(kit):
    return scene.fill(kit, kit.session())


async def burst(board, *keys):
    """All keys before any of them has had its effect."""
    names = {" ": "space", "+": "plus", ".": "full_stop", "*": "asterisk", "-": "minus"}
    for key in keys:
        board.app.post_message(events.Key(names.get(key, key), key if len(key) == 1 else None))
    await board.pilot.pause()


def test_a_question_chosen_at_once_opens_and_what_follows_is_typed_into_it(on_board, session):
    async def play(board):
        await burst(board, "d", "k", *"s-radio", "enter", *"T+40h", "enter", *"2.3 A*h", "enter")
        await board.until(lambda: bool(session.kept))
        load, until_s, restart_si, _ = session.kept[-1]
        assert (load, until_s) == ("s-radio", 40 * 3600.0)
        assert restart_si == {"power": pytest.approx(2.3 * 3600.0)}

    on_board(play)


def test_text_for_a_note_does_not_reach_the_board_below(on_board):
    async def play(board):
        await burst(board, "n", *"quiet")
        await board.until(lambda: "quiet" in board.text())
        assert board.app.return_code is None
        assert "note for the log" in board.text()

    on_board(play)


def test_keys_wait_only_while_something_opens():
    keys = HeldKeys()
    assert not keys.takes(events.Key("a", "a"))
    keys.begin()
    assert keys.takes(events.Key("a", "a"))
    keys.begin()
    assert keys.takes(events.Key("b", "b"))
    assert not keys.takes(events.Blur())
    assert [key.key for key in keys.let_go()] == ["a", "b"]
    assert not keys.takes(events.Key("c", "c"))
    assert keys.let_go() == []
