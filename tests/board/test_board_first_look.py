"""The first look at the board: what runs out first, when, by how much, and is it fresh."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import cabin_scene as scene
import pytest

from console.engine.snapshot import Band

GOLDENS = Path(__file__).parent / "goldens"


def test_the_first_look_at_80x24_answers_the_questions(on_board):
    async def play(board):
        text = board.text()
        for answer in (
            "WATER RUNS OUT FIRST",
            "low end in 29.1 h  2041-06-04 10:08 UTC  T+54h58m",
            "central 35.8 h, high 41.0 h; at present rate 34.1 h",
            "low end SHORT 50.6 h, central SHORT 43.8 h",
            "h, ends BEFORE need",
            "feed simulated craft: 1 of 1 good, newest reading 4 s old",
            "2041-06-03 05:02:14 UTC",
            "T+25h52m14s",
            "watch fourth",
            "operator A. Lead, lead",
            "DECIDE homeward by 10:10 UTC, in 5h08m",
            "need in 79h38m  2041-06-06 12:40 UTC",
            "next phase descent in 12h03m",
            "next event top up entry battery in 32h07m",
            "phase coast  level quiet, 1 load moved",
            "commanded 12.0 A, measured 12.6 A",
            "< ends before need at this rate",
            "open-bottle/1 Valve open",
        ):
            assert answer in text, answer

    on_board(play)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
def test_the_board_looks_as_it_was_agreed(on_board, size):
    golden = GOLDENS / f"board_{size[0]}x{size[1]}.txt"

    async def play(board):
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 50)])
def test_a_board_with_cabin_buses_and_modules_looks_as_it_was_agreed(on_board, session, size):
    golden = GOLDENS / f"cabin_{size[0]}x{size[1]}.txt"
    full = scene.with_rates(scene.with_buses(scene.with_cabin(session.snapshot)))
    session.snapshot = replace(full, drops=scene.DROPS)

    async def play(board):
        shown = board.text() + "\n"
        if os.environ.get("ENDURANCE_WRITE_GOLDENS"):
            golden.write_text(shown, "utf-8")
        assert shown == golden.read_text("utf-8")

    on_board(play, size=size)


def test_all_panes_are_seen_at_once_from_120x36(on_board):
    async def play(board):
        text = board.text()
        for title in ("water: figures", "water: ledger until need", "water: stores", " log "):
            assert title in text, title
        assert "water-entry" in text
        assert "cooling" in text
        assert "allowance 0.139 kg/h" in text

    on_board(play, size=(120, 36))
    on_board(play, size=(200, 50))


def test_each_supply_has_one_row_with_its_band_in_words_and_its_figures(on_board):
    async def play(board):
        rows = {
            name: row
            for row in board.text().splitlines()
            for name in board.session.snapshot.supplies
            if name in row[:12]
        }
        assert "! CAUTION" in rows["oxygen"]
        assert "X WARNING" in rows["water"]
        assert "i ADVISORY" in rows["absorbent"]
        assert ". nominal" in rows["power"]
        assert rows["water"].split()[-3:] == ["SHORT", "50.6", "-43.8"]
        assert rows["oxygen"].split()[-3:] == ["spare", "4.4", "+11.3"]
        assert "35.8" in rows["water"]
        assert "34.1<" in rows["water"], "less than need at the present rate is marked"
        assert rows["propellant"].count("►") == 1, "a gauge that goes on past the axis says so"

    on_board(play)


def test_need_is_one_vertical_line_through_all_rows(on_board):
    async def play(board):
        rows = board.text().splitlines()[10:16]
        columns = {row.index("│") for row in rows}
        assert len(rows) == 6
        assert len(columns) == 1

    on_board(play)


def test_a_large_shortfall_is_never_clipped(on_board, session, kit):
    session.snapshot = kit.snapshot(
        kit.supply("water", (1.0, 2.0, 3.0), Band.WARNING, margin_s=kit.hours(-12345.61, -12000.0, -11000.0))
    )

    async def play(board):
        row = next(row for row in board.text().splitlines() if row.startswith(">water"))
        assert "SHORT 12345.7" in row
        assert "low end SHORT 12345.7 h, central SHORT 12000.0 h" in board.text()

    on_board(play)


def test_an_unknown_supply_says_so_with_its_reason_in_row_and_headline(on_board, session, kit):
    session.snapshot = kit.snapshot(
        kit.supply("water", (90.0, 95.0, 99.0), Band.NOMINAL),
        kit.unknown("oxygen", "not known: o2-1.pressure has never been read"),
    )

    async def play(board):
        text = board.text()
        assert "? not known, could be shorter: oxygen" in text
        row = next(row for row in text.splitlines() if row.startswith(" oxygen"))
        assert "? unknown" in row
        assert "not known: o2-1.pressure has never been read" in row
        assert board.text().count("not known: not known") == 0

    on_board(play)


def test_when_no_margin_is_known_the_headline_says_that_and_why(on_board, session, kit):
    session.snapshot = kit.snapshot(kit.unknown("oxygen", "not known: o2-1.pressure has never been read"))

    async def play(board):
        assert "? NO MARGIN IS KNOWN" in board.text()
        assert "oxygen: o2-1.pressure has never been read" in board.text()
        assert "RUNS OUT FIRST" not in board.text()

    on_board(play)


def test_an_endurance_without_an_upper_end_is_said_in_words(on_board, session, kit):
    water = kit.supply("water", (90.0, 95.0, 99.0), Band.NOMINAL)
    session.snapshot = kit.snapshot(replace(water, endurance_plan_s=kit.hours(90.0, 95.0, None)))

    async def play(board):
        assert "central 95.0 h, high no end; at present rate" in board.text()

    on_board(play)


def test_a_board_that_only_shows_offers_no_key_for_logging(on_board):
    async def play(board):
        keys = board.text().splitlines()[-1]
        assert "log a step" not in keys
        assert "note" not in keys
        await board.press("s", "n")
        assert board.app.screen is board.app.board
        assert board.text().startswith(" READ ONLY  ")

    on_board(play, read_only=True)


def test_the_board_is_drawn_in_ascii_when_asked(on_board):
    async def play(board):
        assert board.text().isascii()
        await board.press("down", "question_mark")
        assert board.text().isascii()

    on_board(play, ascii_only=True)


def test_what_the_session_has_noticed_stands_on_the_board(on_board, session):
    session.snapshot = replace(
        session.snapshot, notices=("the journal names s-old, which this craft has not",)
    )

    async def play(board):
        assert "! NOTE: the journal names s-old, which this craft has not" in board.text()

    on_board(play)


def test_what_was_done_is_said_for_two_minutes_and_then_gives_its_row_back(on_board):
    async def play(board):
        await board.press("n", "x", "ctrl+s")
        await board.until(lambda: "saved as #9" in board.text())
        board.clock.now_s += 119.0
        await board.tick()
        assert "saved as #9" in board.text()
        board.clock.now_s += 2.0
        await board.tick()
        assert "saved as #9" not in board.text()

    on_board(play)
