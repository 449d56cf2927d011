"""What the stores of the simulated craft truly hold, and how a supply's stores share what is taken.

The truth, which no instrument reads exactly. It must not use anything of the engine's forecast.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from console.craft.cabin import Cabin
from console.craft.model import Fluid, Store, StoreKind, StoreState, Supply
from console.physics.battery import capacity_fraction, effective_draw_a
from console.physics.gas import GasRangeError, density_kg_per_m3, mass_kg, pressure_pa
from console.units import Dimension


class TrueStore:
    """One store as it truly is; amounts in the supply's SI unit."""

    def __init__(self, store: Store, supply: Supply, held_si: float, temperature_k: float) -> None:
        self.store = store
        self.held_si = held_si
        self.initial_si = held_si
        self.given_si = 0.0
        """What it gave since the start."""
        self.received_si = 0.0
        """What was put into it since the start."""
        self.lost_si = 0.0
        """What was lost since the start: by a battery that gives fast, by a bottle that leaks."""
        self.rate_si_per_s = 0.0
        """What it gave on average over the last step."""
        self.start_temperature_k = temperature_k
        self.temperature_k = temperature_k
        self.kg_per_si = supply.gas_density_kg_per_m3 or 1.0
        """Mass of each unit of a gas that is counted in volumes; 1 for what is counted in kilograms."""
        self._residual_si = _residual_si(store, temperature_k, self.kg_per_si)
        self._amps = _amps_per_rate(supply)
        self.is_watched = _is_watched(store)
        """Whether an instrument tells what it holds; a spare without one is drawn on last."""
        self._gas = None if store.fluid is None else _Gas(store.fluid, store.volume_m3)

    @property
    def can_give_si(self) -> float:
        """What is above its residual."""
        return max(self.held_si - self._residual_si, 0.0)

    @property
    def current_a(self) -> float | None:
        """The current it gives, for a store of an electrical supply."""
        return None if self._amps is None else self.rate_si_per_s * self._amps

    @property
    def pressure_pa(self) -> float | None:
        """Of a gas in a known volume; None where it cannot be reckoned."""
        gas = self._gas
        return None if gas is None else gas.pressure_pa(self.held_si * self.kg_per_si, self.temperature_k)

    @property
    def used_si(self) -> float:
        """What an instrument would have counted as taken since it was full, or since the start."""
        missing_si = 0.0
        if self.store.capacity_si is not None:
            # A cold battery is full at less; what it holds is what it can give as cold as it is.
            full = capacity_fraction(self.store.capacity_at_temperature, self.start_temperature_k)
            missing_si = self.store.capacity_si * full - self.initial_si
        return max(missing_si + self.given_si - self.received_si, 0.0)

    def give(self, wanted_si: float, dt_s: float) -> float:
        """Give an amount over some seconds as far as it is there; returns what was given."""
        cost = self._cost(wanted_si / dt_s)
        given_si = min(wanted_si, self.can_give_si / cost)
        self.given_si += given_si
        self.lost_si += given_si * (cost - 1.0)
        self.held_si = max(self.held_si - given_si * cost, 0.0)
        return given_si

    def begin(self, dt_s: float) -> None:
        """Count from now on; what it gave over the last seconds shows as its rate but is not gone."""
        self.rate_si_per_s = self.given_si / dt_s
        self.held_si, self.given_si, self.lost_si = self.initial_si, 0.0, 0.0

    def leak(self, amount_si: float) -> None:
        """Lose an amount to the outside, open or shut, and below its residual too."""
        lost_si = min(amount_si, self.held_si)
        self.lost_si += lost_si
        self.held_si -= lost_si

    def receive(self, amount_si: float) -> None:
        """Take an amount in."""
        self.received_si += amount_si
        self.held_si += amount_si

    @property
    def room_si(self) -> float:
        """How much more it can take."""
        if self.store.capacity_si is None:
            return float("inf")
        return max(self.store.capacity_si - self.held_si, 0.0)

    def _cost(self, rate_si_per_s: float) -> float:
        """How much leaves it for each unit that is given."""
        rated_a = self.store.rated_current_a
        if self.store.kind is not StoreKind.BATTERY or rated_a is None or self._amps is None:
            return 1.0
        current_a = rate_si_per_s * self._amps
        if current_a <= 0.0:
            return 1.0
        return effective_draw_a(current_a, rated_a, self.store.peukert) / current_a


def _residual_si(store: Store, temperature_k: float, kg_per_si: float) -> float:
    """What a store cannot give; of a gas, what is left at the pressure at which its regulator closes."""
    if store.fluid is None or store.volume_m3 is None or store.residual_pressure_pa <= 0.0:
        return store.residual_si
    try:
        return mass_kg(store.fluid, store.residual_pressure_pa, temperature_k, store.volume_m3) / kg_per_si
    except GasRangeError:
        return store.residual_si


