"""The demo scenario reckoned by hand: plain Python over the raw files, sharing no code with the product.

Central case only (no spread). It knows just as much of the file formats as this one scenario uses, takes
every reading as true, and must import nothing of the product.
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

# Pound and psi: NIST SP 811.
FACTORS = {
    "%": 0.01, "min": 60.0, "h": 3600.0, "kg": 1.0, "lb": 0.45359237, "kg/h": 1 / 3600.0,
    "kg/day": 1 / 86400.0, "A": 1.0, "A*h": 3600.0, "V": 1.0, "W": 1.0, "m^3": 1.0, "m/s": 1.0, "K": 1.0,
    "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "psi": 6894.757, "mmHg": 133.322387415,
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

    def usable(self, supply: str) -> float:
        feeding = [store for store in self.stores(supply).values() if self.store_state(store) == "feeding"]
        reserve = si(self.craft["supplies"][supply].get("reserve", "0 kg"))
        return sum(self.held(store) - self.residual(store) for store in feeding) - reserve

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

    def events(self, name: str) -> list[dict[str, Any]]:
        """Those ahead, in order of time."""
        every = [*self.plan["events"], *self.option(name).get("events", [])]
        return sorted(
            (event for event in every if elapsed_s(event["at"]) > self.now_s),
            key=lambda event: elapsed_s(event["at"]),
        )

    def jump(self, event: dict[str, Any], supply: str) -> float:
        """What an event adds to a supply's usable amount; negative for what it takes."""
        added = -si(event.get("uses", {}).get(supply, "0 kg"))
        if "transfer" in event and event["transfer"]["from"] == supply:
            added -= si(event["transfer"]["amount"]) / si(event["transfer"]["efficiency"])
        for store, state in event.get("set", {}).items():
            if state == "feeding" and store in self.stores(supply):
                added += self.held(self.stores(supply)[store]) - self.residual(self.stores(supply)[store])
        return added

    def answer(self, name: str, supply: str) -> Answer:
        """Walk from change to change until the supply is gone."""
        phases, events, need_s = self.phases(name), self.events(name), self.need_s(name)
        feeding = {
            store for store, written in self.stores("power").items() if self.store_state(written) == "feeding"
        }
        moments = sorted(
            {self.now_s, need_s, *(elapsed_s(event["at"]) for event in events)}
            | {elapsed_s(phase["start"]) for phase in phases if elapsed_s(phase["start"]) > self.now_s}
        )
        amount = usable = self.usable(supply)
        runs_out_s, left, jumps, rate_now = math.inf, math.nan, 0.0, math.nan
        for start_s, end_s in zip(moments, [*moments[1:], math.inf], strict=True):
            for event in (event for event in events if elapsed_s(event["at"]) == start_s <= need_s):
                amount += self.jump(event, supply)
                jumps += self.jump(event, supply)
                feeding |= {store for store, state in event.get("set", {}).items() if state == "feeding"}
            if amount <= 0.0:
                runs_out_s = min(runs_out_s, start_s)
            if start_s == need_s:
                left = amount
            loads = self.loads_at(phases, start_s)
            crew = self.roster(phases[self.phase_index(phases, start_s)])
            rate = self.rates(loads, crew, feeding & set(self.stores("power")))[supply]
            if start_s == self.now_s:
                rate_now = rate
            if amount - rate * (end_s - start_s) <= 0.0:
                runs_out_s = min(runs_out_s, start_s + amount / rate)
            amount -= rate * (end_s - start_s)
        return Answer(
            usable=usable,
            rate_plan=rate_now,
            endurance_now_h=usable / rate_now / 3600.0,
            runs_out_s=runs_out_s,
            left_at_need=left,
            allowance=(usable + jumps) / (need_s - self.now_s),
            margin_h=(runs_out_s - need_s) / 3600.0,
        )


def print_table(folder: Path) -> None:
    """Every margin of every way home, for a person who tunes the scenario."""
    hand = HandCraft(folder)
    for option in hand.plan["options"]:
        print(f"{option}: need in {(hand.need_s(option) - hand.now_s) / 3600:.2f} h")
        for supply, written in hand.craft["supplies"].items():
            answer, unit = hand.answer(option, supply), FACTORS[written["unit"]]
            per_rate = 1.0 if written["unit"] == "A*h" else 3600.0
            print(
                f"  {supply:11}usable {answer.usable / unit:8.2f}  rate {answer.rate_plan * per_rate:7.3f}"
                f"  at this rate {answer.endurance_now_h:7.2f} h  margin {answer.margin_h:+8.2f} h"
                f"  left {answer.left_at_need / unit:+8.2f}  allowance {answer.allowance * per_rate:7.3f}"
            )


if __name__ == "__main__":
    print_table(Path(__file__).parents[2] / "configs" / "tern")
