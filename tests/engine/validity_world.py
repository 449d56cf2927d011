"""A small craft's instruments over a day, with all that is normal, and faults to put into them.

Seeded and of its own making: it shares nothing with the simulated craft, nor with what it is to test.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from console.craft.channels import Channel
from console.engine.reading import Quality, Reading
from console.engine.series import Series
from console.engine.validity.context import Amounts, ChannelContext, ChannelKind, Pair
from console.engine.validity.counted import course_of_counter, course_of_flow
from console.engine.validity.judge import verdicts_of
from console.engine.validity.verdict import Verdict
from console.units import parse_unit

Floats = NDArray[np.float64]
H = 3600.0
WIDTHS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600)
BACK_S, MOST_ROWS = 12 * H, 400


def wander(times: Floats, sd: float, tau_s: float, random: np.random.Generator) -> Floats:
    """An Ornstein-Uhlenbeck course about zero on a grid of a minute, between which it runs straight."""
    grid = np.arange(times[0], times[-1] + 60.0, 60.0)
    keep = math.exp(-60.0 / tau_s)
    kicks = sd * math.sqrt(1 - keep**2) * random.standard_normal(len(grid))
    kicks[0] = sd * random.standard_normal()
    course = np.empty(len(grid))
    value = 0.0
    for index, kick in enumerate(kicks.tolist()):
        value = keep * value + kick
        course[index] = value
    return np.interp(times, grid, course)


def channel(name: str, unit: str, accuracy: float, resolution: float) -> Channel:
    """An instrument, accuracy and resolution in its unit."""
    parsed = parse_unit(unit)
    return Channel(
        name=name,
        unit=parsed,
        accuracy_si=accuracy * parsed.factor,
        resolution_si=resolution * parsed.factor,
        stale_after_s=180.0,
    )


@dataclass
class Instrument:
    """One channel of the world: its truth over time, and what is known of it."""

    channel: Channel
    kind: ChannelKind
    truth: Floats
    """In its own unit."""
    rate: Floats | None
    """True rate per second in its own unit, where it is expected to be known."""
    may_cycle: bool = False
    fresh_sd: float = math.nan
    """In its own unit; NaN for a quarter of its accuracy."""
    shown: Floats = field(default_factory=lambda: np.empty(0))


@dataclass
class World:
    """A day of a small craft, read every so many seconds."""

    times: Floats
    instruments: dict[str, Instrument]
    causes_s: tuple[float, ...]
    refills: dict[str, tuple[float, ...]]
    random: np.random.Generator

    def series(self, at_s: float) -> dict[str, Series]:
        """Every channel's history as a board has it at a moment."""
        first, last = np.searchsorted(self.times, [at_s - BACK_S, np.nextafter(at_s, np.inf)])
        times = self.times[first:last]
        span = times[-1] - times[0]
        width = next(w for w in WIDTHS_S if span / w < MOST_ROWS - 1)
        starts = np.flatnonzero(np.diff(np.floor(times / width), prepend=-1.0))
        starts[0] = 0
        counts = np.diff(np.append(starts, len(times))).astype(float)
        middles = np.add.reduceat(times - times[0], starts) / counts + times[0]
        shown = np.stack([one.shown[first:last] for one in self.instruments.values()])
        lows = np.minimum.reduceat(shown, starts, axis=1)
        highs = np.maximum.reduceat(shown, starts, axis=1)
        # As offsets from the lows, so that what is the same in all readings is so in their mean.
        sums = np.add.reduceat(shown - np.repeat(lows, counts.astype(int), axis=1), starts, axis=1)
        means = lows + sums / counts
        return {
            name: Series(
                times_s=middles, means_si=means[i], lows_si=lows[i], highs_si=highs[i], counts=counts
            )
            for i, name in enumerate(self.instruments)
        }

    def readings(self, at_s: float) -> dict[str, Reading]:
        """What every channel says at a moment."""
        last = int(np.searchsorted(self.times, at_s, side="right")) - 1
        return {
            name: Reading(
                channel=name,
                quality=Quality.GOOD,
                value_si=float(one.shown[last]),
                at_s=float(self.times[last]),
            )
            for name, one in self.instruments.items()
        }

    def contexts(self, at_s: float, series: dict[str, Series]) -> dict[str, ChannelContext]:
        """What is known of every channel at a moment: causes up to then, the model's rate, second ways."""
        last = int(np.searchsorted(self.times, at_s, side="right")) - 1
        causes = tuple(cause for cause in self.causes_s if cause <= at_s)
        found = {}
        for name, one in self.instruments.items():
            rate = None if one.rate is None else float(one.rate[last]) * one.channel.unit.factor
            found[name] = ChannelContext(
                channel=one.channel,
                kind=one.kind,
                expected_rate_si_per_s=rate,
                may_cycle=one.may_cycle,
                causes_s=causes,
                refills_s=tuple(fill for fill in self.refills.get(name, ()) if fill <= at_s),
            )
        self._second_ways(found, series)
        return found

    def _second_ways(self, contexts: dict[str, ChannelContext], series: dict[str, Series]) -> None:
        charge, used = series["bat-1.charge"], series["bat-1.used"]
        full = 580.0 * 3600.0
        contexts["bat-1.charge"] = replace(
            contexts["bat-1.charge"],
            courses=(
                course_of_flow(
                    "bat-1.current", _scaled(series["bat-1.current"], 1 / full), -1.0, 0.09 / full
                ),
            ),
            pairs=(
                Pair(
                    store="bat-1",
                    other="bat-1.used",
                    own=Amounts(
                        times_s=charge.times_s,
                        values_si=charge.means_si * full,
                        sd_si=math.hypot(0.01, 0.01 / math.sqrt(12)) * full,
                    ),
                    others=Amounts(
                        times_s=used.times_s,
                        values_si=full - used.means_si,
                        sd_si=math.hypot(3.0, 0.5 / math.sqrt(12)) * 3600.0,
                    ),
                    unit=parse_unit("A*h"),
                ),
            ),
        )
        contexts["bat-1.used"] = replace(
            contexts["bat-1.used"],
            courses=(course_of_flow("bat-1.current", series["bat-1.current"], 1.0, 0.09),),
        )
        contexts["water-1.quantity"] = replace(
            contexts["water-1.quantity"],
            courses=(course_of_counter("water.flow", series["water.metered"], -1.0, 0.01 / 3600.0),),
        )


