"""Old numbers never look new: stale readings, a feed that stops, an engine that stands still or fails."""

from __future__ import annotations

from dataclasses import replace

import pytest

from console.board.faces.feed import feed_lines
from console.board.faces.headline_words import headline_words
from console.engine.reading import Quality, Reading
from console.errors import FeedError
from console.record.entry import EntryKind


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


def all_stale(session):
    supplies = {
        name: replace(supply, quality=Quality.STALE, age_s=251.2, why=f"{name}-1 is silent")
        for name, supply in session.snapshot.supplies.items()
    }
    session.snapshot = replace(session.snapshot, supplies=supplies)
    return supplies


def test_when_all_are_stale_the_rows_that_a_short_log_leaves_free_hold_the_reasons(on_board, session):
    names = list(all_stale(session))
    session.journal = []

    async def play(board):
        rows = board.text().splitlines()
        for name in names:
            at = next(index for index, row in enumerate(rows) if row[1:11].strip() == name)
            assert "STALE 4m12s" in rows[at + 1]
            assert f"{name}-1 is silent" in rows[at + 1]
        assert "log: nothing is logged yet" in board.text()
        assert "< ends before need at this rate" in board.text()

    on_board(play)


def test_where_lines_are_scarce_the_mark_stands_in_the_row_itself_and_the_shortest_is_explained_first(
    on_board, session, kit
):
    names = list(all_stale(session))
    session.journal = [kit.entry(number, EntryKind.NOTE, "text") for number in range(1, 9)]

    async def play(board):
        rows = board.text().splitlines()
        starts = {row[1:11].strip(): at for at, row in enumerate(rows) if row[1:11].strip() in names}
        assert list(starts) == names
        marked = [name for name, at in starts.items() if "STALE 4m12s" in rows[at]]
        explained = [name for name, at in starts.items() if f"{name}-1 is silent" in rows[at + 1]]
        assert sorted(marked + explained) == sorted(names), "each has the mark, in its row or below"
        assert len(marked) == 3
        assert "water" in explained
        assert session.snapshot.shortest == "water"

    on_board(play)


def test_a_stale_shortest_supply_takes_the_ground_from_the_headline_and_says_why(on_board, session):
    supplies = dict(session.snapshot.supplies)
    supplies["water"] = replace(supplies["water"], quality=Quality.SUSPECT, age_s=20.0)
    session.snapshot = replace(session.snapshot, supplies=supplies)

    async def play(board):
        assert "NOT CURRENT: suspect for 20 s  X WARNING  WATER RUNS OUT FIRST" in board.text()

    on_board(play)


def test_a_stale_feed_says_so_first_and_gives_its_fault_a_row_where_it_would_be_cut(on_board, session):
    fault = "simulated craft: cannot be read (line 1: no such word); showing the last good one, 4m12s old"
    feed = replace(
        session.snapshot.feed,
        quality=Quality.STALE,
        at_s=session.snapshot.at_s - 251.2,
        faults=(fault, "simulated craft: another"),
    )
    session.snapshot = replace(session.snapshot, feed=feed)

    async def play(board):
        rows = board.text().splitlines()
        assert rows[1] == " ! STALE: newest reading 4m12s old, 1 of 1 good  feed simulated craft"
        assert rows[2].startswith(
            " 1st of 2: cannot be read (line 1: no such word); showing the last good one, 4"
        )
        assert "WATER RUNS OUT FIRST" in rows[3]
        session.snapshot = replace(session.snapshot, feed=replace(feed, faults=("simulated craft: torn",)))
        await board.tick()
        rows = board.text().splitlines()
        assert rows[1].endswith("feed simulated craft: torn"), "a short one stands in the line itself"
        assert "WATER RUNS OUT FIRST" in rows[2]

    on_board(play)


def readings(kit, good, bad):
    """So many good readings, and others by channel: quality and age, None where it was never read."""
    made = {
        f"good-{number}": Reading(
            channel=f"good-{number}", quality=Quality.GOOD, value_si=1.0, at_s=kit.now_s - 2.0
        )
        for number in range(good)
    }
    for channel, (quality, age_s) in bad.items():
        value_si, at_s = (None, None) if age_s is None else (1.0, kit.now_s - age_s)
        made[channel] = Reading(channel=channel, quality=quality, value_si=value_si, at_s=at_s, why="why")
    return made


