"""The demo scenario reckoned by hand: plain Python over the raw files, sharing no code with the product.

Central case only (no spread). It knows just as much of the file formats as the packaged scenarios use, takes
every reading as true, and must import nothing of the product. ``sealed_by_hand`` builds on it.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import yaml

LATENT_HEAT_10_DEGC_J_PER_KG = 2.47719e6
"""Water at 10 degC. Source: IAPWS-95."""
GAS_CONSTANT = 8.314462618
"""J/(mol K). Source: the SI's exact constants."""
OXYGEN_KG_PER_MOL = 0.031998
CARBON_DIOXIDE_KG_PER_MOL = 0.044009
"""Source: IUPAC's conventional atomic weights."""

# Pound and psi: NIST SP 811.
FACTORS = {
    "%": 0.01, "min": 60.0, "h": 3600.0, "kg": 1.0, "lb": 0.45359237, "kg/h": 1 / 3600.0,
    "kg/day": 1 / 86400.0, "A": 1.0, "A*h": 3600.0, "V": 1.0, "W": 1.0, "m^3": 1.0, "m/s": 1.0, "K": 1.0,
    "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "psi": 6894.757, "mmHg": 133.322387415, "bar": 1e5, "mbar": 100.0,
    "ppm": 1e-6, "kW*h": 3.6e6, "L": 1e-3, "L/h": 1e-3 / 3600.0, "L/day": 1e-3 / 86400.0, "kJ/K": 1e3,
    "W/K": 1.0, "lb/h": 0.45359237 / 3600.0, "ft^3": 0.3048**3, "gal": 231 * 0.0254**3,
    "gal/day": 231 * 0.0254**3 / 86400.0,
}  # fmt: skip

OXYGEN_PRESSURES_PA = (0.5e6, 1e6, 8e6, 9e6, 10e6, 11e6, 12e6, 13e6, 14e6)
OXYGEN_DENSITY_KG_PER_M3 = {  # by temperature in K, in the order of the pressures
    280.0: (6.902, 13.863, 116.789, 132.142, 147.586, 163.091, 178.623, 194.149, 209.634),
    284.0: (6.803, 13.660, 114.648, 129.655, 144.740, 159.876, 175.031, 190.175, 205.277),
    288.0: (6.707, 13.463, 112.599, 127.279, 142.026, 156.813, 171.614, 186.399, 201.140),
    292.0: (6.613, 13.273, 110.635, 125.006, 139.432, 153.891, 168.357, 182.803, 197.204),
    296.0: (6.522, 13.087, 108.751, 122.827, 136.951, 151.099, 165.248, 179.375, 193.455),
}
"""Source: the equation of Schmidt and Wagner (1985), computed with CoolProp 8.0.0."""


def si(text: str) -> float:
    """A quantity's text in SI."""
    match = re.fullmatch(r"([-+.\d]+) *(\S*)", text)
    assert match is not None, text
    number, unit = match.groups()
    if unit == "degF":
        return (float(number) - 32.0) / 1.8 + 273.15
    return float(number) + 273.15 if unit == "degC" else float(number) * FACTORS[unit]


def elapsed_s(text: str) -> float:
    """``T+12h30m`` in seconds."""
    match = re.fullmatch(r"T\+(?:(\d+)h)?(?:(\d+)m)?", text)
    assert match is not None, text
    hours, minutes = match.groups(default="0")
    return int(hours) * 3600.0 + int(minutes) * 60.0


