"""How often 90 % intervals of a gauge's time left hold the truth, method by method, ``--tries 500`` of each.

A power-down from 1.6 to 0.6 %/h and other courses, on gauges from fine to coarse. Beside the engine's way
stand joined lines alone, a rolling line of four hours and a line through the readings since the change.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS / "engine")]

from rates_world import Course, H, Seen, holds, line_since, seen  # noqa: E402 - found on the path set above

from console.engine.rates.choice import rate_of  # noqa: E402  as above
from console.engine.rates.cusum import cusum  # noqa: E402  as above
from console.engine.rates.fieller import Reach, Reaching, reach  # noqa: E402  as above
from console.engine.rates.gauge import single_readings  # noqa: E402  as above
from console.engine.rates.piecewise import fit_piecewise  # noqa: E402  as above
from console.engine.rates.wander import Wander  # noqa: E402  as above

TARGET = 40.0
GAUGES = {
    "fine, noise 0.3 %": (0.0, 0.3),
    "0.1 % steps, noise 0.25 %": (0.1, 0.25),
    "1 % steps, noise 0.5 %": (1.0, 0.5),
    "1 % steps, noise 0.25 %": (1.0, 0.25),
    "1 % steps, noise 0.05 %": (1.0, 0.05),
    "0.1 % steps, noise 0.02 %": (0.1, 0.02),
}
COURSES = {
    **{f"down, {after:g} h after": Course(after_h=after) for after in (0.5, 1.0, 2.0, 6.0)},
    **{
        f"down, use wanders 5 %, {after:g} h": Course(after_h=after, wander_fraction=0.05)
        for after in (0.5, 2.0, 6.0)
    },
    "up, 1 h after": Course(after_h=1.0, first_per_h=0.6, second_per_h=1.6),
    "steady, 8 h": Course(before_h=0.0, after_h=8.0, second_per_h=1.0),
}


def engine(course: Course, one: Seen) -> tuple[Reach, str]:
    """The engine's choice, told how use strays."""
    rate = rate_of(one.gauge, course.knots_s, float(one.gauge.times_s[-1]), wander=course.wander)
    if rate is None:
        raise ValueError("a gauge without readings")
    return rate.reach(TARGET), rate.method.name


def untold(course: Course, one: Seen) -> tuple[Reach, str]:
    """The engine's choice, not told how use strays."""
    rate = rate_of(one.gauge, course.knots_s, float(one.gauge.times_s[-1]))
    if rate is None:
        raise ValueError("a gauge without readings")
    return rate.reach(TARGET), rate.method.name


def joined(course: Course, one: Seen) -> tuple[Reach, str]:
    """Joined lines whatever the gauge."""
    fit = fit_piecewise(one.gauge, course.knots_s, wander=course.wander)
    if fit is None:
        raise ValueError("a gauge without readings")
    level, slope, covariance = fit.level_and_last_slope()
    return reach(level, slope, covariance, TARGET, fit.freedom), ""


def rolling(_: Course, one: Seen) -> tuple[Reach, str]:
    """A line through the last four hours."""
    return line_since(one.gauge, float(one.gauge.times_s[-1]) - 4 * H, TARGET), ""


def since(course: Course, one: Seen) -> tuple[Reach, str]:
    """A line through the readings since the change."""
    return line_since(one.gauge, course.knots_s[-1] if course.knots_s else -np.inf, TARGET), ""


METHODS: dict[str, Callable[[Course, Seen], tuple[Reach, str]]] = {
    "engine": engine,
    "untold": untold,
    "joined": joined,
    "rolling": rolling,
    "since": since,
}


def table(tries: int) -> None:
    """Coverage, share without an upper end, and median relative width, of every method."""
    print("90 % intervals of the time left: held % / no upper end % / median (high - low) / truth")
    for course_name, course in COURSES.items():
        for gauge_name, (step, noise_sd) in GAUGES.items():
            cells, ways = [], Counter[str]()
            for name, method in METHODS.items():
                luck = np.random.default_rng(20)
                held, is_open, widths = [], [], []
                for _ in range(tries):
                    one = seen(course, step, noise_sd, luck)
                    found, way = method(course, one)
                    true_s = one.true_time_s(TARGET)
                    held.append(holds(found, true_s))
                    is_open.append(found.reaching is Reaching.NO_UPPER_END)
                    if found.high_s is not None and found.low_s is not None:
                        widths.append((found.high_s - found.low_s) / true_s)
                    if name == "engine":
                        ways[way] += 1
                width = f"{np.median(widths):.2f}" if widths else "-"
                cells.append(f"{name} {100 * np.mean(held):3.0f}/{100 * np.mean(is_open):3.0f}/{width:>5}")
            said = " ".join(f"{way.lower()} {count}" for way, count in ways.most_common())
            print(f"{course_name:28} {gauge_name:26} {'  '.join(cells)}  ({said})", flush=True)


def false_calls(tries: int) -> None:
    """How long the CUSUM goes without a shift, and with one."""
    luck = np.random.default_rng(21)
    for shift in (0.0, 0.5, 1.0, 2.0):
        lengths = []
        for _ in range(tries):
            most = 5000 if shift == 0.0 else 1000
            state = cusum(np.arange(1.0, most + 1.0), luck.normal(size=most) + shift)
            lengths.append(most if state.called_at_s is None else state.called_at_s)
        error = np.std(lengths) / np.sqrt(tries)
        print(f"cusum, shift {shift:g} sd: a call after {np.mean(lengths):.1f} ± {error:.1f} residuals")


def speed() -> None:
    """What sixty gauges of 400 rows and four knots cost."""
    luck = np.random.default_rng(22)
    times = np.arange(400) * 60.0
    knots = (5000.0, 10000.0, 15000.0, 20000.0)
    for name, step, noise_sd in (("fine", 0.0, 0.3), ("dithered", 1.0, 0.5), ("quiet", 1.0, 0.05)):
        shown = 90.0 - times / 2000.0 + luck.normal(0.0, noise_sd, 400)
        gauge = single_readings(times, np.round(shown / step) * step if step else shown, step, noise_sd)
        for told, wander in (("untold", None), ("told", Wander(sds_si_per_s=(2.5e-5,), tau_s=2700.0))):
            rate_of(gauge, knots, times[-1], wander=wander)
            begin = time.perf_counter()
            for _ in range(60):
                rate_of(gauge, knots, times[-1], wander=wander)
            print(
                f"60 {name} gauges x 400 rows x 4 knots, {told}: {1e3 * (time.perf_counter() - begin):.0f} ms"
            )


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tries", type=int, default=500)
    given = parser.parse_args()
    speed()
    false_calls(given.tries)
    table(given.tries)


if __name__ == "__main__":
    main()