def feed_line(kit, good, bad, **changes):
    feed = replace(kit.snapshot().feed, source="state file state.json", readings=readings(kit, good, bad))
    view = kit.view(replace(kit.snapshot(), feed=feed), **changes)
    return feed_lines(view, 200, 1)[0], view.look.palette.old


def test_a_feed_is_good_only_where_every_reading_is(kit):
    text, old = feed_line(kit, 32, {})
    assert text.plain == "feed state file state.json: 32 of 32 good, newest reading 4 s old"
    assert all(span.style != old for span in text.spans)


def test_readings_that_are_not_good_are_counted_first_with_the_oldest_on_the_ground_of_caution(kit):
    bad = {
        "water-1.quantity": (Quality.MISSING, 3600.0),
        "water-2.quantity": (Quality.MISSING, 60.0),
        "bat-1.current": (Quality.MISSING, 70.0),
        "bat-2.current": (Quality.SUSPECT, 5.0),
    }
    text, old = feed_line(kit, 28, bad)
    counted = " ! 28 of 32 good, 3 missing, 1 suspect, oldest 1h00m (water-1.quantity) "
    assert text.plain == f"{counted} feed state file state.json"
    assert [(span.start, span.end) for span in text.spans if span.style == old] == [(0, len(counted))]


def test_a_channel_that_was_never_read_is_named_before_the_oldest(kit):
    bad = {"bat-1.current": (Quality.STALE, 3600.0), "o2-1.pressure": (Quality.MISSING, None)}
    text, _ = feed_line(kit, 0, bad)
    assert text.plain.startswith(" ! 0 of 2 good, 1 missing, 1 stale, never read: o2-1.pressure ")


def test_ages_of_readings_go_on_growing_and_none_is_called_good_when_nobody_looks(kit):
    text, _ = feed_line(kit, 3, {}, not_updated_s=42.0, waited_s=42.0)
    assert text.plain.startswith(" ! NOT LOOKED AT for 42 s: newest reading 46 s old ")
    assert "good" not in text.plain


@pytest.mark.parametrize("width", [30, 60, 80])
def test_what_is_amiss_with_the_feed_is_not_cut_for_the_name_of_the_source(kit, width):
    bad = {"bat-1.current": (Quality.SUSPECT, 3600.0)}
    feed = replace(kit.snapshot().feed, source="state file " + "x" * 80, readings=readings(kit, 1, bad))
    text = feed_lines(kit.view(replace(kit.snapshot(), feed=feed)), width, 1)[0]
    assert text.plain.startswith(" ! 1 of 2 good, 1 suspect")
    assert text.cell_len <= width


def test_on_a_small_board_too_the_feed_is_not_called_good_when_a_reading_is_not(kit):
    feed = replace(kit.snapshot().feed, readings=readings(kit, 2, {"x": (Quality.MISSING, None)}))
    words = " ".join(
        text.plain for text in headline_words(kit.view(replace(kit.snapshot(), feed=feed)), 60, 20)
    )
    assert "! 2 of 3 good, 1 missing, never read: x" in words


def test_when_the_engine_stands_still_the_clock_itself_is_marked(on_board):
    async def play(board):
        board.clock.now_s += 41.5
        # An interval of its own, as the board under test is ticked by hand.
        board.app.desk._ticker.interval_s = 1.0
        board.app.pull()
        await board.pilot.pause()
        text = board.text()
        assert "2041-06-03 05:02:14 UTC   NOT UPDATED for 42 s " in text.splitlines()[0]
        assert text.splitlines()[1].startswith(" ! NOT LOOKED AT for 42 s: newest reading 45 s old ")
        assert "ENGINE STANDS STILL: no answer for 42 s; figures are those of 05:02:14 UTC" in text
        assert "NOT CURRENT: not updated for 42 s" in text
        assert "newest reading 45 s old" in text, "ages go on growing"
        rows = text.splitlines()
        first = next(at for at, row in enumerate(rows) if row.startswith(" power"))
        assert "█" not in "".join(rows[first : first + 5])

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
