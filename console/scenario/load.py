"""A scenario is a folder: craft.yaml, plan.yaml and procedures.yaml.

They are read together, so that all faults of all files are told at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from console.craft.model import Craft
from console.craft.plan import Plan
from console.craft.procedures import Procedure
from console.display import clean_text
from console.errors import Fault, ScenarioError, YamlError
from console.scenario.craft_file import read_craft, slug_of
from console.scenario.faults import FaultList, shown
from console.scenario.fields import Node
from console.scenario.key_lines import key_lines
from console.scenario.outline import CraftOutline
from console.scenario.plan_file import read_plan
from console.scenario.procedures_file import read_procedures
from console.scenario.yaml_text import MOST_BYTES, decode_yaml, read_yaml

CRAFT_FILE = "craft.yaml"
PLAN_FILE = "plan.yaml"
PROCEDURES_FILE = "procedures.yaml"
SIMULATION_FILE = "simulation.yaml"
_FOLDER = f"give a folder that holds {CRAFT_FILE} and {PLAN_FILE}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Scenario:
    """One scenario, checked."""

    slug: str
    """The craft's name in lower case with hyphens: names the journal and stands in the JSON."""
    folder: Path
    craft: Craft
    plan: Plan
    procedures: Mapping[str, Procedure]
    lines: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    """By file, the line of every key, by its path."""


def load_scenario(folder: Path) -> Scenario:
    """Read and check a scenario's folder.

    Raises:
        ScenarioError: carries every fault of every file, file by file and from top to bottom.
    """
    _check_folder(folder)
    faults = [FaultList(name) for name in (CRAFT_FILE, PLAN_FILE, PROCEDURES_FILE)]
    craft_root, plan_root, procedures_root = (read_root(folder, each) for each in faults)
    craft, outline = (None, CraftOutline()) if craft_root is None else read_craft(craft_root)
    plan = None if plan_root is None else read_plan(plan_root, outline)
    procedures = {} if procedures_root is None else read_procedures(procedures_root, outline)
    told = tuple(fault for each in faults for fault in each.in_file_order())
    if told:
        raise ScenarioError(told)
    if craft is None or plan is None:
        raise RuntimeError("a part of the scenario was not built, though no fault was told")
    return Scenario(
        slug=slug_of(craft.name),
        folder=folder,
        craft=craft,
        plan=plan,
        procedures=MappingProxyType(procedures),
        lines=MappingProxyType(
            {
                each.file: key_lines(root.value)
                for each, root in zip(faults, (craft_root, plan_root, procedures_root), strict=True)
                if root is not None
            }
        ),
    )


def packaged_scenario(name: str = "tern") -> Path:
    """The folder of a demo scenario that comes with the program.

    Raises:
        ScenarioError: there is none of that name.
    """
    names = packaged_scenario_names()
    if name not in names:
        expected = FaultList("").suggestion(name, names) if names else _FOLDER
        raise _refusal(shown(name), "no scenario of that name that comes with the program", expected)
    return _packaged_home() / name


def packaged_scenario_names() -> tuple[str, ...]:
    """The demo scenarios that come with the program, in order of name."""
    home = _packaged_home()
    if not home.is_dir():
        return ()
    return tuple(sorted(each.name for each in home.iterdir() if (each / CRAFT_FILE).is_file()))


def _packaged_home() -> Path:
    """Inside the package where it is installed; beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "configs"
    return installed if installed.is_dir() else package.parent / "configs"


def _check_folder(folder: Path) -> None:
    where = clean_text(str(folder))
    try:
        is_folder, is_there = folder.is_dir(), folder.exists()
    except OSError as error:
        raise _refusal(where, f"a path that cannot be looked at ({error.strerror})", _FOLDER) from None
    if is_there and not is_folder:
        raise _refusal(where, "a file where a folder is due", _FOLDER)
    if not is_there:
        raise _refusal(where, "no such folder", _FOLDER)


def _refusal(where: str, found: str, expected: str) -> ScenarioError:
    return ScenarioError((Fault(file=where, place="", found=found, expected=expected),))


def read_root(folder: Path, faults: FaultList) -> Node | None:
    """The whole of the file that ``faults`` is about; None where it is absent or cannot be read."""
    path = folder / faults.file
    try:
        if not path.exists() and not path.is_symlink() and faults.file == PROCEDURES_FILE:
            return None
        data = _read_bytes(path, faults)
        if data is None:
            return None
        tree, told = read_yaml(decode_yaml(data, file=faults.file), file=faults.file)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        faults.add(
            place="", line=None, found=f"a file that cannot be read ({reason})", expected="make it readable"
        )
        return None
    except YamlError as error:
        faults.extend(error.faults)
        return None
    faults.extend(told)
    return Node(value=tree, place="", line=1, faults=faults, is_required=True)


def _read_bytes(path: Path, faults: FaultList) -> bytes | None:
    if not path.is_file():
        found = "something that is not a file" if path.exists() else "no such file"
        faults.add(place="", line=None, found=found, expected=f"write {path.name} in the scenario's folder")
        return None
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)
