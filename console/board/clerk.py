"""The thread that writes to the journal and reckons previews, so that the screen never waits for either.

Writes go first and are never dropped. Of the previews only the newest counts. While there is nothing else to
do, a standing duty is done again and again. The thread is a daemon: the program can always end, and waits a
bounded time for a write in hand.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Task:
    work: Callable[[], Any]
    future: asyncio.Future[Any]
    loop: asyncio.AbstractEventLoop


class _Duty(Enum):
    """Stands among tasks for the standing duty."""

    DUE = "due"


class Clerk:
    """One worker thread beside the event loop.

    Args:
        name: the thread's name.
        duty: what is to be done again and again; nothing where None.
        every_s: how long to wait before it, once there is nothing else to do.
    """

    def __init__(
        self, name: str = "clerk", duty: Callable[[], None] | None = None, every_s: float = 2.0
    ) -> None:
        self._duty = duty
        self._every_s = every_s
        self.duty_error: Exception | None = None
        """What the duty met when it was last done."""
        self._writes: deque[_Task] = deque()
        self._is_writing = False
        self._reckoning: _Task | None = None
        self._ready = threading.Condition()
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin to work."""
        self._thread.start()

    def write(self, work: Callable[[], T]) -> asyncio.Future[T]:
        """Do this before everything else; the result or the error comes through the future."""
        task = self._task(work)
        with self._ready:
            self._writes.append(task)
            self._ready.notify_all()
        return task.future

    def reckon(self, work: Callable[[], T]) -> asyncio.Future[T]:
        """Do this when no write waits; one that is still waiting is cancelled in its favour."""
        task = self._task(work)
        with self._ready:
            superseded, self._reckoning = self._reckoning, task
            self._ready.notify_all()
        if superseded is not None:
            superseded.future.cancel()
        return task.future

    def stop(self, timeout_s: float) -> bool:
        """Take nothing new; whether all writes were done within the time. A preview is left behind."""
        with self._ready:
            self._stopping = True
            self._ready.notify_all()
            if self._thread.is_alive():
                self._ready.wait_for(lambda: not self._writes and not self._is_writing, timeout_s)
            return not self._writes and not self._is_writing

    def _task(self, work: Callable[[], Any]) -> _Task:
        loop = asyncio.get_running_loop()
        return _Task(work=work, future=loop.create_future(), loop=loop)

    def _run(self) -> None:
        while (task := self._next()) is not None:
            if task is _Duty.DUE:
                self._do_duty()
                continue
            result, error = None, None
            try:
                result = task.work()
            except Exception as failure:  # noqa: BLE001  the thread's border: whoever asked gets the error
                error = failure
            with self._ready:
                self._is_writing = False
                self._ready.notify_all()
            # The loop may have ended meanwhile: then nobody waits for the answer any more.
            with contextlib.suppress(RuntimeError):
                task.loop.call_soon_threadsafe(_settle, task.future, result, error)

    def _do_duty(self) -> None:
        try:
            if self._duty is not None:
                self._duty()
            self.duty_error = None
        except Exception as failure:  # noqa: BLE001  the thread's border: entries must go on being written
            self.duty_error = failure
        with self._ready:
            self._is_writing = False
            self._ready.notify_all()

    def _next(self) -> _Task | _Duty | None:
        with self._ready:
            while True:
                if self._writes:
                    self._is_writing = True
                    return self._writes.popleft()
                if self._stopping:
                    return None
                if self._reckoning is not None:
                    task, self._reckoning = self._reckoning, None
                    return task
                if self._duty is None:
                    self._ready.wait()
                elif not self._ready.wait(self._every_s):
                    self._is_writing = True
                    return _Duty.DUE


def _settle(future: asyncio.Future[Any], result: Any, error: Exception | None) -> None:
    if future.done():
        return
    if error is not None:
        future.set_exception(error)
    else:
        future.set_result(result)
