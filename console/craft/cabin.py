"""What the space the crew breathes in is: its air, its warmth, what holds them, its named limits. In SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from console.craft.band_limits import BandLimits
from console.craft.channels import Measured
from console.units import Unit


class CabinProperty(Enum):
    """A property of the cabin that a limit can be set on."""

    PRESSURE = "pressure"
    OXYGEN = "oxygen"
    INSPIRED_OXYGEN = "inspired_oxygen"
    CARBON_DIOXIDE = "carbon_dioxide"
    HUMIDITY = "humidity"
    TEMPERATURE = "temperature"
    APPARENT_TEMPERATURE = "apparent_temperature"


class LimitSide(Enum):
    """On which side of a limit it is broken."""

    ABOVE = "above"
    BELOW = "below"


class Regulated(Enum):
    """What the oxygen regulator of a cabin holds."""

    PRESSURE = "pressure"
    OXYGEN = "oxygen"


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinLimit:
    """A named limit on the cabin: what must not happen to a property, and who says so."""

    name: str
    of: CabinProperty
    side: LimitSide
    at_si: float
    """Pa, K, or a fraction: of saturation for humidity, of the whole pressure where ``is_share`` is set."""
    source: str
    """The document that sets it."""
    is_share: bool = False
    """Whether a gas is limited as its share of the whole pressure instead of by its own."""
    is_average: bool = False
    """Whether the document means an average over hours; it is taken at the moment, which is early."""
    unit: Unit | None = None
    """As it was written, for showing it so; None where that is not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Removal:
    """What takes carbon dioxide out of the cabin's air: a stream of it through the absorbent."""

    flow_m3_per_s: float
    efficiency_fraction: float
    """Share of the carbon dioxide in that stream which stays in the absorbent."""
    needs: tuple[str, ...] = ()
    """The loads without which there is no stream."""


@dataclass(frozen=True, kw_only=True, slots=True)
class OxygenFeed:
    """What makes up the cabin's oxygen."""

    holds: Regulated = Regulated.PRESSURE
    needs: tuple[str, ...] = ()
    """The loads without which nothing is fed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Drying:
    """What takes water vapour out of the cabin's air; it holds the humidity at or below a fraction."""

    humidity_fraction: float
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Thermal:
    """The cabin as one lumped node: what it stores, what its hull loses, what cools it."""

    heat_capacity_j_per_k: float
    conductance_w_per_k: float
    """Of the hull, to what lies outside."""
    outside: Measured
    """Temperature outside."""
    cooled_to_k: float | None = None
    """Cooling holds the cabin at or below this temperature while it works; None where there is none."""
    cooling_needs: tuple[str, ...] = ()
    """The loads without which nothing is cooled."""
    cooling_supply: str | None = None
    """The supply that the cooling evaporates; None for a craft that cools without."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cabin:
    """The space the crew breathes in, well mixed."""

    volume_m3: float
    bands: BandLimits | None = None
    """For its clocks; None where it has no limits."""
    pressure: Measured | None = None
    oxygen: Measured | None = None
    """Partial pressure of oxygen, or its share of the whole where ``oxygen_is_share``."""
    oxygen_is_share: bool = False
    carbon_dioxide: Measured | None = None
    """Partial pressure of carbon dioxide, or its share of the whole where ``carbon_dioxide_is_share``."""
    carbon_dioxide_is_share: bool = False
    temperature: Measured | None = None
    humidity: Measured | None = None
    """Relative humidity, a fraction of saturation."""
    removal: Removal | None = None
    """None where the absorbent's stream is not known: what it holds is then taken to stay as it is."""
    oxygen_feed: OxygenFeed | None = None
    """None for a sealed space that nothing is fed into."""
    drying: Drying | None = None
    thermal: Thermal | None = None
    limits: tuple[CabinLimit, ...] = ()
