"""A growing file's speed as ratios to ``pandas.read_csv``: ``python tests/bench/ingest_bench.py``.

A million readings of sixty channels at 1 Hz, taken in by a growing-file source in one poll (read, judged, by
channel) against a plain ``pandas.read_csv`` of the same file, in turn. Then a new start on the same file when
a minute was added, and a tick of 1 Hz; both count the bytes that were read. Judges nothing.
"""

from __future__ import annotations

import json
import os
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

import pandas as pd
from whole_process import Ratio, paired

sys.path.insert(0, str(Path(__file__).parents[1] / "feed"))
from feed_builders import EPOCH, make_channel, utc

from console.engine.reading import FeedState
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_resume import Resume

READINGS = 1_000_000
CHANNELS = {
    name: make_channel(name, "A", 0.0, 1000.0) for name in (f"load-{number}.current" for number in range(60))
}
PAIRS = 9
ALL_BYTES = 2**40

Form = Callable[[str, str, float], str]


def lines(from_s: int, readings: int, form: Form) -> Iterator[str]:
    """Readings of all channels, second after second."""
    draws = random.Random(from_s)
    levels = {name: 5.0 + 4.9 * number for number, name in enumerate(CHANNELS)}
    for number in range(readings // len(CHANNELS)):
        at = utc(from_s + number)
        for name, level in levels.items():
            yield form(at, name, level * draws.uniform(0.99, 1.01))


def rounded(at: str, name: str, value: float) -> str:
    """As an instrument shows it."""
    return f"{at},{name},{value:.2f}\n"


def in_full(at: str, name: str, value: float) -> str:
    """With all the digits of a double."""
    return f"{at},{name},{value!r}\n"


def as_json(at: str, name: str, value: float) -> str:
    """A line of JSON Lines."""
    return json.dumps({"at": at, "channel": name, "value": round(value, 2)}) + "\n"


def with_text(at: str, name: str, value: float) -> str:
    """A quantity with its unit in the value: every line is read one by one."""
    return f"{at},{name},{value:.2f} A\n"


def written(path: Path, form: Form, readings: int, header: str = "at,channel,value\n") -> Path:
    """A file of readings."""
    with path.open("w") as file:
        file.write(header)
        file.writelines(lines(0, readings, form))
    return path


def timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def taken(path: Path, resume: Resume | None = None) -> tuple[GrowingFileSource, FeedState]:
    """A new source's first poll of all there is."""
    source = GrowingFileSource(path, CHANNELS, EPOCH, resume=resume, most_bytes_per_poll=ALL_BYTES)
    return source, source.poll(READINGS / len(CHANNELS) + 120.0)


def count(feed: FeedState) -> int:
    return sum(len(one.times_s) for one in feed.arrived.values())


def taking_in(path: Path) -> Ratio:
    """All of it, against pandas."""
    return paired(lambda: timed(lambda: taken(path)), lambda: timed(lambda: pd.read_csv(path)), PAIRS)


def other_forms(folder: Path, plain: Path) -> None:
    """Lines of other forms, against pandas on as many plain ones."""
    full = written(folder / "full.csv", in_full, READINGS)
    print(taking_in(full).line("the same with all digits of a double / pandas.read_csv of it", "2"))
    in_json = written(folder / "tern.jsonl", as_json, READINGS, header="")
    ratio = paired(lambda: timed(lambda: taken(in_json)), lambda: timed(lambda: pd.read_csv(plain)), 5)
    print(ratio.line("the same as JSON Lines / pandas.read_csv of it as CSV", "-"))
    few = READINGS // 20
    text, little = written(folder / "text.csv", with_text, few), written(folder / "few.csv", rounded, few)
    ratio = paired(lambda: timed(lambda: taken(text)), lambda: timed(lambda: pd.read_csv(little)), 3)
    print(ratio.line(f"{few:,} lines read one by one / pandas.read_csv of as many plain ones", "-"))


def starting_again(path: Path) -> None:
    """A new start after a minute was added, and a tick of a second, against taking in the whole file."""
    source, feed = taken(path)
    whole_s = timed(lambda: taken(path))
    print(f"taken in: {count(feed):,} readings, {source.bytes_read:,} of {path.stat().st_size:,} bytes read")
    place, newest_s = source.place(), READINGS // len(CHANNELS)
    minute = "".join(lines(newest_s, 60 * len(CHANNELS), rounded))
    with path.open("a") as file:
        file.write(minute)
    again_s = median(timed(lambda: taken(path, place)) for _ in range(PAIRS))
    again, feed = taken(path, place)
    print(
        f"a new start when a minute was added: {count(feed):,} readings, {again.bytes_read:,} bytes read of "
        f"{len(minute):,} added; {again_s / whole_s:.4f} of taking in the whole ({again_s * 1e3:.1f} ms)"
    )
    ticks_s = [tick_s(path, again, newest_s + 60 + second) for second in range(60)]
    worst = f"(worst {max(ticks_s) * 1e3:.2f} ms)"
    print(f"a tick of {len(CHANNELS)} readings: {median(ticks_s) * 1e3:.2f} ms {worst}")


def tick_s(path: Path, source: GrowingFileSource, second: int) -> float:
    """A second's readings are added and polled."""
    with path.open("a") as file:
        file.writelines(lines(second, len(CHANNELS), rounded))
    return timed(lambda: source.poll(second + 1.0))


def main() -> None:
    """All of them."""
    with tempfile.TemporaryDirectory() as folder:
        plain = written(Path(folder) / "tern.csv", rounded, READINGS)
        print(f"pandas {pd.__version__}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
        print(taking_in(plain).line("taking in a million readings / pandas.read_csv", "2"))
        starting_again(plain)
        other_forms(Path(folder), plain)


if __name__ == "__main__":
    main()
