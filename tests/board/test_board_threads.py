"""The two threads beside the screen: the engine's goes on whatever happens, the clerk's loses no write."""

from __future__ import annotations

import asyncio
import threading

import pytest

from console.board.clerk import Clerk
from console.board.ticker import Ticker
from console.errors import FeedError, JournalError


def test_a_failed_tick_keeps_the_last_good_snapshot_and_its_time(kit):
    session, clock = kit.session(), kit.clock()
    ticker = Ticker(session, 1.0, clock)
    ticker.tick()
    good = ticker.latest
    clock.now_s += 5.0
    session.tick_error = FeedError("torn")
    ticker.tick()
    assert ticker.latest.snapshot is good.snapshot
    assert ticker.latest.made_at_s == 1000.0
    assert ticker.latest.engine_error == "torn"
    assert ticker.waited_s() == 5.0
    session.tick_error = None
    ticker.tick()
    assert ticker.latest.engine_error == ""
    assert ticker.waited_s() == 0.0


def test_a_log_that_cannot_be_read_leaves_the_entries_known_before(kit):
    session = kit.session()
    ticker = Ticker(session, 1.0, kit.clock())
    ticker.tick()
    known = ticker.latest.entries

    def entries(_limit):
        raise JournalError("locked")

    session.entries = entries
    ticker.tick()
    assert ticker.latest.entries == known
    assert ticker.latest.log_error == "locked"
    assert ticker.latest.engine_error == ""


def test_the_engine_thread_ticks_again_soon_when_something_was_logged(kit):
    session = kit.session()
    ticks = threading.Semaphore(0)
    tick = session.tick

    def counted():
        ticks.release()
        return tick()

    session.tick = counted
    ticker = Ticker(session, 1e6, kit.clock())
    ticker.start()
    assert ticks.acquire(timeout=10.0)
    ticker.tick_soon()
    assert ticks.acquire(timeout=10.0), "the interval alone would have taken eleven days"
    ticker.stop(10.0)


def test_neither_thread_can_hold_up_the_end_of_the_program(kit):
    clerk, ticker = Clerk(), Ticker(kit.session(), 1.0, kit.clock())
    assert clerk._thread.daemon
    assert ticker._thread.daemon


def with_clerk(play):
    async def main():
        clerk = Clerk()
        await play(clerk)
        clerk.stop(10.0)

    asyncio.run(main())


def test_writes_are_done_in_order_and_before_a_preview():
    order = []

    async def play(clerk):
        first, second = (
            clerk.write(lambda: order.append("first")),
            clerk.write(lambda: order.append("second")),
        )
        preview = clerk.reckon(lambda: order.append("preview"))
        third = clerk.write(lambda: order.append("third"))
        clerk.start()
        await asyncio.gather(first, second, third, preview)
        assert order == ["first", "second", "third", "preview"]

    with_clerk(play)


def test_only_the_newest_preview_is_reckoned():
    reckoned = []

    async def play(clerk):
        older = clerk.reckon(lambda: reckoned.append("older"))
        newest = clerk.reckon(lambda: reckoned.append("newest"))
        clerk.start()
        await newest
        assert older.cancelled()
        assert reckoned == ["newest"]

    with_clerk(play)


def test_an_error_comes_to_whoever_asked_and_the_clerk_goes_on():
    def fail():
        raise JournalError("no space left")

    async def play(clerk):
        clerk.start()
        with pytest.raises(JournalError, match="no space left"):
            await clerk.write(fail)
        assert await clerk.write(lambda: 7) == 7

    with_clerk(play)


def test_writes_that_wait_are_finished_when_the_board_is_left():
    written = []

    async def play(clerk):
        for number in range(3):
            clerk.write(lambda number=number: written.append(number))
        clerk.start()
        assert clerk.stop(10.0)
        assert written == [0, 1, 2]

    with_clerk(play)


def test_an_answer_that_comes_after_the_loop_has_ended_harms_nobody():
    release, done = threading.Event(), threading.Event()
    clerk = Clerk()

    def slow():
        release.wait(10.0)
        done.set()

    async def main():
        clerk.start()
        clerk.write(slow)

    asyncio.run(main())
    release.set()
    assert clerk.stop(10.0)
    assert done.is_set()


def test_a_preview_that_hangs_does_not_hold_up_whoever_leaves():
    release = threading.Event()

    async def main():
        clerk = Clerk()
        clerk.start()
        clerk.reckon(lambda: release.wait(60.0))
        assert clerk.stop(60.0), "nothing waits to be written"
        release.set()

    asyncio.run(main())


def test_a_write_that_does_not_end_is_told_when_the_board_is_left():
    release = threading.Event()

    async def main():
        clerk = Clerk()
        clerk.start()
        clerk.write(lambda: release.wait(60.0))
        assert not clerk.stop(0.05)
        release.set()
        assert clerk.stop(60.0)

    asyncio.run(main())


def test_the_board_stands_before_the_engine_has_answered(kit):
    from console.board.app import BoardApp

    release = threading.Event()
    session = kit.session()
    tick = session.tick

    def slow():
        release.wait(60.0)
        return tick()

    session.tick = slow

    async def main():
        app = BoardApp(session, tick_interval_s=1e6, monotonic=kit.clock())
        try:
            async with app.run_test(size=(80, 24)) as pilot:
                board = kit.running(app, pilot, session, None)
                assert "FIRST READING" in board.text()
                assert "q quit" in board.text()
                release.set()
                await board.until(lambda: "WATER RUNS OUT FIRST" in board.text())
        finally:
            release.set()
            app.desk.stop(5.0)

    asyncio.run(main())


def test_what_has_not_changed_is_not_drawn_again(on_board, session, monkeypatch):
    from dataclasses import replace

    from console.board.widgets.face import Face

    drawn = []
    refresh = Face.refresh
    monkeypatch.setattr(
        Face,
        "refresh",
        lambda face, *regions, **more: drawn.append(face.id) or refresh(face, *regions, **more),
    )

    async def play(board):
        drawn.clear()
        session.snapshot = replace(session.snapshot)
        await board.tick()
        assert drawn == []
        session.snapshot = replace(session.snapshot, at_s=session.snapshot.at_s + 1.0)
        await board.tick()
        assert set(drawn) == {"clock", "plan", "feed"}, "only what shows the time"

    on_board(play)


def test_the_board_is_imported_without_what_only_others_need():
    """Textual's heavy widgets, pint, YAML, numpy and SQLite would each delay the first picture."""
    import subprocess
    import sys

    heavy = ("pint", "yaml", "numpy", "sqlite3", "textual.widgets._text_area", "textual.widgets._data_table")
    code = f"import sys, console.board.app; print([name for name in {heavy!r} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
