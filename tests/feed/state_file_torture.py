"""A state file source against a producer that treats its file badly and is killed at it. It only counts."""

from __future__ import annotations

import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from state_file_writer import CHANNELS, EPOCH, held_up_notes
from state_file_writer import __file__ as writer_file

from console.craft.channels import Channel
from console.engine.reading import FeedState
from console.feed.state_file import StateFileSource
from console.units import parse_unit

_CHANNELS = {name: Channel(name=name, unit=parse_unit("g")) for name in CHANNELS}

HELD_UP_WAIT_S = 0.5


@dataclass(kw_only=True, slots=True)
class Tally:
    """What came of it."""

    polls: int = 0
    good: int = 0
    """Polls that had nothing to say against the file."""
    refused: int = 0
    """Polls that found nothing usable in all their tries."""
    plain_torn: int = 0
    """Plain reads beside the polls, one try each, that were no document."""
    accepted: set[float] = field(default_factory=set)
    """The times of the documents that were taken."""
    kills: int = 0
    wrong: list[str] = field(default_factory=list)
    """Numbers that no document ever said."""
    held_up: list[str] = field(default_factory=list)
    """Such numbers from a document in which the machine held its writer up: what no reader can exclude."""
    exceptions: list[str] = field(default_factory=list)


def torture(path: Path, *, seconds: float, period_s: float, poll_s: float, seed: int) -> Tally:
    """Poll while writers come and go.

    Args:
        path: the state file.
        seconds: how long.
        period_s: how long writers rest between two documents, on the whole.
        poll_s: how long to rest between two polls.
        seed: of the writers and of the kills.
    """
    chance, tally, t0 = random.Random(seed), Tally(), time.time()
    source = StateFileSource(path, _CHANNELS, EPOCH)
    left_s = seconds
    habits = ["cut", "over"]
    while left_s > 0.0:
        habit = habits[0]
        habits.reverse()
        # A writer that writes over the old text is let go only after a rest, not killed inside a text.
        writer = start_writer(path, t0, period_s, chance.randrange(10**6), habit)
        try:
            turn_s = min(seconds / 4, chance.uniform(10, 40) * period_s + 0.5)
            left_s -= turn_s
            turn = time.monotonic() + turn_s
            while time.monotonic() < turn:
                _poll_once(source, path, time.time() - t0, tally)
                time.sleep(poll_s)
        finally:
            writer.send_signal(signal.SIGKILL if habit == "cut" else signal.SIGTERM)
            writer.communicate()
        tally.kills += habit == "cut"
        _poll_once(source, path, time.time() - t0, tally)
    return tally


def start_writer(path: Path, t0: float, period_s: float, seed: int, habit: str) -> subprocess.Popen[bytes]:
    root = Path(__file__).parents[2]
    asked = [sys.executable, writer_file, str(path), repr(t0), str(period_s), str(seed), habit]
    environment = {**os.environ, "PYTHONPATH": str(root)}
    writer = subprocess.Popen(asked, cwd=root, env=environment, stdout=subprocess.PIPE)
    assert writer.stdout is not None
    assert writer.stdout.readline() == b"ready\n"  # its start, on a busy machine, is not part of its turn
    return writer


def _poll_once(source: StateFileSource, path: Path, now_s: float, tally: Tally) -> None:
    tally.polls += 1
    began = time.time()
    try:
        feed = source.poll(now_s)
    except Exception as error:  # noqa: BLE001 - that there is none is what is counted
        tally.exceptions.append(repr(error))
        return
    tally.good += not feed.faults
    tally.refused += bool(feed.faults)
    wrong = [told for told in _wrong(feed) if told not in (*tally.wrong, *tally.held_up)]
    if wrong:
        (tally.held_up if was_held_up(path, began, time.time()) else tally.wrong).extend(wrong)
    if feed.at_s is not None:
        tally.accepted.add(feed.at_s)
    with contextlib.suppress(OSError):
        tally.plain_torn += not _is_document(path.read_bytes())


def _wrong(feed: FeedState) -> list[str]:
    """Readings whose number is not the one that their time stands for."""
    return [
        f"{reading.channel}: {reading.value_si} kg at {reading.at_s} s"
        for reading in feed.readings.values()
        if reading.value_si is not None
        and reading.at_s is not None
        and round(reading.value_si * 1000) != round(reading.at_s * 1000)
    ]


def was_held_up(path: Path, began: float, ended: float) -> bool:
    """Whether a writer was held up inside a document during a poll."""
    time.sleep(HELD_UP_WAIT_S)  # the writer notes it only when it is done
    with contextlib.suppress(FileNotFoundError):
        for line in held_up_notes(path).read_text().splitlines():
            first, last = map(float, line.split())
            if first <= ended and last >= began:
                return True
    return False


def _is_document(content: bytes) -> bool:
    try:
        return isinstance(json.loads(content), dict)
    except (ValueError, RecursionError):
        return False
