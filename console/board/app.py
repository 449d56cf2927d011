"""The full-screen board: pulls what the threads know four times a second, shows it, ends cleanly."""

from __future__ import annotations

import asyncio
import math
import os
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer

from console.board.desk import Desk
from console.board.held_keys import HOLD_AT_MOST_S, HeldKeys
from console.board.look import Depth, look
from console.board.screens.board import BoardScreen
from console.board.view import MINIMUM_SIZE, Follower, Pane, View
from console.board.widgets.face import Face
from console.display import clean_text

if TYPE_CHECKING:
    from console.board.screens.decide import DecideScreen
    from console.session import Session

PULL_HZ = 4.0
LEAVE_WITHIN_S = 12.0
"""How long leaving waits for a write in hand: somewhat longer than the journal waits for a lock."""
_SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT)
_COLOURLESS_TERMS = ("", "dumb", "unknown", "vt52", "vt100", "vt102", "vt220", "vt320")


class BoardApp(App[int]):
    """The board's application.

    Args:
        session: what is shown and logged to.
        ascii_only: draw with ASCII characters only.
        tick_interval_s: from one assessment to the next.
        read_only: nothing can be logged.
        monotonic: the clock that ages are measured by.
    """

    class KeysGoOn(Message):
        """What keys waited for is there."""

    CSS_PATH = "board.tcss"
    TITLE = "endurance"
    ENABLE_COMMAND_PALETTE = False
    VERTICAL_BREAKPOINTS = [(0, "-low"), (MINIMUM_SIZE[1], "-high")]  # noqa: RUF012  Textual's own type for it
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "quit", "quit", id="app.quit", show=False, priority=True),
        Binding("ctrl+z", "suspend_process", "to the shell and back with fg", id="app.suspend", show=False),
    ]

    def __init__(
        self,
        session: Session,
        *,
        ascii_only: bool = False,
        tick_interval_s: float = 1.0,
        read_only: bool = False,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__(ansi_color=True)
        self.theme = "ansi-dark"
        self.desk = Desk(session, tick_interval_s, monotonic)
        self.look = look(self._depth(), ascii_only=ascii_only)
        self.desk.on_said = self.pull
        self._keys = HeldKeys()
        self._hold_timer: Timer | None = None
        self.read_only = read_only
        self.board = BoardScreen(self.look, read_only=read_only)

    def get_default_screen(self) -> Screen[Any]:
        """The board is the first screen and is never left."""
        return self.board

    def on_mount(self) -> None:
        """Show the empty board first, then start the engine: the first picture need not wait for it."""
        self._catch_signals()
        self.app_resume_signal.subscribe(self, self._draw_anew)
        self.pull()
        self.set_interval(1.0 / PULL_HZ, self.pull)
        self.call_after_refresh(self.desk.start)

    def pull(self) -> None:
        """Take what the threads know into the one View, if anything in it is new."""
        view = self._view()
        before = self.board.view
        if before is not None and _mark(before) == _mark(view):
            return
        self.board.view = view
        for top in self.screen_stack[-1:]:  # none while the board is taken down
            if isinstance(top, Follower):
                top.follow(view)

    async def on_board_screen_asked(self, message: BoardScreen.Asked) -> None:
        """Open a dialog; each is made when it is first asked for, and kept."""
        await self._open(message.dialog)

    async def on_decide_screen_chosen(self, message: DecideScreen.Chosen) -> None:
        """A question of the menu takes the menu's place."""
        self.pop_screen()
        await self._open(message.dialog)

    async def _open(self, name: str) -> None:
        if not self.is_screen_installed(name):
            # Imported here, as the first picture of the board needs none of them.
            from console.board.screens.dialogs import dialog

            made = dialog(name, self.look, self.desk, self._current_view, read_only=self.read_only)
            self.install_screen(made, name)
        await self.push_screen(name)
        self.screen.call_after_refresh(self.release_keys)

    def hold_keys(self) -> None:
        """From now on keys wait, until ``release_keys``."""
        self._keys.begin()
        if self._hold_timer is not None:
            self._hold_timer.stop()
        self._hold_timer = self.set_timer(HOLD_AT_MOST_S, self.release_keys)

    def release_keys(self) -> None:
        """The keys that waited go to whatever has the focus now."""
        self.post_message(self.KeysGoOn())

    async def on_event(self, event: events.Event) -> None:
        """Take up an event, unless it is a key that has to wait."""
        if not self._keys.takes(event):
            await super().on_event(event)

    async def on_board_app_keys_go_on(self, _message: KeysGoOn) -> None:
        """In order, and before any that comes meanwhile."""
        for key in self._keys.let_go():
            await self.on_event(key)

    def _current_view(self) -> View | None:
        return self.board.view

    def _view(self) -> View:
        tick, before = self.desk.tick, self.board.view
        not_updated_s = self.desk.not_updated_s()
        shown = View(
            look=self.look,
            snapshot=tick.snapshot,
            not_updated_s=not_updated_s if tick.snapshot is not None else None,
            waited_s=0.0 if not_updated_s is None else not_updated_s,
            entries=tick.entries,
            standings=tick.standings,
            watches=self.desk.session.scenario.plan.watches,
            faults=self.desk.faults(),
            notice=self.desk.notice,
            selected=None,
            pane=Pane.LOG,
            scroll=0,
            operator=self.desk.session.operator,
            position=self.desk.session.position,
            read_only=self.read_only,
            size=(self.size.width, self.size.height),
            craft=self.desk.session.scenario.craft,
        )
        if before is None:
            return shown
        return replace(shown, selected=before.selected, pane=before.pane, scroll=before.scroll)

    def on_face_failed(self, message: Face.Failed) -> None:
        """A part of the board could not be drawn: say so, go on."""
        self.desk.display_failed(message.what, message.error)

    def action_help_quit(self) -> None:
        """What ctrl+c does: nothing is stopped by accident."""
        self.desk.say("press q to quit")

    def _depth(self) -> Depth:
        if self.no_color:
            return Depth.NONE
        system = self.console.color_system
        return {None: Depth.NONE, "standard": Depth.SIXTEEN, "windows": Depth.SIXTEEN}.get(system, Depth.MANY)

    def _catch_signals(self) -> None:
        """A signal ends the program by its own way out, which puts the terminal in order."""
        loop = asyncio.get_running_loop()
        for number in _SIGNALS:
            loop.add_signal_handler(number, self.exit, 128 + number)

    def _draw_anew(self, _app: object) -> None:
        """After the shell the terminal holds nothing of ours any more."""
        self.screen.refresh(layout=True)
        for screen in self.screen_stack:
            for widget in screen.walk_children():
                widget.refresh()


def _mark(view: View) -> tuple[object, ...]:
    """What decides whether a View shows anything new: whole seconds of waiting, the rest as it is."""
    old = None if view.not_updated_s is None else math.ceil(view.not_updated_s)
    return (id(view.snapshot), view.entries[-1:], old, view.faults, view.notice, view.operator, view.size)


def run_board(
    session: Session, *, ascii_only: bool = False, tick_interval_s: float = 1.0, read_only: bool = False
) -> int:
    """Run the board until it is quit.

    Args:
        session: what is shown and logged to; the caller closes it.
        ascii_only: draw with ASCII characters only.
        tick_interval_s: from one assessment to the next.
        read_only: nothing can be logged.

    Returns:
        0 when it was quit, 128 and the signal's number when a signal ended it.
    """
    colourless = os.environ.get("TERM", "") in _COLOURLESS_TERMS
    if colourless:
        # Such a terminal would be sent colours that it prints as text.
        os.environ.setdefault("NO_COLOR", "1")
    app = BoardApp(session, ascii_only=ascii_only, tick_interval_s=tick_interval_s, read_only=read_only)
    try:
        status = app.run()
    finally:
        for text in app.desk.stop(LEAVE_WITHIN_S):
            print(f"endurance: not in the log: {clean_text(text)}", file=sys.stderr)  # noqa: T201  the only way left
    return (app.return_code or 0) if status is None else status