def _scaled(series: Series, factor: float) -> Series:
    return Series(
        times_s=series.times_s,
        means_si=series.means_si * factor,
        lows_si=series.lows_si * factor,
        highs_si=series.highs_si * factor,
        counts=series.counts,
    )


def world(seed: int, every_s: float, hours: float = 24.0) -> World:
    """A day with nothing wrong: wander, level changes, a refill, loads that cycle, coarse gauges, a gap."""
    random = np.random.default_rng(seed)
    times = np.arange(0.0, hours * H, every_s) + 93_000.0
    silent_s = times[0] + random.uniform(0.2, 0.45) * hours * H
    after = times - times[0]
    changes = np.sort(random.uniform(1 * H, hours * H, max(1, int(hours / 6))))
    levels = random.uniform(15.0, 60.0, len(changes) + 1)
    level = levels[np.searchsorted(changes, after, side="right")]
    load = level * np.exp(wander(times, 0.05, 1800.0, random))
    breath = np.exp(wander(times, 0.05, 3600.0, random))
    drink = np.exp(wander(times, 0.05, 3600.0, random))
    fill_s = random.uniform(0.3, 0.8) * hours * H

    def summed(rate: Floats) -> Floats:
        return np.cumsum(rate) * every_s

    def heater(amps: float, period_s: float, duty: float) -> Floats:
        """The share of each interval that it is on, as a meter of some damping sees it."""
        return amps * ((after / period_s + random.uniform()) % 1.0 < duty)

    share = load / 4.0
    off = math.exp(0.1 * random.standard_normal())  # the model's error
    oxygen_rate = 3.4 / 86400.0 * breath
    oxygen = 9.0 - summed(oxygen_rate)
    warmth = 287.0 + wander(times, 1.0, 2 * H, random)
    pressure = oxygen * warmth * 259.8 / 0.062 / 1e6  # near enough to an ideal gas here
    per_kg = float(pressure[0] / oxygen[0])
    water_rate = 1.1 / 3600.0 * load / 40.0
    filled = np.where(after >= fill_s, 20.0, 0.0)
    taken = summed(share) / 3600.0
    made = [
        Instrument(channel("bat-1.current", "A", 0.2, 0.1), ChannelKind.FLOW, share, None),
        Instrument(channel("bat-2.current", "A", 0.2, 0.1), ChannelKind.FLOW, share * 1.02, None),
        Instrument(channel("bat-3.current", "A", 0.2, 0.01), ChannelKind.FLOW, share * 0.97, None),
        Instrument(channel("bat-9.current", "A", 0.2, 0.1), ChannelKind.FLOW, 0 * after, None, fresh_sd=0.03),
        Instrument(
            channel("heat.current", "A", 0.2, 0.1),
            ChannelKind.FLOW,
            share
            + heater(3.0, random.uniform(480, 1500), 0.4)
            + heater(2.0, random.uniform(480, 1500), 0.25),
            None,
            may_cycle=True,
        ),
        Instrument(channel("bat-1.used", "A*h", 6, 0.5), ChannelKind.TAKEN, 90 + taken, off * share / 3600.0),
        Instrument(
            channel("bat-1.charge", "%", 2, 1),
            ChannelKind.HELD,
            100.0 * (1 - (90 + taken) / 580.0),
            -off * share / 3600.0 / 5.8,
        ),
        Instrument(
            channel("bat-9.used", "A*h", 4, 0.5), ChannelKind.TAKEN, np.full_like(after, 12.3), 0 * after
        ),
        Instrument(
            channel("o2-1.pressure", "MPa", 0.1, 0.02),
            ChannelKind.HELD,
            pressure,
            -off * oxygen_rate * per_kg,
        ),
        Instrument(
            channel("o2-9.pressure", "psi", 15, 5), ChannelKind.HELD, 1900.0 * warmth / 287.0, 0 * after
        ),
        Instrument(channel("o2-1.temperature", "K", 1.0, 0.1), ChannelKind.OTHER, warmth, None),
        Instrument(
            channel("water-1.quantity", "kg", 1.2, 0.1),
            ChannelKind.HELD,
            70.0 - summed(water_rate),
            -off * water_rate,
        ),
        Instrument(
            channel("water.metered", "kg", 0.02, 0.01),
            ChannelKind.TAKEN,
            summed(water_rate),
            off * water_rate,
        ),
        Instrument(
            channel("drink.quantity", "gal", 0.2, 0.1),
            ChannelKind.HELD,
            9.0 - summed(2.6 / 86400.0 * drink) + filled / 4,
            -off * 2.6 / 86400.0 * drink,
        ),
        Instrument(
            channel("coarse.quantity", "%", 2, 1),
            ChannelKind.HELD,
            80.0 - summed(0.5 / 3600.0 * drink),
            -off * 0.5 / 3600.0 * drink,
            fresh_sd=0.02,
        ),
        Instrument(
            channel("prop-1.quantity", "kg", 6, 1), ChannelKind.HELD, np.full_like(after, 601.3), 0 * after
        ),
        Instrument(
            channel("cart-1.used", "kg", 0.15, 0.01),
            ChannelKind.TAKEN,
            0.4 + summed(1.0 / 86400.0 * breath),
            off * 1.0 / 86400.0 * breath,
        ),
        Instrument(
            channel("cabin.pressure", "kPa", 0.3, 0.1),
            ChannelKind.OTHER,
            37.6 + wander(times, 0.2, H, random),
            None,
        ),
        Instrument(
            channel("cabin.ppco2", "Pa", 30, 10),
            ChannelKind.OTHER,
            520 + wander(times, 40.0, H, random),
            None,
        ),
        Instrument(
            channel("cabin.temperature", "degC", 0.5, 0.1),
            ChannelKind.OTHER,
            18 + 2 * np.sin(after / (24 * H) * 2 * math.pi) + wander(times, 0.4, 2 * H, random),
            None,
        ),
        Instrument(
            channel("bare.level", "kg", 0, 0),
            ChannelKind.HELD,
            40 - summed(0.3 / 3600 * drink),
            None,
            fresh_sd=0.2,
        ),
    ]
    base = float(times[0])
    made_world = World(
        times=times,
        instruments={one.channel.name: one for one in made},
        causes_s=tuple((changes + base).tolist()),
        refills={"drink.quantity": (base + fill_s,)},
        random=random,
    )
    for one in made:
        show(one, random)
    # For three quarters of an hour nobody reads anything.
    heard = (times < silent_s) | (times > silent_s + 2700.0)
    made_world.times = times[heard]
    for one in made:
        one.shown, one.truth = one.shown[heard], one.truth[heard]
        one.rate = None if one.rate is None else one.rate[heard]
    return made_world


