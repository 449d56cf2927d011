"""A small craft whose other way home is closed by a supply: by time alone, or at once by an event."""

from __future__ import annotations

from pathlib import Path

CRAFT = """
format: 1
craft: {name: Stint, epoch: "2042-01-01T00:00:00Z"}
crew: {count: 2}
supplies:
  power:
    unit: A*h
    bus_voltage: 28 V
    stores:
      bat: {kind: battery, capacity: 400 A*h, quantity: {channel: bat.left}, peukert: 1.1, rated_current: 5 A}
  oxygen:
    unit: kg
    stores:
      bottle: {kind: gas, fluid: oxygen, volume: 0.1 m^3, pressure: {channel: bottle.pressure},
               temperature: 290 K}
load_spread: 3 %
loads:
  heater: {on: 8 A, standby: 4 A}
levels:
  warm: {heater: on}
  cold: {heater: standby}
uses:
  breath: {supply: oxygen, metabolic: oxygen}
  bottle-leak: {supply: oxygen, leak: 5 g/h, at_pressure: 10 MPa, of_store: bottle}
bands:
  default: {advisory: 6 h, caution: 3 h, warning: 1 h}
channels:
  bat.left: {unit: A*h, accuracy: 2}
  bottle.pressure: {unit: MPa, accuracy: 0.05}
"""

PLAN = """
format: 1
phases:
  - {name: drift, start: T+0h, level: warm}
options:
  stay:
    arrival: T+100h
    events:
      - {name: relay sent out, at: T+20h, uses: {power: 30 A*h}, spread: 5 %}
  quick:
    arrival: T+60h
    recovery: 2 h
    decide_by: T+40h
    phases:
      - {name: quick drift, start: T+0h, level: cold}
committed: stay
"""

STATE = """
{"format": 1, "at": "2042-01-01T10:00:00Z", "readings": {"bat.left": 300, "bottle.pressure": 9.5}}
"""


def write(folder: Path) -> Path:
    """The scenario in a folder."""
    for name, text in (("craft.yaml", CRAFT), ("plan.yaml", PLAN), ("state.json", STATE)):
        (folder / name).write_text(text.lstrip(), encoding="utf-8")
    return folder
