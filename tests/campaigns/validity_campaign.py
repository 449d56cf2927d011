"""Faults in a small craft's instruments, and days with none: what is found, how soon, how often falsely.

``--faults 6`` rounds of every kind of fault and ``--days 4`` days of some twenty sound instruments, each read
every second and every minute. A false alarm is one channel in one doubt, however long it lasts; what is only
told (a spike that is over, loads that cycle) is counted beside it.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS / "engine")]

from validity_world import (  # noqa: E402 - found on the path set above
    H,
    Instrument,
    World,
    in_steps,
    noise_si,
    world,
)

from console.engine.validity.context import ChannelKind  # noqa: E402  as above
from console.engine.validity.judge import verdicts_of  # noqa: E402  as above
from console.engine.validity.verdict import Doubt, Verdict  # noqa: E402  as above
from console.units import parse_unit  # noqa: E402  as above

FAULT_HOURS, FAULT_AT_S = 11.0, 6 * H
SAME_EPISODE_S = 900.0

ALL = [
    "bat-1.current",
    "bat-1.used",
    "bat-1.charge",
    "o2-1.pressure",
    "o2-9.pressure",
    "o2-1.temperature",
    "water-1.quantity",
    "drink.quantity",
    "prop-1.quantity",
    "cart-1.used",
    "cabin.pressure",
    "cabin.ppco2",
    "cabin.temperature",
    "bare.level",
]


@dataclass(frozen=True)
class Kind:
    """A kind of fault: into which channels it is put, how, and as what it should be found."""

    name: str
    doubts: tuple[Doubt, ...]
    channels: tuple[str, ...]
    spoil: Callable[[World, Instrument, int], None]


def size_si(one: Instrument, sds: float, steps: float) -> float:
    """So many standard deviations of its noise and steps of its display; of a meter half of what it shows."""
    size = max(sds * noise_si(one), steps * one.channel.resolution_si)
    if one.kind is ChannelKind.FLOW:
        size = max(size, 0.5 * float(np.median(one.shown)))
    return size


def in_whole_steps(one: Instrument, change_si: float) -> float:
    """A change that its display can show."""
    step = one.channel.resolution_si
    return float(np.ceil(change_si / step - 1e-9) * step) if step else change_si


def stick(_: World, one: Instrument, row: int) -> None:
    """It shows the same for ever."""
    one.shown[row:] = one.shown[row]


def spike(made: World, one: Instrument, row: int) -> None:
    """One reading, far off to either side."""
    one.shown[row] += made.random.choice((-1.0, 1.0)) * in_whole_steps(one, size_si(one, 14.0, 8.0))


def pair_of_spikes(made: World, one: Instrument, row: int) -> None:
    """Two readings on end."""
    one.shown[row : row + 2] += made.random.choice((-1.0, 1.0)) * in_whole_steps(one, size_si(one, 14.0, 8.0))


def step_up(_: World, one: Instrument, row: int) -> None:
    """A level that stays higher."""
    one.shown[row:] += in_whole_steps(one, size_si(one, 8.0, 6.0))


def step_down(_: World, one: Instrument, row: int) -> None:
    """A level that stays lower."""
    one.shown[row:] -= in_whole_steps(one, min(size_si(one, 8.0, 6.0), 0.5 * abs(one.shown[row])))


def swing(made: World, one: Instrument, row: int) -> None:
    """A swing of eight to forty minutes."""
    period = made.random.uniform(480.0, 2400.0)
    after = made.times[row:] - made.times[row]
    size = max(5.0 * noise_si(one), 4.0 * one.channel.resolution_si)
    one.shown[row:] = in_steps(one, one.shown[row:] + size * np.sin(2 * np.pi * after / period))


def alternate(_: World, one: Instrument, row: int) -> None:
    """High and low by turns, from reading to reading."""
    size = max(12.0 * noise_si(one), 5.0 * one.channel.resolution_si)
    turns = np.where(np.arange(len(one.shown) - row) % 2, size, -size)
    one.shown[row:] = in_steps(one, one.shown[row:] + turns)


def drift(made: World, one: Instrument, row: int) -> None:
    """Away by its accuracy in an hour and a half."""
    after = made.times[row:] - made.times[row]
    side = made.random.choice((-1.0, 1.0))
    one.shown[row:] = in_steps(one, one.shown[row:] + side * one.channel.accuracy_si * after / 5400.0)


def part(made: World, one: Instrument, row: int) -> None:
    """Off by eight percent of full, at a moment that explains a jump: only the second way can tell."""
    made.causes_s = (*made.causes_s, float(made.times[row]))
    one.shown[row:] += made.random.choice((-1.0, 1.0)) * 0.08


UNITS = {
    "cabin.pressure": "psi",
    "o2-1.pressure": "bar",
    "o2-9.pressure": "bar",
    "water-1.quantity": "lb",
    "drink.quantity": "L",
    "cabin.temperature": "degF",
    "cart-1.used": "lb",
    "prop-1.quantity": "lb",
    "bat-1.used": "A*s",
}


def another_unit(_: World, one: Instrument, row: int) -> None:
    """Its number is in another unit from now on."""
    other = parse_unit(UNITS[one.channel.name])
    written = (one.shown[row:] - other.offset) / other.factor
    one.shown[row:] = written * one.channel.unit.factor + one.channel.unit.offset


NOISY = tuple(name for name in ALL if name not in ("o2-9.pressure",))
KINDS = (
    Kind("stuck", (Doubt.STUCK,), NOISY, stick),
    Kind("spike, one reading", (Doubt.SPIKE,), tuple(ALL), spike),
    Kind("spike, two readings", (Doubt.SPIKE,), tuple(ALL), pair_of_spikes),
    Kind("step up", (Doubt.STEP, Doubt.WRONG_UNIT), tuple(ALL), step_up),
    Kind("step down", (Doubt.STEP, Doubt.WRONG_UNIT), tuple(ALL), step_down),
    Kind("swing, 8 to 40 min", (Doubt.OSCILLATING,), tuple(n for n in ALL if "current" not in n), swing),
    Kind("swing, 2 readings", (Doubt.OSCILLATING,), tuple(n for n in ALL if n != "bare.level"), alternate),
    Kind("drift", (Doubt.DRIFT,), ("bat-1.used", "bat-1.charge", "water-1.quantity"), drift),
    Kind("disagreement", (Doubt.DISAGREES,), ("bat-1.charge",), part),
    Kind("wrong unit", (Doubt.WRONG_UNIT,), tuple(UNITS), another_unit),
)


def judged(
    made: World, from_s: float, until_s: float, every_s: float
) -> Iterator[tuple[float, str, Verdict]]:
    """Every verdict, look by look."""
    for at in np.arange(from_s, until_s, every_s).tolist():
        series = made.series(at)
        contexts = made.contexts(at, series)
        for name, verdicts in verdicts_of(series, contexts, made.readings(at), at).items():
            for verdict in verdicts:
                yield at, name, verdict


def found_after_s(kind: Kind, seed: int, every_s: float, look_s: float) -> dict[str, float | None]:
    """By channel, how long after it began a fault was found; None where it never was."""
    made = world(1000 + seed, every_s, FAULT_HOURS)
    begins: dict[str, float] = {}
    for name in kind.channels:
        # Away from what explains a shift.
        while True:
            asked_s = made.times[0] + FAULT_AT_S + made.random.uniform(0.0, 5400.0)
            row = int(np.searchsorted(made.times, asked_s))
            at_s = float(made.times[row])
            known = (*made.causes_s, *(fill for fills in made.refills.values() for fill in fills))
            if min(abs(at_s - cause) for cause in known) > 600.0:
                break
        begins[name] = at_s
        kind.spoil(made, made.instruments[name], row)
    after: dict[str, float | None] = dict.fromkeys(kind.channels)
    for at, name, verdict in judged(made, float(made.times[0]) + FAULT_AT_S, float(made.times[-1]), look_s):
        if name in after and after[name] is None and verdict.kind in kind.doubts and at >= begins[name]:
            after[name] = at - begins[name]
    return after


def false_alarms(
    seed: int, every_s: float, look_s: float
) -> tuple[Counter[tuple[str, str]], Counter[tuple[str, str]], float]:
    """Doubts and tellings of a day with no fault, by channel and kind; and how many channel-days it was."""
    made = world(seed, every_s)
    last: dict[tuple[str, str, bool], float] = {}
    doubts: Counter[tuple[str, str]] = Counter()
    told: Counter[tuple[str, str]] = Counter()
    begins, ends = float(made.times[0]) + 600.0, float(made.times[-1])
    for at, name, verdict in judged(made, begins, ends, look_s):
        key = (name, verdict.kind.value, verdict.is_doubt)
        if at - last.get(key, -np.inf) > SAME_EPISODE_S:
            (doubts if verdict.is_doubt else told)[name, verdict.kind.value] += 1
        last[key] = at
    return doubts, told, (ends - begins) / 86400.0 * len(made.instruments)


def print_faults(rounds: int, every_s: float, look_s: float) -> None:
    """The share found of each kind, and how soon."""
    print(f"\nread every {every_s:g} s: faults of each kind")
    print(f"{'fault':<22}{'put in':>8}{'found':>8}{'share':>8}{'half by':>10}{'nine in ten by':>16}")
    for kind in KINDS:
        missed: Counter[str] = Counter()
        delays = []
        for seed in range(rounds):
            for name, delay in found_after_s(kind, seed, every_s, look_s).items():
                if delay is None:
                    missed[name] += 1
                else:
                    delays.append(delay / 60.0)
        count = len(delays) + missed.total()
        half, most = np.percentile(delays, (50.0, 90.0)) if delays else (np.nan, np.nan)
        told = f"{kind.name:<22}{count:>8}{len(delays):>8}{len(delays) / count:>8.0%}"
        print(f"{told}{half:>6.0f} min{most:>12.0f} min{of_each('   missed', missed)}")


def of_each(word: str, counts: Mapping[str, int]) -> str:
    """How many of each, the most first; empty where there are none."""
    each = sorted(counts.items(), key=lambda item: -item[1])
    return f"{word}: {', '.join(f'{count} {name}' for name, count in each)}" if each else ""


def print_false_alarms(first: int, days: int, every_s: float, look_s: float) -> None:
    """How often a sound channel was doubted."""
    doubts: Counter[tuple[str, str]] = Counter()
    told: Counter[tuple[str, str]] = Counter()
    channel_days = 0.0
    for seed in range(first, first + days):
        more, more_told, spent = false_alarms(seed, every_s, look_s)
        doubts += more
        told += more_told
        channel_days += spent
    print(
        f"\nread every {every_s:g} s: {doubts.total()} false alarms in {channel_days:.0f} channel-days "
        f"(one in {channel_days / max(doubts.total(), 1):.0f}{' or more' if not doubts else ''})"
    )
    for word, counts in (("doubted", doubts), ("told", told)):
        each = {f"{name} ({kind})": count for (name, kind), count in counts.items()}
        print(of_each(f"  {word}", each) or f"  {word}: nothing")


def main() -> None:
    """Run the campaign and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=6)
    parser.add_argument("--days", type=int, default=4)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--every", type=float, nargs="*", default=[60.0, 1.0])
    parser.add_argument(
        "--look", type=float, default=60.0, help="seconds from one look at the readings to the next"
    )
    asked = parser.parse_args()
    for every_s in asked.every:
        if asked.faults:
            print_faults(asked.faults, every_s, asked.look)
        if asked.days:
            print_false_alarms(asked.first, asked.days, every_s, asked.look)


if __name__ == "__main__":
    main()