def rows_of(times: Floats, values: Floats, width_s: float) -> Series:
    """Readings of one channel thinned to rows of a width, the mean of equal values being just that value."""
    starts = np.flatnonzero(np.diff(np.floor(times / width_s), prepend=-np.inf))
    counts = np.diff(np.append(starts, len(times))).astype(float)
    lows = np.minimum.reduceat(values, starts)
    sums = np.add.reduceat(values - np.repeat(lows, counts.astype(int)), starts)
    return Series(
        times_s=np.add.reduceat(times - times[0], starts) / counts + times[0],
        means_si=lows + sums / counts,
        lows_si=lows,
        highs_si=np.maximum.reduceat(values, starts),
        counts=counts,
    )


def judged_alone(
    times: Floats, values: Floats, context: ChannelContext, width_s: float = 1.0
) -> tuple[Verdict, ...]:
    """What is found of one channel at its newest reading."""
    name = context.channel.name
    reading = Reading(channel=name, quality=Quality.GOOD, value_si=float(values[-1]), at_s=float(times[-1]))
    series = {name: rows_of(times, values, width_s)}
    return verdicts_of(series, {name: context}, {name: reading}, float(times[-1]))[name]


def show(one: Instrument, random: np.random.Generator) -> None:
    """What an instrument shows of its truth: a steady bias, fresh noise, the display's steps."""
    unit, accuracy = one.channel.unit, one.channel.accuracy_si / one.channel.unit.factor
    fresh = accuracy / 4 if math.isnan(one.fresh_sd) else one.fresh_sd
    bias = accuracy * math.sqrt(3) / 4 * random.standard_normal()
    values = one.truth + bias + fresh * random.standard_normal(len(one.truth))
    step = one.channel.resolution_si / unit.factor
    if step > 0:
        values = np.round(values / step) * step
    if one.kind is ChannelKind.FLOW:
        values = np.maximum(values, 0.0)  # such meters know no other way
    one.shown = values * unit.factor + unit.offset


def in_steps(one: Instrument, values_si: Floats) -> Floats:
    """Values as its display would show them."""
    step = one.channel.resolution_si
    if not step:
        return values_si
    return np.round((values_si - one.channel.unit.offset) / step) * step + one.channel.unit.offset


def noise_si(one: Instrument) -> float:
    """One reading's fresh noise with its display's."""
    fresh = (
        one.channel.accuracy_si / 4 if math.isnan(one.fresh_sd) else one.fresh_sd * one.channel.unit.factor
    )
    return math.hypot(fresh, one.channel.resolution_si / math.sqrt(12))
