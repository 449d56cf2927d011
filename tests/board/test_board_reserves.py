"""Reserves on the board: what each is for, what a release would do, what is logged and how it is undone."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import deciding_scene as scene
import pytest
from test_board_deciding import real_session, run_real

from console.board.faces.reserves import released_words
from console.board.releasing import read_amount_si, supposed_release
from console.engine.reading import Quality
from console.errors import JournalError, UsageError
from console.record.entry import EntryKind

GOLDENS = Path(__file__).parent / "goldens"


@pytest.fixture
def session(kit):
    return scene.with_reserves(scene.fill(kit, kit.session()))


async def opened(board):
    await board.press("d", "r")
    await board.until(lambda: "reserves, and what each is for" in board.text())


async def releasing(board, amount="3 kg"):
    """The reserve of water, with an amount written; oxygen stands above it."""
    await opened(board)
    await board.press("down", "enter", *amount)
    await board.until(lambda: "margin, low end:" in board.text() or "amount: found" in board.text())


def flat(board):
    return " ".join(board.text().split())


def row_of(board, begin):
    return next(row for row in board.text().splitlines() if row.startswith(begin))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_the_reserves_look_as_was_agreed(on_board, size):
    golden = GOLDENS / f"reserves_{size[0]}x{size[1]}.txt"

    async def play(board):
        await opened(board)
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_releasing_looks_as_was_agreed(on_board, size):
    golden = GOLDENS / f"release_{size[0]}x{size[1]}.txt"

    async def play(board):
        await releasing(board)
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_each_reserve_says_what_it_is_for_and_what_is_left(on_board):
    async def play(board):
        await opened(board)
        assert row_of(board, " water").split()[:5] == ["water", "8.00", "kg", "nothing", "11.1"]
        assert row_of(board, ">oxygen").split()[1:5] == ["6.00", "kg", "2.00", "kg"]
        assert "for: a day of drinking" in board.text()
        assert "for: the files do not say for what" in board.text()
        assert "protected: in no margin, and not released here" in board.text()
        assert not any(row.startswith((">power", " power  ")) for row in board.text().splitlines()[7:12])

    on_board(play)


def test_an_amount_is_shown_with_what_it_does_to_the_margin_before_it_is_logged(on_board, session):
    async def play(board):
        await releasing(board)
        assert "8.00 kg left, set aside for: a day of drinking" in board.text()
        assert "3 kg released leaves 5.00 kg for what it is set aside for" in board.text()
        assert "margin, low end: SHORT 50.6 h -> SHORT 30.6 h" in board.text()
        assert "endurance log correct NUMBER --withdraw" in flat(board)
        assert not session.logged

    on_board(play, size=(120, 36))


def test_no_figure_of_another_amount_stays_in_sight(on_board):
    async def play(board):
        await releasing(board)
        await board.press("backspace")
        assert "margin, low end:" not in board.text()
        assert "! amount: found" in board.text()

    on_board(play)


@pytest.mark.parametrize(
    ("amount", "message"),
    [
        ("9 kg", "found '9 kg'; write more than zero and at most 8.00 kg"),
        ("0 kg", "write more than zero and at most 8.00 kg"),
        ("-1 kg", "write more than zero and at most 8.00 kg"),
        ("3", "found '3' without a unit"),
        ("3 L", "a volume; write a mass"),
        ("3 kq", "kq"),
        ("some", "write a number and its unit"),
    ],
)
def test_an_amount_that_will_not_do_is_said_and_not_logged(on_board, session, amount, message):
    async def play(board):
        await releasing(board, amount)
        assert message in flat(board)
        await board.press("tab", *"ship late", "ctrl+s")
        assert "NOT SAVED" in board.text()
        assert not session.logged
        assert board.app.focused.id == "release"

    on_board(play)


def test_it_is_logged_once_with_its_amount_its_reason_and_its_time(on_board, session):
    async def play(board):
        await releasing(board)
        await board.press("tab", *"ship late", "tab", *"04:58", "ctrl+s", "ctrl+s")
        await board.until(lambda: board.app.screen is board.app.board)
        (words,) = session.logged
        assert words == {
            "supply": "water",
            "amount_si": pytest.approx(3.0),
            "written": "3 kg",
            "reason": "ship late",
            "happened_s": 25 * 3600 + 48 * 60,
        }
        assert "saved as #" in board.text()

    on_board(play)


@pytest.mark.parametrize(
    ("reason", "message"), [("", "a reason is needed"), ("04:58", "the reason is a time")]
)
def test_nothing_is_released_without_a_reason(on_board, session, reason, message):
    async def play(board):
        await releasing(board)
        await board.press("tab", *reason, "ctrl+s")
        assert message in board.text()
        assert board.app.focused.id == "release-why"
        assert not session.logged

    on_board(play)


def test_what_could_not_be_written_is_kept_and_said(on_board, session):
    session.log_error = JournalError("the disk is full")

    async def play(board):
        await releasing(board)
        await board.press("tab", *"ship late", "ctrl+s")
        await board.until(lambda: "NOT SAVED: the disk is full" in board.text())
        session.log_error = None
        await board.press("escape", "enter")
        assert "3 kg" in row_of(board, "amount")
        assert "ship late" in row_of(board, "reason")
        await board.press("ctrl+s")
        await board.until(lambda: bool(session.logged))

    on_board(play)


def test_leaving_logs_nothing_and_keeps_what_was_typed(on_board, session):
    async def play(board):
        await releasing(board)
        await board.press("escape", "escape")
        assert board.app.screen is board.app.board
        await opened(board)
        await board.press("enter")
        assert "3 kg" in row_of(board, "amount")
        assert not session.logged

    on_board(play)


def test_a_board_that_only_shows_releases_nothing(on_board, session):
    async def play(board):
        await opened(board)
        assert "This board only shows: nothing can be released from here." in board.text()
        await board.press("down", "enter")
        assert "set aside for: a day of drinking" in board.text()
        assert "RELEASE, LOG IT" not in board.text()
        await board.press(*"3 kg", "ctrl+s", "enter")
        assert not session.logged
        assert "amount" not in board.text().split("set aside", maxsplit=1)[1]

    on_board(play, read_only=True)


def test_a_reserve_of_which_nothing_is_left_is_shown_and_not_released(on_board, session):
    gone = replace(session.snapshot.supplies["oxygen"], reserve_si=0.0, released_si=8.0)
    session.snapshot = replace(session.snapshot, supplies={**session.snapshot.supplies, "oxygen": gone})

    async def play(board):
        await opened(board)
        await board.press("enter")
        assert "Nothing is left of it to release." in board.text()
        await board.press("ctrl+s")
        assert not session.logged

    on_board(play)


def test_a_craft_without_reserves_says_so(on_board, session):
    bare = {
        name: replace(supply, reserve_si=0.0, released_si=0.0)
        for name, supply in session.snapshot.supplies.items()
    }
    session.snapshot = replace(session.snapshot, supplies=bare)

    async def play(board):
        await opened(board)
        assert "no supply has a reserve" in board.text()
        await board.press("enter")
        assert "no supply has a reserve" in board.text()

    on_board(play)


def test_a_preview_on_old_readings_says_so(on_board, session):
    stale = replace(session.snapshot.supplies["water"], quality=Quality.STALE)
    session.snapshot = replace(session.snapshot, supplies={**session.snapshot.supplies, "water": stale})

    async def play(board):
        await releasing(board)
        assert "NOT CURRENT, rests on old or doubtful readings: water stale" in flat(board)

    on_board(play, size=(120, 36))


def test_markup_and_control_characters_in_a_note_do_nothing(on_board, session):
    nasty = "[/]\x1b[2J[@click=app.quit]x[/]"
    water = replace(session.snapshot.supplies["water"], reserve_note=nasty)
    session.snapshot = replace(session.snapshot, supplies={**session.snapshot.supplies, "water": water})

    async def play(board):
        await opened(board)
        assert "[@click=app.quit]" in board.text()
        assert "\x1b" not in board.text()

    on_board(play, size=(120, 36))


def test_who_released_what_is_listed_with_how_it_is_undone_unless_it_was(kit, session):
    water = session.snapshot.supplies["water"]
    body = {"text": "released", "reserves_si": {"water": 3.0}, "reason": "ship late"}
    entry = kit.entry(7, EntryKind.STEP, "", body=body)
    other = kit.entry(8, EntryKind.STEP, "", body={**body, "reserves_si": {"oxygen": 1.0}})
    (words,) = released_words(water, (entry, other))
    assert words.startswith("#7 T+25h07m A. Lead released 3.00 kg: ship late")
    assert words.endswith("endurance log correct 7 --withdraw --note WHY")
    undone = kit.entry(9, EntryKind.CORRECTION, "", body={"text": "wrong", "corrects": 7, "withdrawn": True})
    assert released_words(water, (entry, other, undone)) == []


def test_an_amount_is_read_in_any_unit_of_its_kind(session):
    water = session.scenario.craft.supplies["water"]
    assert read_amount_si(" 2 lb ", water, 8.0) == pytest.approx(0.90718474)
    assert read_amount_si("8 kg", water, 8.0 - 1e-12) == pytest.approx(8.0)
    with pytest.raises(UsageError, match="nothing is written"):
        read_amount_si(" ", water, 8.0)


def test_what_was_previewed_is_what_the_release_then_does_and_a_withdrawal_undoes_it(kit, tmp_path):
    session = real_session("tern", tmp_path / "journal")
    first = session.tick()
    previewed = supposed_release(session, "water", 3.0, "3 kg")
    assert not session.entries(), "asking logs nothing"

    async def play(board):
        await board.press("d", "r", "enter", *"3 kg", "tab", *"ship late", "ctrl+s")
        await board.until(lambda: board.app.screen is board.app.board)
        after = session.tick().supplies["water"]
        assert after.reserve_si == pytest.approx(first.supplies["water"].reserve_si - 3.0)
        assert after.usable_si == pytest.approx((first.supplies["water"].usable_si or 0.0) + 3.0)
        assert after.margin_s == previewed.after.supplies["water"].margin_s
        assert after.margin_s != previewed.before.supplies["water"].margin_s
        session.log_correction(session.entries()[-1].sequence, "not decided", withdraws=True)
        again = session.tick().supplies["water"]
        assert (again.reserve_si, again.released_si) == (first.supplies["water"].reserve_si, 0.0)
        assert again.margin_s == first.supplies["water"].margin_s

    run_real(kit, session, play)
    session.close()