def _amps_per_rate(supply: Supply) -> float | None:
    if supply.dimension is Dimension.CHARGE:
        return 1.0
    if supply.dimension is Dimension.ENERGY and supply.bus_voltage_v:
        return 1.0 / supply.bus_voltage_v
    return None


@dataclass(frozen=True, slots=True)
class Feeding:
    """The stores of a supply that give, as long as nothing is switched."""

    shared: tuple[TrueStore, ...]
    """They share in proportion to what they can give, so that they are empty together."""
    spares: tuple[TrueStore, ...]
    """They follow, one after the other."""


def feeding_of(stores: Mapping[str, TrueStore], states: Mapping[str, StoreState]) -> Feeding:
    """The stores of a supply that give: watched ones share, spares that none watches follow.

    Common practice, no source. Absorbents that are fitted stand side by side in one stream, watched or not.
    """
    feeding = [store for name, store in stores.items() if states[name] is StoreState.FEEDING]
    return Feeding(
        shared=tuple(store for store in feeding if store.is_watched),
        spares=tuple(store for store in feeding if not store.is_watched),
    )


def take(feeding: Feeding, wanted_si: float, dt_s: float) -> float:
    """Take an amount from a supply's feeding stores over some seconds; returns what could be had."""
    if wanted_si <= 0.0:
        return 0.0
    can_give_si = [store.can_give_si for store in feeding.shared]
    all_si = sum(can_give_si)
    taken_si = 0.0
    if all_si > 0.0:
        share = min(wanted_si / all_si, 1.0)
        for store, each_si in zip(feeding.shared, can_give_si, strict=True):
            taken_si += store.give(each_si * share, dt_s)
    for spare in feeding.spares:
        if taken_si < wanted_si:
            taken_si += spare.give(wanted_si - taken_si, dt_s)
    return min(taken_si, wanted_si)


class _Gas:
    """The pressure of a gas in a container, reckoned from the last one: from step to step little changes."""

    def __init__(self, fluid: Fluid, volume_m3: float | None) -> None:
        self._fluid = fluid
        self._volume_m3 = volume_m3
        self._last: tuple[float, float, float | None] = (0.0, 0.0, None)

    def pressure_pa(self, held_kg: float, temperature_k: float) -> float | None:
        """As ``physics.gas.pressure_pa``, to 1e-10 of it; None outside its range."""
        if self._volume_m3 is None:
            return None
        last_kg, last_k, last_pa = self._last
        if held_kg == last_kg and temperature_k == last_k and last_pa is not None:
            return last_pa
        found_pa = None
        try:
            if last_pa and held_kg > 0.0:
                start_pa = last_pa * held_kg * temperature_k / (last_kg * last_k)
                found_pa = self._near(start_pa, held_kg, temperature_k)
            if found_pa is None:
                found_pa = pressure_pa(self._fluid, held_kg, temperature_k, self._volume_m3)
        except GasRangeError:
            found_pa = None
        self._last = (held_kg, temperature_k, found_pa)
        return found_pa

    def _near(self, start_pa: float, held_kg: float, temperature_k: float) -> float | None:
        """By secant steps from a guess; None where it leads out of the range, or on for too long."""
        if self._volume_m3 is None:
            return None
        wanted_kg_per_m3 = held_kg / self._volume_m3
        before_pa, before_miss, here_pa = 0.0, -1.0, start_pa
        for _ in range(8):
            if not 0.0 < here_pa < NEARLY_HIGHEST_PA:
                return None
            miss = density_kg_per_m3(self._fluid, here_pa, temperature_k) / wanted_kg_per_m3 - 1.0
            if miss == before_miss:
                return here_pa
            following_pa = here_pa - miss * (here_pa - before_pa) / (miss - before_miss)
            if abs(following_pa - here_pa) <= 1e-10 * here_pa:
                return following_pa
            before_pa, before_miss, here_pa = here_pa, miss, following_pa
        return None


NEARLY_HIGHEST_PA = 29.0e6
"""Above it the equation of state ends soon, and only its own search knows where."""


def _is_watched(store: Store) -> bool:
    if store.kind is StoreKind.ABSORBENT:
        return True
    measured = (store.quantity, store.used, store.pressure)
    return any(each is not None and each.channel is not None for each in measured)


def temperature_sharers(stores: Sequence[TrueStore], cabin: Cabin | None) -> list[int | None]:
    """By store, the place of the first one that the same thermometer reads; None for what hangs outside."""
    thermal = None if cabin is None else cabin.thermal
    outside = None if thermal is None else thermal.outside.channel
    first: dict[str, int] = {}
    sharers: list[int | None] = []
    for index, true in enumerate(stores):
        measured = true.store.temperature
        channel = None if measured is None else measured.channel
        if channel is not None and channel == outside:
            sharers.append(None)
        else:
            sharers.append(index if channel is None else first.setdefault(channel, index))
    return sharers
