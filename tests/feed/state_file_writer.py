"""A producer that treats its state file badly. Run as a process of its own, so that it can be killed.

Every document says one number, the milliseconds since ``t0``, in every channel and in its time: whatever is
put together from two documents therefore gives itself away. Usage: PATH T0 PERIOD_S SEED HABIT, where the
habit ``cut`` empties the file and fills it in parts (and may be killed at it), and ``over`` writes over what
stands there and shortens the file afterwards, mostly with documents of one shape, whose mixes parse.

A reader cannot tell a writer that rests inside a document for longer than the reader waits from one that is
ready (console/feed/rewritten_file.py says so). The habit ``over`` therefore stops only between documents, and
notes beside the file every document that the machine held up for so long.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

from console.feed.rewritten_file import PAUSE_S
from console.instants import at_epoch_plus, format_utc, parse_utc

EPOCH = parse_utc("2041-06-02T03:10:00Z")
HELD_UP_S = 0.75 * PAUSE_S
CHANNELS = tuple(f"count-{number}" for number in range(12))


def make_document(milliseconds: int, chance: random.Random) -> bytes:
    """A good document, in a random order and of a random length."""
    at = format_utc(at_epoch_plus(EPOCH, milliseconds / 1000))
    forms = [milliseconds, f"{milliseconds} g", {"value": milliseconds, "unit": "g", "at": at}]
    names = chance.sample(CHANNELS, len(CHANNELS))
    readings = {name: chance.choice(forms) for name in names}
    text = json.dumps({"format": 1, "at": at, "readings": readings}, indent=chance.choice([None, 1, 4]))
    return (text + " " * chance.randrange(3) + "\n" * chance.randrange(200)).encode()


def make_shaped(milliseconds: int) -> bytes:
    """A good document that differs from others of its kind in nothing but digits."""
    at = (EPOCH + timedelta(milliseconds=milliseconds)).isoformat(timespec="milliseconds")
    readings = ", ".join(f'"{name}": "{milliseconds:09d} g"' for name in CHANNELS)
    return f'{{"format": 1, "at": "{at.replace("+00:00", "Z")}", "readings": {{{readings}}}}}'.encode()


def make_garbage(good: bytes, chance: random.Random) -> bytes:
    """What a producer in trouble leaves behind."""
    cut = chance.randrange(len(good.rstrip()) - 1)
    return chance.choice(
        [
            b"",
            good[:cut],
            good.rstrip() + good[cut:].strip(),
            chance.randbytes(chance.randrange(1, 3000)),
            b"\0" * len(good),
            good.replace(b'"format": 1', b'"format": 9'),
            good.replace(b'"count-3"', b'"count-4"'),
            b"[" * 5000,
        ]
    )


def write_cut(path: Path, content: bytes, chance: random.Random) -> None:
    """Empty the file, then fill it in parts, with rests between them."""
    with path.open("wb", buffering=0) as file:
        for part in _parts(content, chance):
            file.write(part)
            time.sleep(chance.choice([0, 0, 0.001, 0.003]))


def write_over(path: Path, content: bytes, chance: random.Random) -> None:
    """Write over what stands there, then cut off what is left of it."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT)
    moments = [time.time()]
    try:
        for part in _parts(content, chance):
            os.write(handle, part)
            time.sleep(chance.choice([0, 0.001, 0.003]))
            moments.append(time.time())
        os.ftruncate(handle, len(content))
    finally:
        os.close(handle)
    moments.append(time.time())
    if max(later - earlier for earlier, later in pairwise(moments)) > HELD_UP_S:
        with held_up_notes(path).open("a") as notes:
            notes.write(f"{moments[0]!r} {moments[-1]!r}\n")


def held_up_notes(path: Path) -> Path:
    """Where the writer notes from when to when a document was being written that took too long."""
    return path.with_suffix(".held-up")


def _parts(content: bytes, chance: random.Random) -> list[bytes]:
    size = max(1, len(content) // chance.choice([1, 2, 3, 7]))
    return [content[start : start + size] for start in range(0, len(content), size)]


def main(path: Path, t0: float, period_s: float, seed: int, habit: str) -> None:
    """Write until killed, or until told to stop."""
    chance = random.Random(seed)
    stops: list[int] = []
    signal.signal(signal.SIGTERM, lambda number, _: stops.append(number))
    write = {"cut": write_cut, "over": write_over}[habit]
    print("ready", flush=True)
    while not stops:
        milliseconds = int((time.time() - t0) * 1000)
        is_shaped = habit == "over" and chance.random() < 0.8
        content = make_shaped(milliseconds) if is_shaped else make_document(milliseconds, chance)
        kind = chance.random()
        if kind < 0.15:
            write(path, make_garbage(content, chance), chance)
        elif kind < 0.2:
            path.unlink(missing_ok=True)
        else:
            write(path, content, chance)
        time.sleep(chance.uniform(0.2, 2.0) * period_s)


if __name__ == "__main__":
    main(Path(sys.argv[1]), float(sys.argv[2]), float(sys.argv[3]), int(sys.argv[4]), sys.argv[5])