def oxygen_density_kg_per_m3(pressure_pa: float, temperature_k: float) -> float:
    """Linear between the points of the table, which is right to 0.06 % inside it."""

    def in_row(row: tuple[float, ...]) -> float:
        for low, high, at_low, at_high in zip(
            OXYGEN_PRESSURES_PA, OXYGEN_PRESSURES_PA[1:], row, row[1:], strict=False
        ):
            if low <= pressure_pa <= high:
                return at_low + (at_high - at_low) * (pressure_pa - low) / (high - low)
        raise ValueError(f"{pressure_pa} Pa lies outside the table")

    temperatures = sorted(OXYGEN_DENSITY_KG_PER_M3)
    colder = max(point for point in temperatures if point <= temperature_k)
    warmer = min(point for point in temperatures if point > temperature_k)
    share = (temperature_k - colder) / (warmer - colder)
    return (1 - share) * in_row(OXYGEN_DENSITY_KG_PER_M3[colder]) + share * in_row(
        OXYGEN_DENSITY_KG_PER_M3[warmer]
    )


@dataclass
class Answer:
    """What the hand says of one supply under one option."""

    usable: float
    rate_plan: float
    endurance_now_h: float
    runs_out_s: float
    left_at_need: float
    allowance: float
    margin_h: float


