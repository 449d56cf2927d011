"""A clock of its own for who lives at another time than the host."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime, timedelta


class RunningClock:
    """A clock that runs from a start on, some times as fast as the real one."""

    def __init__(
        self, start: datetime, speed: float, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._start = start
        self._speed = speed
        self._monotonic = monotonic
        self._began_s = monotonic()

    def __call__(self) -> datetime:
        """Now, by this clock."""
        return self._start + timedelta(seconds=(self._monotonic() - self._began_s) * self._speed)

    def not_before(self, moment: datetime) -> None:
        """Go on from a later moment."""
        self._start = max(self._start, moment)
