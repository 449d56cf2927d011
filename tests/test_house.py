"""The house's own rules: examples in docstrings hold, layers hold, files stay small, the README runs."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import console
from console.cli.main import COMMANDS

ROOT = Path(__file__).parents[1]
MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(console.__path__, "console.")
    if module.name != "console.__main__"
)


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_in_its_docstrings_hold(name: str) -> None:
    module = importlib.import_module(name)
    assert module.__doc__, "every module says what it is for"
    result = doctest.testmod(module)
    assert result.failed == 0


def test_there_are_examples_to_hold() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    examples = [
        test for name in MODULES for test in finder.find(importlib.import_module(name)) if test.examples
    ]
    assert len(examples) > 30


def test_the_import_contracts_hold() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run()"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
    assert re.search(r"[1-9]\d* kept, 0 broken", done.stdout)


def test_no_file_outgrows_four_hundred_lines() -> None:
    sizes = {path: len(path.read_text("utf-8").splitlines()) for path in (ROOT / "console").rglob("*.py")}
    assert len(sizes) > 50
    assert {path.name: size for path, size in sizes.items() if size > 400} == {}


def test_the_top_level_holds_what_it_should_and_nothing_else() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode != 0:
        pytest.skip("not a git checkout, so what belongs to the project cannot be told from what lies about")
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in tops if not name.startswith(".")} == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "console", "configs", "tests",
    }  # fmt: skip


def test_the_readme_opens_with_the_job_and_names_every_command() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    first = readme.split("\n\n")[1]
    assert all(word in first for word in ("power", "oxygen", "water", "propellant", "runs out first"))
    assert all(f"endurance {command}" in readme for command in COMMANDS)
    assert "Not certified" in readme


def test_the_readmes_example_of_a_feed_writes_a_state_file_that_is_read(tmp_path: Path) -> None:
    from datetime import UTC, datetime

    from console.engine.reading import Quality
    from console.feed.state_file import StateFileSource
    from console.instants import seconds_since
    from console.scenario.load import load_scenario, packaged_scenario

    readme = (ROOT / "README.md").read_text("utf-8")
    code = re.search(r"```python\n(.*?)```", readme, re.DOTALL)
    assert code is not None
    names: dict[str, object] = {}
    exec(code.group(1), names)  # the README's own code
    publish = names["publish"]
    assert callable(publish)
    path = tmp_path / "state.json"
    publish({"bat-1.current": 4.2, "o2-1.pressure": "1624 psi", "bat-2.current": None}, str(path))

    craft = load_scenario(packaged_scenario()).craft
    epoch = datetime(2026, 1, 1, tzinfo=UTC)
    state = StateFileSource(path, craft.channels, epoch).poll(seconds_since(epoch, datetime.now(UTC)))
    assert state.readings["bat-1.current"].value_si == 4.2
    assert state.readings["o2-1.pressure"].value_si == pytest.approx(1624 * 6894.757293168)
    assert state.readings["bat-2.current"].quality is Quality.MISSING