class HandCraft:
    """One scenario folder, read raw, at the moment of its state file."""

    def __init__(self, folder: Path, stepped: dict[str, str] | None = None) -> None:
        def read(name: str) -> Any:
            # BaseLoader: every scalar stays a text, so that "on" is no truth value.
            return yaml.load((folder / name).read_text("utf-8"), Loader=yaml.BaseLoader)

        self.craft = read("craft.yaml")
        self.plan = read("plan.yaml")
        self.procedures = read("procedures.yaml")["procedures"]
        self.state = json.loads((folder / "state.json").read_text("utf-8"))
        epoch, at = (
            datetime.fromisoformat(text) for text in (self.craft["craft"]["epoch"], self.state["at"])
        )
        self.now_s = (at - epoch).total_seconds()
        self.stepped = stepped or {}
        """Loads put into another state by steps taken just now."""
        self.readings = {
            name: self._reading_si(name, value) for name, value in self.state["readings"].items()
        }

    def _reading_si(self, channel: str, value: Any) -> float:
        if isinstance(value, str):
            return si(value)
        unit = self.craft["channels"][channel]["unit"]
        if isinstance(value, dict):
            value, unit = value["value"], value.get("unit", unit)
        return si(f"{value} {unit}")

    def measured(self, written: Any) -> float:
        """A measured property: a channel's reading or a constant."""
        return self.readings[written["channel"]] if isinstance(written, dict) else si(written)

    # What is aboard

    def stores(self, supply: str) -> dict[str, Any]:
        return self.craft["supplies"][supply]["stores"]

    def store_state(self, store: dict[str, Any]) -> str:
        return "protected" if store.get("protected") == "true" else store.get("state", "feeding")

    def held(self, store: dict[str, Any]) -> float:
        """On board, in SI."""
        if "quantity" in store:
            return self.measured(store["quantity"])
        if "pressure" in store:
            density = oxygen_density_kg_per_m3(
                self.measured(store["pressure"]), self.measured(store["temperature"])
            )
            return density * si(store["volume"])
        return si(store["capacity"]) - (self.measured(store["used"]) if "used" in store else 0.0)

    def residual(self, store: dict[str, Any]) -> float:
        """What of it cannot be had, in SI."""
        if "residual_pressure" in store:
            density = oxygen_density_kg_per_m3(
                si(store["residual_pressure"]), self.measured(store["temperature"])
            )
            return density * si(store["volume"])
        written = store.get("residual", "0 %")
        return si(written) * si(store["capacity"]) if written.endswith("%") else si(written)

    def gives(self, store: dict[str, Any]) -> float:
        """What a store can give, in SI."""
        return max(self.held(store) - self.residual(store), 0.0)

    def reserve(self, supply: str) -> float:
        written = self.craft["supplies"][supply].get("reserve", "0 kg")
        return si(written["amount"] if isinstance(written, dict) else written)

    def states_now(self, supply: str, option: str) -> dict[str, str]:
        """By store, its state as the events up to now leave it."""
        states = {name: self.store_state(store) for name, store in self.stores(supply).items()}
        for event in self.every_event(option):
            if elapsed_s(event["at"]) <= self.now_s:
                states.update({name: state for name, state in moves_of(event).items() if name in states})
        return states

    def usable(self, supply: str, option: str) -> float:
        counted = [
            self.stores(supply)[name]
            for name, state in self.states_now(supply, option).items()
            if state in ("feeding", "spare")
        ]
        return sum(self.gives(store) for store in counted) - self.reserve(supply)

    # What is taken

    def level(self, name: str) -> dict[str, str]:
        written = dict(self.craft["levels"][name])
        below = written.pop("like", None)
        return {**(self.level(below) if below else dict.fromkeys(self.craft["loads"], "off")), **written}

    def draw(self, load: str, state: str) -> float:
        """Mean draw of one load in a state, A."""
        written = self.craft["loads"][load]
        if state == "on":
            return si(written["on"]) * si(written.get("duty", "100 %"))
        return si(written.get("standby", "0 A")) if state == "standby" else 0.0

    def bus_a(self, loads: dict[str, str]) -> float:
        return sum(self.draw(load, state) for load, state in loads.items())

    def battery_draw_a(self, bus_a: float, feeding: set[str]) -> float:
        """What the bus current costs the batteries, shared by capacity, with Peukert's exponent."""
        batteries = {name: store for name, store in self.stores("power").items() if name in feeding}
        whole = sum(si(store["capacity"]) for store in batteries.values())
        cost = 0.0
        for store in batteries.values():
            current = bus_a * si(store["capacity"]) / whole
            over = current / si(store["rated_current"])
            cost += current * max(1.0, over ** (float(store["peukert"]) - 1.0))
        return cost

    def heat_w(self, loads: dict[str, str]) -> float:
        volts = si(self.craft["supplies"]["power"]["bus_voltage"])
        heat = 0.0
        for load, state in loads.items():
            written = self.craft["loads"][load].get("heat", "100 %")
            heat += self.draw(load, state) * volts * (0.0 if written == "none" else si(written))
        return heat

    def rates(self, loads: dict[str, str], crew: dict[str, int], feeding: set[str]) -> dict[str, float]:
        """What is taken from each supply while nothing changes, in SI per second."""
        person = self.craft["crew"]["rates"]

        def together(product: str) -> float:
            return sum(count * si(person[activity][product]) for activity, count in crew.items())

        uses = self.craft["uses"]
        leak = si(uses["cabin-leak"]["leak"]) * (
            self.measured(self.craft["cabin"]["pressure"]) / si(uses["cabin-leak"]["at_pressure"])
        )
        heat_w = self.heat_w(loads) + together("heat")
        return {
            "power": self.battery_draw_a(self.bus_a(loads), feeding),
            "oxygen": together("oxygen") + leak,
            "water": heat_w / LATENT_HEAT_10_DEGC_J_PER_KG
            + sum(crew.values()) * si(uses["drinking"]["per_person"]),
            "absorbent": together("carbon_dioxide"),
            "propellant": si(uses["attitude"]["rate"]),
        }

    def used_since_epoch(self, supply: str, name: str) -> float:
        """What the phases flown up to now should have taken, with no battery tied in since."""
        feeding = {
            store for store, written in self.stores("power").items() if self.store_state(written) == "feeding"
        }
        phases = self.phases(name)
        starts_s = [elapsed_s(phase["start"]) for phase in phases]
        used = 0.0
        for phase, start_s, end_s in zip(phases, starts_s, [*starts_s[1:], math.inf], strict=True):
            rate = self.rates(self.level(phase["level"]), self.roster(phase), feeding)[supply]
            used += rate * max(0.0, min(end_s, self.now_s) - start_s)
        return used

    # What is planned

    def option(self, name: str) -> dict[str, Any]:
        return self.plan["options"][name]

    def need_s(self, name: str) -> float:
        option = self.option(name)
        delays_s = [si(option.get(delay, "0 h")) for delay in ("recovery", "hold")]
        return elapsed_s(option["arrival"]) + sum(delays_s)

    def phases(self, name: str) -> list[dict[str, Any]]:
        own = self.option(name).get("phases", [])
        plan = self.plan["phases"]
        if own:
            plan = [phase for phase in plan if elapsed_s(phase["start"]) < elapsed_s(own[0]["start"])]
        return [*plan, *own]

    def roster(self, phase: dict[str, Any]) -> dict[str, int]:
        written = phase.get("crew", {"nominal": self.craft["crew"]["count"]})
        return {activity: int(count) for activity, count in written.items()}

    def phase_index(self, phases: list[dict[str, Any]], at_s: float) -> int:
        return max(index for index, phase in enumerate(phases) if elapsed_s(phase["start"]) <= at_s)

    def loads_at(self, phases: list[dict[str, Any]], at_s: float) -> dict[str, str]:
        """The level's states, except where a step holds a load that no phase has moved since now."""
        index, first = self.phase_index(phases, at_s), self.phase_index(phases, self.now_s)
        loads = self.level(phases[index]["level"])
        for load, state in self.stepped.items():
            flown = [self.level(phase["level"])[load] for phase in phases[first : index + 1]]
            if len(set(flown)) == 1:
                loads[load] = state
        return loads

    def every_event(self, name: str) -> list[dict[str, Any]]:
        every = [*self.plan["events"], *self.option(name).get("events", [])]
        return sorted(every, key=lambda event: elapsed_s(event["at"]))

    def events(self, name: str) -> list[dict[str, Any]]:
        """Those ahead, in order of time."""
        return [event for event in self.every_event(name) if elapsed_s(event["at"]) > self.now_s]

    def taken(self, event: dict[str, Any], supply: str, usable: float, dropped: set[str]) -> float:
        """What an event takes from a supply of which so much is usable, other than by moving stores."""
        taken = si(event.get("uses", {}).get(supply, "0 kg"))
        if "transfer" in event and event["transfer"]["from"] == supply:
            taken += si(event["transfer"]["amount"]) / si(event["transfer"]["efficiency"])
        filling = event.get("repressurise")
        if filling is not None and filling["supply"] == supply:
            volume = si(filling.get("volume", self.craft["cabin"]["volume"]))
            rise = si(filling["to"]) - si(filling.get("from", "0 kPa"))
            # An ideal gas: at cabin pressure oxygen is within 0.1 % of it.
            taken += rise * volume * OXYGEN_KG_PER_MOL / (GAS_CONSTANT * si(filling["temperature"]))
        propulsion = self.craft.get("propulsion", {})
        if "burn" in event and propulsion["supply"] == supply:
            dry = si(propulsion["dry_mass"]) - sum(
                si(propulsion["modules"][name]["mass"]) for name in dropped
            )
            taken += (dry + usable) * (
                1.0 - math.exp(-si(event["burn"]) / si(propulsion["exhaust_velocity"]))
            )
        return taken

    def answer(self, name: str, supply: str) -> Answer:
        """Walk from change to change until the supply is gone."""
        phases, events, need_s = self.phases(name), self.events(name), self.need_s(name)
        moments = sorted(
            {self.now_s, need_s, *(elapsed_s(event["at"]) for event in events)}
            | {elapsed_s(phase["start"]) for phase in phases if elapsed_s(phase["start"]) > self.now_s}
        )
        walk = Walk(self, supply, name)
        amount = usable = self.usable(supply, name)
        runs_out_s, left, jumps, rate_now = math.inf, math.nan, 0.0, math.nan
        for start_s, end_s in zip(moments, [*moments[1:], math.inf], strict=True):
            for event in (event for event in events if elapsed_s(event["at"]) == start_s <= need_s):
                added = walk.happen(event, amount)
                amount += added
                jumps += added
            if amount <= 0.0:
                runs_out_s = min(runs_out_s, start_s)
            if start_s == need_s:
                left = amount
            loads = self.loads_at(phases, start_s)
            crew = self.roster(phases[self.phase_index(phases, start_s)])
            rate = self.rates(loads, crew, walk.feeding)[supply]
            if start_s == self.now_s:
                rate_now = rate
            if rate > 0.0 and amount - rate * (end_s - start_s) <= 0.0:
                runs_out_s = min(runs_out_s, start_s + amount / rate)
            amount -= rate * (end_s - start_s)
            walk.share(rate * (end_s - start_s))
        return Answer(
            usable=usable,
            rate_plan=rate_now,
            endurance_now_h=usable / rate_now / 3600.0 if rate_now else math.inf,
            runs_out_s=runs_out_s,
            left_at_need=left,
            allowance=(usable + jumps) / (need_s - self.now_s),
            margin_h=(runs_out_s - need_s) / 3600.0,
        )


