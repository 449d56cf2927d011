"""What a craft is: its supplies, stores, loads, levels, uses, bands and channels. Frozen, in SI.

A supply's amounts are in the SI unit of its own dimension (kg, m^3, A·s or J); names of such numbers end
in ``_si``, and of their rates in ``_si_per_s``. Nothing here reads files; ``console.scenario`` does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from console.craft.band_limits import BandLimits
from console.craft.cabin import Cabin
from console.craft.channels import Channel, Measured
from console.units import Dimension, Unit, UnitSystem


class StoreKind(Enum):
    """What a store is, which decides how its quantity is known."""

    BATTERY = "battery"
    GAS = "gas"
    LIQUID = "liquid"
    ABSORBENT = "absorbent"


class StoreState(Enum):
    """Whether a store gives: feeding, spare (an absorbent at hand, not fitted), isolated, protected.

    Isolated is aboard behind a shut valve, protected is locked and never counted. A spare cartridge counts as
    usable, because it is fitted within minutes, but it takes nothing up before that.
    """

    FEEDING = "feeding"
    SPARE = "spare"
    ISOLATED = "isolated"
    PROTECTED = "protected"

    @property
    def is_counted(self) -> bool:
        """Whether what such a store can give is usable now."""
        return self in (StoreState.FEEDING, StoreState.SPARE)


class LoadState(Enum):
    """What a load is doing."""

    ON = "on"
    STANDBY = "standby"
    OFF = "off"


class Activity(Enum):
    """What a person is doing, which decides what they breathe and give off."""

    ASLEEP = "asleep"
    REST = "rest"
    NOMINAL = "nominal"
    HEAVY = "heavy"


class Metabolic(Enum):
    """A person's consumption or product that a use can follow."""

    OXYGEN = "oxygen"
    CARBON_DIOXIDE = "carbon_dioxide"
    WATER_VAPOUR = "water_vapour"


class HeatSource(Enum):
    """Where heat that cooling water carries away can come from."""

    LOADS = "loads"
    CREW = "crew"


class Fluid(Enum):
    """A gas that a store can hold."""

    OXYGEN = "oxygen"
    NITROGEN = "nitrogen"


class BusSharing(Enum):
    """How batteries on one bus share its current: by capacity, or as their own meters say."""

    CAPACITY = "capacity"
    MEASURED = "measured"


@dataclass(frozen=True, kw_only=True, slots=True)
class Store:
    """One container of a supply. Which fields are set follows from its kind."""

    name: str
    kind: StoreKind
    state: StoreState
    capacity_si: float | None = None
    """What it holds when full; None where a gas bottle's rating is not given."""
    residual_si: float = 0.0
    """What it holds but cannot give, except where ``residual_pressure_pa`` says it for a gas."""
    quantity: Measured | None = None
    """A direct reading of what it holds, in the supply's SI unit, or as a share of the capacity."""
    quantity_is_share: bool = False
    used: Measured | None = None
    """A reading of what has been taken from it since it was full."""
    current: Measured | None = None
    """Battery: the current it gives, A."""
    peukert: float = 1.0
    """Battery: Peukert exponent; 1 means that the rate does not matter."""
    rated_current_a: float | None = None
    """Battery: the current at which the capacity was rated."""
    fluid: Fluid | None = None
    volume_m3: float | None = None
    pressure: Measured | None = None
    temperature: Measured | None = None
    """Of a gas, without which its pressure says nothing; of a battery, for ``capacity_at_temperature``."""
    residual_pressure_pa: float = 0.0
    """Gas: the regulator gives nothing below this pressure."""
    capacity_at_temperature: tuple[tuple[float, float], ...] = ()
    """Battery: (temperature K, fraction of the capacity it can give there), rising in temperature."""
    current_limit_a: float | None = None
    """Battery: the most it may be asked for, A."""
    sorbent: str | None = None
    """Absorbent: its chemical name, where the stoichiometric ceiling is to be checked."""
    outlet_pa: float | None = None
    """Absorbent: the partial pressure of CO2 let through at which its capacity holds; None where not said."""
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Supply:
    """One consumable as the crew lives on it."""

    name: str
    unit: Unit
    """The unit in which people read its amounts."""
    rate_unit: Unit
    """The unit in which people read its rates."""
    stores: tuple[Store, ...]
    bands: BandLimits
    reserve_si: float = 0.0
    reserve_note: str = ""
    """What the reserve is kept for."""
    released_si: float = 0.0
    """What logged decisions have released of the reserve; ``reserve_si`` is what they have left of it."""
    bus_voltage_v: float | None = None
    """Electrical supplies: turns amps into watts and back."""
    current_limit_a: float | None = None
    """Electrical supplies: the most that the bus may carry, A."""
    sharing: BusSharing = BusSharing.CAPACITY
    """Electrical supplies: how its batteries share the bus."""
    gas_density_kg_per_m3: float | None = None
    """A supply of gas in volumes: the density of that gas in the state at which its volume is stated."""
    rate: Measured | None = None
    """A meter of what is being taken from the whole supply."""

    @property
    def dimension(self) -> Dimension:
        """What its amounts measure."""
        return self.unit.dimension

    @property
    def is_electrical(self) -> bool:
        """Whether loads can draw from it."""
        return self.dimension in (Dimension.CHARGE, Dimension.ENERGY)


