"""``endurance check``: read a scenario and say all that is wrong with it."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from console.cli import arguments as shared
from console.cli.sources import STATE_FILES
from console.craft.model import Craft
from console.engine.reading import Quality
from console.errors import Fault, FeedError, ScenarioError, UsageError
from console.feed.simulation_file import read_simulation
from console.feed.state_file import StateFileSource, state_file_time_s
from console.report.export import check_document, to_text
from console.scenario.load import SIMULATION_FILE, Scenario, load_scenario, packaged_scenario


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's words."""
    shared.add_json(parser)
    shared.add_scenario(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print every fault of every file; exit code 1 if there is one."""
    folder: Path = arguments.scenario or packaged_scenario()
    if not _is_folder(folder):
        raise UsageError(f"{folder}: found no folder of that name; name a scenario's folder")
    faults: tuple[Fault, ...] = ()
    scenario = None
    try:
        scenario = load_scenario(folder)
    except ScenarioError as error:
        faults = error.faults
    if scenario is not None:
        faults = (*_simulation_faults(scenario), *_state_faults(scenario))
    if arguments.json:
        sys.stdout.write(to_text(check_document(folder, faults)))
    else:
        sys.stdout.write(_text(folder, scenario, faults))
    return 1 if faults else 0


def _is_folder(folder: Path) -> bool:
    try:
        return folder.is_dir()
    except OSError as error:
        raise UsageError(
            f"{folder}: cannot be looked at ({error.strerror}); name a scenario's folder"
        ) from None


def _is_named(path: Path) -> bool:
    """Whether a folder holds that name, be it only a link that leads nowhere."""
    return os.path.lexists(path)


def _simulation_faults(scenario: Scenario) -> Sequence[Fault]:
    if not _is_named(scenario.folder / SIMULATION_FILE):
        return ()
    try:
        read_simulation(scenario)
    except ScenarioError as error:
        return error.faults
    return ()


def _state_faults(scenario: Scenario) -> list[Fault]:
    """What the scenario's own state file holds that the board could not use, looked at at its own time."""
    faults = []
    for name in STATE_FILES:
        path = scenario.folder / name
        if not _is_named(path):
            continue
        try:
            at_s = state_file_time_s(path, scenario.craft.epoch)
        except FeedError as error:
            faults.append(
                Fault(file=name, place="", found=str(error), expected="write a state file of format 1")
            )
            continue
        state = StateFileSource(path, scenario.craft.channels, scenario.craft.epoch).poll(at_s)
        faults.extend(
            Fault(file=name, place="", found=fault, expected="mend the state file") for fault in state.faults
        )
        faults.extend(
            Fault(file=name, place=f"readings.{channel}", found=reading.why, expected="mend the reading")
            for channel, reading in state.readings.items()
            if reading.quality in (Quality.SUSPECT, Quality.MISSING)
        )
    return faults


def _text(folder: Path, scenario: Scenario | None, faults: Sequence[Fault]) -> str:
    if faults or scenario is None:
        count = f"{len(faults)} fault{'s' if len(faults) != 1 else ''}"
        return "".join(f"{fault}\n" for fault in faults) + f"{folder}: {count}\n"
    craft, plan = scenario.craft, scenario.plan
    stores = sum(len(supply.stores) for supply in craft.supplies.values())
    return (
        f"{folder}: sound. {craft.name}, crew of {craft.crew_count}: {len(craft.supplies)} supplies in "
        f"{stores} stores, {len(craft.loads)} loads in {len(craft.levels)} levels, "
        f"{len(plan.phases)} phases, {len(plan.options)} options (committed: {plan.committed}), "
        f"{len(scenario.procedures)} procedures, {len(craft.channels)} channels{_parts_text(craft)}\n"
    )


def _parts_text(craft: Craft) -> str:
    """What only some craft have: limits of the cabin, parts that can be dropped."""
    limits = 0 if craft.cabin is None else len(craft.cabin.limits)
    modules = 0 if craft.propulsion is None else len(craft.propulsion.modules)
    counts = {"cabin limit": limits, "module": modules}
    return "".join(f", {count} {what}{'s' if count > 1 else ''}" for what, count in counts.items() if count)
