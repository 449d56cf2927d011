"""No size of the terminal breaks the board; a small one says what it needs under the headline."""

from __future__ import annotations

from dataclasses import replace

import cabin_scene as scene
import pytest
from rich.cells import cell_len

from console.board.faces.cabin import cabin_pane_lines
from console.board.faces.cabin_rows import cabin_lines
from console.board.faces.clock import clock_lines
from console.board.faces.feed import feed_lines
from console.board.faces.figures import figures_lines
from console.board.faces.gauges import gauge_lines
from console.board.faces.guide import guide_lines
from console.board.faces.headline import headline_lines
from console.board.faces.headline_words import headline_words
from console.board.faces.ledger import ledger_lines
from console.board.faces.loads import loads_lines
from console.board.faces.logbook import logbook_lines
from console.board.faces.plan import plan_lines
from console.board.faces.stores import stores_lines
from console.board.faces.strips import fault_lines, notice_lines
from console.record.entry import EntryKind

DRAWN = (
    cabin_lines,
    cabin_pane_lines,
    clock_lines,
    feed_lines,
    figures_lines,
    gauge_lines,
    guide_lines((("board", (("s", "log a step"),)),)),
    headline_lines,
    headline_words,
    ledger_lines,
    loads_lines,
    logbook_lines,
    plan_lines,
    stores_lines,
    fault_lines,
    notice_lines,
)


@pytest.mark.parametrize("draw", DRAWN, ids=lambda draw: draw.__qualname__.split(".")[0])
def test_each_part_can_be_drawn_at_every_size(draw, kit):
    known = kit.view(kit.snapshot(), faults=("one", "two", "three", "four"), notice="saved as #9")
    entries = tuple(kit.entry(number, EntryKind.NOTE, "text") for number in range(1, 9))
    full = scene.with_rates(scene.with_buses(scene.with_cabin(kit.snapshot(), drops=scene.DROPS)))
    views = (
        known,
        kit.view(full),
        kit.view(replace(full, supplies={}, shortest=None, loads=())),
        kit.view(
            kit.snapshot(kit.unknown("oxygen", "why")), entries=entries, not_updated_s=42.0, waited_s=42.0
        ),
        kit.view(None),
    )
    for view in views:
        for width in (1, 2, 3, 5, 8, 13, 21, 34, 55, 79, 80, 81, 110, 120, 160, 200):
            for height in (1, 2, 3, 5, 9, 17, 24, 60):
                lines = draw(view, width, height)
                assert all("\n" not in text.plain for text in lines)


@pytest.mark.parametrize("mode", ["board", "step", "note", "loads", "cabin"])
def test_the_board_lives_through_every_size_from_1x1_to_200x60(on_board, session, mode):
    session.snapshot = scene.with_cabin(session.snapshot)
    session.after = scene.with_cabin(session.after)
    sizes = [(1, 1), (2, 3), (1, 60), (200, 1), (10, 5), (40, 10), (79, 24), (80, 23), (80, 24), (81, 25)]
    sizes += [
        (100, 30),
        (110, 34),
        (120, 36),
        (130, 24),
        (80, 60),
        (176, 40),
        (200, 50),
        (200, 60),
        (1, 1),
        (80, 24),
    ]
    keys = {"board": (), "step": ("s", "enter"), "note": ("n", "x"), "loads": ("c",), "cabin": ("a",)}[mode]

    async def play(board):
        await board.press(*keys)
        for width, height in sizes:
            await board.pilot.resize_terminal(width, height)
            await board.tick()
            rows = board.text().split("\n")
            assert len(rows) == height
            assert max(cell_len(row) for row in rows) <= width
        assert board.app.desk.faults() == ()
        if mode == "board":
            assert "WATER RUNS OUT FIRST" in board.text()

    on_board(play)


@pytest.mark.parametrize("size", [(79, 24), (80, 23), (40, 10), (60, 8)])
def test_a_board_that_is_too_small_says_what_it_needs_under_the_headline(on_board, size):
    async def play(board):
        text = " ".join(board.text().split())
        assert "X WATER SHORT 50.6 h low end, WARNING" in text
        assert "runs out first: low end in 29.1 h 2041-06-04 10:08 UTC" in text
        assert f"board needs 80x24, has {size[0]}x{size[1]}" in text

    on_board(play, size=size)


def test_one_row_is_enough_for_the_shortest_supply_and_its_margin(on_board):
    async def play(board):
        assert board.text() == "X WATER SHORT 50.6 h low end,"

    on_board(play, size=(30, 1))


def test_a_small_board_says_that_it_is_old_first(on_board, session):
    async def play(board):
        session.tick_error = ValueError("no")
        board.clock.now_s += 41.5
        await board.tick()
        assert board.text().startswith("NOT UPDATED for 42 s: X WATER SHORT")

    on_board(play, size=(60, 10))