@dataclass(frozen=True, kw_only=True, slots=True)
class Load:
    """One piece of equipment on an electrical supply. Draws are in the supply's own rate (A or W)."""

    name: str
    supply: str
    on_si_per_s: float
    standby_si_per_s: float
    duty_fraction: float
    """Share of the time it draws while on; 1 for what runs steadily."""
    heat_fraction: float
    """Share of its power that ends as heat for the cooling to carry away."""
    priority: int
    """1 is the last to be switched off."""
    title: str = ""
    stays: bool = False
    """Whether it must not be proposed for switching off."""
    needs: tuple[str, ...] = ()
    """The loads without which it is of no use."""

    def draw_si_per_s(self, state: LoadState) -> float:
        """Mean draw in a state, A or W."""
        if state is LoadState.ON:
            return self.on_si_per_s * self.duty_fraction
        return self.standby_si_per_s if state is LoadState.STANDBY else 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Level:
    """A named configuration: the state of every load."""

    name: str
    states: Mapping[str, LoadState]


@dataclass(frozen=True, kw_only=True, slots=True)
class Use:
    """Anything that takes from a supply other than loads and events. Exactly one way of reckoning is set."""

    name: str
    supply: str
    rate_si_per_s: float | None = None
    """A constant rate."""
    per_person_si_per_s: float | None = None
    metabolic: Metabolic | None = None
    leak_si_per_s: float | None = None
    """A leak, at ``at_pressure_pa`` and in proportion to the cabin's pressure where that is given."""
    at_pressure_pa: float | None = None
    evaporates_heat_of: tuple[HeatSource, ...] = ()
    hole_m2: float | None = None
    """A leak through a hole of this area, by choked or unchoked flow."""
    discharge_coefficient: float = 1.0
    """Of that hole; 1 is the most that can pass."""
    outside_pa: float = 0.0
    """The pressure into which it leaks."""
    of_store: str | None = None
    """The store that leaks, by its own pressure; None for the cabin."""
    feed_temperature_k: float = 293.15
    """Cooling: temperature of the water that is fed, which sets its latent heat."""
    spread_fraction: float = 0.0
    """How sure the rate is: one standard deviation as a fraction of it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonRates:
    """What one person takes and gives in one activity."""

    oxygen_kg_per_s: float
    carbon_dioxide_kg_per_s: float
    water_vapour_kg_per_s: float
    heat_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A feeding line: cable, pipe or manifold through which stores of a supply give and can fail together."""

    name: str
    stores: tuple[str, ...]
    title: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Module:
    """A part of the craft that can be dropped, with what goes with it."""

    name: str
    mass_kg: float
    """Without what its stores hold of the propellant's supply."""
    stores: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Propulsion:
    """What turns propellant into a change of velocity."""

    supply: str
    dry_mass_kg: float
    """Mass of the whole craft, its modules too, without the usable propellant of that supply."""
    exhaust_velocity_m_per_s: float
    modules: tuple[Module, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Craft:
    """One craft as craft.yaml describes it."""

    name: str
    epoch: datetime
    crew_count: int
    person_rates: Mapping[Activity, PersonRates]
    supplies: Mapping[str, Supply]
    """In the order of the file, which is the order of the board."""
    loads: Mapping[str, Load]
    load_spread_fraction: float
    """How sure the loads' draws are together: one standard deviation as a fraction."""
    levels: Mapping[str, Level]
    uses: tuple[Use, ...]
    channels: Mapping[str, Channel]
    cabin: Cabin | None = None
    propulsion: Propulsion | None = None
    lines: tuple[Line, ...] = ()
    """Feeding lines, in the order of the file."""
    shown_in: UnitSystem = UnitSystem.AS_WRITTEN
    """The units in which people read its figures; ``Supply.unit`` is of that system already."""

    def store(self, name: str) -> tuple[Supply, Store]:
        """The store of that name, with its supply.

        Raises:
            KeyError: the craft has no such store.
        """
        for supply in self.supplies.values():
            for store in supply.stores:
                if store.name == name:
                    return supply, store
        raise KeyError(name)
