"""The board in a real pseudo-terminal: it leaves the terminal as it found it, whatever ends or stops it."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from console.board import app as board_app

FAKES = Path(__file__).parent / "conftest.py"
ROOT = Path(board_app.__file__).parents[2]
CHILD = f"""
import importlib.util, sys
spec = importlib.util.spec_from_file_location("fakes", {str(FAKES)!r})
fakes = importlib.util.module_from_spec(spec)
sys.modules["fakes"] = fakes
spec.loader.exec_module(fakes)
from console.board.app import run_board
sys.exit(run_board(fakes.FakeSession()))
"""
PATIENCE_S = 60.0
"""After which a child that does not answer fails the test."""
ALTERNATE_SCREEN_ON, ALTERNATE_SCREEN_OFF = b"\x1b[?1049h", b"\x1b[?1049l"
CURSOR_HIDDEN, CURSOR_SHOWN = b"\x1b[?25l", b"\x1b[?25h"
LAST_WORD = b"quit"
"""Stands in the last row of the board."""


class Terminal:
    """A pseudo-terminal with a board in it."""

    def __init__(self, **surroundings):
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.before = termios.tcgetattr(self.slave)
        kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "COLORTERM")}
        self.child = subprocess.Popen(
            [sys.executable, "-c", CHILD],
            stdin=self.slave,
            stdout=self.slave,
            stderr=self.slave,
            cwd=ROOT,
            env={**kept, "TERM": "xterm-256color", **surroundings},
            start_new_session=True,
        )
        self.seen = b""

    def read_until(self, wanted, start=0):
        """Read what the board sends until something stands in it; returns where it was found."""
        limit = time.monotonic() + PATIENCE_S
        while wanted not in self.seen[start:]:
            assert time.monotonic() < limit, f"{wanted!r} never came; seen: {self.seen[-2000:]!r}"
            self._read(0.2)
        return self.seen.index(wanted, start)

    def _read(self, timeout_s):
        if select.select([self.master], [], [], timeout_s)[0]:
            try:
                self.seen += os.read(self.master, 65536)
            except OSError:
                return False
            return True
        return False

    def send(self, keys):
        os.write(self.master, keys)

    def wait(self):
        """The exit status, with everything read that was still to come."""
        limit = time.monotonic() + PATIENCE_S
        while self.child.poll() is None:
            assert time.monotonic() < limit, f"the board did not end; seen: {self.seen[-2000:]!r}"
            self._read(0.1)
        while self._read(0.1):
            pass
        return self.child.returncode

    def close(self):
        if self.child.poll() is None:
            self.child.kill()
            self.child.wait()
        for descriptor in (self.master, self.slave):
            try:
                os.close(descriptor)
            except OSError:
                continue

    def is_restored(self):
        """Whether the screen is the shell's again, the cursor shown, and the line discipline as before."""
        return (
            self.seen.rindex(ALTERNATE_SCREEN_OFF) > self.seen.rindex(ALTERNATE_SCREEN_ON)
            and self.seen.rindex(CURSOR_SHOWN) > self.seen.rindex(CURSOR_HIDDEN)
            and termios.tcgetattr(self.slave)[:4] == self.before[:4]
        )


@pytest.fixture
def terminal():
    opened = []

    def make(**surroundings):
        opened.append(Terminal(**surroundings))
        return opened[-1]

    yield make
    for each in opened:
        each.close()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT])
def test_a_signal_ends_the_board_and_leaves_the_terminal_in_order(terminal, number):
    here = terminal()
    here.read_until(b"WATER RUNS OUT FIRST")
    here.child.send_signal(number)
    assert here.wait() == 128 + number
    assert here.is_restored()


def test_q_leaves_the_terminal_in_order(terminal):
    here = terminal()
    here.read_until(b"WATER RUNS OUT FIRST")
    here.send(b"q")
    assert here.wait() == 0
    assert here.is_restored()


def test_a_line_that_hangs_up_ends_the_board(terminal):
    here = terminal()
    here.read_until(b"WATER RUNS OUT FIRST")
    os.close(here.slave)
    os.close(here.master)
    here.child.send_signal(signal.SIGHUP)
    assert here.child.wait(PATIENCE_S) != 0


def test_after_the_shell_the_whole_board_is_drawn_again(terminal):
    here = terminal()
    here.read_until(b"WATER RUNS OUT FIRST")
    here.send(b"\x1a")
    _, status = os.waitpid(here.child.pid, os.WUNTRACED)
    assert os.WIFSTOPPED(status)
    here.read_until(ALTERNATE_SCREEN_OFF)
    while here._read(0.2):
        pass
    stopped_at = len(here.seen)
    here.child.send_signal(signal.SIGCONT)
    for row in (b"2041-06-03", b"WATER RUNS OUT FIRST", b"DECIDE", b"propellant", b"Valve open", LAST_WORD):
        here.read_until(row, stopped_at)
    here.send(b"q")
    assert here.wait() == 0
    assert here.is_restored()


def test_a_note_that_was_begun_is_handed_back_when_the_board_is_left(terminal):
    here = terminal()
    here.read_until(b"WATER RUNS OUT FIRST")
    here.send(b"n")
    here.read_until(b"note for the log")
    here.send(b"valve shut")
    here.read_until(b"valve shut")
    here.send(b"\x11")
    assert here.wait() == 0
    after = here.seen[here.seen.rindex(ALTERNATE_SCREEN_OFF) :]
    assert b"not in the log: note: valve shut" in after


COLOURS = re.compile(rb"\x1b\[([0-9;]*)m")


def colours_sent(seen):
    """Every colour that was sent, as the numbers of its escape sequence; the defaults are none."""
    numbers = set()
    for match in COLOURS.findall(seen):
        parts = [int(part) for part in match.split(b";") if part]
        numbers |= {part for part in parts if 30 <= part <= 48 or 90 <= part <= 107} - {39, 49}
    return numbers


@pytest.mark.parametrize("surroundings", [{"NO_COLOR": "1"}, {"TERM": "vt100"}, {"TERM": "dumb"}])
def test_without_colours_none_are_sent(terminal, surroundings):
    here = terminal(**surroundings)
    here.read_until(b"WATER RUNS OUT FIRST")
    here.read_until(LAST_WORD)
    here.send(b"q")
    assert here.wait() == 0
    assert colours_sent(here.seen) == set()
    assert b"X WARNING" in here.seen


def test_a_terminal_with_16_colours_is_sent_only_those(terminal):
    here = terminal(TERM="xterm")
    here.read_until(b"WATER RUNS OUT FIRST")
    here.send(b"q")
    assert here.wait() == 0
    sent = colours_sent(here.seen)
    assert 41 in sent, "warning stands on red"
    assert not sent & {38, 48}
