"""Old numbers never look new: stale readings, a feed that stops, an engine that stands still or fails."""

from __future__ import annotations

from dataclasses import replace

from console.engine.reading import Quality
from console.errors import FeedError


def test_a_stale_supply_is_marked_with_word_and_age_and_its_gauge_is_not_solid(on_board, session):
    supplies = dict(session.snapshot.supplies)
    supplies["oxygen"] = replace(
        supplies["oxygen"], quality=Quality.STALE, age_s=251.2, why="o2-1.pressure is silent since 04:58"
    )
    session.snapshot = replace(session.snapshot, supplies=supplies)

    async def play(board):
        rows = board.text().splitlines()
        at = next(index for index, row in enumerate(rows) if row.startswith(" oxygen"))
        assert "█" not in rows[at]
        assert "▒" in rows[at]
        assert "STALE 4m12s" in rows[at + 1]
        assert "o2-1.pressure is silent since 04:58" in rows[at + 1]
        assert "█" in rows[at - 1], "the supply above is fresh and stays solid"

    on_board(play)


def test_where_lines_are_scarce_the_mark_stands_in_the_row_itself(on_board, session):
    supplies = {
        name: replace(supply, quality=Quality.STALE, age_s=251.2, why="silent")
        for name, supply in session.snapshot.supplies.items()
    }
    session.snapshot = replace(session.snapshot, supplies=supplies)

    async def play(board):
        rows = [row for row in board.text().splitlines() if row[1:11].strip() in supplies]
        assert len(rows) == 5
        assert all("STALE 4m12s" in row for row in rows)

    on_board(play)


def test_a_stale_shortest_supply_takes_the_ground_from_the_headline_and_says_old(on_board, session):
    supplies = dict(session.snapshot.supplies)
    supplies["water"] = replace(supplies["water"], quality=Quality.SUSPECT, age_s=20.0)
    session.snapshot = replace(session.snapshot, supplies=supplies)

    async def play(board):
        assert "OLD: SUSPECT 20 s  X WARNING" in board.text()

    on_board(play)


def test_a_stale_feed_is_marked_with_its_age_and_first_fault(on_board, session):
    feed = replace(
        session.snapshot.feed,
        quality=Quality.STALE,
        at_s=session.snapshot.at_s - 251.2,
        faults=("the file was torn", "another"),
    )
    session.snapshot = replace(session.snapshot, feed=feed)

    async def play(board):
        row = board.text().splitlines()[1]
        assert row.startswith(" ! STALE: newest reading 4m12s old ")
        assert "2 faults, first: the" in row

    on_board(play)


def test_when_the_engine_stands_still_the_clock_itself_is_marked(on_board):
    async def play(board):
        board.clock.now_s += 41.5
        # An interval of its own, as the board under test is ticked by hand.
        board.app.desk._ticker.interval_s = 1.0
        board.app.pull()
        await board.pilot.pause()
        text = board.text()
        assert "2041-06-03 05:02:14 UTC   NOT UPDATED for 42 s " in text.splitlines()[0]
        assert "ENGINE STANDS STILL: no answer for 42 s; figures are those of 05:02:14 UTC" in text
        assert "OLD: NOT UPDATED for 42 s" in text
        assert "newest reading 45 s old" in text, "ages go on growing"
        assert "█" not in "".join(row for row in text.splitlines()[11:18])

    on_board(play)


def test_an_error_of_the_engine_is_shown_over_the_last_good_figures_and_goes_when_it_is_over(
    on_board, session
):
    async def play(board):
        session.tick_error = FeedError("tern.json: [bold]torn[/]")
        board.clock.now_s += 2.0
        await board.tick()
        text = board.text()
        assert "! ENGINE: tern.json: [bold]torn[/]; figures are those of 05:02:14 UTC" in text
        assert "NOT UPDATED for 2 s" in text
        assert "WATER RUNS OUT FIRST" in text
        await board.press("down")
        assert "absorbent: figures" in board.text(), "the rest goes on"
        session.tick_error = None
        await board.tick()
        assert "ENGINE" not in board.text()
        assert "NOT UPDATED" not in board.text()

    on_board(play)


def test_an_engine_that_fails_from_the_start_is_shown_as_that(on_board, session):
    session.tick_error = ValueError("division by zero")

    async def play(board):
        assert "! ENGINE: ValueError: division by zero; no figures yet" in board.text()
        assert "FIRST READING" in board.text()

    on_board(play)


def test_a_log_that_cannot_be_read_is_a_standing_fault_and_the_margins_go_on(on_board, session, kit):
    def entries(_limit=None):
        raise kit.journal_error("the journal is not a database")

    session.entries = entries

    async def play(board):
        assert "LOG: cannot be read: the journal is not a database" in board.text()
        assert "WATER RUNS OUT FIRST" in board.text()

    on_board(play)


def test_a_defect_of_drawing_is_shown_in_its_place_and_as_a_fault(on_board, session):
    session.snapshot = replace(session.snapshot, phase=None)

    async def play(board):
        await board.until(lambda: bool(board.app.desk.faults()))
        text = board.text()
        assert "! plan cannot be drawn: AttributeError" in text
        assert "DISPLAY: plan could not be drawn: AttributeError" in text
        assert "WATER RUNS OUT FIRST" in text

    on_board(play)
