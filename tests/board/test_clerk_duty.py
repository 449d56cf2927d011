"""The clerk's standing duty is done while nothing else is, and no defect of it ends the clerk."""

from __future__ import annotations

import asyncio
import threading

from console.board.clerk import Clerk


def test_the_duty_is_done_again_and_again_and_writes_go_on_when_it_fails():
    done, failed = threading.Semaphore(0), []

    def duty():
        done.release()
        failed.append("duty")
        raise ValueError("a defect")

    async def play():
        clerk = Clerk(duty=duty, every_s=0.001)
        clerk.start()
        for _ in range(3):
            assert await asyncio.to_thread(done.acquire, True, 60.0), "it is done again"
        assert await clerk.write(lambda: "written") == "written"
        assert await asyncio.to_thread(done.acquire, True, 60.0), "and goes on behind the write"
        assert str(clerk.duty_error) == "a defect"
        assert clerk.stop(60.0)

    asyncio.run(play())


def test_a_clerk_without_a_duty_only_does_what_it_is_given():
    async def play():
        clerk = Clerk()
        clerk.start()
        assert await clerk.reckon(lambda: 1) == 1
        assert (clerk.stop(60.0), clerk.duty_error) == (True, None)

    asyncio.run(play())
