"""The history's speed as ratios of two things measured in one run: ``python tests/bench/history_bench.py``.

Sixty channels at 1 Hz. Each side does the same work: taking readings against numpy's grouping of the same
columns, and a round of thinned views against grouping the same readings anew each time. Prints the size of a
day on disk, what a saving costs and what opening costs beside reading the file. Judges nothing.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "record"))
from history_feeds import feed_of, history_at
from whole_process import Ratio, paired

from console.record.history import History

NAMES = tuple(f"channel-{number}" for number in range(60))
HOUR_S = 3600
PAIRS = 7


def hour_of(hour: int) -> dict[str, np.ndarray]:
    """An hour of readings of every channel, shape (n, 2)."""
    rng = np.random.default_rng(hour)
    times = hour * HOUR_S + np.arange(HOUR_S) + rng.uniform(0, 0.5)
    return {name: np.stack((times, 1.1e7 + rng.normal(0, 30, HOUR_S)), axis=1) for name in NAMES}


def grouped(readings: np.ndarray, width_s: int) -> np.ndarray:
    """The rows of one width by numpy alone, as one would write them for all the readings at once."""
    times, values = readings.T
    numbers = np.floor(times / width_s).astype(np.int64)
    firsts = np.flatnonzero(np.diff(numbers, prepend=numbers[0] - 1))
    counts = np.diff(firsts, append=len(times))
    return np.stack(
        (
            np.add.reduceat(times, firsts) / counts,
            np.add.reduceat(values, firsts) / counts,
            np.minimum.reduceat(values, firsts),
            np.maximum.reduceat(values, firsts),
            counts,
        )
    )


def timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def taking_hours() -> Ratio:
    """An hour of all channels in one batch, against one grouping of it to minutes and one to ten minutes."""
    hour, feed = hour_of(0), feed_of(hour_of(0))
    return paired(
        lambda: timed(lambda: history_at(None, NAMES).take(feed)),
        lambda: timed(lambda: [(grouped(one, 60), grouped(one, 600)) for one in hour.values()]),
        PAIRS,
    )


def taking_ticks() -> Ratio:
    """An hour of all channels one reading at a time, against adding each to a Python list."""
    hour = hour_of(0)
    feeds = [feed_of({name: one[k : k + 1] for name, one in hour.items()}) for k in range(300)]
    history, lists = history_at(None, NAMES), {name: [] for name in NAMES}

    def listed() -> None:
        for feed in feeds:
            for name, arrived in feed.arrived.items():
                lists[name].append((float(arrived.times_s[0]), float(arrived.values_si[0])))

    def taken() -> None:
        nonlocal history
        history = history_at(None, NAMES)
        for feed in feeds:
            history.take(feed)

    return paired(lambda: timed(taken), lambda: timed(listed), PAIRS)


def looking(history: History, hours: dict[str, np.ndarray], back_s: float, width_s: int) -> Ratio:
    """A round of views of all channels, with a new reading of each before it, against grouping anew."""
    begun_s = [float(history.newest_s or 0.0)]

    def views() -> float:
        begun_s[0] += 1.0
        history.take(feed_of({name: [(begun_s[0], 1.1e7)] for name in NAMES}))
        return timed(lambda: [history.series(name, begun_s[0] - back_s, begun_s[0]) for name in NAMES])

    def anew() -> float:
        return timed(lambda: [grouped(one[-int(back_s) :], width_s) for one in hours.values()])

    return paired(views, anew, 5 * PAIRS)


def day_on_disk(folder: Path) -> None:
    """A day as it comes: a saving every ten seconds in the last hour, every minute before."""
    path = folder / "bench.history.db"
    history, costs = history_at(path, NAMES), []
    for hour in range(24):
        readings = hour_of(hour)
        step = 10 if hour == 23 else 60
        for begin in range(0, HOUR_S, step):
            history.take(feed_of({name: one[begin : begin + step] for name, one in readings.items()}))
            cost_s = timed(history.flush)
            if hour == 23:
                costs.append(cost_s)
    history.close()
    size = path.stat().st_size
    raw = 60 * 86_400 * 16
    print(
        f"a day of 60 channels at 1 Hz: {size / 1e6:.1f} MB, {size / raw:.2f} of all its readings as float64"
    )
    print(f"a saving of ten seconds: {median(costs) * 1e3:.1f} ms (worst {max(costs) * 1e3:.1f} ms)")
    opening = paired(
        lambda: timed(lambda: history_at(path, NAMES, writes=False)), lambda: timed(path.read_bytes), PAIRS
    )
    print(opening.line("opening it / reading the file's bytes", "-"))


def main() -> None:
    """All of them."""
    print(taking_hours().line("taking an hour at once / grouping it twice", "-"))
    print(taking_ticks().line("taking 300 ticks / adding them to lists", "-"))
    history = history_at(None, NAMES)
    hours = [hour_of(hour) for hour in range(13)]
    for hour in hours:
        history.take(feed_of(hour))
    all_hours = {name: np.concatenate([hour[name] for hour in hours]) for name in NAMES}
    for back_h, width_s in ((3, 30), (6, 60), (12, 120)):
        ratio = looking(history, all_hours, back_h * 3600.0, width_s)
        print(ratio.line(f"60 views of {back_h} h / grouping those readings anew", "-"))
    with tempfile.TemporaryDirectory() as folder:
        day_on_disk(Path(folder))


if __name__ == "__main__":
    main()
