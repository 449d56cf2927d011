"""What the cabin's instruments say, each from its own moment on, with its error.

A reading of this minute counts as one of now; any other as one of its own moment, so that an old reading
makes no clock look longer. A share is turned into a partial pressure here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.model import Craft
from console.engine.holding import THIS_MINUTE_S
from console.engine.quantity import read_value, worst
from console.engine.reading import FeedState, Quality


@dataclass(frozen=True, kw_only=True, slots=True)
class Gauge:
    """One property of the cabin as it was read."""

    name: str
    """Its channel, or the property where the config states it: what its error's luck goes by."""
    value_si: float | None
    """None where there is none, with the reason in ``why``."""
    sd_si: float
    read_at_s: float | None
    """None for a constant of the config."""
    since_s: float
    """The moment from which on it is reckoned: now, or its own."""
    quality: Quality
    why: str
    resolution_si: float = 0.0

    def is_carried(self, at_s: float) -> bool:
        """Whether it is so old that the plan must carry it to now."""
        return self.value_si is not None and self.since_s < at_s


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinGauges:
    """All of the cabin's properties; None for what the config does not name."""

    at_s: float
    pressure: Gauge | None
    oxygen: Gauge | None
    """Partial pressure, Pa."""
    carbon_dioxide: Gauge | None
    """Partial pressure, Pa."""
    temperature: Gauge | None
    humidity: Gauge | None
    outside: Gauge | None
    oxygen_share: Gauge | None = None
    """As the instrument reads it, where it reads a share."""
    carbon_dioxide_share: Gauge | None = None

    @property
    def all(self) -> tuple[Gauge, ...]:
        """Those that the config names."""
        named = (
            self.pressure,
            self.oxygen,
            self.carbon_dioxide,
            self.temperature,
            self.humidity,
            self.outside,
        )
        return tuple(gauge for gauge in named if gauge is not None)

    @property
    def from_s(self) -> float:
        """The moment of the oldest reading that the plan must carry; else now."""
        known = [gauge.since_s for gauge in self.all if gauge.value_si is not None]
        return min(known, default=self.at_s)

    def as_if_now(self) -> CabinGauges:
        """The same readings, each taken as one of now."""
        fields = ("pressure", "oxygen", "carbon_dioxide", "temperature", "humidity", "outside")
        changed: dict[str, Gauge] = {}
        for field in fields:
            gauge: Gauge | None = getattr(self, field)
            if gauge is not None:
                changed[field] = replace(gauge, since_s=self.at_s)
        return replace(self, **changed)  # type: ignore[arg-type]  # the names are its own fields


def cabin_gauges(craft: Craft, cabin: Cabin, feed: FeedState, at_s: float) -> CabinGauges:
    """The cabin's properties as they were last read."""

    def gauge(name: str, measured: Measured | None) -> Gauge | None:
        return None if measured is None else _gauge(craft, feed, name, measured, at_s)

    pressure = gauge("pressure", cabin.pressure)
    oxygen = gauge("oxygen", cabin.oxygen)
    carbon_dioxide = gauge("carbon dioxide", cabin.carbon_dioxide)
    return CabinGauges(
        at_s=at_s,
        pressure=pressure,
        oxygen=_partial(oxygen, pressure) if cabin.oxygen_is_share else oxygen,
        carbon_dioxide=(
            _partial(carbon_dioxide, pressure) if cabin.carbon_dioxide_is_share else carbon_dioxide
        ),
        temperature=gauge("temperature", cabin.temperature),
        humidity=gauge("humidity", cabin.humidity),
        outside=gauge("outside", None if cabin.thermal is None else cabin.thermal.outside),
        oxygen_share=oxygen if cabin.oxygen_is_share else None,
        carbon_dioxide_share=carbon_dioxide if cabin.carbon_dioxide_is_share else None,
    )


def _gauge(craft: Craft, feed: FeedState, name: str, measured: Measured, at_s: float) -> Gauge:
    value = read_value(measured, feed.readings, craft.channels)
    is_of_now = value.at_s is None or at_s - value.at_s <= THIS_MINUTE_S
    channel = None if measured.channel is None else craft.channels[measured.channel]
    why = value.why
    if value.value_si is None and not why:
        why = f"{measured.channel or name}: no reading"
    return Gauge(
        name=measured.channel or name,
        value_si=value.value_si,
        sd_si=value.sd_si,
        read_at_s=value.at_s,
        since_s=at_s if is_of_now or value.at_s is None else value.at_s,
        quality=value.quality,
        why=why,
        resolution_si=0.0 if channel is None else channel.resolution_si,
    )


def _partial(share: Gauge | None, pressure: Gauge | None) -> Gauge | None:
    """The partial pressure of a gas that is read as a share of the whole."""
    if share is None:
        return None
    if pressure is None:
        return replace(share, value_si=None, why=f"{share.name}: a share, and the whole pressure is not read")
    if share.value_si is None or pressure.value_si is None:
        missing = share if share.value_si is None else pressure
        return replace(share, value_si=None, quality=worst(share.quality, missing.quality), why=missing.why)
    times = [gauge.read_at_s for gauge in (share, pressure) if gauge.read_at_s is not None]
    return replace(
        share,
        value_si=share.value_si * pressure.value_si,
        # The whole pressure's own error moves a share's partial pressure in proportion.
        sd_si=math.hypot(share.sd_si * pressure.value_si, pressure.sd_si * share.value_si),
        read_at_s=min(times, default=None),
        since_s=min(share.since_s, pressure.since_s),
        quality=worst(share.quality, pressure.quality),
        why="; ".join(filter(None, (share.why, pressure.why))),
        resolution_si=share.resolution_si * pressure.value_si,
    )
