"""The two sealed spaces reckoned by hand: plain Python over the raw files, sharing no code with the product.

Central case only. Supplies as in ``tern_by_hand``, and of the cabin what plain sums can say: carbon dioxide
when nothing takes it up, and the warmth of one lumped node.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

from tern_by_hand import (
    CARBON_DIOXIDE_KG_PER_MOL,
    FACTORS,
    GAS_CONSTANT,
    OXYGEN_KG_PER_MOL,
    HandCraft,
    elapsed_s,
    print_table,
    si,
)

CONFIGS = Path(__file__).parents[2] / "configs"

PRESSURES_PA = (0.2e6, 0.4e6, 1e6, 2e6, 4e6, 6e6, 8e6, 10e6, 12e6, 14e6, 16e6)
DENSITY_KG_PER_M3 = {  # by temperature in K, in the order of the pressures
    276.0: (2.794, 5.598, 14.071, 28.394, 57.766, 88.026, 119.030, 150.574, 182.406, 214.232, 245.747),
    280.0: (2.754, 5.517, 13.863, 27.957, 56.809, 86.467, 116.789, 147.586, 178.623, 209.634, 240.342),
    284.0: (2.715, 5.438, 13.660, 27.533, 55.887, 84.970, 114.648, 144.740, 175.031, 205.277, 235.226),
    288.0: (2.677, 5.361, 13.463, 27.123, 54.998, 83.533, 112.599, 142.026, 171.614, 201.140, 230.374),
    292.0: (2.640, 5.287, 13.273, 26.726, 54.140, 82.151, 110.635, 139.432, 168.357, 197.204, 225.765),
    296.0: (2.604, 5.215, 13.087, 26.341, 53.310, 80.821, 108.751, 136.951, 165.248, 193.455, 221.377),
    300.0: (2.569, 5.144, 12.907, 25.967, 52.509, 79.539, 106.941, 134.574, 162.277, 189.876, 217.195),
    304.0: (2.535, 5.076, 12.732, 25.604, 51.734, 78.302, 105.200, 132.294, 159.433, 186.457, 213.202),
    308.0: (2.502, 5.009, 12.562, 25.252, 50.983, 77.109, 103.525, 130.104, 156.707, 183.184, 209.386),
}
"""Oxygen. Source: the equation of Schmidt and Wagner (1985), computed with CoolProp 8.0.0."""
DENSITY_AS_STATED_KG_PER_M3 = {"15 degC": 1.354364, "70 degF": 1.326140}
"""Oxygen at one atmosphere. Source: as above."""

LEAD_ACID = (-2.8117, 4.1916, -2.4941, 1.4054)
"""Cell size factor by x = degC / 100. Source: published fit to IEEE Std 485 (second hand)."""

MET = {"asleep": 0.7, "rest": 1.0, "nominal": 1.6, "heavy": 4.0}
W_PER_MET_M2 = 58.2
RESPIRATORY_QUOTIENT = 0.85
HEAT_PER_MOL_OXYGEN_J = (0.23 * RESPIRATORY_QUOTIENT + 0.77) * 5.88 * 3600.0 * 22.413969
"""ISO 8996 (from memory), by litres at 0 degC and one atmosphere."""


def between(table: dict[float, tuple[float, ...]], pressure_pa: float, temperature_k: float) -> float:
    """Linear between the points of a table by temperature and pressure."""

    def at(row: tuple[float, ...]) -> float:
        index = max(i for i, point in enumerate(PRESSURES_PA[:-1]) if point <= pressure_pa)
        low, high = PRESSURES_PA[index : index + 2]
        return row[index] + (row[index + 1] - row[index]) * (pressure_pa - low) / (high - low)

    colder = max(point for point in table if point <= temperature_k)
    share = (temperature_k - colder) / 4.0
    return at(table[colder]) * (1.0 - share) + at(table[colder + 4.0]) * share


def heat_index_f(t: float, r: float) -> float:
    """The regression of Rothfusz, NWS SR 90-23 (1990), with the rise for humid air from 80 to 87 degF."""
    index = (
        -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r - 6.83783e-3 * t**2
        - 5.481717e-2 * r**2 + 1.22874e-3 * t**2 * r + 8.5282e-4 * t * r**2 - 1.99e-6 * t**2 * r**2
    )  # fmt: skip
    return index + ((r - 85.0) / 10.0) * ((87.0 - t) / 5.0) if r > 85.0 and 80.0 <= t <= 87.0 else index


class SealedCraft(HandCraft):
    """A scenario folder of a sealed space, read raw, at the moment of its state file."""

    def __init__(self, folder: Path, stepped: dict[str, str] | None = None) -> None:
        super().__init__(folder, stepped)
        by_volume = self.craft["supplies"]["oxygen"]["volume_at"]["temperature"]
        self.oxygen_kg_per_m3 = DENSITY_AS_STATED_KG_PER_M3[by_volume]

    # What is aboard

    def capacity(self, store: dict[str, Any]) -> float:
        if "person_hours" in store:
            return si(store["person_hours"]) * si(store["person_rate"])
        return si(store["capacity"])

    def held(self, store: dict[str, Any]) -> float:
        if "quantity" in store:
            measured = self.measured(store["quantity"])
            channel = store["quantity"]["channel"]
            is_share = self.craft["channels"][channel]["unit"] == "%"
            return measured * (self.capacity(store) if is_share else 1.0)
        if "pressure" in store:
            density = between(
                DENSITY_KG_PER_M3, self.measured(store["pressure"]), self.measured(store["temperature"])
            )
            return density * si(store["volume"]) / self.oxygen_kg_per_m3
        return self.full(store) - (self.measured(store["used"]) if "used" in store else 0.0)

    def full(self, store: dict[str, Any]) -> float:
        """What a store holds when full, as cold as it is."""
        if store.get("capacity_at") != "lead_acid":
            return self.capacity(store)
        x = (self.measured(store["temperature"]) - 273.15) / 100.0
        a, b, c, d = LEAD_ACID
        return self.capacity(store) * min(1.0, 1.0 / (((a * x + b) * x + c) * x + d))

    def residual(self, store: dict[str, Any]) -> float:
        if "residual_pressure" in store:
            density = between(
                DENSITY_KG_PER_M3, si(store["residual_pressure"]), self.measured(store["temperature"])
            )
            return density * si(store["volume"]) / self.oxygen_kg_per_m3
        written = store.get("residual", "0 %")
        return si(written) * self.capacity(store) if written.endswith("%") else si(written)

    # What is taken

    def person(self, activity: str) -> dict[str, float]:
        """Oxygen and carbon dioxide kg/s and heat W of one person."""
        crew = self.craft["crew"]
        if "rates" in crew:
            products = ("oxygen", "carbon_dioxide", "heat")
            return {product: si(crew["rates"][activity][product]) for product in products}
        mass_kg, height_m = si(crew["body_mass"]), float(crew["height"].split()[0])
        heat_w = MET[activity] * W_PER_MET_M2 * 0.202 * mass_kg**0.425 * height_m**0.725
        mol_per_s = heat_w / HEAT_PER_MOL_OXYGEN_J
        return {
            "oxygen": mol_per_s * OXYGEN_KG_PER_MOL,
            "carbon_dioxide": RESPIRATORY_QUOTIENT * mol_per_s * CARBON_DIOXIDE_KG_PER_MOL,
            "heat": heat_w,
        }

    def together(self, crew: dict[str, int], product: str) -> float:
        return sum(count * self.person(activity)[product] for activity, count in crew.items())

    def battery_draw_a(self, bus_a: float, feeding: set[str]) -> float:
        batteries = [store for name, store in self.stores("power").items() if name in feeding]
        whole = sum(self.capacity(store) for store in batteries)
        cost = 0.0
        for store in batteries:
            current = bus_a * self.capacity(store) / whole
            over = current / si(store.get("rated_current", "1000 A"))
            cost += current * max(1.0, over ** (float(store.get("peukert", "1")) - 1.0))
        return cost

    def loads_w(self, loads: dict[str, str]) -> float:
        return self.bus_a(loads)  # written in watts in these scenarios

    def heat_w(self, loads: dict[str, str]) -> float:
        heat = 0.0
        for load, state in loads.items():
            written = self.craft["loads"][load].get("heat", "100 %")
            heat += self.draw(load, state) * (0.0 if written == "none" else si(written))
        return heat

    def rates(self, loads: dict[str, str], crew: dict[str, int], feeding: set[str]) -> dict[str, float]:
        uses = self.craft["uses"]
        volts = si(self.craft["supplies"]["power"]["bus_voltage"])
        drawn_a = self.battery_draw_a(self.loads_w(loads) / volts, feeding)
        in_energy = self.craft["supplies"]["power"]["unit"] == "kW*h"
        oxygen = self.together(crew, "oxygen") / self.oxygen_kg_per_m3
        if "bank-2-valve" in uses:
            weeping = uses["bank-2-valve"]
            pressure = self.measured(self.stores("oxygen")[weeping["of_store"]]["pressure"])
            oxygen += si(weeping["leak"]) * pressure / si(weeping["at_pressure"])
        water = sum(crew.values()) * si(uses["drinking"]["per_person"])
        water += si(uses["washing"]["rate"]) if "washing" in uses else 0.0
        return {
            "power": drawn_a * volts if in_energy else drawn_a,
            "oxygen": oxygen,
            "water": water,
            "absorbent": self.together(crew, "carbon_dioxide"),
        }

    # The cabin

    def stretches(self, option: str) -> list[tuple[float, float, dict[str, str], dict[str, int]]]:
        """From now on: start, end, loads and roster of every phase."""
        phases = self.phases(option)
        starts_s = [elapsed_s(phase["start"]) for phase in phases]
        return [
            (max(start_s, self.now_s), end_s, self.loads_at(phases, start_s), self.roster(phase))
            for phase, start_s, end_s in zip(phases, starts_s, [*starts_s[1:], math.inf], strict=True)
            if end_s > self.now_s
        ]

    def limit_pa(self, name: str) -> float:
        limit = next(limit for limit in self.craft["cabin"]["limits"] if limit["name"] == name)
        above = limit["above"]
        return si(above) * (self.measured(self.craft["cabin"]["pressure"]) if above.endswith("%") else 1.0)

    def dioxide_reaches_s(self, option: str, limit_pa: float) -> float:
        """When carbon dioxide would be at a limit if nothing took it up from now on, and nothing leaked."""
        cabin = self.craft["cabin"]
        now_pa = self.measured(cabin["carbon_dioxide"])
        channel = cabin["carbon_dioxide"]["channel"]
        if self.craft["channels"][channel]["unit"] in ("%", "ppm"):
            now_pa *= self.measured(cabin["pressure"])
        per_kg = (
            GAS_CONSTANT
            * self.measured(cabin["temperature"])
            / (CARBON_DIOXIDE_KG_PER_MOL * si(cabin["volume"]))
        )
        for start_s, end_s, _, crew in self.stretches(option):
            rise = self.together(crew, "carbon_dioxide") * per_kg
            if now_pa + rise * (end_s - start_s) >= limit_pa:
                return start_s + (limit_pa - now_pa) / rise
            now_pa += rise * (end_s - start_s)
        return math.inf

    def temperature_reaches_s(self, option: str, at_k: float) -> float:
        """When the node passes a temperature, up or down, while the batteries last; infinity for never."""
        thermal = self.craft["cabin"]["thermal"]
        capacity, loss = si(thermal["heat_capacity"]), si(thermal["conductance"])
        outside = self.measured(thermal["outside"])
        now_k = self.measured(self.craft["cabin"]["temperature"])
        is_above = now_k > at_k
        ends_s = self.answer(option, "power").runs_out_s
        for start_s, end_s, loads, crew in self.stretches(option):
            cuts = [start_s, *([ends_s] if start_s < ends_s < end_s else []), end_s]
            for begin_s, until_s in pairwise(cuts):
                heat = self.together(crew, "heat") + (self.heat_w(loads) if begin_s < ends_s else 0.0)
                final_k = outside + heat / loss
                then_k = final_k + (now_k - final_k) * math.exp(-loss / capacity * (until_s - begin_s))
                if (then_k > at_k) is not is_above:
                    return begin_s + capacity / loss * math.log((now_k - final_k) / (at_k - final_k))
                now_k = then_k
        return math.inf

    def apparent_reaches_s(self, option: str, at_f: float) -> float:
        """When the heat index passes a limit, with the humidity at what the walls leave of it."""
        humid = 100.0 * si(self.craft["cabin"]["drying"]["humidity"])
        low_f, high_f = 80.0, 95.0
        for _ in range(60):
            middle_f = 0.5 * (low_f + high_f)
            low_f, high_f = (middle_f, high_f) if heat_index_f(middle_f, humid) < at_f else (low_f, middle_f)
        return self.temperature_reaches_s(option, (low_f - 32.0) / 1.8 + 273.15)


if __name__ == "__main__":
    for scenario in ("whelk", "vole"):
        craft = SealedCraft(CONFIGS / scenario)
        print(scenario, f"T+{craft.now_s / 3600:.2f} h")
        print_table(craft)
        for way in craft.plan["options"]:
            for limit in craft.craft["cabin"]["limits"]:
                if limit["of"] == "carbon_dioxide":
                    stopped_s = craft.dioxide_reaches_s(way, craft.limit_pa(limit["name"])) - craft.now_s
                    print(f"  {way}: no removal, {limit['name']} in {stopped_s / 3600:.2f} h")
                if limit["of"] == "temperature":
                    reached_s = craft.temperature_reaches_s(way, si(limit["below"]))
                    print(f"  {way}: {limit['name']} at T+{reached_s / 3600:.2f} h")
                if limit["of"] == "apparent_temperature":
                    reached_s = craft.apparent_reaches_s(way, float(limit["above"].split()[0]))
                    print(f"  {way}: {limit['name']} at T+{reached_s / 3600:.2f} h")
        print({name: f"{craft.loads_w(craft.level(name)):.0f} W" for name in craft.craft["levels"]})
        for supply in craft.craft["supplies"]:
            way = craft.plan["committed"]
            unit = FACTORS[craft.craft["supplies"][supply]["unit"]]
            print(supply, f"used since the epoch {craft.used_since_epoch(supply, way) / unit:.2f}")