class Walk:
    """What the stores of one supply hold on the way, for what a store that is shut takes with it."""

    def __init__(self, hand: HandCraft, supply: str, option: str) -> None:
        self.hand, self.supply = hand, supply
        self.states = hand.states_now(supply, option)
        self.power_states = hand.states_now("power", option)
        self.left = {name: hand.gives(store) for name, store in hand.stores(supply).items()}
        self.dropped: set[str] = set()

    @property
    def feeding(self) -> set[str]:
        """The batteries that feed."""
        return {name for name, state in self.power_states.items() if state == "feeding"}

    def share(self, amount: float) -> None:
        """Take an amount from the feeding stores in proportion to what each can give."""
        feeding = [name for name, state in self.states.items() if state == "feeding"]
        whole = sum(self.left[name] for name in feeding)
        for name in feeding:
            self.left[name] -= self.left[name] * min(amount / whole, 1.0) if whole > 0.0 else 0.0

    def happen(self, event: dict[str, Any], usable: float) -> float:
        """Let an event happen; returns what it adds to the usable amount."""
        taken = self.hand.taken(event, self.supply, usable, self.dropped)
        self.share(taken)
        added = -taken
        moves = moves_of(event)
        drops = event.get("drop", [])
        for module in [drops] if isinstance(drops, str) else drops:
            self.dropped.add(module)
            stores = self.hand.craft["propulsion"]["modules"][module].get("stores", [])
            moves.update(dict.fromkeys(stores, "isolated"))
        for name, state in moves.items():
            if name in self.power_states:
                self.power_states[name] = state
            if name in self.states:
                did, does = (one in ("feeding", "spare") for one in (self.states[name], state))
                added += self.left[name] * (does - did)
                self.states[name] = state
        return added


