"""The station of ``simulated_builders`` lived in one go."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simulated_builders import SIMULATION, START_S, write_scenario

from console.feed.simulated_contingency import Contingency
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_recorded import Recorded
from console.feed.simulation_file import read_simulation
from console.scenario.load import load_scenario

H = 3600.0
QUIET = SIMULATION + "biases: none\n"
PROCEDURES = """\
format: 1
procedures:
  dim-down:
    title: Dim the lamp for the night
    steps:
      - {id: "1", do: Look around}
      - {id: "2", do: Lamp to standby, load: lamp, to: standby, requires: ["1"]}
      - {id: "3", do: Read the bus, requires: ["2"]}
  open-flask:
    title: Open the second flask
    steps:
      - {id: "1", do: Fan off, load: fan, to: "off"}
      - {id: "2", do: Open it, store: o2-2, to: feeding, requires: ["1"]}
      - {id: "3", do: Fan on, load: fan, to: "on", requires: ["2"]}
"""


def lived(
    folder: Path,
    hours: float,
    *faults: SimulatedFault,
    simulation: str = QUIET,
    events: str = "",
    every_s: float = 60.0,
    **options: Any,
) -> Recorded:
    """The station from its start on for some hours, and its truth no further."""
    write_scenario(folder, simulation=simulation, events=events)
    (folder / "procedures.yaml").write_text(PROCEDURES)
    scenario = load_scenario(folder)
    until_s = START_S + hours * H
    contingency = Contingency(scenario, read_simulation(scenario), faults, **options)
    return contingency.run(until_s, every_s, horizon_s=until_s)
