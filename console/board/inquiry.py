"""One question to the engine, asked beside the screen: its newest answer, how old that is, what is wrong.

An answer is as old as the question: what was read while it was reckoned is no older. A new question takes the
place of the one that is being reckoned; the answer before stays, with its age, until a newer one is there.
"""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable
from typing import Generic, TypeVar

from console.board.desk import Desk
from console.board.faces.standing import Standing
from console.board.ticker import described

Answer = TypeVar("Answer")

RENEW_AFTER_S = 10.0
"""How old an answer in sight may get before it is asked for anew."""
_SHARE = 10.0
"""What takes long is asked for less often: at most one second of reckoning in so many."""


class Inquiry(Generic[Answer]):
    """One kind of question.

    Args:
        desk: who asks the engine.
        changed: called when there is an answer, or a reason why there is none.
    """

    def __init__(self, desk: Desk, changed: Callable[[], None]) -> None:
        self.answer: Answer | None = None
        self.problem = ""
        """Why the last question has no answer."""
        self._desk = desk
        self._changed = changed
        self._future: asyncio.Future[Answer] | None = None
        self._put_s = 0.0
        """As of when the answer on its way will be."""
        self._asked_s = 0.0
        self._answered_s = 0.0
        """When the question was put that ``answer`` answers."""
        self._settled_s = 0.0
        self._took_s = 0.0

    @property
    def is_reckoning(self) -> bool:
        """Whether an answer is on its way."""
        return self._future is not None

    @property
    def is_due(self) -> bool:
        """Whether it is time to ask again."""
        waited_s = self._desk.monotonic_s() - self._settled_s
        return self._future is None and waited_s >= max(RENEW_AFTER_S, _SHARE * self._took_s)

    def put(self, work: Callable[[], Answer]) -> None:
        """Ask; what is being reckoned is given up for it."""
        self._put(work, self._desk.monotonic_s())

    def put_again(self, work: Callable[[], Answer]) -> None:
        """Ask for more of what the answer was made from: the new one is no newer."""
        self._put(work, self._answered_s)

    def _put(self, work: Callable[[], Answer], put_s: float) -> None:
        self._put_s = put_s
        self._asked_s = self._desk.monotonic_s()
        future = self._desk.ask(work)
        self._future = future
        future.add_done_callback(self._settle)

    def forget(self) -> None:
        """Neither answer nor question."""
        self.answer, self.problem, self._future = None, "", None

    def standing(self) -> Standing:
        """How the answer stands now."""
        now_s = self._desk.monotonic_s()
        return Standing(
            age_s=None if self.answer is None else now_s - self._answered_s,
            reckoning_s=None if self._future is None else now_s - self._asked_s,
            problem=self.problem,
        )

    def _settle(self, future: asyncio.Future[Answer]) -> None:
        if future is not self._future:
            # Given up; its error, if any, is nobody's any more.
            if not future.cancelled():
                future.exception()
            return
        self._future = None
        if future.cancelled():
            # Given up for another's question: ask again as soon as it is seen.
            self._settled_s = -math.inf
            return
        self._settled_s = self._desk.monotonic_s()
        self._took_s = self._settled_s - self._asked_s
        error = future.exception()
        self.problem = "" if error is None else described(error)
        if error is None:
            self.answer, self._answered_s = future.result(), self._put_s
        self._changed()