def moves_of(event: dict[str, Any]) -> dict[str, str]:
    """By store, the state that an event puts it into."""
    moves = dict(event.get("set", {}))
    for key, state in (("out", "isolated"), ("in", "feeding")):
        named = event.get("change_out", {}).get(key, [])
        moves.update(dict.fromkeys([named] if isinstance(named, str) else named, state))
    return moves


def print_table(hand: HandCraft) -> None:
    """Every margin of every way home, for a person who tunes the scenario."""
    for option in hand.plan["options"]:
        print(f"{option}: need in {(hand.need_s(option) - hand.now_s) / 3600:.2f} h")
        for supply, written in hand.craft["supplies"].items():
            answer, unit = hand.answer(option, supply), FACTORS[written["unit"]]
            per_rate = 3600.0 / unit
            print(
                f"  {supply:11}usable {answer.usable / unit:8.2f}  rate {answer.rate_plan * per_rate:7.3f}"
                f"  at this rate {answer.endurance_now_h:7.2f} h  margin {answer.margin_h:+8.2f} h"
                f"  left {answer.left_at_need / unit:+8.2f}  allowance {answer.allowance * per_rate:7.3f}"
            )


if __name__ == "__main__":
    print_table(HandCraft(Path(__file__).parents[2] / "configs" / "tern"))
