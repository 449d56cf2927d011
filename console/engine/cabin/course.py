"""How the cabin's air and warmth go: closed forms, piece by piece, for all suppositions and samples at once.

Five quantities: oxygen, CO2, the inert rest and water as partial pressures in Pa at the temperature of the
readings, and the temperature in K. Each goes by dx/dt = gain - decay x inside a piece and never turns there.
Water is what is in the air and what has condensed and may evaporate again; the air holds of it what the
temperature, and drying, allow. Arrays have shape (quantities, pieces, suppositions, rows).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from console.engine.cabin.air import Air, Flags, by_law, ordered, saturation_at_reading_pa
from console.engine.cabin.pieces import Pieces
from console.engine.draws import Floats
from console.physics.first_order import after, gained_s, kept

Indices = NDArray[np.intp]

OXYGEN: Final = 0
CARBON_DIOXIDE: Final = 1
REST: Final = 2
WATER: Final = 3
TEMPERATURE: Final = 4
QUANTITIES: Final = 5


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Forcing:
    """What acts on the cabin in each piece; arrays broadcast to (pieces, suppositions, rows)."""

    pieces: Pieces
    gains: tuple[Floats, ...]
    """By quantity, per second."""
    decays: tuple[Floats, ...]
    fills: Flags
    holds_oxygen: Flags
    dioxide_leaks: Flags
    """Where nothing but the leak takes CO2."""
    cools_to_k: Floats
    """What cooling holds the temperature at or below; infinite where it does not work."""
    dries_to: Floats
    """What drying holds the humidity at or below; 1, saturation, where it does not work."""
    has_water: bool
    """Whether the humidity is known, so that water is reckoned at all."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Readings:
    """Where the course starts: each quantity's value and the moment from which it is reckoned.

    Values have shape (rows,). Before its own moment a quantity stays at what was read.
    """

    oxygen_pa: Floats
    carbon_dioxide_pa: Floats
    pressure_pa: Floats
    humidity: Floats
    temperature_k: Floats
    since_s: dict[str, float]
    """By the names of these fields."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Course:
    """The cabin from the oldest reading on until the horizon."""

    forcing: Forcing
    starts: Floats
    """(quantities, pieces, suppositions, rows): each quantity at the start of each piece."""
    begins: Air
    """The state at the start of each piece, (pieces, suppositions, rows)."""
    ends: Air
    """The same just before its end, before anything is switched."""
    lowest: Air
    """Of each quantity in each piece."""
    highest: Air
    cools_to_k: Floats
    """(pieces, suppositions, rows): what cooling keeps the temperature at or below in each piece."""
    humidity_caps: Floats
    """The same for the humidity."""
    set_pa: Floats
    read_at_k: Floats

    def _saturation_pa(self, temperature_k: Floats, read_at_k: Floats) -> Floats:
        if not self.forcing.has_water:
            return np.ones_like(temperature_k)
        return saturation_at_reading_pa(temperature_k, read_at_k)

    def within(
        self, piece: Indices, supposition: Indices, row: Indices, into_s: Floats, *, has_gases: bool = True
    ) -> Air:
        """The state some time into chosen pieces: indices of shape (n,), times of shape (times, n).

        Without ``has_gases`` the dry gases are left at nothing, and with it so is the temperature where no
        vapour is reckoned: for what does not ask for them.
        """
        shape, whole = self.cools_to_k.shape, into_s.shape
        chosen = (piece, supposition, row)
        forcing = self.forcing

        def gain(quantity: int) -> Floats:
            return np.broadcast_to(forcing.gains[quantity], shape)[chosen]

        def start(quantity: int) -> Floats:
            values: Floats = self.starts[quantity][chosen]
            return values

        def own(quantity: int) -> Floats:
            decay = np.broadcast_to(forcing.decays[quantity], shape)[chosen]
            return after(start(quantity), gain(quantity), decay, into_s)

        # Oxygen, rest and water are lost by the leak alone, so that one exponential serves all three.
        leak = np.broadcast_to(forcing.decays[REST], shape)[chosen]
        left, gained = kept(leak, into_s), gained_s(leak, into_s)
        temperature = saturation = water = oxygen = dioxide = rest = leaking = taken_up = np.zeros(whole)
        if forcing.has_water or not has_gases:
            temperature = np.minimum(own(TEMPERATURE), self.cools_to_k[chosen])
            saturation = self._saturation_pa(temperature, self.read_at_k[row])
            water = start(WATER) * left + gain(WATER) * gained
        if has_gases:
            holds = np.broadcast_to(forcing.holds_oxygen, shape)[chosen]
            oxygen = np.where(holds, start(OXYGEN), start(OXYGEN) * left + gain(OXYGEN) * gained)
            dioxide, rest = own(CARBON_DIOXIDE), start(REST) * left
            is_leaking = np.broadcast_to(forcing.dioxide_leaks, shape)[chosen]
            leaking, taken_up = by_law(oxygen, dioxide, rest, is_leaking)
        return Air(
            oxygen_pa=oxygen,
            carbon_dioxide_pa=dioxide,
            rest_pa=rest,
            leaking_pa=leaking,
            taken_up_pa=taken_up,
            water_pa=water,
            saturation_pa=saturation,
            temperature_k=temperature,
            fills=np.broadcast_to(np.broadcast_to(forcing.fills, shape)[chosen], whole),
            set_pa=np.broadcast_to(self.set_pa[row], whole),
            humidity_cap=np.broadcast_to(self.humidity_caps[chosen], whole),
        )


def course_of(forcing: Forcing, readings: Readings, suppositions: int) -> Course:
    """The course of the cabin from its readings on."""
    pieces = forcing.pieces
    shape = (len(pieces.starts_s), suppositions, pieces.rows)
    starts, ends = np.zeros((QUANTITIES, *shape)), np.zeros((QUANTITIES, *shape))
    cools_to, caps = np.full(shape, np.inf), np.ones(shape)
    most_at_start, most_at_end = np.ones(shape), np.ones(shape)
    left = np.empty((QUANTITIES, *shape))
    added = np.empty((QUANTITIES, *shape))
    spans = pieces.spans_s[:, None, :]
    for quantity in range(QUANTITIES):
        left[quantity] = kept(forcing.decays[quantity], spans)
        added[quantity] = forcing.gains[quantity] * gained_s(forcing.decays[quantity], spans)
    fills = np.broadcast_to(forcing.fills, shape)
    holds = np.broadcast_to(forcing.holds_oxygen, shape)
    cooling = np.broadcast_to(forcing.cools_to_k, shape)
    drying = np.broadcast_to(forcing.dries_to, shape)
    state = np.zeros((QUANTITIES, *shape[1:]))
    for piece in range(shape[0]):
        _read(state, readings, pieces.starts_s[piece], forcing.has_water)
        # What has warmed or moistened beyond what is held keeps that: how fast it would be brought back is
        # not known, and a reading must not be talked down.
        cools_to[piece] = _held_at(cooling[piece], state[TEMPERATURE])
        if forcing.has_water:
            most = saturation_at_reading_pa(state[TEMPERATURE], readings.temperature_k)
            most_at_start[piece] = most
            caps[piece] = np.minimum(np.maximum(drying[piece], state[WATER] / most), 1.0)
        _regulate(state, readings, fills[piece], holds[piece], caps[piece] * most_at_start[piece])
        starts[:, piece] = state
        state = state * left[:, piece] + added[:, piece]
        state[OXYGEN] = np.maximum(state[OXYGEN], 0.0)
        state[TEMPERATURE] = np.minimum(state[TEMPERATURE], cools_to[piece])
        ends[:, piece] = state
        if forcing.has_water:
            most_at_end[piece] = saturation_at_reading_pa(state[TEMPERATURE], readings.temperature_k)
            # What is dried away is gone; what has condensed otherwise is still aboard.
            most = np.where(drying[piece] < 1.0, caps[piece] * most_at_end[piece], np.inf)
            state[WATER] = np.minimum(state[WATER], most)
        _regulate(state, readings, fills[piece], holds[piece], caps[piece] * most_at_end[piece])
    beginning = _air(forcing, readings, starts, most_at_start, caps)
    ending = _air(forcing, readings, ends, most_at_end, caps)
    lowest, highest = ordered(beginning, ending)
    return Course(
        forcing=forcing,
        starts=starts,
        begins=beginning,
        ends=ending,
        lowest=lowest,
        highest=highest,
        cools_to_k=cools_to,
        humidity_caps=caps,
        set_pa=readings.pressure_pa,
        read_at_k=readings.temperature_k,
    )


def _air(forcing: Forcing, readings: Readings, values: Floats, saturation: Floats, caps: Floats) -> Air:
    """The state at one end of every piece."""
    shape = caps.shape
    is_leaking = np.broadcast_to(forcing.dioxide_leaks, shape)
    leaking, taken_up = by_law(values[OXYGEN], values[CARBON_DIOXIDE], values[REST], is_leaking)
    return Air(
        oxygen_pa=values[OXYGEN],
        carbon_dioxide_pa=values[CARBON_DIOXIDE],
        rest_pa=values[REST],
        leaking_pa=leaking,
        taken_up_pa=taken_up,
        water_pa=values[WATER],
        saturation_pa=saturation,
        temperature_k=values[TEMPERATURE],
        fills=np.broadcast_to(forcing.fills, shape),
        set_pa=np.broadcast_to(readings.pressure_pa, shape),
        humidity_cap=caps,
    )


def _held_at(limit: Floats, present: Floats) -> Floats:
    return np.where(np.isfinite(limit), np.maximum(limit, present), np.inf)


def _read(state: Floats, readings: Readings, at_s: Floats, has_water: bool) -> None:
    """Put into the state what is read at or after a moment of each row: it holds as read until then."""

    def put(quantity: int, name: str, value: Floats) -> None:
        state[quantity] = np.where(at_s <= readings.since_s[name] + 1e-6, value, state[quantity])

    put(OXYGEN, "oxygen_pa", readings.oxygen_pa)
    put(CARBON_DIOXIDE, "carbon_dioxide_pa", readings.carbon_dioxide_pa)
    put(TEMPERATURE, "temperature_k", readings.temperature_k)
    warmth = state[TEMPERATURE]
    vapour = np.zeros_like(warmth)
    if has_water:
        most = saturation_at_reading_pa(warmth, readings.temperature_k)
        put(WATER, "humidity", readings.humidity * most)
        vapour = np.minimum(state[WATER], most)
    rest = readings.pressure_pa - state[OXYGEN] - state[CARBON_DIOXIDE] - vapour
    put(REST, "pressure_pa", np.maximum(rest, 0.0))


def _regulate(state: Floats, readings: Readings, fills: Flags, holds: Flags, most_vapour: Floats) -> None:
    """Let the regulator set the oxygen where it works.

    It is taken as one that holds its pressure exactly. Where CO2 and vapour grow faster than oxygen is used,
    a true one shuts, and the whole pressure stands above what is reckoned here by as much: for vapour once,
    until the air is saturated. Oxygen then falls and stands no lower than is reckoned here, so its low limits
    come early; a high one can only be reached while oxygen flows, when both agree.
    """
    if holds.any():
        state[OXYGEN] = np.where(holds, readings.oxygen_pa, state[OXYGEN])
    if fills.any():
        vapour = np.minimum(state[WATER], most_vapour)
        left = readings.pressure_pa - state[CARBON_DIOXIDE] - state[REST] - vapour
        state[OXYGEN] = np.where(fills, np.maximum(left, 0.0), state[OXYGEN])
