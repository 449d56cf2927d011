"""simulation.yaml: how the simulated craft of a scenario begins. Every fault is told at once.

Its format stands at ``read_simulation``. Nothing here lives or steps; ``simulated_craft`` does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from console.craft.model import Craft, Store, Supply
from console.errors import ScenarioError
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_faults_file import FaultWords, read_faults
from console.feed.simulated_faults_random import RandomFaults, read_random_faults
from console.feed.simulation_cabin import InitialCabin, read_initial_cabin
from console.physics.gas import GasRangeError, mass_kg, pressure_pa
from console.scenario.faults import FaultList
from console.scenario.fields import Fields, Node
from console.scenario.load import SIMULATION_FILE, Scenario, read_root
from console.scenario.quantities import (
    read_fraction,
    read_in_unit,
    read_instant_s,
    read_number,
    read_quantity,
    read_quantity_and_unit,
)
from console.units import Dimension

DEFAULT_SPEED = 60.0
DEFAULT_WANDER_FRACTION = 0.05
DEFAULT_TEMPERATURE_K = 288.15
MOST_SPEED = 100_000.0

_KEYS = (
    *("format", "seed", "start", "speed", "wander", "initial", "temperature", "outside", "cabin", "biases"),
    *("faults", "random_faults"),
)
NO_BIASES = "none"


@dataclass(frozen=True, kw_only=True, slots=True)
class Simulation:
    """How the simulated craft begins and how fast its time runs."""

    seed: int
    start_s: float
    speed: float
    """Seconds of the craft in one second of the watcher."""
    wander_fraction: float
    """One standard deviation of what loads and people do, as a fraction of their mean."""
    initial_si: Mapping[str, float]
    """By store, what it holds."""
    temperature_k: float
    """Of the stores whose temperature a channel measures."""
    cabin: InitialCabin
    biases_si: Mapping[str, float]
    """By channel, what it shows too much; of the others it is drawn, where ``draws_biases`` says so."""
    draws_biases: bool = True
    faults: tuple[SimulatedFault, ...] = ()
    """What goes wrong, as it is written."""
    random_faults: RandomFaults | None = None
    """What goes wrong besides."""


def read_simulation(scenario: Scenario) -> Simulation:
    """Read and check a scenario's simulation.yaml.

    Only format, seed and start are required; a comment says what holds where a key is left out::

        format: 1
        seed: 4                       # the same seed gives the same craft
        start: T+25h48m
        speed: 60                     # times real time; 60 where it is left out
        wander: 5 %                   # how far loads and people stray; 5 % where it is left out
        initial:                      # by store what it holds; full where it is left out
          bat-1: 398.5 A*h
          o2-1: 9.78 MPa              # a gas also by its pressure, at the store's temperature
        temperature: 288 K            # of stores that a channel measures; 288.15 K where it is left out
        outside: 280 K                # beyond the hull; the craft's constant, or ``temperature``, if left out
        cabin: {pressure: 37.6 kPa, oxygen: 30.2 kPa, carbon_dioxide: 4.2 mmHg, temperature: 291 K,
                humidity: 60 %}       # partial pressures; what is left out: the craft's constant, or usual
        biases: {bat-1.current: 0.3 A}    # what an instrument always shows too much; of the others it is
                                          # drawn within their accuracy; ``biases: none``: of none
        faults:                       # what goes wrong, and when; see simulated_faults_file.read_fault
          - {at: T+30h, kind: leak, store: o2-1, rate: 0.05 kg/h}
        random_faults: {per_day: 2, kinds: [leak, bias]}    # all kinds where they are left out

    Raises:
        ScenarioError: carries every fault of the file; also where there is no such file.
    """
    faults = FaultList(SIMULATION_FILE)
    simulation = _read_simulation(scenario, faults)
    told = faults.in_file_order()
    if told:
        raise ScenarioError(told)
    if simulation is None:
        raise RuntimeError("no simulation was built, though no fault was told")
    return simulation


def _read_simulation(scenario: Scenario, faults: FaultList) -> Simulation | None:
    root = read_root(scenario.folder, faults)
    fields = None if root is None else root.fields(_KEYS, "write the keys of a simulation, as format: 1")
    return None if fields is None else _read_keys(fields, scenario)


def _read_keys(fields: Fields, scenario: Scenario) -> Simulation | None:
    craft = scenario.craft
    fields.check_format()
    seed = fields.need("seed").whole("write a whole number from 0 on", least=0)
    start_s = read_instant_s(fields.need("start"), craft.epoch)
    speed = read_number(fields.may("speed"), least=0.01, most=MOST_SPEED)
    wander = read_fraction(fields.may("wander"))
    temperature_k = read_quantity(fields.may("temperature"), Dimension.TEMPERATURE, is_positive=True)
    temperature_k = DEFAULT_TEMPERATURE_K if temperature_k is None else temperature_k
    initial_si = _read_initial(fields.may("initial"), craft, temperature_k)
    outside_k = read_quantity(fields.may("outside"), Dimension.TEMPERATURE, is_positive=True)
    cabin = read_initial_cabin(fields.may("cabin"), craft, temperature_k, outside_k)
    biases = fields.may("biases")
    has_none = biases.value == NO_BIASES
    biases_si = {} if has_none else _read_biases(biases, craft)
    faults = read_faults(fields.may("faults"), FaultWords(craft=craft, procedures=scenario.procedures))
    random_faults = read_random_faults(fields.may("random_faults"))
    if seed is None or start_s is None or cabin is None:
        return None
    return Simulation(
        seed=seed,
        start_s=start_s,
        speed=DEFAULT_SPEED if speed is None else speed,
        wander_fraction=DEFAULT_WANDER_FRACTION if wander is None else wander,
        initial_si=MappingProxyType(initial_si),
        temperature_k=temperature_k,
        cabin=cabin,
        biases_si=MappingProxyType(biases_si),
        draws_biases=not has_none,
        faults=faults,
        random_faults=random_faults,
    )


def _read_initial(node: Node, craft: Craft, temperature_k: float) -> dict[str, float]:
    given = (node.named("write what stores hold, each as STORE: QUANTITY") or {}) if node.is_given else {}
    stores = {store.name: (supply, store) for supply in craft.supplies.values() for store in supply.stores}
    for name, each in given.items():
        each.check_reference(name, stores, "a store")
    initial_si: dict[str, float] = {}
    for name, (supply, store) in stores.items():
        if name in given:
            held_si = _read_held(given[name], supply, store, temperature_k)
        else:
            held_si = _full(node, store)
        initial_si[name] = 0.0 if held_si is None else held_si
    return initial_si


def _full(node: Node, store: Store) -> float | None:
    if store.capacity_si is None:
        node.child(store.name, None, node.line).refuse(
            "nothing", "write what it holds: the craft gives no capacity for it"
        )
    return store.capacity_si


def _read_held(node: Node, supply: Supply, store: Store, temperature_k: float) -> float | None:
    by_pressure = store.fluid is not None and store.volume_m3 is not None
    dimensions = (supply.dimension, Dimension.PRESSURE) if by_pressure else (supply.dimension,)
    written = read_quantity_and_unit(node, *dimensions)
    if written is None:
        return None
    held_si, unit = written
    if by_pressure:
        held_si = _held_by_gas(node, supply, store, held_si, unit.dimension, temperature_k)
    if store.capacity_si is not None and held_si > store.capacity_si:
        capacity = supply.unit.from_si(store.capacity_si)
        node.refuse_value(f"write at most what the store holds when full, {capacity:.6g} {supply.unit.text}")
    return held_si


def _held_by_gas(
    node: Node, supply: Supply, store: Store, written_si: float, dimension: Dimension, temperature_k: float
) -> float:
    """The amount of a gas that was written as a pressure or as an amount; 0 where that cannot be."""
    if store.fluid is None or store.volume_m3 is None:
        return written_si
    warm_k = bottle_temperature_k(store, temperature_k)
    kg_per_si = supply.gas_density_kg_per_m3 or 1.0
    try:
        if dimension is Dimension.PRESSURE:
            return mass_kg(store.fluid, written_si, warm_k, store.volume_m3) / kg_per_si
        # Only to see that there is one.
        pressure_pa(store.fluid, written_si * kg_per_si, warm_k, store.volume_m3)
    except GasRangeError as error:
        node.refuse(str(error), "write a pressure and a temperature within that range")
        return 0.0
    return written_si


def bottle_temperature_k(store: Store, measured_k: float) -> float:
    """The temperature of a store at the start: the craft's constant, or that of the simulation."""
    temperature = store.temperature
    if temperature is None or temperature.constant_si is None:
        return measured_k
    return temperature.constant_si


def _read_biases(node: Node, craft: Craft) -> dict[str, float]:
    given = (
        (node.named("write errors of instruments, each as CHANNEL: QUANTITY, or 'none'") or {})
        if node.is_given
        else {}
    )
    biases_si: dict[str, float] = {}
    for name, each in given.items():
        if not each.check_reference(name, craft.channels, "a channel"):
            continue
        bias_si = read_in_unit(each, craft.channels[name].unit, is_difference=True)
        if bias_si is not None:
            biases_si[name] = bias_si
    return biases_si
